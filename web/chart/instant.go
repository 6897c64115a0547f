package chart

import (
	"math"
	"strings"

	"ledgerwheel/domain/figure"
)

// leastResidualSpan, in ms, keeps microseconds of a very even watch from being drawn as if they mattered.
const leastResidualSpan = 0.05

const noBeats = "No beats heard yet."

func finite(x float64) bool { return !math.IsNaN(x) && !math.IsInf(x, 0) }

// dot adds a point to a path that is stroked with round ends.
func dot(d *strings.Builder, x, y float64) { d.WriteString("M" + num(x) + " " + num(y) + "Z") }

// thinned leaves at most so many of a list, evenly.
func thinned[T any](list []T, most int) []T {
	if len(list) <= most {
		return list
	}
	out := make([]T, most)
	for i := range out {
		out[i] = list[i*len(list)/most]
	}
	return out
}

// milliseconds writes a length of time to two significant digits, to a thousandth at most.
func milliseconds(ms float64) string { return figure.Places(ms, decimalsOfMs(ms)) }

func decimalsOfMs(ms float64) int {
	switch size := math.Abs(ms); {
	case size < 0.1:
		return 3
	case size < 10:
		return 2
	}
	return 1
}

// signedMs writes an instant with its sign; none is "0", without decimals.
func signedMs(ms float64) string {
	if signed := figure.Signed(ms, decimalsOfMs(ms)); strings.Trim(signed, "0.") != "" {
		return signed
	}
	return "0"
}
