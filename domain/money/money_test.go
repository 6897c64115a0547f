package money_test

import (
	"errors"
	"strings"
	"testing"

	"ledgerwheel/domain/money"

	"pgregory.net/rapid"
)

// The codes that ISO 4217 gives other than two decimals, as Firefox draws them
// from the standard's list (js/src/builtin/intl/CurrencyDataGenerated.h,
// version 2026-01-01), and some common ones with two (from memory of the list).
func TestDigits(t *testing.T) {
	t.Parallel()
	for digits, codes := range map[int]string{
		0: "BIF CLP DJF GNF ISK JPY KMF KRW PYG RWF UGX VND VUV XAF XOF XPF",
		2: "AUD BRL CAD CHF CNY CZK DKK EUR GBP HUF IDR INR MXN NOK NZD PLN SEK SGD THB TRY USD ZAR",
		3: "BHD IQD JOD KWD LYD OMR TND",
	} {
		for _, code := range strings.Fields(codes) {
			if got, ok := money.Digits(code); !ok || got != digits {
				t.Errorf("%s: %d, %v; want %d", code, got, ok, digits)
			}
		}
	}
	if _, ok := money.Digits("ZZZ"); ok {
		t.Error("ZZZ is no currency")
	}
}

func TestParse(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		typed, code string
		want        int64
	}{
		{"120", "EUR", 12000}, {"120.5", "EUR", 12050}, {"120,50", "EUR", 12050}, {"0", "EUR", 0}, {".5", "EUR", 50},
		{"120.", "EUR", 12000},
		{"1,234.56", "GBP", 123456}, {"1.234,56", "EUR", 123456}, {"1 234,56", "EUR", 123456}, {"1'234.50", "CHF", 123450},
		{"1’234.50", "CHF", 123450}, {"1\u202f234,5", "EUR", 123450},
		{"1.234.567", "EUR", 123456700}, {"1,23,456.78", "INR", 12345678}, {"1 500", "GBP", 150000}, {"1'500", "CHF", 150000},
		{"12345.670", "EUR", 1234567}, {"0.500", "EUR", 50},
		{"£120", "GBP", 12000}, {"120 €", "EUR", 12000}, {"EUR 120.50", "EUR", 12050}, {"120.50 eur", "EUR", 12050},
		{"$5", "AUD", 500}, {"$5", "USD", 500},
		{"-5", "EUR", -500}, {"−5,25", "EUR", -525}, {"-€5", "EUR", -500}, {"€-5", "EUR", -500},
		{"١٢٣٫٥", "EUR", 12350}, {"１２３．５", "EUR", 12350}, {"१२३", "INR", 12300},
		{"1200", "JPY", 1200}, {"1,200", "JPY", 1200}, {"¥1,200", "JPY", 1200},
		{"1.234", "KWD", 1234}, {"1.5", "KWD", 1500}, {"1,5", "KWD", 1500}, {"1,234.567", "KWD", 1234567},
		{"0,234", "KWD", 234},
		{"999999999.99", "EUR", 99999999999},
	} {
		got, err := money.Parse(tt.typed, tt.code, "en-GB")
		if err != nil || got != tt.want {
			t.Errorf("%q in %s: %d, %v; want %d", tt.typed, tt.code, got, err, tt.want)
		}
	}
	for _, tt := range []struct {
		typed, code string
		want        error
	}{
		{"", "EUR", money.ErrUnread}, {"-", "EUR", money.ErrUnread}, {"€", "EUR", money.ErrUnread},
		{".", "EUR", money.ErrUnread},
		{"twelve", "EUR", money.ErrUnread}, {"12x", "EUR", money.ErrUnread}, {"12 or 13", "EUR", money.ErrUnread},
		{"1e3", "EUR", money.ErrUnread},
		{"12,34,5", "EUR", money.ErrUnread}, {"1,2345.00", "EUR", money.ErrUnread}, {"1 23", "EUR", money.ErrUnread},
		{"5-", "EUR", money.ErrUnread}, {"--5", "EUR", money.ErrUnread}, {"1.234,56.7", "EUR", money.ErrUnread},
		{"0.005", "EUR", money.ErrDecimals}, {"12.3456", "EUR", money.ErrDecimals}, {"1.5", "JPY", money.ErrDecimals},
		{"€5", "GBP", money.ErrCurrency}, {"5 USD", "EUR", money.ErrCurrency}, {"5", "ZZZ", money.ErrCurrency},
		{"US$5", "AUD", money.ErrCurrency},
		{"1000000000", "EUR", money.ErrTooLarge}, {strings.Repeat("9", 400), "EUR", money.ErrTooLarge},
		{"999999999999999", "CLF", money.ErrTooLarge},
	} {
		got, err := money.Parse(tt.typed, tt.code, "en-GB")
		if !errors.Is(err, tt.want) || (err != nil && got != 0) {
			t.Errorf("%q in %s: %d, %v; want %v", tt.typed, tt.code, got, err, tt.want)
		}
		if err != nil && money.Problem(err, tt.code) == "" {
			t.Errorf("%v has no sentence", err)
		}
	}
	if money.Problem(nil, "EUR") != "" {
		t.Error("no error is no problem")
	}
}

// The expected forms are CLDR's patterns for each locale (from memory), with
// no-break spaces where CLDR has them.
func TestFormat(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		minor        int64
		code, locale string
		want         string
	}{
		{123450, "GBP", "en-GB", "£1,234.50"},
		{123450, "EUR", "de-DE", "1.234,50\u00a0€"},
		{123450, "EUR", "fr-FR", "1\u202f234,50\u00a0€"},
		{123450, "JPY", "ja-JP", "￥123,450"},
		{1234567, "KWD", "en-GB", "KWD\u00a01,234.567"},
		{-500, "GBP", "en-GB", "−£5.00"},
		{5, "GBP", "en-GB", "£0.05"},
		{500, "ZZZ", "en-GB", "500\u00a0ZZZ"},
	} {
		if got := money.Format(tt.minor, tt.code, tt.locale); got != tt.want {
			t.Errorf("%d %s in %s: %q, want %q", tt.minor, tt.code, tt.locale, got, tt.want)
		}
	}
}

func TestPlainReadsBack(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		minor      int64
		code, want string
	}{{12050, "EUR", "120.50"}, {-5, "EUR", "-0.05"}, {1200, "JPY", "1200"}, {1234, "KWD", "1.234"}, {0, "EUR", "0.00"}} {
		if got := money.Plain(tt.minor, tt.code); got != tt.want {
			t.Errorf("%d %s: %q, want %q", tt.minor, tt.code, got, tt.want)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		code := rapid.SampledFrom([]string{"EUR", "JPY", "KWD", "CLF"}).Draw(t, "code")
		minor := rapid.Int64Range(-money.Max, money.Max).Draw(t, "minor")
		locale := rapid.SampledFrom(locales).Draw(t, "locale")
		typed := money.Plain(minor, code)
		if got, err := money.Parse(typed, code, locale); err != nil || got != minor {
			t.Fatalf("%d %s is typed %q, which reads %d, %v", minor, code, typed, got, err)
		}
	})
}

// locales part thousands by point, comma, apostrophe, blanks or in the Indian manner, and write digits of two scripts.
var locales = []string{"en-GB", "de-DE", "fr-FR", "de-CH", "it-CH", "hi-IN", "ja-JP", "es-CL", "ar-EG"}

func TestFormattedReadsBack(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		locale := rapid.SampledFrom(locales).Draw(t, "locale")
		code := rapid.SampledFrom([]string{"EUR", "JPY", "CLP"}).Draw(t, "code")
		minor := rapid.Int64Range(-money.Max, money.Max).Draw(t, "minor")
		typed := strings.TrimSuffix(strings.TrimPrefix(money.Format(minor, code, locale), "JP"), "円")
		if got, err := money.Parse(typed, code, locale); err != nil || got != minor {
			t.Fatalf("%d is written %q in %s, which reads %d, %v", minor, typed, locale, got, err)
		}
	})
}

// A single mark with three digits behind it is asked about in every locale, and both answers can be typed.
func TestTwofoldAmountsAreRefused(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		typed, code, locale string
		minor               [2]int64
		says                string
	}{
		{"1.500", "GBP", "en-GB", [2]int64{150, 150000},
			"“1.500” can be read as £1.50 or as £1,500.00. Write 1.50 or 1500.00."},
		{"1,500", "GBP", "en-GB", [2]int64{150000, 150},
			"“1,500” can be read as £1,500.00 or as £1.50. Write 1500.00 or 1.50."},
		{"1.500", "EUR", "de-DE", [2]int64{150000, 150}, "1.500,00"},
		{"120.000", "GBP", "en-GB", [2]int64{12000, 12000000}, "£120,000.00"},
		{"95.125", "GBP", "en-GB", [2]int64{9513, 9512500}, "£95.13 or as £95,125.00"},
		{"12.345", "GBP", "en-GB", [2]int64{1235, 1234500}, "£12.35"},
		{"850.555", "EUR", "fr-FR", [2]int64{85056, 85055500}, "850.56"},
		{"1.234", "GBP", "en-GB", [2]int64{123, 123400}, "£1.23 or as £1,234.00"},
		{"-1.500 €", "EUR", "en-GB", [2]int64{-150, -150000}, "−€1.50"},
		{"1.500", "JPY", "en-GB", [2]int64{2, 1500}, "Write 2 or 1500."},
		{"1,500", "JPY", "de-DE", [2]int64{2, 1500}, "Write 2 or 1500."},
		{"1,234", "KWD", "en-GB", [2]int64{1234000, 1234}, "Write 1234.000 or 1.234."},
		{"1.234", "CLF", "en-GB", [2]int64{12340, 12340000}, "Write 1.2340 or 1234.0000."},
	} {
		got, err := money.Parse(tt.typed, tt.code, tt.locale)
		var twofold *money.AmbiguousError
		if !errors.As(err, &twofold) || got != 0 || twofold.Minor != tt.minor {
			t.Errorf("%q %s in %s: %d, %v; want both of %v", tt.typed, tt.code, tt.locale, got, err, tt.minor)
			continue
		}
		if says := money.Problem(err, tt.code); !strings.Contains(says, tt.says) {
			t.Errorf("%q: %q does not say %q", tt.typed, says, tt.says)
		}
		for _, minor := range twofold.Minor {
			if again, err := money.Parse(money.Plain(minor, tt.code), tt.code, tt.locale); err != nil || again != minor {
				t.Errorf("%q offers %d, typed it is %d, %v", tt.typed, minor, again, err)
			}
		}
	}
	for _, typed := range []string{"1,234.50", "1.234,50", "1'234.50", "1 234,50", "1 234.50"} {
		for _, locale := range locales {
			if got, err := money.Parse(typed, "EUR", locale); err != nil || got != 123450 {
				t.Errorf("%q in %s: %d, %v; it is unmistakable", typed, locale, got, err)
			}
		}
	}
	if got, err := money.Parse("1.500", "CLP", "es-CL"); err != nil || got != 1500 {
		t.Errorf("a peso has no decimals, and Chile parts thousands by a point: %d, %v", got, err)
	}
}

func TestDecimalsProblem(t *testing.T) {
	t.Parallel()
	for typed, want := range map[string]string{
		"1.5 JPY": "Give whole yen.", "12,50 KRW": "Give whole won.", "0.5 UYI": "Give a whole amount of UYI.",
		"12.3456 EUR": "Give at most 2 decimals.", "0.12345 KWD": "Give at most 3 decimals.",
	} {
		code := typed[len(typed)-3:]
		if _, err := money.Parse(typed, code, "en-GB"); money.Problem(err, code) != want {
			t.Errorf("%q: %q, want %q", typed, money.Problem(err, code), want)
		}
	}
}

func FuzzParse(f *testing.F) {
	for _, seed := range []string{"1,234.56", "1.234,56 €", "١٢٣٫٥", "-0", "1''2", "'1", ",,,", "KWD 1.234"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, typed string) {
		for _, code := range []string{"EUR", "JPY", "KWD"} {
			got, err := money.Parse(typed, code, "en-GB")
			if err != nil && money.Problem(err, code) == "" {
				t.Errorf("%q in %s: %v has no sentence", typed, code, err)
			}
			if got > money.Max || got < -money.Max || err != nil && got != 0 {
				t.Errorf("%q in %s: %d, %v", typed, code, got, err)
			}
		}
	})
}
