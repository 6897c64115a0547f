package finaltest_test

import (
	"testing"
	"time"

	"ledgerwheel/domain/finaltest"
	"ledgerwheel/domain/tongue"
)

// The day is that of the zone: the clock of Zurich is past midnight already.
func TestSaidOfTheWaterTest(t *testing.T) {
	t.Parallel()
	zone, err := time.LoadLocation("Europe/Zurich")
	if err != nil {
		t.Fatal(err)
	}
	at := time.Date(2026, 11, 23, 23, 30, 0, 0, time.UTC)
	for _, c := range []struct {
		r      finaltest.Result
		in     tongue.Tongue
		locale string
		want   string
	}{
		{finaltest.Result{Outcome: finaltest.OutcomePass, Figure: 5, HasFigure: true, Medium: finaltest.MediumAir}, "", "en-GB", "Tested at 5\u00a0bar, in air, on 24 November 2026."},
		{finaltest.Result{Outcome: finaltest.OutcomePass, Figure: 2.5, HasFigure: true, Medium: finaltest.MediumWater}, tongue.German, "de-CH",
			"Geprüft bei 2.5\u00a0bar, in Wasser, am 24. November 2026."},
		{finaltest.Result{Outcome: finaltest.OutcomePass, Figure: 2.5, HasFigure: true, Medium: finaltest.MediumAir}, tongue.French, "fr-FR",
			"Contrôlée à 2,5\u00a0bar, dans l’air, le 24 novembre 2026."},
		{finaltest.Result{Outcome: finaltest.OutcomeFail, Figure: 5, HasFigure: true, Medium: finaltest.MediumAir}, tongue.English, "en-GB",
			"The pressure test of 24 November 2026 was not passed: keep the watch away from water."},
		{finaltest.Result{Outcome: finaltest.OutcomeNotApplicable, Note: "pocket watch"}, tongue.English, "en-GB", ""},
		{finaltest.Result{}, tongue.English, "en-GB", ""},
	} {
		c.r.Test, c.r.At = finaltest.WaterResistance, at
		if got := (finaltest.Sheet{}).With(c.r).Said(c.in, c.locale, zone); got != c.want {
			t.Errorf("%+v: %q, want %q", c.r, got, c.want)
		}
	}
	if got := (finaltest.Sheet{}).Said("", "en-GB", zone); got != "" {
		t.Errorf("of no test: %q", got)
	}
}
