package money_test

import (
	"strings"
	"testing"

	"ledgerwheel/domain/money"

	"pgregory.net/rapid"
)

func TestInWords(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		minor              int64
		code, locale, want string
	}{
		{150000, "GBP", "en-GB", "£1,500.00: one thousand five hundred GBP"},
		{150, "GBP", "en-GB", "£1.50: one and 50/100 GBP"},
		{12000000, "GBP", "en-GB", "£120,000.00: one hundred twenty thousand GBP"},
		{12000, "GBP", "en-GB", "£120.00: one hundred twenty GBP"},
		{123405, "EUR", "de-DE", "1.234,05\u00a0€: one thousand two hundred thirty-four and 05/100 EUR"},
		{1500, "JPY", "en-GB", "JP¥1,500: one thousand five hundred yen"},
		{1234, "KWD", "en-GB", "KWD\u00a01.234: one and 234/1000 KWD"},
		{0, "GBP", "en-GB", "£0.00: zero GBP"},
		{-50, "GBP", "en-GB", "−£0.50: minus zero and 50/100 GBP"},
		{money.Max, "JPY", "en-GB", "JP¥99,999,999,999: ninety-nine billion nine hundred ninety-nine million " +
			"nine hundred ninety-nine thousand nine hundred ninety-nine yen"},
	} {
		if got := money.InWords(tt.minor, tt.code, tt.locale); got != tt.want {
			t.Errorf("%d %s: %q, want %q", tt.minor, tt.code, got, tt.want)
		}
	}
}

var wordValues = map[string]int64{"zero": 0, "one": 1, "two": 2, "three": 3, "four": 4, "five": 5, "six": 6, "seven": 7,
	"eight": 8, "nine": 9, "ten": 10, "eleven": 11, "twelve": 12, "thirteen": 13, "fourteen": 14, "fifteen": 15,
	"sixteen": 16, "seventeen": 17, "eighteen": 18, "nineteen": 19, "twenty": 20, "thirty": 30, "forty": 40, "fifty": 50,
	"sixty": 60, "seventy": 70, "eighty": 80, "ninety": 90}

// readWords adds up English words, as TestWordsSayTheAmount reads them back.
func readWords(words string) int64 {
	scales := map[string]int64{"thousand": 1e3, "million": 1e6, "billion": 1e9}
	var sum, group int64
	for _, w := range strings.FieldsFunc(words, func(r rune) bool { return r == ' ' || r == '-' }) {
		switch {
		case w == "hundred":
			group *= 100
		case scales[w] != 0:
			sum, group = sum+group*scales[w], 0
		default:
			group += wordValues[w]
		}
	}
	return sum + group
}

// Whatever the amount, its words add up to it.
func TestWordsSayTheAmount(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		minor := rapid.Int64Range(0, money.Max).Draw(t, "minor")
		_, said, _ := strings.Cut(money.InWords(minor, "JPY", "en-GB"), ": ")
		if got := readWords(strings.TrimSuffix(said, " yen")); got != minor {
			t.Fatalf("%d is said as %q, which is %d", minor, said, got)
		}
	})
}
