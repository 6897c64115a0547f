package recorder

import (
	"math"

	"ledgerwheel/domain/figure"
	"ledgerwheel/domain/metrology"
)

// PlusMinus writes the expanded uncertainty (k = 2) of a clock to two digits: "±0.42 ppm".
func PlusMinus(stdPPM float64) string {
	return "±" + metrology.Value{StdUncertainty: stdPPM}.Print(false).Uncertainty + " ppm"
}

// NeverText says what is known of a clock never calibrated.
const NeverText = "never calibrated: ±50 ppm"

// ParseRate reads samples a second as typed, such as "48000", "48 000 Hz" or "44.1 kHz"; 0 when it can't be read, or
// could be two rates, as "48,000" could.
func ParseRate(text string) int {
	if n, err := figure.ParseWhole(text, "Hz"); err == nil {
		return max(n, 0)
	}
	n, err := figure.Parse(text, "kHz", "k")
	if err != nil || n.Unit == "" {
		return 0
	}
	x := math.Round(n.Shifted(3))
	if !(x >= 1 && x < 1e9) {
		return 0
	}
	return int(x)
}
