package estimate

import (
	"errors"
	"fmt"
	"strconv"
	"strings"
	"unicode"

	"github.com/bojanz/currency"
	"golang.org/x/text/unicode/norm"
)

// MaxMinor is the greatest amount that may be saved, in minor units of either
// sign. It is far beyond any repair and far inside what an int64 holds, so that
// sums of a revision's lines can't overflow.
const MaxMinor = 99_999_999_999

// The ways a typed amount fails.
var (
	ErrMoney          = errors.New("amount not understood")
	ErrMoneyDecimals  = errors.New("amount has more decimals than the currency")
	ErrMoneyAmbiguous = errors.New("amount can be read two ways")
	ErrMoneyCurrency  = errors.New("amount is in another currency")
	ErrMoneyTooLarge  = errors.New("amount too large")
)

// MoneyProblem says err, from ParseMoney, as a sentence for a form.
func MoneyProblem(err error) string {
	switch {
	case err == nil:
		return ""
	case errors.Is(err, ErrMoneyDecimals):
		return "Give no more decimals than the currency has."
	case errors.Is(err, ErrMoneyAmbiguous):
		return "This can be read two ways: leave out the thousands mark, or write the decimals after a point."
	case errors.Is(err, ErrMoneyCurrency):
		return "Give the amount in the shop's currency."
	case errors.Is(err, ErrMoneyTooLarge):
		return "This amount is too large."
	}
	return "Give an amount such as 120 or 120.50."
}

// Digits returns how many decimals the minor unit of an ISO 4217 currency
// stands for: 2 for EUR, 0 for JPY, 3 for KWD. ok is false for a code that is
// not in ISO 4217.
func Digits(code string) (digits int, ok bool) {
	d, ok := currency.GetDigits(code)
	return int(d), ok
}

// ParseMoney reads an amount typed in the currency code and returns it in minor
// units. The decimal mark may be a point or a comma and the thousands mark a
// point, comma, apostrophe or space; digits may be of any script; the
// currency's own symbol or code may stand before or after.
//
// Of two different marks the last is the decimal one. A single mark with three
// digits behind it marks thousands, except in a currency of three decimals:
// there a point is the decimal mark and a comma is ErrMoneyAmbiguous.
func ParseMoney(typed, code string) (minor int64, err error) {
	digits, ok := Digits(code)
	if !ok {
		return 0, fmt.Errorf("%w: %q is not an ISO 4217 code", ErrMoneyCurrency, code)
	}
	s, negative, err := bareNumber(typed, code)
	if err != nil {
		return 0, err
	}
	whole, part, err := splitDecimals(s, digits)
	if err != nil {
		return 0, err
	}
	if len(part) > digits {
		if strings.Trim(part[digits:], "0") != "" || digits == 0 {
			return 0, ErrMoneyDecimals
		}
		part = part[:digits]
	}
	whole = strings.TrimLeft(whole, "0")
	if len(whole) > 15 {
		return 0, ErrMoneyTooLarge
	}
	minor, err = strconv.ParseInt("0"+whole+part+strings.Repeat("0", digits-len(part)), 10, 64)
	if err != nil || minor > MaxMinor {
		return 0, ErrMoneyTooLarge
	}
	if negative {
		minor = -minor
	}
	return minor, nil
}

// bareNumber parts a typed amount into its sign and its digits, in ASCII, with
// '.', ',' and ' ' (for any blank or apostrophe) between them. Whatever else
// stands before or after must name the currency.
func bareNumber(typed, code string) (number string, negative bool, err error) {
	var num, name strings.Builder
	ended := false // a letter or symbol followed the digits
	for _, r := range strings.TrimSpace(norm.NFKC.String(typed)) {
		mark := numberMark(r)
		switch {
		case (r == '-' || r == '\u2212') && num.Len() == 0 && !negative:
			negative = true
		case mark == ' ' && (num.Len() == 0 || ended):
		case mark != 0 && ended:
			return "", false, ErrMoney
		case mark != 0:
			num.WriteRune(mark)
		default:
			ended = num.Len() > 0
			name.WriteRune(r)
		}
	}
	if err := checkCurrencyName(name.String(), code); err != nil {
		return "", false, err
	}
	return strings.TrimSpace(num.String()), negative, nil
}

// numberMark returns r as it stands in a bare number: an ASCII digit, '.', ','
// or ' '; or 0 for anything else.
func numberMark(r rune) rune {
	switch {
	case r >= '0' && r <= '9':
		return r
	case unicode.IsDigit(r):
		return '0' + digitValue(r)
	case r == '.' || r == '\u066B': // Arabic decimal separator
		return '.'
	case r == ',':
		return ','
	case unicode.IsSpace(r) || strings.ContainsRune("'’\u066C", r): // Arabic thousands separator
		return ' '
	}
	return 0
}

// digitValue returns the value of a decimal digit of any script. Unicode puts
// each script's ten digits in a run from nought to nine, so nought is as many
// steps back as there are digits in an unbroken run, modulo ten.
func digitValue(r rune) rune {
	n := rune(0)
	for unicode.IsDigit(r - n - 1) {
		n++
	}
	return n % 10
}

// checkCurrencyName refuses a symbol or code that is not the currency's own.
func checkCurrencyName(name, code string) error {
	if name == "" || strings.EqualFold(name, code) {
		return nil
	}
	// In English the symbol of a foreign dollar is 'A$' and the like; at home
	// its last sign alone is used.
	symbol, _ := currency.GetSymbol(code, currency.NewLocale("en"))
	sign := strings.TrimLeftFunc(name, func(r rune) bool { return !unicode.Is(unicode.Sc, r) })
	switch {
	case sign != "" && strings.HasSuffix(symbol, sign) && strings.HasSuffix(symbol, name):
		return nil
	case sign != "" || currency.IsValid(strings.ToUpper(name)):
		return ErrMoneyCurrency
	}
	return ErrMoney
}

// splitDecimals parts a bare number at its decimal mark; see ParseMoney.
// Thousands marks are checked and dropped.
func splitDecimals(s string, digits int) (whole, part string, err error) {
	at, err := decimalMark(s, digits)
	if err != nil {
		return "", "", err
	}
	whole = s
	if at >= 0 {
		whole, part = s[:at], s[at+1:]
	}
	whole, ok := ungroup(whole)
	if !ok || !allDigits(part) || whole+part == "" {
		return "", "", ErrMoney
	}
	return whole, part, nil
}

// decimalMark returns where in s the decimal mark stands, or -1 for none.
func decimalMark(s string, digits int) (int, error) {
	last := strings.LastIndexAny(s, ".,")
	if last < 0 {
		return -1, nil
	}
	mark := s[last : last+1]
	others := strings.Trim(s[:last], "0123456789")
	behind := len(s) - last - 1
	switch {
	case strings.Contains(others, mark): // repeated: marks thousands
		return -1, nil
	case others != "": // another mark before it
		return last, nil
	case behind != 3 || last == 0 || last > 3 || s[0] == '0':
		return last, nil
	case digits < 3:
		return -1, nil
	case mark == ".":
		return last, nil
	}
	return -1, ErrMoneyAmbiguous
}

// ungroup drops the thousands marks from a whole number. Groups must be marked
// alike; the last holds three digits, those between three or, in the Indian
// manner, two.
func ungroup(s string) (string, bool) {
	mark := strings.IndexAny(s, "., ")
	if mark < 0 {
		return s, allDigits(s)
	}
	groups := strings.Split(s, s[mark:mark+1])
	for i, g := range groups {
		good := len(g) == 3
		switch i {
		case 0:
			good = len(g) >= 1 && len(g) <= 3
		case len(groups) - 1:
		default:
			good = good || len(g) == 2
		}
		if !good || !allDigits(g) {
			return "", false
		}
	}
	return strings.Join(groups, ""), true
}

func allDigits(s string) bool { return strings.Trim(s, "0123456789") == "" }

// FormatMoney writes an amount of minor units in the currency code as people
// of a locale (BCP 47, such as en-GB or de-CH) write it.
func FormatMoney(minor int64, code, locale string) string {
	amount, err := currency.NewAmountFromInt64(minor, code)
	if err != nil {
		return strconv.FormatInt(minor, 10) + "\u00a0" + code
	}
	return currency.NewFormatter(currency.NewLocale(locale)).Format(amount)
}

// PlainMoney writes an amount of minor units as it would be typed: decimals
// after a point, no thousands mark, no symbol. ParseMoney reads it back.
func PlainMoney(minor int64, code string) string {
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
