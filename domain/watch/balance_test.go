package watch_test

import (
	"testing"

	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/oscillator"
	"ledgerwheel/domain/watch"
)

// TestBalanceHasOneRule: what a calibre may say of its balance is what a sum at the bench takes, in the same words.
func TestBalanceHasOneRule(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		inertiaMgCm2, massMg, radiusMm float64
		inertia, mass, radius          string
	}{
		{0.01, 0.1, 0.3, "", "", ""},
		{10000, 20000, 25, "", "", ""},
		{0.009, 0.09, 0.29, oscillator.InertiaSentence, oscillator.MassSentence, oscillator.GyrationSentence},
		{10001, 20001, 25.1, oscillator.InertiaSentence, oscillator.MassSentence, oscillator.GyrationSentence},
	} {
		calibre := watch.Calibre{Balance: watch.Balance{InertiaMgCm2: tt.inertiaMgCm2, MassMg: tt.massMg,
			GyrationRadiusMm: tt.radiusMm}}.Problems()
		bench := oscillator.BalanceAndSpring{Inertia: metrology.Value{Value: tt.inertiaMgCm2}}.Problems()
		ring := oscillator.Ring{MassMg: metrology.Value{Value: tt.massMg},
			RadiusMm: metrology.Value{Value: tt.radiusMm}}.Problems()
		for _, c := range []struct{ field, calibre, bench, want string }{
			{"inertia", calibre["balance_inertia"], bench["balance_inertia"], tt.inertia},
			{"mass", calibre["balance_mass"], ring["balance_mass"], tt.mass},
			{"radius of gyration", calibre["balance_gyration_radius"], ring["balance_gyration_radius"], tt.radius},
		} {
			if c.calibre != c.want || c.bench != c.want {
				t.Errorf("%s of %+v: the calibre says %q, the bench %q, want %q", c.field, tt, c.calibre, c.bench, c.want)
			}
		}
	}
}
