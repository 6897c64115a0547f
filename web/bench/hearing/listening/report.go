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

// stripS is how much of the beats the page's strip shows, and stripBeats how many at most: no watch beats faster than
// 43 200 an hour, 360 in 30 s.
const (
	stripS     = 30
	notesFromS = 5 // before that, remarks on the sound come and go
	stripBeats = 400
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
	Strip    *Strip       `json:"strip,omitempty"`
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

// figures are those of the take's figures that mean something.
func (t *Take) figures() *Figures {
	var f Figures
	says := t.says()
	if says.Rate {
		f.Rate = figure(t.Result.Rate, true)
	}
	if says.Amplitude {
		f.Amplitude = figure(*t.Result.Amplitude, false)
	}
	if says.BeatError {
		f.BeatError = figure(unsigned(t.Result.BeatError), false)
	}
	return &f
}

// Strip is the end of the beats, for drawing.
type Strip struct {
	FromS  float64 `json:"from_s"` // of the left end, seconds from the take's beginning; below 0 at first
	ToS    float64 `json:"to_s"`
	HalfMs float64 `json:"half_ms"` // from a lane's line to its edge
	BandMs float64 `json:"band_ms"` // twice the scatter of single beats: about 95 of 100 lie within
	Text   string  `json:"text"`
	// Beats are number, time in s, residual in ms and 1 for a beat used, one beat after the other in one list.
	Beats []float64 `json:"beats"`
}

// TakeReport is a position that was listened to.
type TakeReport struct {
	Number   int    `json:"number"`
	Position string `json:"position"`
	Words    string `json:"words"`
	State    string `json:"state"` // of wind
	Text     string `json:"text"`
	Mark     string `json:"mark"`
	Kept     bool   `json:"kept"`
	Running  bool   `json:"running"` // still listened to; keeping it ends that
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
	r.Figures = t.figures()
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
	r.Strip = stripOf(res, r.HeardS)
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
		text += ", " + unsigned(t.Result.BeatError).Format()
	}
	words := ""
	if s.begin != nil {
		words = s.begin.Words(t.Position)
	}
	return TakeReport{Number: t.Number, Position: string(t.Position), Words: words, State: timing.StateWords(t.Hours),
		Text: text,
		Mark: t.mark(), Kept: t.Kept, Running: t == s.take}
}

// unsigned takes the sign off a beat error: which swing is which can't be heard.
func unsigned(v metrology.Value) metrology.Value {
	v.Value = math.Abs(v.Value)
	return v
}

// stripOf cuts the end of the beats.
func stripOf(r acoustic.Result, heardS float64) *Strip {
	beats := r.Beats
	if n := len(beats) - stripBeats; n > 0 {
		beats = beats[n:]
	}
	st := &Strip{ToS: heardS, BandMs: 2 * r.BeatScatterUs / 1e3, Text: stripText(r)}
	st.FromS = st.ToS - stripS
	st.HalfMs = laneHalfMs(st.BandMs)
	for _, b := range beats {
		if b.TimeS < st.FromS {
			continue
		}
		used := 0.0
		if b.Used {
			used = 1
		}
		st.Beats = append(st.Beats, float64(b.Number), rounded(b.TimeS, 1e3), rounded(b.ResidualMs, 1e4), used)
	}
	return st
}

// laneHalfMs is the least of 0.1, 0.2, 0.5, 1, 2, 5 ms that leaves twice the band's room.
func laneHalfMs(band float64) float64 {
	for _, half := range []float64{0.1, 0.2, 0.5, 1, 2} {
		if half >= 2*band {
			return half
		}
	}
	return 5
}

// rounded is x to so many steps a unit; what is no number JSON can't have.
func rounded(x, steps float64) float64 {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return 0
	}
	return math.Round(x*steps) / steps
}
