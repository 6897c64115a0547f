package watch

import (
	"errors"
	"regexp"
	"strings"

	"ledgerwheel/domain/figure"

	"golang.org/x/text/unicode/norm"
)

// ErrWaterMark reports a water-resistance mark that can't be read.
var ErrWaterMark = errors.New("water-resistance mark not understood")

// UnratedOverpressureBar is what 'water resistant' without a figure claims, in
// bar. ISO 2281:1990 tests a watch without a rating at 2 bar (list of its
// tests as reproduced by collectors); ISO 22810:2010 keeps it (from memory).
const UnratedOverpressureBar = 2

// Makers mark 10 m for 1 bar and 1 atm for 1 bar. The physical figures,
// 0.981 bar of fresh water and 1.01325 bar, are not what the mark means.
const (
	metresPerBar  = 10
	metresPerFoot = 0.3048
)

var (
	waterFigure  = regexp.MustCompile(`(\d[\d.,'’ ]*?)\s*(bar|atm|atmospheres?|metres?|meters?|m|feet|foot|ft)\b`)
	waterWords   = regexp.MustCompile(`^(?:water\s*(?:resistant|resist|proof|protected)|wr)\s*:?\s*`)
	waterNothing = map[string]bool{"": true, "none": true, "no": true, "not marked": true, "-": true,
		"not water resistant": true}
)

// ParseWaterMark reads a mark such as '5 bar', 'WR 100 m', '3 ATM', '330 ft'
// or '10 bar / 100 m' and returns the overpressure it claims in bar; of two
// figures the lower counts. 'Water resistant' alone claims
// UnratedOverpressureBar; an empty mark or 'none' claims 0.
// Any other text gives ErrWaterMark.
func ParseWaterMark(mark string) (bar float64, err error) {
	s := strings.ToLower(strings.Join(strings.Fields(norm.NFKC.String(mark)), " "))
	if waterNothing[s] {
		return 0, nil
	}
	rest := waterWords.ReplaceAllString(s, "")
	if rest == "" {
		return UnratedOverpressureBar, nil
	}
	for _, m := range waterFigure.FindAllStringSubmatch(rest, -1) {
		s, err := figure.Spell(m[1])
		if err != nil || s.Twofold != 0 { // 1,000 m is two different marks
			return 0, ErrWaterMark
		}
		n, err := figure.Parse(m[1])
		if err != nil {
			return 0, ErrWaterMark
		}
		claim := barOf(n.Float(), m[2])
		if bar == 0 || claim < bar {
			bar = claim
		}
	}
	// 1,500 bar is beyond the deepest sea (about 1,100 bar): a slip of the pen.
	if left := strings.Trim(waterFigure.ReplaceAllString(rest, ""), " /=()"); left != "" || bar <= 0 || bar > 1500 {
		return 0, ErrWaterMark
	}
	return bar, nil
}

// barOf converts a marked figure to bar by the convention of marks.
func barOf(figure float64, unit string) float64 {
	switch {
	case strings.HasPrefix(unit, "f"):
		return figure * metresPerFoot / metresPerBar
	case strings.HasPrefix(unit, "m"):
		return figure / metresPerBar
	}
	return figure
}
