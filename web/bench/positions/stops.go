package positions

import (
	"slices"

	"ledgerwheel/domain/timing"
)

// stop is where the view stands: at a position in a state of wind, or, without a position, past the last one, where the
// run is looked at and kept.
type stop struct {
	Position timing.Position
	Hours    float64 // after winding
}

// key names the stop in forms and on the page.
func (s stop) key() string {
	if s.Position == "" {
		return "end-" + timing.HoursText(s.Hours)
	}
	return timing.CellName(s.Position, s.Hours)
}

// fields are the form fields of the stop's figures.
func (s stop) fields() []string {
	if s.Position == "" {
		return nil
	}
	var names []string
	for _, q := range timing.Quantities() {
		names = append(names, timing.FieldName(q, s.Position, s.Hours))
	}
	return names
}

// stopsOf lists the stops of the states of wind, in the order in which they are gone through.
func stopsOf(states []float64) []stop {
	var list []stop
	for _, h := range states {
		for _, p := range timing.Positions() {
			list = append(list, stop{p, h})
		}
		list = append(list, stop{Hours: h})
	}
	return list
}

// find returns the stop that a key names, the first one where it names none.
func find(stops []stop, key string) stop {
	at := slices.IndexFunc(stops, func(s stop) bool { return s.key() == key })
	return stops[max(at, 0)]
}

// step goes by stops within the state of wind; beyond its ends it stays.
func step(stops []stop, from stop, by int) stop {
	at := slices.Index(stops, from) + by
	if at < 0 || at >= len(stops) || timing.HoursText(stops[at].Hours) != timing.HoursText(from.Hours) {
		return from
	}
	return stops[at]
}

// withDay adds full wind and a day later to states of wind, as far as a sheet has room.
func withDay(states []float64) []float64 {
	all := slices.Clone(states)
	for _, h := range []float64{0, dayHours} {
		if !slices.Contains(all, h) && len(all) < timing.MaxStates {
			all = append(all, h)
		}
	}
	slices.Sort(all)
	return all
}

// measured leaves out the states of wind that have no reading and that the run did not name before: the view offers
// some unasked. A run without any reading keeps the first.
func measured(sh timing.Sheet, before []float64) timing.Sheet {
	kept := slices.DeleteFunc(slices.Clone(sh.States), func(h float64) bool {
		return !slices.Contains(before, h) && !slices.ContainsFunc(sh.Run.Readings, func(r timing.Reading) bool {
			return timing.HoursText(r.HoursAfterWinding) == timing.HoursText(h)
		})
	})
	if len(kept) == 0 {
		kept = sh.States[:1]
	}
	sh.States = kept
	return sh
}
