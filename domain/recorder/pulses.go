package recorder

import (
	"errors"
	"fmt"
	"math"
	"time"

	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/timing"
)

// Reference is what gives one pulse a second: exactly one, or one of a quartz watch of known rate.
type Reference struct {
	RateSPerDay float64 // gains positive; 0 for pulses meant to be exact
	U95SPerDay  float64 // expanded uncertainty of that rate (k = 2)
}

// Limits of a reference. Common practice, from memory: a quartz watch keeps within ±1 s/d, and one that is off by more
// than some seconds a day is in need of service itself.
const (
	maxReferenceRate = 30
	maxReferenceU95  = 5
)

// Problems says, by form field, what is wrong with r: "reference_rate", "reference_u95".
func (r Reference) Problems() map[string]string {
	bad := map[string]string{}
	if !(math.Abs(r.RateSPerDay) <= maxReferenceRate) { // refuses NaN too
		bad["reference_rate"] = "Give the watch’s rate from −30 to +30 s/d, plus when it gains."
	}
	if !(r.U95SPerDay >= 0 && r.U95SPerDay <= maxReferenceU95) {
		bad["reference_u95"] = "Give how well that is known, from 0 to 5 s/d (k = 2)."
	}
	return bad
}

// periodS is the true time from pulse to pulse: a watch that gains counts more than 86400 of them in a day.
func (r Reference) periodS() float64 { return 86400 / (86400 + r.RateSPerDay) }

// stdPPM is the reference's own standard uncertainty in parts per million.
func (r Reference) stdPPM() float64 {
	return r.U95SPerDay / metrology.CoverageFactor / timing.SPerDayPerPPM
}

// Estimate is what was found of a recorder's clock.
type Estimate struct {
	PPM          float64 // how far it runs fast
	StdPPM       float64 // standard uncertainty, all contributions
	FitStdPPM    float64 // of the line alone
	OtherStdPPM  float64 // of the reference, or of the server's clock and the way to it
	DurationS    float64 // from the first used to the last
	Used, Missed int     // pulses, or stretches of a session
	Rejected     int     // heard but off the line
	ScatterUs    float64 // of one of them, microseconds
}

// Value is the figure as a value with its unit.
func (e Estimate) Value() metrology.Value {
	return metrology.Value{Value: e.PPM, StdUncertainty: e.StdPPM, Unit: "ppm"}
}

// Calibration makes e a calibration found at a time by a method, from sound of rateHz samples a second. It is no surer
// than FloorStdPPM allows.
func (e Estimate) Calibration(m Method, rateHz float64, at time.Time) Calibration {
	return Calibration{PPM: e.PPM, StdPPM: max(e.StdPPM, FloorStdPPM(e.DurationS, rateHz)), Method: m, At: at.UTC(),
		RedoBy: DefaultRedoBy(at), RateHz: rateHz, DurationS: e.DurationS, Used: e.Used, Missed: e.Missed, ScatterUs: e.ScatterUs}
}

// ErrTooShort reports that there is too little yet to say anything; the text says how much is wanted.
var ErrTooShort = errors.New("too short to calibrate by")

// ErrNotRegular reports that what was given does not keep time as a reference would.
var ErrNotRegular = errors.New("not a steady reference")

const (
	leastPulses   = 30
	leastPulsesS  = 30.0
	greatestPhase = 0.1 // of a second, off a whole count: more is not a pulse of the train
	anchorTries   = 20
	anchorReach   = 40
	// settledCounts is over how many pulses the recorder's own second is found, before it is trusted across gaps.
	settledCounts = 20
)

// FromPulses finds a recorder's clock from the arrivals of reference pulses, one a second, in seconds by the recorder's
// own clock, in order of time. Pulses may be missing and others may have crept in. Each arrival is given the whole
// number of seconds it lies from the first, counted from pulse to pulse so that a clock that is off by 1000 ppm is not
// a second out after a quarter of an hour; a robust line of arrival against count then gives the second as the recorder
// counts it:
//
//	ppm = (slope / true period − 1) · 10⁶
//
// A recorder whose clock runs fast counts too many samples in it, so that its slope is the longer. The standard
// uncertainty combines that of the slope with the reference's own (JCGM 100, 5.1.2). The error wraps ErrTooShort or
// ErrNotRegular, each with a sentence for people.
func FromPulses(timesS []float64, ref Reference) (Estimate, error) {
	if len(timesS) < leastPulses || timesS[len(timesS)-1]-timesS[0] < leastPulsesS {
		return Estimate{}, fmt.Errorf("%w: %d pulses were heard, at least %d over %.0f s are needed", ErrTooShort,
			len(timesS), leastPulses, leastPulsesS)
	}
	counts, times := count(timesS, ref.periodS())
	if len(counts) < leastPulses || 2*len(counts) < len(timesS) {
		return Estimate{}, fmt.Errorf("%w: of %d sounds only %d come one second after another", ErrNotRegular, len(timesS),
			len(counts))
	}
	odd := make([]bool, len(counts))
	for i, n := range counts {
		odd[i] = math.Mod(math.Abs(n), 2) == 1
	}
	l := fitLine(counts, times, odd)
	e := Estimate{PPM: (l.slope/ref.periodS() - 1) * 1e6, FitStdPPM: l.std / ref.periodS() * 1e6,
		OtherStdPPM: ref.stdPPM(),
		Used:        l.used, Rejected: len(timesS) - l.used, ScatterUs: l.scatter * 1e6}
	first, last := ends(counts, l.kept)
	e.DurationS = last - first
	e.Missed = max(0, int(last-first)+1-distinct(counts, l.kept))
	e.StdPPM = metrology.Quadrature(e.FitStdPPM, e.OtherStdPPM)
	switch {
	case 2*l.used < len(counts):
		return Estimate{}, fmt.Errorf("%w: of %d pulses only %d lie on one line", ErrNotRegular, len(counts), l.used)
	case l.used < leastPulses || e.DurationS < leastPulsesS:
		return Estimate{}, fmt.Errorf("%w: %d pulses could be used, at least %d over %.0f s are needed", ErrTooShort, l.used,
			leastPulses, leastPulsesS)
	case !(math.Abs(e.PPM) <= maxPPM):
		return Estimate{}, fmt.Errorf("%w: the pulses come every %.4f s by the recorder’s clock, which no quartz is off by",
			ErrNotRegular, l.slope)
	}
	return e, nil
}

// count gives the arrivals their whole numbers of seconds and leaves out those that lie off a whole number.
func count(timesS []float64, period float64) (counts, times []float64) {
	start := anchorOf(timesS, period)
	at, n := timesS[start], 0.0
	own := period // the second as the recorder counts it
	counts, times = append(counts, 0), append(times, at)
	for _, t := range timesS[start+1:] {
		steps := (t - at) / own
		whole := math.Round(steps)
		if math.Abs(steps-whole) >= greatestPhase {
			continue
		}
		if whole == 0 { // a second sound of the same pulse
			continue
		}
		n += whole
		at = t
		counts, times = append(counts, n), append(times, t)
		if n >= settledCounts {
			own = (t - times[0]) / n
		}
	}
	return counts, times
}

// anchorOf is the first arrival that the following ones agree with best: the very first may be a stray.
func anchorOf(timesS []float64, period float64) int {
	best, most := 0, -1
	for i := range min(anchorTries, len(timesS)) {
		agree := 0
		for _, t := range timesS[i+1 : min(i+1+anchorReach, len(timesS))] {
			if steps := (t - timesS[i]) / period; math.Abs(steps-math.Round(steps)) < greatestPhase {
				agree++
			}
		}
		if agree > most {
			best, most = i, agree
		}
	}
	return best
}

func ends(counts []float64, kept []bool) (first, last float64) {
	found := false
	for i, n := range counts {
		if !kept[i] {
			continue
		}
		if !found {
			first, found = n, true
		}
		last = n
	}
	return first, last
}

func distinct(counts []float64, kept []bool) int {
	n, last := 0, math.Inf(-1)
	for i, c := range counts {
		if kept[i] && c != last {
			n, last = n+1, c
		}
	}
	return n
}
