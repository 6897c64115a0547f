package main

import (
	"fmt"
	"math"

	"ledgerwheel/domain/figure"

	"github.com/alecthomas/kong"
)

// typedPPM is an option in parts per million with the step of its last digit: 40 means ±0.5, 40.0 ±0.05.
type typedPPM struct {
	value, step float64
	given       bool
}

// Decode takes the next word whatever its first sign, so that a clock that runs slow is typed as -12.5.
func (p *typedPPM) Decode(ctx *kong.DecodeContext) error {
	parsed, err := parsePPM(nextWord(ctx))
	if err != nil {
		return err
	}
	*p = parsed
	return nil
}

// nextWord is what follows an option; "" for nothing.
func nextWord(ctx *kong.DecodeContext) string {
	word, _ := ctx.Scan.Pop().Value.(string)
	return word
}

func parsePPM(word string) (typedPPM, error) {
	n, err := figure.Parse(word, "ppm")
	if err != nil || math.Abs(n.Float()) > mostClockPPM {
		return typedPPM{}, fmt.Errorf("%q is not a figure in parts per million from %d to %d, for example 40.0",
			word, -mostClockPPM, mostClockPPM)
	}
	return typedPPM{value: n.Float(), step: n.Step(), given: true}, nil
}

// typedBeats is an option in beats per hour.
type typedBeats struct{ figure.Number }

// Decode takes the next word whatever its first sign.
func (t *typedBeats) Decode(ctx *kong.DecodeContext) (err error) {
	t.Number, err = figure.ParseThousands(nextWord(ctx))
	return err
}

// typedDegrees is an option in degrees.
type typedDegrees struct{ figure.Number }

// Decode takes the next word whatever its first sign.
func (t *typedDegrees) Decode(ctx *kong.DecodeContext) (err error) {
	t.Number, err = figure.Parse(nextWord(ctx), "°", "deg")
	return err
}

// typedWhole is an option that takes a whole number as forms do.
type typedWhole int

// Decode takes the next word whatever its first sign.
func (t *typedWhole) Decode(ctx *kong.DecodeContext) error {
	n, err := figure.ParseWhole(nextWord(ctx))
	*t = typedWhole(n)
	return err
}
