package oscillator

import (
	"fmt"
	"iter"
	"math"
	"math/rand/v2"
	"sync"

	"ledgerwheel/domain/metrology"
)

// HeavySpot is the poise of the balance as the rates tell it.
type HeavySpot struct {
	// X and Y are the components of S = m·g·r/k in ppm towards 12 and towards 3 of the dial, with their covariance.
	X, Y       metrology.Value
	Covariance float64 // ppm²

	Opposite    float64 // chance that the heavy spot lies more than 90° from the bearing given
	Significant bool    // the bearing means something: see mostOpposite and widestBearingDeg

	Size       metrology.Value // S in ppm; 95 % lie within twice its standard uncertainty
	UpperPPM   float64         // 95 % of the way: S is likely below this
	BearingDeg metrology.Value // clockwise from 12, seen from the dial side; without meaning unless Significant

	// FromJewelDeg is clockwise from the impulse jewel as seen from the balance side; nil when it is not known where
	// the jewel stands.
	FromJewelDeg *metrology.Value
	// Moment is m·r in µg·mm; nil unless the balance's inertia and beat are known.
	Moment  *metrology.Value
	Removal *Removal      // nil unless Moment and the rim's radius are known
	Screws  *ScrewSetting // nil unless Moment, the jewel and the screws are known, and they can do it
}

// ppm is the unit of S as shown: parts per million of the spring's torque at one radian.
const ppm = "ppm"

// A bearing is given where the other half of the balance is as good as ruled out, and where it tells which quarter to
// look at.
const (
	mostOpposite     = 0.02
	widestBearingDeg = 80.0 // expanded, k = 2
)

// spotDraws is how many draws from the mixture the angles and sizes are counted on: the 95 % point of one is then good to
// about 1.5 % of the draws.
const spotDraws = 1000

// newHeavySpot derives what is shown from the mixture over the two components of 86400·S, the fifth and sixth of the
// focus, s/d.
func newHeavySpot(parts []part, b Balance) HeavySpot {
	const k = 1e6 / SecondsPerDay
	_, mean, cov := moments(parts)
	x, y := mean[4]*k, mean[5]*k
	h := HeavySpot{
		X:          metrology.Value{Value: x, StdUncertainty: math.Sqrt(cov[4][4]) * k, Unit: ppm},
		Y:          metrology.Value{Value: y, StdUncertainty: math.Sqrt(cov[5][5]) * k, Unit: ppm},
		Covariance: cov[4][5] * k * k,
	}
	bearing := math.Atan2(y, x)
	sizes, turns := make([]float64, 0, spotDraws), make([]float64, 0, spotDraws)
	opposite := 0
	sin, cos := math.Sincos(bearing)
	for px, py := range drawSpots(parts) {
		along, across := px*cos+py*sin, py*cos-px*sin
		sizes = append(sizes, math.Sqrt(px*px+py*py)*k)
		turns = append(turns, degrees(math.Atan2(math.Abs(across), along)))
		if along < 0 {
			opposite++
		}
	}
	at := func(x []float64, share float64) float64 { return nth(x, int(share*float64(len(x)-1))) }
	h.Opposite = float64(opposite) / spotDraws
	h.Size = metrology.Value{Value: at(sizes, 0.5), Unit: ppm}
	h.UpperPPM = at(sizes, 0.95)
	for i, s := range sizes {
		sizes[i] = math.Abs(s - h.Size.Value)
	}
	h.Size.StdUncertainty = at(sizes, 0.95) / metrology.CoverageFactor
	h.BearingDeg = metrology.Value{Value: turn(degrees(bearing)), StdUncertainty: at(turns, 0.95) / metrology.CoverageFactor,
		Unit: "°"}
	h.Significant = h.Opposite <= mostOpposite && h.BearingDeg.Expanded() <= widestBearingDeg
	h.addBalance(b)
	return h
}

// nth returns the value that would stand at an index if x were sorted; it reorders x (selection by Hoare).
func nth(x []float64, at int) float64 {
	for low, high := 0, len(x)-1; low < high; {
		pivot := x[(low+high)/2]
		i, j := low, high
		for i <= j {
			for x[i] < pivot {
				i++
			}
			for x[j] > pivot {
				j--
			}
			if i <= j {
				x[i], x[j] = x[j], x[i]
				i, j = i+1, j-1
			}
		}
		switch {
		case at <= j:
			high = j
		case at >= i:
			low = i
		default:
			return x[at]
		}
	}
	return x[at]
}

// spotNormals are the standard normal numbers that spots are drawn with, two for each.
var spotNormals = sync.OnceValue(func() []float64 { return normals(2*spotDraws, 5, 8) })

// normals returns standard normal numbers, the same for the same seed.
func normals(n int, seed1, seed2 uint64) []float64 {
	random := rand.New(rand.NewPCG(seed1, seed2))
	out := make([]float64, n)
	for i := range out {
		out[i] = random.NormFloat64()
	}
	return out
}

// drawSpots draws the two components from the mixture, the same draws each time, so that a page shows a figure twice
// alike. Each part gets its share of the draws by its weight.
func drawSpots(parts []part) iter.Seq2[float64, float64] {
	return func(yield func(x, y float64) bool) {
		z := spotNormals()
		total := 0.0
		for _, p := range parts {
			total += p.weight
		}
		at, reached := 0, parts[0].weight/total
		for i := range spotDraws {
			share := (float64(i) + 0.5) / spotDraws
			for share > reached && at < len(parts)-1 {
				at++
				reached += parts[at].weight / total
			}
			p := &parts[at]
			l11 := math.Sqrt(p.cov[4][4])
			l21 := p.cov[5][4] / l11
			l22 := math.Sqrt(math.Max(0, p.cov[5][5]-l21*l21))
			u, v := z[2*i], z[2*i+1]
			if !yield(p.mean[4]+l11*u, p.mean[5]+l21*u+l22*v) {
				return
			}
		}
	}
}

func (h *HeavySpot) addBalance(b Balance) {
	if unit, ok := b.momentPerUnit(); ok {
		h.Moment = &metrology.Value{
			Value: h.Size.Value * 1e-6 * unit, StdUncertainty: h.Size.StdUncertainty * 1e-6 * unit, Unit: "µg·mm"}
		h.Removal = b.removal(h.Moment)
	}
	if b.ImpulseJewel == nil {
		return
	}
	h.FromJewelDeg = &metrology.Value{
		Value:          fromJewelDeg(h.BearingDeg.Value, *b.ImpulseJewel),
		StdUncertainty: h.BearingDeg.StdUncertainty, Unit: "°"}
	if h.Moment != nil && h.Significant {
		h.Screws = b.screwSetting(h.Moment.Value, h.FromJewelDeg.Value)
	}
}

// fromJewelDeg returns the angle of a direction from the impulse jewel, clockwise as seen from the balance side, 0 to
// 360. The bearing is clockwise from 12 as seen from the dial side, so the sense is turned round.
func fromJewelDeg(bearingDeg float64, jewel Hour) float64 {
	return turn(float64(jewel)*degreesPerHour - bearingDeg)
}

const degreesPerHour = 30

// DialHour returns the direction as the hour of the dial, seen from the dial side, 0 ≤ h < 12.
func (h HeavySpot) DialHour() Hour { return Hour(h.BearingDeg.Value / degreesPerHour) }

// BalanceHour returns the direction as it looks from the balance side, the watch still standing with its 12 up: as the
// hour of a clock face in the watchmaker's view. Left and right change sides.
func (h HeavySpot) BalanceHour() Hour { return Hour(turn(-h.BearingDeg.Value) / degreesPerHour) }

// String writes an hour to the nearest half: "4½", "12".
func (h Hour) String() string {
	halves := int(math.Round(turn(float64(h)*degreesPerHour)/degreesPerHour*2)) % 24
	whole, half := halves/2, ""
	if halves%2 == 1 {
		half = "½"
	}
	if whole == 0 {
		whole = 12
	}
	return fmt.Sprintf("%d%s", whole, half)
}

// Text says the finding in one sentence.
func (h HeavySpot) Text() string {
	if !h.Significant {
		return fmt.Sprintf("No significant poise error: S is likely below %.0f ppm.", h.UpperPPM)
	}
	return fmt.Sprintf("With the balance at rest the heavy spot lies towards %s o'clock seen from the dial side "+
		"(%s o'clock seen from the balance side, 12 up); S = m·g·r/k is %s.",
		h.DialHour(), h.BalanceHour(), h.Size.Format())
}
