package oscillator

import (
	"errors"
	"math"

	"ledgerwheel/domain/metrology"
)

// Vibration is one trial of a new spring on its balance: held at a point, set swinging, its beats counted by the clock.
type Vibration struct {
	PinnedMm metrology.Value // along the spring, from the collet or from any mark that both trials share
	Beats    metrology.Value // counted: two to an oscillation
	Seconds  metrology.Value // that they took
}

// Problems says, by form field, what cannot be right; n ("1" or "2") follows the names "pinned_", "beats_", "seconds_".
func (v Vibration) Problems(n string) map[string]string {
	bad := map[string]string{}
	if v.PinnedMm.Check() != nil || !(v.PinnedMm.Value > 0 && v.PinnedMm.Value <= 2000) {
		bad["pinned_"+n] = "Give where the spring was held, above 0 and up to 2000 mm along it."
	}
	if !(v.Beats.Value >= 10 && v.Beats.Value <= 1e6) || v.Beats.Check() != nil {
		bad["beats_"+n] = "Give the beats counted, from 10 to 1000000; the more, the truer."
	}
	if !(v.Seconds.Value > 0 && v.Seconds.Value <= 86400) || v.Seconds.Check() != nil {
		bad["seconds_"+n] = "Give the seconds they took, above 0."
	}
	if len(bad) > 0 {
		return bad
	}
	if b := v.BeatsPerHour(); b.Value < leastBeatsPerHour || b.Value > mostBeatsPerHour {
		bad["beats_"+n] = "That would be fewer than 3600 or more than 360000 beats an hour; look at the count and the " +
			"seconds again."
	} else if b.Expanded() >= b.Value/10 {
		bad["seconds_"+n] = "The count is uncertain by a tenth; count for longer."
	}
	return bad
}

// BeatsPerHour returns 3600·beats/seconds.
func (v Vibration) BeatsPerHour() metrology.Value {
	return relative(3600*v.Beats.Value/v.Seconds.Value, "beats per hour", powerTerm{v.Beats, 1}, powerTerm{v.Seconds, -1})
}

// StiffnessOn returns the spring's stiffness in µN·m/rad from its trial on a balance of known inertia (mg·cm²):
// k = I·(2πf)². This is how a spring's strength is found without measuring it. It needs a balance swinging freely, and
// no stiffer hold than the tweezers'.
func (v Vibration) StiffnessOn(inertiaMgCm2 metrology.Value) metrology.Value {
	return StiffnessFor(inertiaMgCm2, v.BeatsPerHour())
}

// PinHere is where to hold the spring for the wanted beat.
type PinHere struct {
	AtMm metrology.Value // on the same measure as the trials
	// ActiveMm is the working length there, from the two trials alone; nil with one.
	ActiveMm *metrology.Value
	// ZeroMm is where the measure stands at no length: near 0 when it was taken from the collet. nil with one trial.
	ZeroMm *metrology.Value
	// RateSPerDay is the standard uncertainty of AtMm as a rate: what the regulator must still be able to take.
	RateUncertaintySPerDay float64
	// Outside is how far the place lies beyond the nearer trial, in parts of the distance between them; 0 between them.
	Outside float64
}

// Errors of PinFor.
var (
	ErrTrialsAlike = errors.New("the two trials lie too near each other for their uncertainties: hold the spring " +
		"further apart")
	ErrTrialsBackTo = errors.New("the longer spring beat faster: length or count of one trial is wrong, or they were exchanged")
	ErrPinNowhere   = errors.New("the wanted beat would need a spring of no length: this spring is too weak for this balance")
)

// PinFor interpolates in 1/f² between two trials: f ∝ L^(−1/2), so 1/f² is a straight line in the length, whatever mark
// the length is measured from. It fails with ErrTrialsAlike, ErrTrialsBackTo or ErrPinNowhere.
func PinFor(wantedBeatsPerHour float64, a, b Vibration) (PinHere, error) {
	fa, fb := a.BeatsPerHour(), b.BeatsPerHour()
	inverse := func(f metrology.Value) metrology.Value {
		x := wantedBeatsPerHour / f.Value
		return relative(x*x, "", powerTerm{f, -2})
	}
	pa, pb := inverse(fa), inverse(fb) // 1 at the wanted beat
	dp, dx := pb.Value-pa.Value, b.PinnedMm.Value-a.PinnedMm.Value
	tooNear := math.Abs(dp) <= metrology.CoverageFactor*math.Hypot(pa.StdUncertainty, pb.StdUncertainty) ||
		math.Abs(dx) <= metrology.CoverageFactor*math.Hypot(a.PinnedMm.StdUncertainty, b.PinnedMm.StdUncertainty)
	if tooNear || dp == 0 || dx == 0 {
		return PinHere{}, ErrTrialsAlike
	}
	slope := dx / dp
	if slope < 0 {
		return PinHere{}, ErrTrialsBackTo
	}
	at := func(p float64) metrology.Value {
		w := (p - pa.Value) / dp
		u := metrology.Quadrature(math.Abs(1-w)*a.PinnedMm.StdUncertainty, math.Abs(w)*b.PinnedMm.StdUncertainty,
			math.Abs(1-w)*slope*pa.StdUncertainty, math.Abs(w)*slope*pb.StdUncertainty)
		return metrology.Value{Value: a.PinnedMm.Value + w*dx, StdUncertainty: u, Unit: "mm"}
	}
	zero, here := at(0), at(1)
	if here.Value <= 0 {
		return PinHere{}, ErrPinNowhere
	}
	w := (1 - pa.Value) / dp
	out := PinHere{AtMm: here, ZeroMm: &zero, Outside: math.Max(0, math.Max(-w, w-1))}
	// The length from nothing to here is the slope itself, since p = 1 here.
	u := metrology.Quadrature(a.PinnedMm.StdUncertainty, b.PinnedMm.StdUncertainty,
		slope*pa.StdUncertainty, slope*pb.StdUncertainty) / math.Abs(dp)
	out.ActiveMm = &metrology.Value{Value: slope, StdUncertainty: u, Unit: "mm"}
	out.RateUncertaintySPerDay = SecondsPerDay / 2 * here.StdUncertainty / slope
	return out, nil
}

// PinFromOne takes one trial whose length was measured from the collet: L·(f/f₀)².
func PinFromOne(wantedBeatsPerHour float64, v Vibration) PinHere {
	f := v.BeatsPerHour()
	x := f.Value / wantedBeatsPerHour
	at := relative(v.PinnedMm.Value*x*x, "mm", powerTerm{v.PinnedMm, 1}, powerTerm{f, 2})
	return PinHere{AtMm: at, RateUncertaintySPerDay: SecondsPerDay / 2 * at.StdUncertainty / at.Value}
}
