package money

import (
	"errors"
	"fmt"
	"strings"
	"unicode"

	"ledgerwheel/domain/figure"

	"github.com/bojanz/currency"
	"golang.org/x/text/unicode/norm"
)

// The ways a typed amount fails, besides what can mean two amounts: that is an *AmbiguousError.
var (
	ErrUnread   = errors.New("amount not understood")
	ErrDecimals = errors.New("amount has more decimals than the currency")
	ErrCurrency = errors.New("amount is in another currency")
	ErrTooLarge = errors.New("amount too large")
)

// AmbiguousError is an amount that can mean two.
type AmbiguousError struct {
	Typed string
	// Minor holds both readings in minor units: as the shop's locale writes amounts first. What has more decimals than
	// the currency is rounded, half away from nought.
	Minor        [2]int64
	Code, Locale string
}

func (e *AmbiguousError) Error() string {
	var written, plain [2]string
	for i, minor := range e.Minor {
		written[i], plain[i] = Format(minor, e.Code, e.Locale), Plain(minor, e.Code)
	}
	return fmt.Sprintf("“%s” can be read as %s or as %s. Write %s or %s.",
		e.Typed, written[0], written[1], plain[0], plain[1])
}

// Problem says err, from Parse of an amount in the currency code, as a sentence for a form.
func Problem(err error, code string) string {
	var twofold *AmbiguousError
	switch {
	case err == nil:
		return ""
	case errors.As(err, &twofold):
		return twofold.Error()
	case errors.Is(err, ErrDecimals):
		return decimalsProblem(code)
	case errors.Is(err, ErrCurrency):
		return "Give the amount in the shop's currency."
	case errors.Is(err, ErrTooLarge):
		return "This amount is too large."
	}
	if digits, _ := Digits(code); digits == 0 {
		return "Give an amount such as 120."
	}
	return "Give an amount such as 120 or 120.50."
}

// wholeNames are the plurals of the currencies of ISO 4217 that are counted whole; their code names the others.
var wholeNames = map[string]string{
	"BIF": "francs", "CLP": "pesos", "DJF": "francs", "GNF": "francs", "ISK": "krónur", "JPY": "yen", "KMF": "francs",
	"KRW": "won", "PYG": "guaraníes", "RWF": "francs", "UGX": "shillings", "VND": "dong", "VUV": "vatu",
	"XAF": "francs", "XOF": "francs", "XPF": "francs",
}

func decimalsProblem(code string) string {
	switch digits, _ := Digits(code); {
	case digits > 0:
		return fmt.Sprintf("Give at most %d decimals.", digits)
	case wholeNames[code] != "":
		return "Give whole " + wholeNames[code] + "."
	}
	return "Give a whole amount of " + code + "."
}

// Parse reads an amount typed in the currency code and returns it in minor units. Numbers are spelt as package figure
// has it; the currency's own sign or code may stand before or after.
//
// A single point or comma with three digits behind it, as in 1.500, may be the decimal mark or part thousands. It fails
// with an *AmbiguousError that holds both, whatever the locale (BCP 47, such as en-GB), which only says what is named
// first. Two cases have one meaning: in a currency without decimals, such as the yen, the mark with which the locale
// itself parts thousands; and in one of three decimals, such as the Kuwaiti dinar, a point, which is how Plain writes
// it.
func Parse(typed, code, locale string) (minor int64, err error) {
	digits, ok := Digits(code)
	if !ok {
		return 0, fmt.Errorf("%w: %q is not an ISO 4217 code", ErrCurrency, code)
	}
	s, err := figure.Spell(typed)
	if err != nil {
		var e *figure.Error
		if errors.As(err, &e) && e.Fault == figure.TooLong {
			return 0, ErrTooLarge
		}
		return 0, fmt.Errorf("%w: %w", ErrUnread, err)
	}
	if s.Before != "" && s.After != "" {
		return 0, ErrUnread
	}
	if err := checkName(norm.NFKC.String(s.Before+s.After), code, locale); err != nil {
		return 0, err
	}
	switch {
	case s.Twofold == 0 || digits == 3 && s.Twofold == '.':
		return exactly(s, digits)
	case digits == 0 && rune(s.Twofold) == groupMark(locale):
		return exactly(s.Grouped(), digits)
	}
	return 0, ambiguous(s, strings.TrimSpace(typed), code, locale)
}

// exactly returns the minor units that s spells.
func exactly(s figure.Spelling, digits int) (int64, error) {
	part := strings.TrimRight(s.Fraction, "0")
	if len(part) > digits || digits == 0 && s.Fraction != "" {
		return 0, ErrDecimals
	}
	minor, ok := inMinor(s, digits)
	if !ok {
		return 0, ErrTooLarge
	}
	return minor, nil
}

// inMinor returns s in minor units, rounded half away from nought; ok is false beyond Max.
func inMinor(s figure.Spelling, digits int) (minor int64, ok bool) {
	part := s.Fraction + strings.Repeat("0", digits)
	for _, d := range s.Whole + part[:digits] {
		if minor = 10*minor + int64(d-'0'); minor > Max {
			return 0, false
		}
	}
	if rest := part[digits:]; rest != "" && rest[0] >= '5' {
		minor++
	}
	if s.Negative {
		minor = -minor
	}
	return minor, true
}

// ambiguous is what s, whose mark has two meanings, fails with.
func ambiguous(s figure.Spelling, typed, code, locale string) error {
	digits, _ := Digits(code) // Parse knows it
	e := &AmbiguousError{Typed: typed, Code: code, Locale: locale}
	grouped, fits := inMinor(s.Grouped(), digits)
	if !fits {
		return ErrTooLarge
	}
	e.Minor[0] = grouped
	e.Minor[1], _ = inMinor(s, digits) // a thousandth of what fits
	if rune(s.Twofold) != groupMark(locale) {
		e.Minor[0], e.Minor[1] = e.Minor[1], e.Minor[0]
	}
	return e
}

// groupMark is the point or comma with which a locale parts thousands; another rune where it takes another mark.
func groupMark(locale string) rune {
	for _, r := range strings.TrimLeftFunc(Format(1_234_567_00, "EUR", locale),
		func(r rune) bool { return !unicode.IsDigit(r) }) {
		if !unicode.IsDigit(r) {
			return r
		}
	}
	return 0
}

// checkName refuses a sign or code that is not the currency's own.
func checkName(name, code, locale string) error {
	own, _ := currency.GetSymbol(code, currency.NewLocale(locale))
	if name == "" || strings.EqualFold(name, code) || name == norm.NFKC.String(own) {
		return nil
	}
	// In English the symbol of a foreign dollar is 'A$' and the like; at home its last sign alone is used.
	symbol, _ := currency.GetSymbol(code, currency.NewLocale("en"))
	sign := strings.TrimLeftFunc(name, func(r rune) bool { return !unicode.Is(unicode.Sc, r) })
	switch {
	case sign != "" && strings.HasSuffix(symbol, sign) && strings.HasSuffix(symbol, name):
		return nil
	case sign != "" || currency.IsValid(strings.ToUpper(name)):
		return ErrCurrency
	}
	return ErrUnread
}
