package listening

import (
	"bytes"
	"math"
	"slices"
	"time"

	"ledgerwheel/domain/acoustic"
	"ledgerwheel/domain/heard"
	"ledgerwheel/domain/listening"
	"ledgerwheel/domain/recording"
	"ledgerwheel/domain/timing"
)

// Begin is what a person asked to listen to, checked.
type Begin struct {
	Plan     listening.Plan
	Hours    float64 // after winding
	Settings acoustic.Settings
	Source   heard.Source // the recorder as it stands now
	RunKey   string       // which run it is for, as the page named it
	Started  string       // what the page calls this start: reports repeat it
	// EscapeTeeth are those of the calibre's escape wheel, 0 when not known.
	EscapeTeeth int
	// Ask is what is to be decided, but for result and position.
	Ask heard.Question
	// Stated is what the docket says of the watch.
	Stated heard.Stated
	// Words names a position for the page and for the voice.
	Words func(timing.Position) string
}

// Take is what was heard of the watch in one position.
type Take struct {
	Number   int
	Position timing.Position
	Hours    float64
	RunKey   string
	At       time.Time // when it began
	Source   heard.Source
	Kept     bool

	Watch  bool // a watch was heard
	Result acoustic.Result
	Answer heard.Answer

	leastS      float64 // heard before it is decided
	escapeTeeth int     // of the calibre, 0 when not known
	stated      heard.Stated
	unaided     unaided
	rejoining   rejoining

	ear    Ear
	anchor anchor
	from   int64 // the number of the beat that stands at the wheel's first tooth
	sound  []int16
	end    int // of the ring
}

// hear gives the take more sound.
func (t *Take) hear(samples []float32) {
	t.ear.Write(samples)
	t.unaided.hear(samples)
	most := int(math.Min(listening.KeptSoundSamples, listening.KeptSoundS*t.Source.SampleRateHz))
	for _, x := range samples {
		v := int16(math.RoundToEven(32767 * math.Max(-1, math.Min(1, finite(x)))))
		if len(t.sound) < most {
			t.sound = append(t.sound, v)
			continue
		}
		t.sound[t.end] = v
		t.end = (t.end + 1) % most
	}
}

func finite(x float32) float64 {
	if math.IsNaN(float64(x)) || math.IsInf(float64(x), 0) {
		return 0
	}
	return float64(x)
}

// judge asks the ear for figures and what they decide.
func (t *Take) judge(ask heard.Question) {
	r, err := t.rejoin(t.ear.Result())
	t.Watch = err == nil
	if n, other := t.unaided.otherBeat(); other {
		r.Notes = append(slices.Clone(r.Notes), n)
	}
	if err != nil {
		t.Result, t.Answer = acoustic.Result{}, heard.Answer{}
		return
	}
	t.steady(&r)
	ask.Result, ask.Position = r, t.Position
	t.Result, t.Answer = r, heard.Judge(ask)
}

// anchor is a tick by which beats are told again as more is heard.
type anchor struct {
	timeS float64
	turn  int64   // its number as counted when the first beats were heard
	bph   float64 // by which beats are counted from it; 0 before the first is known
}

// steady keeps ticks ticks and teeth teeth: as more is heard an earlier beat may become the first, and what was a tick
// would turn into a tock, with the beat error's sign, and each beat would move to another tooth.
func (t *Take) steady(r *acoustic.Result) {
	n := len(r.Beats)
	if n == 0 {
		return
	}
	a := t.anchor
	if a.bph != r.BeatsPerHour { // the beat was heard otherwise before: nothing of it holds
		t.from = 0
	} else {
		at := max(0, slices.IndexFunc(r.Beats, func(b acoustic.Beat) bool { return b.TimeS > a.timeS-900/a.bph }))
		turn := a.turn + int64(math.Round((r.Beats[at].TimeS-a.timeS)*a.bph/3600))
		if (turn^r.Beats[at].Number)&1 == 1 {
			swap(r)
		}
		t.from = r.Beats[at].Number - turn
	}
	last := r.Beats[n-1]
	t.anchor = anchor{timeS: last.TimeS, turn: last.Number - t.from, bph: r.BeatsPerHour}
	if last.Number&1 == 1 {
		t.anchor.timeS -= 3600 / r.BeatsPerHour
		t.anchor.turn--
	}
}

// swap calls ticks tocks and tocks ticks.
func swap(r *acoustic.Result) {
	for i := range r.Beats {
		r.Beats[i].Number++
	}
	for i := range r.Stretches {
		if e := r.Stretches[i].BeatError; e != nil {
			e.Value = -e.Value
		}
	}
	if e := r.BeatError; e != nil {
		e.Value = -e.Value
	}
	r.SplitMs = -r.SplitMs
	r.Voices[0], r.Voices[1] = r.Voices[1], r.Voices[0]
	if w := r.Wheel; w != nil && len(w.Ms) > 0 {
		last := len(w.Ms) - 1
		w.Ms = append([]float64{w.Ms[last]}, w.Ms[:last]...)
	}
}

// wheel is the escape wheel as far as it is known.
func (t *Take) wheel() listening.Wheel { return listening.WheelOf(t.escapeTeeth, t.Result.Wheel) }

// heard is the take as the course looks at it.
func (t *Take) heard() listening.Heard {
	if !t.Watch {
		return listening.Heard{}
	}
	h := listening.HeardOf(t.Result, t.Answer.Standing, t.wheel().Teeth)
	if clash := t.Clash(); clash != "" {
		h.Doubt = clash + " " + heard.RightWatchQuestion
	}
	return h
}

// decided reports whether the position is decided by the rule.
func (t *Take) decided() bool { return t.heard().Decided(t.leastS) }

// says is which of its figures mean something.
func (t *Take) says() listening.Says {
	if !t.Watch {
		return listening.Says{}
	}
	return listening.SaysOf(t.Result, t.wheel().Teeth)
}

// Sound returns the end of the take's sound as a WAV file and its length in seconds; nil when none is held any more.
func (t *Take) Sound() (wav []byte, seconds float64, err error) {
	if len(t.sound) == 0 {
		return nil, 0, nil
	}
	samples := t.held()
	var b bytes.Buffer
	err = recording.WriteWAV(&b, int(math.Round(t.Source.SampleRateHz)), samples)
	return b.Bytes(), float64(len(samples)) / t.Source.SampleRateHz, err
}

// Facts is what is kept of the take beside its reading.
func (t *Take) Facts() heard.Facts { return heard.FactsOf(t.Result, t.Source) }

// Clash says what of the sound contradicts what the docket says of the watch, "" where nothing does.
func (t *Take) Clash() string {
	if !t.Watch {
		n, _ := t.unaided.otherBeat()
		return n.Text
	}
	return t.stated.Clash(t.Facts())
}

// Reading is the take as a reading of a run, with those of its figures that mean something; the rate stands always.
func (t *Take) Reading(takenBy string) timing.Reading {
	r, says := heard.Reading(t.Result, t.Position, t.Hours, t.Source.Recorder, takenBy, t.At), t.says()
	if !says.Amplitude {
		r.AmplitudeDeg = nil
	}
	if !says.BeatError {
		r.BeatErrorMs = nil
	}
	return r
}
