package shop_test

import (
	"testing"

	"ledgerwheel/domain/shop"
)

// Countries and their currencies as in ISO 4217, from memory.
func TestFoundByABrowser(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ zone, lang, wantZone, region, currency string }{
		{"Europe/Zurich", "de-CH", "Europe/Zurich", "CH", "CHF"},
		{"America/New_York", "en-US", "America/New_York", "US", "USD"},
		{"Asia/Tokyo", "ja-JP", "Asia/Tokyo", "JP", "JPY"},
		{"Europe/Paris", "fr-FR", "Europe/Paris", "FR", "EUR"},
		{"Europe/London", "en", "Europe/London", "GB", "EUR"}, // no country is said: the usual ones stay, to be corrected
		{"Mars/Olympus", "xx-??", "UTC", "GB", "EUR"},
		{"Local", "", "UTC", "GB", "EUR"},
	} {
		got := shop.Defaults().Found(c.zone, c.lang)
		if got.TimeZone != c.wantZone || got.PhoneRegion != c.region || got.Currency != c.currency {
			t.Errorf("%s, %s: %s, %s, %s", c.zone, c.lang, got.TimeZone, got.PhoneRegion, got.Currency)
		}
		got.Name = "Tern Quay Watch Works"
		if bad := got.Problems(); len(bad) > 0 {
			t.Errorf("%s, %s can't be saved: %v", c.zone, c.lang, bad)
		}
	}
}
