package heard

import (
	"fmt"
	"maps"
	"math"
	"time"

	"ledgerwheel/domain/acoustic"
	"ledgerwheel/domain/timing"
)

// Piece says which part of a long recording a reading was taken from. Rate and amplitude of its facts are those of the
// part; what else they hold is of the whole recording.
type Piece struct {
	AtS        float64 `json:"at_s"` // the middle of the part, from the start of the recording
	Beats      int     `json:"beats"`
	StartHours float64 `json:"hours_after_winding_at_the_start"`
}

// RunDown is what a long recording says of a watch in one position as its mainspring lets down.
type RunDown struct {
	Readings []timing.Reading // at successive states of wind
	Facts    []Facts          // of each reading
	// PowerReserveH is how long after winding the watch stopped, 0 when it was still running at the end.
	PowerReserveH float64
}

// LeastRunDownS is how long a recording must be, in seconds, for a run-down to be read from it. What is shorter is one
// reading.
const LeastRunDownS = 300

// leastPieces is how many readings make a run-down: with fewer nothing is set against anything.
const leastPieces = 2

// StartOf is a run-down as it began.
type StartOf struct {
	Position timing.Position
	Hours    float64 // after winding, as the recording began
	TakenBy  string
	At       time.Time // when the recording was sent in, the time of its readings
}

// RunDownOf reads at most so many states of wind from a long recording: its stretches are gathered into successive
// parts (see [acoustic.IsochronismPairs]), and each part's mean rate at its mean amplitude is the reading of the state
// of wind at its middle. Whole are the facts of the recording. The problems are keyed by "run", where the recording does not
// do, "position" and "hours".
//
// The states of wind are rounded to half an hour, or finer where that is more than a quarter of the time from one to
// the next: sheets are easier read that way, and a watch changes little in that time.
func RunDownOf(r acoustic.Result, whole Facts, start StartOf, most int) (RunDown, map[string]string) {
	bad := map[string]string{}
	if !start.Position.Valid() {
		bad["position"] = "Say in which position the watch lay."
	}
	pairs := acoustic.IsochronismPairs(r.Stretches, most)
	if why := whyNoRunDown(r, pairs); why != "" {
		bad["run"] = why
		return RunDown{}, bad
	}
	var d RunDown
	perHour := statesPerHour(pairs)
	for i, p := range pairs {
		hours := math.Round((start.Hours+p.AtS/3600)*perHour) / perHour
		piece := Piece{AtS: p.AtS, Beats: p.Beats, StartHours: start.Hours}
		f := whole.ofPiece(p, piece)
		d.Facts = append(d.Facts, f)
		d.Readings = append(d.Readings, timing.Reading{Position: start.Position, HoursAfterWinding: hours,
			Instrument: whole.Recorder,
			TakenBy:    start.TakenBy, TakenAt: start.At, RateSPerDay: figureOf(f.RateSPerDay, f.RateFitStdSPerDay),
			AmplitudeDeg: figureOf(*f.AmplitudeDeg, f.AmplitudeStdDeg), BeatErrorMs: beatErrorNear(r.Stretches, pairs, i)})
	}
	for _, reading := range d.Readings {
		if why := reading.Problems()["hours_after_winding"]; why != "" {
			bad["hours"] = why
		}
	}
	if reserve, stopped := PowerReserveH(r, start.Hours); stopped {
		d.PowerReserveH = reserve
	}
	return d, bad
}

// beatErrorNear is the mean beat error of the stretches that lie nearer to one part than to any other; its uncertainty is
// that of one of them, since what they have in common does not average out.
func beatErrorNear(stretches []acoustic.Stretch, pairs []acoustic.Pair, part int) *timing.Figure {
	sum, std, n := 0.0, 0.0, 0.0
	for _, s := range stretches {
		near := 0
		for i, p := range pairs {
			if math.Abs(s.MiddleS()-p.AtS) < math.Abs(s.MiddleS()-pairs[near].AtS) {
				near = i
			}
		}
		if near == part {
			sum, std, n = sum+s.BeatError.Value, std+s.BeatError.StdUncertainty, n+1
		}
	}
	if n == 0 {
		return nil
	}
	return figureOf(math.Abs(sum/n), std/n)
}

func whyNoRunDown(r acoustic.Result, pairs []acoustic.Pair) string {
	switch {
	case r.Seconds < LeastRunDownS:
		return fmt.Sprintf("This recording is too short for a run-down: at least %d minutes are needed, and hours say more.",
			LeastRunDownS/60)
	case len(pairs) < leastPieces:
		return "An amplitude was heard in too few parts of this recording for a run-down: at least two are needed."
	}
	return ""
}

// statesPerHour is the fineness to which the states of wind are rounded, as a whole number of steps in an hour.
func statesPerHour(pairs []acoustic.Pair) float64 {
	apartH := math.Inf(1)
	for i := range pairs[1:] {
		apartH = math.Min(apartH, (pairs[i+1].AtS-pairs[i].AtS)/3600)
	}
	for _, perHour := range []float64{2, 4, 10, 20} {
		if 1/perHour <= apartH/4 {
			return perHour
		}
	}
	return 100 // as finely as a state of wind is stated
}

// ofPiece returns the facts of one part of the recording.
func (f Facts) ofPiece(p acoustic.Pair, piece Piece) Facts {
	degrees := p.Amplitude.Value
	f.RateSPerDay, f.RateFitStdSPerDay = p.Rate.Value, p.Rate.StdUncertainty
	f.RateStdSPerDay = math.Hypot(p.Rate.StdUncertainty, f.ClockStdPPM*timing.SPerDayPerPPM)
	f.AmplitudeDeg, f.AmplitudeStdDeg = &degrees, p.Amplitude.StdUncertainty
	f.Piece = &piece
	return f
}

// PowerReserveH is how long after winding a watch stopped that was heard to stop, wound so many hours before the
// recording began; stopped is false when it did not stop, or was heard so briefly that it was stopped rather than ran
// down.
func PowerReserveH(r acoustic.Result, startHours float64) (hours float64, stopped bool) {
	run := acoustic.LongRun(nil, acoustic.Result{Notes: r.Notes, StartS: r.StartS, EndS: r.EndS})
	if !run.Stopped || run.RanS < LeastRunDownS {
		return 0, false
	}
	return startHours + run.RanS/3600, true
}

// Problems says what keeps d from being kept with the facts of its whole recording, keyed as [Problems], with
// "position", "hours_after_winding" and "".
func (d RunDown) Problems(whole Facts) map[string]string {
	bad := map[string]string{}
	if len(d.Readings) < leastPieces || len(d.Facts) != len(d.Readings) {
		bad[""] = "A run-down is two readings at least, each with its facts; nothing was kept."
		return bad
	}
	for i, reading := range d.Readings {
		maps.Copy(bad, Problems(reading, d.Facts[i]))
		if reading.Position != d.Readings[0].Position {
			bad["position"] = "A run-down is heard in one position."
		}
		if i > 0 && !(reading.HoursAfterWinding > d.Readings[i-1].HoursAfterWinding) {
			bad["hours_after_winding"] = "A run-down goes from each state of wind to a later one."
		}
	}
	maps.Copy(bad, whole.Problems())
	return bad
}

// Summary is what the journal tells of a run-down that a recorder heard for a run. It has readings.
func (d RunDown) Summary(runTitle, recorder string) string {
	first, last := d.Readings[0], d.Readings[len(d.Readings)-1]
	summary := fmt.Sprintf("Run-down heard by %s for the run %s: %d readings in %s, from %s h to %s h after winding.",
		recorder,
		runTitle, len(d.Readings), string(first.Position), timing.HoursText(first.HoursAfterWinding),
		timing.HoursText(last.HoursAfterWinding))
	if d.PowerReserveH > 0 {
		summary += fmt.Sprintf(" It stopped after %.1f h.", d.PowerReserveH)
	}
	return summary + d.Facts[0].RightWatch.words()
}
