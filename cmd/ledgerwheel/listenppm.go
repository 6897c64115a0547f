package main

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"

	"github.com/alecthomas/kong"
)

// typedPPM is an option in parts per million with the step of its last digit: 40 means ±0.5, 40.0 ±0.05.
type typedPPM struct {
	value, step float64
	given       bool
}

// plainDecimal is a figure as people type it.
var plainDecimal = regexp.MustCompile(`^[+−-]?[0-9]+([.,][0-9]+)?$`)

// Decode takes the next word whatever its first sign, so that a clock that runs slow is typed as -12.5.
func (p *typedPPM) Decode(ctx *kong.DecodeContext) error {
	word, ok := ctx.Scan.Pop().Value.(string)
	if !ok {
		word = "" // nothing follows the option
	}
	parsed, err := parsePPM(word)
	if err != nil {
		return err
	}
	*p = parsed
	return nil
}

func parsePPM(word string) (typedPPM, error) {
	plain := strings.NewReplacer("−", "-", ",", ".").Replace(word)
	x, err := strconv.ParseFloat(plain, 64)
	if err != nil || !plainDecimal.MatchString(word) || math.Abs(x) > mostClockPPM {
		return typedPPM{}, fmt.Errorf("%q is not a figure in parts per million from %d to %d, for example 40.0", word, -mostClockPPM, mostClockPPM)
	}
	_, decimals, _ := strings.Cut(plain, ".")
	return typedPPM{value: x, step: math.Pow10(-len(decimals)), given: true}, nil
}
