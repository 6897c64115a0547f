package money

import (
	"cmp"
	"fmt"

	"github.com/divan/num2words"
)

// InWords writes an amount of minor units as people of the locale (BCP 47) write it, and then in English words, so that
// a point for a comma is seen at once: £1,500.00: one thousand five hundred GBP. Minor units stand as on a cheque,
// 50/100. The words name the currency by its ISO 4217 code, or by its name where it is counted whole.
func InWords(minor int64, code, locale string) string {
	digits, _ := Digits(code)
	unit := int64(1)
	for range digits {
		unit *= 10
	}
	whole, part := minor/unit, minor%unit
	words := num2words.Convert(int(whole))
	if minor < 0 && whole == 0 {
		words = "minus " + words
	}
	if part != 0 {
		words += fmt.Sprintf(" and %0*d/%d", digits, max(part, -part), unit)
	}
	return Format(minor, code, locale) + ": " + words + " " + cmp.Or(wholeNames[code], code)
}
