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

// stripText says in words what the strip shows.
func stripText(r acoustic.Result) string {
	var counts [2]int
	for _, b := range r.Beats {
		if b.Used {
			counts[b.Swing()]++
		}
	}
	return fmt.Sprintf("Beats about their fitted line: %d ticks and %d tocks, a single beat scatters by %.0f µs.",
		counts[0], counts[1], r.BeatScatterUs)
}
