package money

import "golang.org/x/text/currency"

// CashStep is the least step in which cash is paid in a currency, in minor units: 5 for CHF, 1 where every minor unit
// has its coin. Source: the Unicode CLDR's cash rounding of each currency, as golang.org/x/text has it.
func CashStep(code string) int64 {
	unit, err := currency.ParseISO(code)
	digits, ok := Digits(code)
	if err != nil || !ok {
		return 1
	}
	scale, increment := currency.Cash.Rounding(unit)
	step := int64(increment)
	for range digits - scale {
		step *= 10
	}
	return max(step, 1)
}

// CashRounded is what is paid in cash of an amount that is settled by cash alone: the nearest step, a half away from
// zero. The Swiss practice: a total of 19.32 is paid as 19.30, and by card to the centime.
func CashRounded(minor int64, code string) int64 {
	step := CashStep(code)
	if minor < 0 {
		return -CashRounded(-minor, code)
	}
	return (minor + step/2) / step * step
}
