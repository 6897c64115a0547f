package shop

import (
	"time"

	money "golang.org/x/text/currency"
	"golang.org/x/text/language"
)

// Found returns s with what a browser says of where it is: an IANA time zone, and a BCP 47 language with a country, of which
// the currency follows by CLDR's table of the currencies in use. What is not said, or not known, stays as it was.
func (s Shop) Found(timeZone, lang string) Shop {
	if loc, err := time.LoadLocation(timeZone); err == nil && timeZone != "" && timeZone != "Local" {
		s.TimeZone = loc.String()
	}
	tag, err := language.Parse(lang)
	if err != nil || lang == "" {
		return s
	}
	region, sure := tag.Region()
	if sure < language.High || !regionShape.MatchString(region.String()) {
		return s // a language alone says no country for certain
	}
	s.PhoneRegion, s.Locale = region.String(), tag.String()
	if unit, ok := money.FromRegion(region); ok {
		s.Currency = unit.String()
	}
	return s
}
