package estimate_test

import (
	"errors"
	"strings"
	"testing"

	"ledgerwheel/domain/estimate"

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
			if got, ok := estimate.Digits(code); !ok || got != digits {
				t.Errorf("%s: %d, %v; want %d", code, got, ok, digits)
			}
		}
	}
	if _, ok := estimate.Digits("ZZZ"); ok {
		t.Error("ZZZ is no currency")
	}
}

func TestParseMoney(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		typed, code string
		want        int64
	}{
		{"120", "EUR", 12000}, {"120.5", "EUR", 12050}, {"120,50", "EUR", 12050}, {"0", "EUR", 0}, {".5", "EUR", 50}, {"120.", "EUR", 12000},
		{"1,234.56", "GBP", 123456}, {"1.234,56", "EUR", 123456}, {"1 234,56", "EUR", 123456}, {"1'234.50", "CHF", 123450},
		{"1’234.50", "CHF", 123450}, {"1\u202f234,5", "EUR", 123450}, {"1,234", "GBP", 123400}, {"1.005", "EUR", 100500}, {"1.234", "EUR", 123400},
		{"1.234.567", "EUR", 123456700}, {"1,23,456.78", "INR", 12345678}, {"120.500", "EUR", 12050000}, {"0.500", "EUR", 50},
		{"£120", "GBP", 12000}, {"120 €", "EUR", 12000}, {"EUR 120.50", "EUR", 12050}, {"120.50 eur", "EUR", 12050}, {"$5", "AUD", 500}, {"$5", "USD", 500},
		{"-5", "EUR", -500}, {"−5,25", "EUR", -525}, {"-€5", "EUR", -500}, {"€-5", "EUR", -500},
		{"١٢٣٫٥", "EUR", 12350}, {"１２３．５", "EUR", 12350}, {"१२३", "INR", 12300},
		{"1200", "JPY", 1200}, {"1,200", "JPY", 1200}, {"¥1,200", "JPY", 1200},
		{"1.234", "KWD", 1234}, {"1.5", "KWD", 1500}, {"1,5", "KWD", 1500}, {"1,234.567", "KWD", 1234567}, {"0,234", "KWD", 234},
		{"999999999.99", "EUR", 99999999999},
	} {
		got, err := estimate.ParseMoney(tt.typed, tt.code)
		if err != nil || got != tt.want {
			t.Errorf("%q in %s: %d, %v; want %d", tt.typed, tt.code, got, err, tt.want)
		}
	}
	for _, tt := range []struct {
		typed, code string
		want        error
	}{
		{"", "EUR", estimate.ErrMoney}, {"-", "EUR", estimate.ErrMoney}, {"€", "EUR", estimate.ErrMoney}, {".", "EUR", estimate.ErrMoney},
		{"twelve", "EUR", estimate.ErrMoney}, {"12x", "EUR", estimate.ErrMoney}, {"12 or 13", "EUR", estimate.ErrMoney}, {"1e3", "EUR", estimate.ErrMoney},
		{"12,34,5", "EUR", estimate.ErrMoney}, {"1,2345.00", "EUR", estimate.ErrMoney}, {"1 23", "EUR", estimate.ErrMoney},
		{"5-", "EUR", estimate.ErrMoney}, {"--5", "EUR", estimate.ErrMoney}, {"1.234,56.7", "EUR", estimate.ErrMoney},
		{"0.005", "EUR", estimate.ErrMoneyDecimals}, {"12.3456", "EUR", estimate.ErrMoneyDecimals}, {"1.5", "JPY", estimate.ErrMoneyDecimals},
		{"1,234", "KWD", estimate.ErrMoneyAmbiguous},
		{"€5", "GBP", estimate.ErrMoneyCurrency}, {"5 USD", "EUR", estimate.ErrMoneyCurrency}, {"5", "ZZZ", estimate.ErrMoneyCurrency}, {"US$5", "AUD", estimate.ErrMoneyCurrency},
		{"1000000000", "EUR", estimate.ErrMoneyTooLarge}, {strings.Repeat("9", 400), "EUR", estimate.ErrMoneyTooLarge}, {"999999999999999", "CLF", estimate.ErrMoneyTooLarge},
	} {
		got, err := estimate.ParseMoney(tt.typed, tt.code)
		if !errors.Is(err, tt.want) || (err != nil && got != 0) {
			t.Errorf("%q in %s: %d, %v; want %v", tt.typed, tt.code, got, err, tt.want)
		}
		if err != nil && estimate.MoneyProblem(err) == "" {
			t.Errorf("%v has no sentence", err)
		}
	}
	if estimate.MoneyProblem(nil) != "" {
		t.Error("no error is no problem")
	}
}

// The expected forms are CLDR's patterns for each locale (from memory), with
// no-break spaces where CLDR has them.
func TestFormatMoney(t *testing.T) {
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
		{-500, "GBP", "en-GB", "-£5.00"},
		{5, "GBP", "en-GB", "£0.05"},
		{500, "ZZZ", "en-GB", "500\u00a0ZZZ"},
	} {
		if got := estimate.FormatMoney(tt.minor, tt.code, tt.locale); got != tt.want {
			t.Errorf("%d %s in %s: %q, want %q", tt.minor, tt.code, tt.locale, got, tt.want)
		}
	}
}

func TestPlainMoneyReadsBack(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		minor      int64
		code, want string
	}{{12050, "EUR", "120.50"}, {-5, "EUR", "-0.05"}, {1200, "JPY", "1200"}, {1234, "KWD", "1.234"}, {0, "EUR", "0.00"}} {
		if got := estimate.PlainMoney(tt.minor, tt.code); got != tt.want {
			t.Errorf("%d %s: %q, want %q", tt.minor, tt.code, got, tt.want)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		code := rapid.SampledFrom([]string{"EUR", "JPY", "KWD", "CLF"}).Draw(t, "code")
		minor := rapid.Int64Range(-estimate.MaxMinor, estimate.MaxMinor).Draw(t, "minor")
		typed := estimate.PlainMoney(minor, code)
		if got, err := estimate.ParseMoney(typed, code); err != nil || got != minor {
			t.Fatalf("%d %s is typed %q, which reads %d, %v", minor, code, typed, got, err)
		}
	})
}

func TestFormattedMoneyReadsBack(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		locale := rapid.SampledFrom([]string{"en-GB", "de-DE", "fr-FR", "it-CH", "hi-IN"}).Draw(t, "locale")
		minor := rapid.Int64Range(0, estimate.MaxMinor).Draw(t, "minor")
		typed := estimate.FormatMoney(minor, "EUR", locale)
		if got, err := estimate.ParseMoney(typed, "EUR"); err != nil || got != minor {
			t.Fatalf("%d is written %q in %s, which reads %d, %v", minor, typed, locale, got, err)
		}
	})
}

func FuzzParseMoney(f *testing.F) {
	for _, seed := range []string{"1,234.56", "1.234,56 €", "١٢٣٫٥", "-0", "1''2", "'1", ",,,", "KWD 1.234"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, typed string) {
		for _, code := range []string{"EUR", "JPY", "KWD"} {
			got, err := estimate.ParseMoney(typed, code)
			if got > estimate.MaxMinor || got < -estimate.MaxMinor || err != nil && got != 0 {
				t.Errorf("%q in %s: %d, %v", typed, code, got, err)
			}
		}
	})
}
