package listening

import (
	"fmt"
	"math"

	"ledgerwheel/domain/acoustic"
	"ledgerwheel/domain/heard"
	"ledgerwheel/domain/listening"
	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/timing"
)

const (
	notesFromS = 5 // before that, remarks on the sound come and go
	meanRows   = 6 // of the ledger of means: a minute
)

const notMeasured = "notmeasured"

// Report is what the page is told, a few times a second. Texts are ready to be read; nothing is rounded or decided by
// the page.
type Report struct {
	Type     string       `json:"type"`    // "report"
	Acked    int64        `json:"acked"`   // the number of the sample awaited: all before it have arrived
	Phase    string       `json:"phase"`   // "" before listening began
	Started  string       `json:"started"` // as the page called the start that this is about
	Position *PlaceReport `json:"position,omitempty"`
	Take     int          `json:"take"` // 0 while the watch settles
	Watch    bool         `json:"watch"`
	HeardS   float64      `json:"heard_s"` // how long this position has been listened to
	LeftS    float64      `json:"left_s"`
	Settled  float64      `json:"settled"` // 0 to 1
	Mark     string       `json:"mark"`    // pass, fail, undecided or notmeasured
	Verdict  string       `json:"verdict"`
	Beats    string       `json:"beats,omitempty"` // beats per hour
	Quality  string       `json:"quality,omitempty"`
	Figures  *Figures     `json:"figures,omitempty"`
	Notes    []string     `json:"notes,omitempty"`
	Means    []MeanReport `json:"means,omitempty"`
	Round    *Round       `json:"round,omitempty"` // left out when the page was told this one
	Takes    []TakeReport `json:"takes"`
	Lost     float64      `json:"lost_s"`
	Clock    string       `json:"clock,omitempty"` // of the recorder, once the session is long enough
}

// PlaceReport says which position is listened to.
type PlaceReport struct {
	Symbol string `json:"symbol"`
	Words  string `json:"words"`
	Number int    `json:"number"`
	Of     int    `json:"of"`
}

// Figures are the three figures in parts; one is null while it means nothing, the amplitude also when the unlocking is
// not heard.
type Figures struct {
	Rate      *Figure `json:"rate"`
	Amplitude *Figure `json:"amplitude"`
	BeatError *Figure `json:"beat_error"`
}

// Figure is a figure in parts.
type Figure struct {
	Value string `json:"value"`
	U     string `json:"u"`
	Unit  string `json:"unit"`
}

func figure(v metrology.Value, signed bool) *Figure {
	p := v.Print(signed)
	return &Figure{Value: p.Value, U: p.Uncertainty, Unit: p.Unit}
}

// listed is a figure for a line of a ledger.
func listed(v metrology.Value, signed bool) *Figure {
	p := v.Brief(signed)
	return &Figure{Value: p.Value, U: p.Uncertainty, Unit: p.Unit}
}

// figures are those of the take's figures that mean something.
func (t *Take) figures(figure func(metrology.Value, bool) *Figure) *Figures {
	var f Figures
	says := t.says()
	if says.Rate {
		f.Rate = figure(t.Result.Rate, true)
	}
	if says.Amplitude {
		f.Amplitude = figure(*t.Result.Amplitude, false)
	}
	if says.BeatError {
		f.BeatError = figure(unsigned(*t.Result.BeatError), false)
	}
	return &f
}

// MeanReport is a line of the ledger of means.
type MeanReport struct {
	Span string `json:"span"` // when it was heard
	Figures
}

// Round is the picture of the beats.
type Round struct {
	Number int    `json:"number"`
	SVG    string `json:"svg"` // "" for none
}

// TakeReport is a position that was listened to.
type TakeReport struct {
	Number   int      `json:"number"`
	Position string   `json:"position"`
	Words    string   `json:"words"`
	State    string   `json:"state"` // of wind
	Text     string   `json:"text"`
	Figures  *Figures `json:"figures"`
	Mark     string   `json:"mark"`
	Kept     bool     `json:"kept"`
	Running  bool     `json:"running"` // still listened to; keeping it ends that
}

// Report says where the session stands, and raises its version when that is something new.
func (s *Session) Report() (r Report, version int) {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.report(), s.version
}

func (s *Session) report() Report {
	r := Report{Type: "report", Acked: s.intake.Next(), Takes: []TakeReport{},
		Lost: float64(s.intake.Lost()) / s.RateHz}
	r.Mark = notMeasured
	if e, err := s.clock.Estimate(); err == nil {
		r.Clock = e.Value().FormatSigned()
	}
	if s.round.Number > 0 {
		round := s.round
		r.Round = &round
	}
	for _, t := range s.takes {
		r.Takes = append(r.Takes, s.takeReport(t))
	}
	if s.course == nil {
		return r
	}
	if _, of := s.course.Place(); of == 1 && s.take != nil && s.take.says().Rate {
		r.Takes = append(r.Takes, s.takeReport(s.take))
	}
	r.Phase, r.Started = string(s.course.Phase()), s.begin.Started
	number, of := s.course.Place()
	at := s.course.Position()
	r.Position = &PlaceReport{Symbol: string(at), Words: s.begin.Words(at), Number: number, Of: of}
	r.LeftS = s.course.LeftS(s.nowS())
	t := s.take
	if t == nil && s.course.Phase() == listening.Over && len(s.takes) > 0 && s.takes[len(s.takes)-1].Position == at {
		t = s.takes[len(s.takes)-1] // the last figures stay in sight
	}
	if t != nil {
		s.describe(&r, t)
	}
	return r
}

func (s *Session) describe(r *Report, t *Take) {
	r.Take, r.Watch = t.Number, t.Watch
	r.HeardS = t.Result.Seconds
	if s.take == t {
		r.HeardS = s.course.MeasuredS(s.nowS())
	}
	r.Settled = t.heard().Settled(t.leastS)
	clash := t.Clash()
	if !t.Watch {
		if clash != "" {
			r.Verdict = clash + " " + heard.RightWatchQuestion
		}
		return
	}
	res := t.Result
	r.Mark, r.Verdict = t.mark(), t.Answer.Text
	if open := t.heard().Open(t.leastS); open != "" {
		r.Verdict = open
	}
	if clash != "" { // nothing is judged before somebody says that it is
		r.Verdict = clash + " " + heard.RightWatchQuestion
	}
	r.Figures = t.figures(figure)
	r.Beats = beatsText(res)
	r.Quality = qualityText(res)
	if res.Amplitude != nil && t.Source.LiftAngleAssumed {
		r.Quality += "; the amplitude is for " + heard.LiftWords(res.LiftAngleDeg, true)
	}
	for _, n := range res.Notes {
		if r.HeardS >= notesFromS {
			r.Notes = append(r.Notes, n.Text)
		}
	}
	if lost := r.Lost; lost > 0 {
		r.Notes = append(r.Notes, fmt.Sprintf("%.0f ms of sound were lost on the way and count as silence; listening goes on.",
			math.Ceil(1e3*lost)))
	}
	r.Means = meansOf(res)
}

// mark is the lozenge of what was heard. What is not decided is undecided, and so are figures where nothing is to be
// judged.
func (t *Take) mark() string {
	a := t.Answer
	if !t.Watch {
		return notMeasured
	}
	if a.Standing == heard.Enough && t.decided() {
		failed := a.Judgement != nil && a.Judgement.Verdict == metrology.Fail
		for _, c := range a.Criteria {
			failed = failed || c.Verdict == metrology.Fail
		}
		if failed {
			return "fail"
		}
		return "pass"
	}
	return "undecided"
}

func (s *Session) takeReport(t *Take) TakeReport {
	text, says := t.Result.Rate.FormatSigned(), t.says()
	if says.Amplitude {
		text += ", " + t.Result.Amplitude.Format()
		if t.Source.LiftAngleAssumed {
			text += " (lift angle assumed)"
		}
	}
	if says.BeatError {
		text += ", " + unsigned(*t.Result.BeatError).Format()
	}
	words := ""
	if s.begin != nil {
		words = s.begin.Words(t.Position)
	}
	return TakeReport{Number: t.Number, Position: string(t.Position), Words: words, State: timing.StateWords(t.Hours),
		Text: text, Figures: t.figures(listed),
		Mark: t.mark(), Kept: t.Kept, Running: t == s.take}
}

// unsigned takes the sign off a beat error: which swing is which can't be heard.
func unsigned(v metrology.Value) metrology.Value {
	v.Value = math.Abs(v.Value)
	return v
}

// meansOf are the last whole means of what was heard.
func meansOf(res acoustic.Result) []MeanReport {
	means := listening.MeansOf(res, listening.MeanS)
	if n := len(means) - meanRows; n > 0 {
		means = means[n:]
	}
	var out []MeanReport
	for _, m := range means {
		line := MeanReport{Span: fmt.Sprintf("%.0f–%.0f s", m.FromS, m.ToS),
			Figures: Figures{Rate: listed(m.Rate, true)}}
		if m.BeatError != nil {
			line.BeatError = listed(unsigned(*m.BeatError), false)
		}
		if m.Amplitude != nil {
			line.Amplitude = listed(*m.Amplitude, false)
		}
		out = append(out, line)
	}
	return out
}
