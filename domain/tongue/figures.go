package tongue

import (
	"regexp"
	"strings"
	"sync"

	"golang.org/x/text/language"
	"golang.org/x/text/message"
	"golang.org/x/text/number"
)

var marks sync.Map // BCP 47 locale -> the mark before its decimals

// decimalMark is what a locale (BCP 47, such as de-AT) writes before decimals, by Unicode's CLDR.
func decimalMark(locale string) string {
	if mark, ok := marks.Load(locale); ok {
		return mark.(string)
	}
	mark := "."
	if tag, err := language.Parse(locale); err == nil {
		half := message.NewPrinter(tag).Sprint(number.Decimal(0.5, number.Scale(1)))
		if strings.Contains(half, ",") {
			mark = ","
		}
	}
	marks.Store(locale, mark)
	return mark
}

var pointed = regexp.MustCompile(`([0-9])\.([0-9])`)

// Figures writes figures that were printed with a decimal point as people of a locale (BCP 47) write them. It is for
// what the program prints, never for what somebody typed: a number of a part keeps its point.
func Figures(printed, locale string) string {
	mark := decimalMark(locale)
	if mark == "." {
		return printed
	}
	return pointed.ReplaceAllString(printed, "${1}"+mark+"${2}")
}

// Whole writes a whole number as people of a locale part its thousands.
func Whole(n int64, locale string) string {
	tag, err := language.Parse(locale)
	if err != nil {
		tag = language.English
	}
	return message.NewPrinter(tag).Sprint(number.Decimal(n))
}
