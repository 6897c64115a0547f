package train

import (
	"fmt"
	"math/big"
	"strings"

	"ledgerwheel/domain/text"
)

// Fraction writes r exactly: 480, 7 1/2, 1/12.
func Fraction(r *big.Rat) string {
	if r.IsInt() {
		return r.Num().String()
	}
	whole, rest := new(big.Int).QuoRem(r.Num(), r.Denom(), new(big.Int))
	if whole.Sign() == 0 {
		return r.String()
	}
	return fmt.Sprintf("%s %s/%s", whole, rest.Abs(rest), r.Denom())
}

// wordPlaces is how many decimals are read more easily than a fraction.
const wordPlaces = 3

// Words writes r exactly for people: as a decimal where that ends soon, 7.5, else as a fraction, 17 1/7; a fraction
// that nobody would read is rounded and says so, ≈ 68.853. The minus is the typographic one.
func Words(r *big.Rat) string {
	decimal := r.FloatString(wordPlaces)
	words := Fraction(r)
	if back, _ := new(big.Rat).SetString(decimal); back.Cmp(r) == 0 {
		words = decimal
		if strings.Contains(words, ".") {
			words = strings.TrimRight(strings.TrimRight(words, "0"), ".")
		}
	} else if r.Denom().Cmp(big.NewInt(readableDenominator)) > 0 {
		words = "≈ " + decimal
	}
	return text.TrueMinus(words)
}

// readableDenominator is the greatest that a fraction on a page may have.
const readableDenominator = 99

// PeriodWords writes a time above 0 given in seconds: 60 s, 7 min 30 s, 1 h.
func PeriodWords(seconds *big.Rat) string {
	hour, minute := big.NewRat(3600, 1), big.NewRat(60, 1)
	hours := new(big.Rat).Quo(seconds, hour)
	whole := new(big.Int).Quo(seconds.Num(), new(big.Int).Mul(seconds.Denom(), big.NewInt(60)))
	rest := new(big.Rat).Sub(seconds, new(big.Rat).Mul(minute, new(big.Rat).SetInt(whole)))
	switch {
	case hours.Cmp(big.NewRat(1, 1)) >= 0 && (hours.IsInt() || hours.Cmp(big.NewRat(2, 1)) > 0):
		return Words(hours) + " h"
	case seconds.Cmp(minute) <= 0:
		return Words(seconds) + " s"
	case rest.Sign() == 0:
		return whole.String() + " min"
	}
	return whole.String() + " min " + Words(rest) + " s"
}

// DirectionWords says which way an arbor turns.
func DirectionWords(clockwise bool) string {
	if clockwise {
		return "clockwise"
	}
	return "anticlockwise"
}
