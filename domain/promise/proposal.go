package promise

import "time"

// Propose is the forecast for a watch that is taken in at the moment now. stretch is the correction that Backtest gave; 1 for
// none.
func (s *Shop) Propose(w Watch, now time.Time, stretch float64) Forecast {
	x := s.cal.at(now)
	return s.forecast(s.taken(x, w, s.loadAt(x, 0)), stretch)
}

// Outlook is the forecast for a watch of the shop that is in work at the moment now. ok is false for one that is not.
func (s *Shop) Outlook(id int64, now time.Time, stretch float64) (f Forecast, ok bool) {
	x := s.cal.at(now)
	for i := range s.watches {
		w := &s.watches[i]
		if w.ID != id {
			continue
		}
		at, stood, ok := s.stateAt(w, x)
		if !ok {
			return Forecast{}, false
		}
		q := subject{at: x, id: id, kind: w.Kind, comeback: w.Comeback, stage: at.stage, own: at.own, stood: stood, load: s.loadAt(x, w.Bench) - counts(at.own)}
		if !w.PartsDue.IsZero() {
			q.partsDue = s.cal.place(w.PartsDue)
		}
		return s.forecast(q, stretch), true
	}
	return Forecast{}, false
}
