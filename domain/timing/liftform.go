package timing

import (
	"errors"
	"fmt"
	"math"
	"strings"

	"ledgerwheel/domain/figure"
	"ledgerwheel/domain/metrology"
)

// LiftWay is a way to determine a lift angle.
type LiftWay string

// The ways.
const (
	LiftSeen LiftWay = "seen" // LiftAngleAt
	LiftTwo  LiftWay = "two"  // LiftAngleOfTwo
)

// LiftWays returns the ways, the usual one first.
func LiftWays() []LiftWay { return []LiftWay{LiftSeen, LiftTwo} }

// LiftField is one figure that a way asks for: how forms name it. All of a way are needed.
type LiftField struct{ Name, Label, Unit, Hint string }

// The fields. Each uncertainty is an expanded one, k = 2.
const (
	seenAmplitude    = "seen_amplitude_deg"
	seenAmplitudeU95 = "seen_amplitude_u95_deg"
	seenTime         = "seen_time_ms"
	seenTimeU95      = "seen_time_u95_ms"
	twoDifference    = "two_difference_deg"
	twoDifferenceU95 = "two_difference_u95_deg"
	twoGreaterTime   = "two_greater_time_ms"
	twoLesserTime    = "two_lesser_time_ms"
	twoTimeU95       = "two_time_u95_ms"
)

var liftFields = map[LiftWay][]LiftField{
	LiftSeen: {
		{seenAmplitude, "Amplitude seen", UnitDegree, "By eye or camera, at a mark on the balance: 180 where the arms seem to stand still."},
		{seenAmplitudeU95, "Its uncertainty, ±", UnitDegree, "At 95 %: by eye seldom better than 5."},
		{seenTime, "Lift time", UnitMs, "From the unlocking to the drop of one beat, read at that amplitude."},
		{seenTimeU95, "Its uncertainty, ±", UnitMs, "At 95 %."},
	},
	LiftTwo: {
		{twoDifference, "Between the two amplitudes", UnitDegree, "Followed at a mark while the mainspring is let down."},
		{twoDifferenceU95, "Its uncertainty, ±", UnitDegree, "At 95 %."},
		{twoGreaterTime, "Lift time at the greater", UnitMs, "The shorter of the two times."},
		{twoLesserTime, "Lift time at the lesser", UnitMs, ""},
		{twoTimeU95, "Uncertainty of each time, ±", UnitMs, "At 95 %."},
	},
}

// Fields are the figures that w asks for, in the order of the form; none where there is no such way.
func (w LiftWay) Fields() []LiftField { return liftFields[w] }

// Determination is a lift angle as it was determined.
type Determination struct {
	Angle metrology.Value // degrees
	How   string          // in words, with the figures it came of
}

// DetermineLift works a lift angle out from what was typed, by the field names of w.Fields; beatsPerHour are the
// calibre's. The problems are keyed by field name, "way" where there is no such way; where there are any, there is no
// answer.
func DetermineLift(w LiftWay, typed func(field string) string, beatsPerHour int) (Determination, map[string]string) {
	bad := map[string]string{}
	x := map[string]float64{}
	for _, f := range w.Fields() {
		n, err := figure.Parse(typed(f.Name), f.Unit)
		switch {
		case err != nil:
			bad[f.Name] = figure.Sentence(err, "Give a number of "+liftUnits[f.Unit]+" above 0.")
		case !(n.Float() > 0):
			bad[f.Name] = "Give a number of " + liftUnits[f.Unit] + " above 0."
		}
		if bad[f.Name] == "" {
			x[f.Name] = n.Float()
		}
	}
	if len(w.Fields()) == 0 {
		bad["way"] = "Choose one of the two ways."
	}
	if len(bad) > 0 {
		return Determination{}, bad
	}
	with := func(field, u95 string) metrology.Value {
		return metrology.Value{Value: x[field], StdUncertainty: x[u95] / metrology.CoverageFactor}
	}
	lift := func(field, u95 string) LiftReading {
		r := LiftReading{TimeMs: with(field, u95), BeatsPerHour: beatsPerHour}
		if _, err := r.sine(); err != nil {
			bad[field] = liftSentence(err)
		}
		return r
	}
	var d Determination
	var err error
	first := seenAmplitude
	if w == LiftSeen {
		t := lift(seenTime, seenTimeU95)
		d.Angle, err = LiftAngleAt(with(seenAmplitude, seenAmplitudeU95), t)
		d.How = fmt.Sprintf("Amplitude seen %s° ± %s°, lift time %s ± %s ms", liftFigure(x[seenAmplitude]),
			liftFigure(x[seenAmplitudeU95]), liftFigure(x[seenTime]), liftFigure(x[seenTimeU95]))
	} else {
		greater, lesser := lift(twoGreaterTime, twoTimeU95), lift(twoLesserTime, twoTimeU95)
		first = twoDifference
		d.Angle, err = LiftAngleOfTwo(with(twoDifference, twoDifferenceU95), greater, lesser)
		d.How = fmt.Sprintf("Two amplitudes %s° ± %s° apart, lift times %s and %s ms, each ± %s ms",
			liftFigure(x[twoDifference]), liftFigure(x[twoDifferenceU95]), liftFigure(x[twoGreaterTime]),
			liftFigure(x[twoLesserTime]), liftFigure(x[twoTimeU95]))
	}
	if err != nil && len(bad) == 0 {
		bad[first] = liftSentence(err)
	}
	if len(bad) > 0 {
		return Determination{}, bad
	}
	return d, nil
}

// liftFigure writes a figure in as many digits as mean something here.
func liftFigure(x float64) string { return figure.Plain(figure.Significant(x, 5)) }

// liftUnits are the units in words.
var liftUnits = map[string]string{UnitDegree: "degrees", UnitMs: "milliseconds"}

func liftSentence(err error) string {
	for _, known := range []error{ErrLiftAmplitude, ErrLiftTime, ErrLiftBeats, ErrLiftDifference, ErrLiftImpossible} {
		if errors.Is(err, known) {
			said := known.Error()
			return strings.ToUpper(said[:1]) + said[1:] + "."
		}
	}
	return err.Error()
}

// LiftComparison sets a lift angle that was determined beside the one the calibre has.
type LiftComparison struct {
	Difference metrology.Value // new less present, degrees, with the uncertainty of both
	Agree      bool            // the difference lies within its expanded uncertainty
	// AmplitudePercent is by how much every amplitude changes once instruments are set to the new angle: amplitude is in
	// proportion to it.
	AmplitudePercent float64
}

// CompareLift compares, taking what is usual for a present one that is not known.
func CompareLift(determined metrology.Value, present LiftAngle) LiftComparison {
	was := present.Value()
	d := metrology.Value{Value: determined.Value - was.Value, Unit: UnitDegree,
		StdUncertainty: math.Hypot(determined.StdUncertainty, was.StdUncertainty)}
	return LiftComparison{Difference: d, Agree: math.Abs(d.Value) <= d.Expanded(),
		AmplitudePercent: 100 * (determined.Value/was.Value - 1)}
}

// CalibreFields is d as it is kept with a calibre, by the field names of its form: the figures as they are printed.
func (d Determination) CalibreFields() map[string]string {
	p := d.Angle.Print(false)
	return map[string]string{"lift_angle_deg": p.Value, "lift_angle_u95_deg": p.Uncertainty, "lift_angle_how": d.How}
}
