// Package money reads and writes amounts of money. An amount is an int64 of minor units of an ISO 4217 currency: 12050
// in EUR is 120.50.
package money

import (
	"fmt"
	"strconv"
	"strings"

	"github.com/bojanz/currency"

	"ledgerwheel/domain/figure"
)

// Max is the greatest amount that may be saved, in minor units of either sign. It is far beyond any repair and far
// inside what an int64 holds, so that sums of a revision's lines can't overflow.
const Max = 99_999_999_999

// Digits returns how many decimals the minor unit of an ISO 4217 currency stands for: 2 for EUR, 0 for JPY, 3 for KWD.
// ok is false for a code that is not in ISO 4217.
func Digits(code string) (digits int, ok bool) {
	d, ok := currency.GetDigits(code)
	return int(d), ok
}

// Format writes an amount of minor units in the currency code as people of a locale (BCP 47, such as en-GB or de-CH)
// write it, with a true minus.
func Format(minor int64, code, locale string) string {
	amount, err := currency.NewAmountFromInt64(minor, code)
	if err != nil {
		return strconv.FormatInt(minor, 10) + "\u00a0" + code
	}
	out := currency.NewFormatter(currency.NewLocale(locale)).Format(amount)
	if before, after, found := strings.Cut(out, "-"); found && minor < 0 { // some write it behind the currency
		return before + figure.Printed("-"+after, false)
	}
	return out
}

// Plain writes an amount of minor units as it would be typed: decimals after a point, no thousands mark, no symbol.
// Parse reads it back in every locale.
func Plain(minor int64, code string) string {
	digits, ok := Digits(code)
	if !ok || digits == 0 {
		return strconv.FormatInt(minor, 10)
	}
	sign, n := "", uint64(minor)
	if minor < 0 {
		sign, n = "-", -n
	}
	s := fmt.Sprintf("%0*d", digits+1, n)
	return sign + s[:len(s)-digits] + "." + s[len(s)-digits:]
}
