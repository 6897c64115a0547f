package recorder

import (
	"fmt"
	"math"
	"strings"

	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/timing"
)

const (
	// doubtLeastPPM is how far from the last calibration one lies at least before it is asked about, and doubtSigmas how
	// many of their common standard uncertainties. Quartzes sold for counting sound keep within a few parts per million of
	// themselves in a year (see ageingPPMPerYear), so that ten are another clock, or a slip of the hand.
	doubtLeastPPM = 10.0
	doubtSigmas   = 4.0
	// doubtSurePPM is an expanded uncertainty (k = 2) below which a typed one is asked about: within an hour in a room that
	// warms by a degree, the quartz itself wanders by a few hundredths of a part per million (common practice for crystals
	// of the AT cut), so that nothing found of it is worth more for long.
	doubtSurePPM = 0.02
)

// Doubts returns a question, in a sentence or two, for each figure of a new calibration c that looks like a slip of the
// hand, by form field: "ppm" and "uncertainty". Last is the calibration in force before it, nil for none.
func (c Calibration) Doubts(last *Calibration) map[string]string {
	asked := map[string]string{}
	if last != nil && !last.stale(c.At) && !c.otherQuartz(*last) {
		u := metrology.Quadrature(c.StdPPM, last.StdPPM, metrology.FromHalfWidth(ageingPPMPerYear*last.yearsTo(c.At)),
			metrology.FromHalfWidth(temperaturePPM), metrology.FromHalfWidth(temperaturePPM))
		if off := c.PPM - last.PPM; math.Abs(off) > math.Max(doubtLeastPPM, doubtSigmas*u) {
			asked["ppm"] = fmt.Sprintf("%s lies %s ppm from the calibration before it, %s. Has the clock changed, such as "+
				"another sound card?", c.Value().FormatSigned(), metrology.Value{Value: math.Round(math.Abs(off))}.Print(false).Value,
				last.Value().FormatSigned())
		}
	}
	if c.Method == Typed && c.StdPPM > 0 && metrology.CoverageFactor*c.StdPPM < doubtSurePPM {
		asked["uncertainty"] = fmt.Sprintf("%s is surer than a quartz is steady: warmth alone moves it by more. Is it so?",
			PlusMinus(c.StdPPM))
	}
	return asked
}

// Confirm keeps with c what was asked about its figures, by form field, and who confirmed it.
func (c Calibration) Confirm(questions map[string]string, by string) Calibration {
	var texts []string
	for _, field := range []string{"ppm", "uncertainty"} {
		if question := questions[field]; question != "" {
			texts = append(texts, timing.ConfirmedText(question, by))
		}
	}
	c.Asked = strings.Join(texts, " ")
	return c
}

// otherQuartz reports whether two calibrations were made at rates that many sound cards count by different quartzes:
// the family of 44.1 kHz and that of 48 kHz.
func (c Calibration) otherQuartz(last Calibration) bool {
	family := func(rateHz float64) bool { return math.Mod(rateHz, 11025) == 0 }
	return c.RateHz > 0 && last.RateHz > 0 && family(c.RateHz) != family(last.RateHz)
}

// FloorStdPPM is the least standard uncertainty that counting can leave, in parts per million: each end of a recording
// of so many seconds is placed to within one sample (rectangular, JCGM 100, F.2.2.1), and the two ends are independent.
// A train of pulses places its ends better than a sample where it is clean, yet not better than the sound's way into
// the converter stays the same, which nobody knows to less. It is 0 where length or rate is not known.
func FloorStdPPM(seconds, rateHz float64) float64 {
	if !(seconds > 0 && rateHz > 0) {
		return 0
	}
	return math.Sqrt2 * metrology.FromResolution(1/rateHz) / seconds * 1e6
}
