package page

import (
	"strings"
	"time"

	"ledgerwheel/domain/record"
	"ledgerwheel/domain/shop"
	"ledgerwheel/domain/text"
	"ledgerwheel/domain/tongue"
)

// Voice is how a paper speaks: in whose language, by which of the shop's settings. Shop is as it stood when the paper was
// made, its locale the customer's.
type Voice struct {
	tongue.Tongue
	Shop shop.Shop
}

// VoiceOf speaks t for a shop as it stood; "" is English, as papers were before they knew languages.
func VoiceOf(t tongue.Tongue, sh shop.Shop) Voice {
	if t != "" {
		sh.Locale = t.In(sh.Locale)
	}
	return Voice{t, sh}
}

// plain reports a voice that writes days and moments as the shop's own pages do.
func (v Voice) plain() bool { return v.Tongue == "" || v.Tongue == tongue.English }

// Lang is the BCP 47 tag of what is said.
func (v Voice) Lang() string { return v.Shop.Locale }

// Day writes a civil day with its weekday; "" for none.
func (v Voice) Day(day time.Time) string {
	switch {
	case day.IsZero():
		return ""
	case v.plain():
		return day.Format(DayLayout)
	}
	return v.DayOfWeek(day)
}

// CardDay writes a civil day as a card has room for; "" for none.
func (v Voice) CardDay(day time.Time) string {
	switch {
	case day.IsZero():
		return ""
	case v.plain():
		return day.Format("2 Jan 2006")
	}
	return v.Tongue.Day(day)
}

// Moment writes a point in time in the shop's zone; "" for none.
func (v Voice) Moment(at time.Time) string {
	at = at.In(v.Shop.Location())
	switch {
	case at.IsZero():
		return ""
	case v.plain():
		return at.Format(MomentLayout) + zoneOf(at)
	}
	return v.Tongue.Moment(at) + zoneOf(at)
}

// CivilDay is the day in the shop on which a point in time fell.
func (v Voice) CivilDay(at time.Time) time.Time { return Civil(at.In(v.Shop.Location())) }

// Figures writes figures, which were printed with a decimal point, as the customer writes them.
func (v Voice) Figures(printed string) string {
	if v.Tongue == "" {
		return printed
	}
	return tongue.Figures(printed, v.Shop.Locale)
}

// SealLine is a seal of the record in short; "" where there is none.
func (v Voice) SealLine(s record.Seal) string {
	if len(s.Text) == 0 {
		return ""
	}
	at, locale := s.At.UTC().Format(MomentLayout), string(tongue.English)
	if !v.plain() {
		at, locale = v.Tongue.Moment(s.At.UTC()), v.Shop.Locale
	}
	over := v.Count("paper.entries", int(s.Size), "number", tongue.Whole(s.Size, locale))
	return v.Say("paper.seal", "at", at, "over", over, "short", s.Short())
}

// Inner is a label as it stands within a sentence: with a small letter but in German, where nouns keep their capital.
func (v Voice) Inner(label string) string {
	if v.Tongue == tongue.German {
		return label
	}
	return text.Uncapital(label)
}

// TaxNumbers are the numbers under which somebody is registered, as papers name them: the one for VAT under the name of the tax, the
// other as it was written. It is "" for none.
func (v Voice) TaxNumbers(tax, number, other string) string {
	var list []string
	if number != "" {
		list = append(list, v.Say("paper.tax_number", "tax", tax, "number", number))
	}
	if other != "" {
		list = append(list, other)
	}
	return strings.Join(list, " · ")
}
