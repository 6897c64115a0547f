package oscillator

import (
	"fmt"
	"math"

	"ledgerwheel/domain/metrology"
)

// Poising by rates: the spring is let down until the balance swings about half a turn, where a heavy spot tells most,
// and the watch is read hanging with one point of the dial after another uppermost. Common practice; the amplitudes from
// bench sources that give 140° to 180°.
const (
	PoisingLeastDeg  = 140
	PoisingMostDeg   = 190
	poisingUnlikeDeg = 20 // from least to greatest: beyond, positions can't be set against each other
	// PoisingStopSPerDay is the spread, greatest less least, at which poising stops (common practice: 10 to 15 s/d at
	// about 160°). Less is not poise any more but the spring's own error.
	PoisingStopSPerDay = 12
	leastPoisingReads  = 4
)

// HangingReading is one reading of a round: which point of the dial is uppermost, degrees clockwise from 12.
type HangingReading struct{ UpDeg, RateSPerDay, AmplitudeDeg float64 }

// PoisingUps returns the points that stand uppermost in a round of four or of eight, degrees clockwise from 12. The four
// between the hour marks of the standard have no symbol there; they are called by the half hour that is up.
func PoisingUps(eight bool) []float64 {
	if eight {
		return []float64{0, 45, 90, 135, 180, 225, 270, 315}
	}
	return []float64{0, 90, 180, 270}
}

// PoisingState is where poising stands after a round.
type PoisingState string

// The states.
const (
	PoisingRead    PoisingState = "read"     // readings are missing
	PoisingSwing   PoisingState = "swing"    // the amplitude is not one to poise at
	PoisingDoubt   PoisingState = "doubt"    // the rates do not follow one heavy spot
	PoisingLighten PoisingState = "lighten"  // take a little off
	PoisingLast    PoisingState = "last cut" // the same, and it is likely the last
	PoisingTurned  PoisingState = "turned"   // the heavy spot went to the other side: too much was taken
	PoisingStop    PoisingState = "stop"     // enough
)

// PoisingRound is what one round says.
type PoisingRound struct {
	State       PoisingState
	Text        string           // what to do now, in a sentence or two
	SpreadSPD   metrology.Value  // greatest less least of the heavy spot's share, s/d
	HeavyAtDeg  metrology.Value  // clockwise from 12 seen from the dial, balance at rest
	Size        metrology.Value  // S in ppm
	Left        []float64        // what the heavy spot does not explain of each reading, s/d
	TakeOff     *metrology.Value // µg·mm: the next correction; nil for none, or where the balance isn't known
	TakeOffMass *metrology.Value // µg at the rim; nil where its radius isn't known
	x, y        float64
}

// Poise reads one round of poising and says what to do. before is the round before it, nil for the first: a heavy spot
// that went over to the other side is told from one that shrinks.
func Poise(readings []HangingReading, b Balance, before *PoisingRound) PoisingRound {
	out := PoisingRound{}
	if state, text := poisable(readings); state != "" {
		out.State, out.Text = state, text
		return out
	}
	x, y, left := fitHanging(readings)
	out.Left, out.x, out.y = left, x, y
	factor := 0.0
	for _, r := range readings {
		factor += PoiseFactor(r.AmplitudeDeg) / float64(len(readings))
	}
	size, scatter := math.Hypot(x, y), 0.0
	for _, l := range left {
		scatter += l * l
	}
	free := len(readings) - 3
	// What a rate repeats to, from the readings where they are many, and never less than what is usual.
	repeat := 1.2
	if free > 1 {
		repeat = math.Max(repeat, math.Sqrt(scatter/float64(free)))
	}
	// The spring's own error looks like a heavy spot at any one amplitude.
	const springOwn = 2.0 // s/d, standard deviation of each component
	u := math.Hypot(repeat*math.Sqrt(2/float64(len(readings))), springOwn)
	perPPM := SecondsPerDay * 1e-6 * factor
	out.SpreadSPD = metrology.Value{Value: 2 * size, StdUncertainty: 2 * u, Unit: "s/d"}
	out.Size = metrology.Value{Value: size / perPPM, StdUncertainty: u / perPPM, Unit: ppm}
	// Below the neutral amplitude the fastest position has the heavy spot lowest: opposite the point that is up.
	out.HeavyAtDeg = metrology.Value{Value: turn(degrees(math.Atan2(y, x)) + 180),
		StdUncertainty: math.Min(degrees(math.Atan2(u, size)), 90), Unit: "°"}
	if out.SpreadSPD.Value <= PoisingStopSPerDay {
		out.State = PoisingStop
		out.Text = fmt.Sprintf("Stop. What is left, %s, is no more than the spring's own error may be.", out.SpreadSPD.Format())
		return out
	}
	if free > 1 && math.Sqrt(scatter/float64(free)) > math.Max(3, size/3) {
		out.State = PoisingDoubt
		out.Text = "The rates do not follow one heavy spot. Read the round again; look for magnetism, a touching coil, worn or " +
			"oval pivots. No metal is touched."
		return out
	}
	if before != nil && before.State != PoisingStop && before.x*x+before.y*y < 0 {
		out.State = PoisingTurned
		out.Text = "The heavy spot has gone over to the other side: more was taken off than was too much. Nothing more is taken " +
			"off; a little weight goes back where it was taken."
		return out
	}
	out.State = PoisingLighten
	out.amount(b)
	if out.SpreadSPD.Value < 2*PoisingStopSPerDay {
		out.State = PoisingLast
	}
	out.Text = out.cutText()
	return out
}

// amount sets the next correction: half of what is found, and never more than surely is there.
func (r *PoisingRound) amount(b Balance) {
	unit, ok := b.momentPerUnit()
	if !ok {
		return
	}
	share := math.Min(0.5, math.Max(0, 1-r.Size.Expanded()/r.Size.Value))
	moment := metrology.Value{Value: share * r.Size.Value * 1e-6 * unit,
		StdUncertainty: share * r.Size.StdUncertainty * 1e-6 * unit, Unit: "µg·mm"}
	r.TakeOff = &moment
	if b.RimRadiusMm > 0 {
		r.TakeOffMass = &metrology.Value{Value: moment.Value / b.RimRadiusMm,
			StdUncertainty: moment.StdUncertainty / b.RimRadiusMm, Unit: "µg"}
	}
}

func (r PoisingRound) cutText() string {
	where := fmt.Sprintf("towards %s o'clock, seen from the dial with the balance at rest",
		Hour(r.HeavyAtDeg.Value/degreesPerHour))
	how := "a very little"
	switch {
	case r.TakeOffMass != nil:
		how = "about " + r.TakeOffMass.Format() + " at the rim, half of what is too much,"
	case r.TakeOff != nil:
		how = "about " + r.TakeOff.Format() + ", half of what is too much,"
	}
	text := fmt.Sprintf("Lighten the rim by %s %s; then read the round again.", how, where)
	if r.State == PoisingLast {
		text += " This is likely the last cut: less is better, metal does not come back."
	}
	return text
}

// poisable says why a round cannot be judged, "" when it can.
func poisable(readings []HangingReading) (PoisingState, string) {
	sin, cos, low, high := 0.0, 0.0, math.Inf(1), math.Inf(-1)
	for _, r := range readings {
		s, c := math.Sincos(radians(r.UpDeg))
		sin, cos = sin+s, cos+c
		low, high = math.Min(low, r.AmplitudeDeg), math.Max(high, r.AmplitudeDeg)
	}
	switch {
	case len(readings) < leastPoisingReads:
		return PoisingRead, fmt.Sprintf("Read rate and amplitude in four or eight hanging positions; %d are read.", len(readings))
	case math.Hypot(sin, cos) > 0.3*float64(len(readings)):
		return PoisingRead, "The positions read stand to one side. Read the ones opposite too."
	case high > PoisingMostDeg:
		return PoisingSwing, fmt.Sprintf("The balance swings up to %.0f°. Let the spring down until it swings %d° to %d°: near 220° "+
			"a heavy spot shows no rate, and above it shows the wrong way round.", high, PoisingLeastDeg, PoisingMostDeg-10)
	case low < PoisingLeastDeg:
		return PoisingSwing, fmt.Sprintf("The balance swings %.0f° only, at which the escapement governs the rate. Wind it a "+
			"little, to %d° to %d°.", low, PoisingLeastDeg, PoisingMostDeg-10)
	case high-low > poisingUnlikeDeg:
		return PoisingSwing, fmt.Sprintf("The amplitudes differ by %.0f°. Read the round again within a few minutes, so that they "+
			"are alike.", high-low)
	}
	return "", ""
}

// fitHanging fits mean + x·cos + y·sin of the angle that is up, each reading's share scaled to the round's mean poise
// factor, and returns x and y, s/d, with what is left of each reading.
func fitHanging(readings []HangingReading) (x, y float64, left []float64) {
	mean := 0.0
	for _, r := range readings {
		mean += PoiseFactor(r.AmplitudeDeg) / float64(len(readings))
	}
	normal := lowerTriangle{3, make([]float64, 9)}
	b := make([]float64, 3)
	row := func(r HangingReading) [3]float64 {
		sin, cos := math.Sincos(radians(r.UpDeg))
		k := PoiseFactor(r.AmplitudeDeg) / mean
		return [3]float64{1, k * cos, k * sin}
	}
	for _, r := range readings {
		c := row(r)
		for i := range 3 {
			b[i] += c[i] * r.RateSPerDay
			for j := range i + 1 {
				normal.row(i)[j] += c[i] * c[j]
			}
		}
	}
	normal.cholesky() // the positions stand all round, so it is positive definite
	normal.forward(b)
	normal.backward(b, 3)
	for _, r := range readings {
		c := row(r)
		left = append(left, r.RateSPerDay-c[0]*b[0]-c[1]*b[1]-c[2]*b[2])
	}
	return b[1], b[2], left
}
