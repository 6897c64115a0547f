package main

import (
	"strconv"
	"testing"

	"ledgerwheel/domain/figure/figuretest"
)

// TestOptionsReadNumbersAsForms: the one table of spellings holds on the command line too.
func TestOptionsReadNumbersAsForms(t *testing.T) {
	t.Parallel()
	for _, s := range figuretest.Spellings {
		want, _ := strconv.ParseFloat(s.Text, 64) // nought for what is refused
		if want > mostClockPPM || want < -mostClockPPM {
			continue
		}
		if got, err := parsePPM(s.Typed); (err != nil) != s.Refused || got.value != want {
			t.Errorf("%q read as %g, %v; want %g", s.Typed, got.value, err, want)
		}
	}
}
