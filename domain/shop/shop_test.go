package shop_test

import (
	"strings"
	"testing"
	"time"

	"ledgerwheel/domain/shop"
	"ledgerwheel/domain/warranty"
)

func TestProblemsNameTheField(t *testing.T) {
	t.Parallel()
	good := shop.Defaults()
	good.Name = "Tern Quay Watch Works"
	if p := good.Problems(); len(p) != 0 {
		t.Fatalf("defaults with a name: got %v, want none", p)
	}
	for field, spoil := range map[string]func(*shop.Shop){
		"name":            func(s *shop.Shop) { s.Name = "  " },
		"time_zone":       func(s *shop.Shop) { s.TimeZone = "Saltby/Harbour" },
		"locale":          func(s *shop.Shop) { s.Locale = "not a locale" },
		"phone_region":    func(s *shop.Shop) { s.PhoneRegion = "gb" },
		"currency":        func(s *shop.Shop) { s.Currency = "ZZZ" },
		"tax_rate":        func(s *shop.Shop) { s.TaxBasisPoints = 10001 },
		"instrument_ppm":  func(s *shop.Shop) { s.InstrumentPPM = -1 },
		"warranty_months": func(s *shop.Shop) { s.WarrantyMonths = 121 },
		"warranty_covers": func(s *shop.Shop) { s.WarrantyCovers = strings.Repeat("ж", warranty.MaxCardCovers+1) },
		"estimate_days":   func(s *shop.Shop) { s.EstimateDays = 0 },
	} {
		s := good
		spoil(&s)
		if p := s.Problems(); len(p) != 1 || p[field] == "" {
			t.Errorf("%s spoilt: got %v", field, p)
		}
	}
}

// The zone database puts Zurich one hour east of UTC in winter and two in summer.
func TestLocation(t *testing.T) {
	t.Parallel()
	s := shop.Shop{TimeZone: "Europe/Zurich"}
	for _, c := range []struct {
		at   time.Time
		want int
	}{
		{time.Date(2026, 1, 15, 12, 0, 0, 0, time.UTC), 3600},
		{time.Date(2026, 7, 15, 12, 0, 0, 0, time.UTC), 7200},
	} {
		if _, got := c.at.In(s.Location()).Zone(); got != c.want {
			t.Errorf("%v: got %d s east, want %d", c.at, got, c.want)
		}
	}
	if got := (shop.Shop{TimeZone: "nowhere"}).Location(); got != time.UTC {
		t.Errorf("unknown zone: got %v, want UTC", got)
	}
}
