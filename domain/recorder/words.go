package recorder

import (
	"strconv"
	"strings"

	"ledgerwheel/domain/metrology"
)

// PlusMinus writes the expanded uncertainty (k = 2) of a clock to two digits: "±0.42 ppm".
func PlusMinus(stdPPM float64) string {
	return "±" + metrology.Value{StdUncertainty: stdPPM}.Print(false).Uncertainty + " ppm"
}

// NeverText says what is known of a clock never calibrated.
const NeverText = "never calibrated: ±50 ppm"

// ParseRate reads samples a second as typed, such as "48000", "48 000 Hz" or "44.1 kHz"; 0 when it can't be read.
func ParseRate(text string) int {
	t := strings.ToLower(strings.Join(strings.Fields(text), ""))
	t = strings.TrimSuffix(t, "hz")
	factor := 1.0
	if k, found := strings.CutSuffix(t, "k"); found {
		t, factor = k, 1000
	}
	x, err := strconv.ParseFloat(strings.Replace(t, ",", ".", 1), 64)
	if err != nil || !(x*factor >= 1 && x*factor < 1e9) {
		return 0
	}
	return int(x*factor + 0.5)
}
