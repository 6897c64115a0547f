package listening

import (
	"fmt"
	"math"
	"strconv"

	"ledgerwheel/domain/acoustic"
)

func beatsText(r acoustic.Result) string {
	text := spaced(int(math.Round(r.BeatsPerHour))) + " beats per hour"
	if !r.BeatsPerHourStated {
		text += ", found by ear"
	}
	return text
}

// spaced parts the thousands of a whole number by a narrow blank.
func spaced(n int) string {
	digits := strconv.Itoa(n)
	for at := len(digits) - 3; at > 0; at -= 3 {
		digits = digits[:at] + "\u202f" + digits[at:]
	}
	return digits
}

func qualityText(r acoustic.Result) string {
	return fmt.Sprintf("%d beats, %d missed; the drop stands %.0f dB over the noise", r.BeatsUsed, r.BeatsMissed, r.SNRdB)
}
