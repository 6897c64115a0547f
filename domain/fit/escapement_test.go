package fit_test

import (
	"strings"
	"testing"

	"ledgerwheel/domain/fit"
	"ledgerwheel/domain/metrology"
)

func degrees(value, u95 float64) *metrology.Value {
	return &metrology.Value{Value: value, StdUncertainty: u95 / metrology.CoverageFactor, Unit: "°"}
}

// The two handbooks' own figures (Playtner; Watch and Clock Escapements) are usual, and a part is little or much only
// where its uncertainty leaves no doubt.
func TestEscapementBesideTheHandbooks(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		part   fit.EscapementPart
		deg, u float64
		want   fit.EscapementAmount
	}{
		{fit.Lock, 1.5, 0, fit.AsUsual}, {fit.Lock, 1, 0, fit.AsUsual}, {fit.Lock, 0.75, 0, fit.AsUsual},
		{fit.Drop, 1.5, 0, fit.AsUsual}, {fit.Drop, 2, 0, fit.AsUsual}, {fit.Drop, 0.75, 0, fit.AsUsual},
		{fit.Draw, 12, 0, fit.AsUsual}, {fit.Draw, 15, 0, fit.AsUsual}, {fit.Draw, 10, 0, fit.AsUsual},
		{fit.Run, 0.25, 0, fit.AsUsual}, {fit.Run, 0.5, 0, fit.AsUsual},
		{fit.Lock, 2.2, 0.5, fit.Much}, {fit.Lock, 1.9, 0.5, fit.AsUsual}, {fit.Lock, 0.2, 0.5, fit.Little},
		{fit.Lock, 0.3, 0.5, fit.AsUsual}, {fit.Draw, 20, 2, fit.Much}, {fit.Draw, 5, 2, fit.Little}, {fit.Run, 1.2, 0.5, fit.Much},
	} {
		got := fit.EscapementSeen{Part: c.part, Deg: degrees(c.deg, c.u), Judged: fit.Little}.Amount()
		if got != c.want {
			t.Errorf("%s of %.2f ± %.1f°: %q, want %q", c.part, c.deg, c.u, got, c.want)
		}
	}
}

// Drop goes before lock, and what is as usual calls for nothing.
func TestEscapementRemarksInOrder(t *testing.T) {
	t.Parallel()
	got := fit.EscapementRemarks([]fit.EscapementSeen{{Part: fit.Fork, Judged: fit.Much}, {Part: fit.Run, Judged: fit.AsUsual},
		{Part: fit.Lock, Deg: degrees(2.5, 0.3)}, {Part: fit.Drop, Judged: fit.Much}, {Part: fit.Draw}})
	var order []string
	for _, r := range got {
		order = append(order, string(r.Part)+" "+string(r.Amount))
		if r.Does == "" || r.Cure == "" || !r.Lowers {
			t.Errorf("%s: lowers %v, does %q, cure %q", r.Part, r.Lowers, r.Does, r.Cure)
		}
	}
	if all := strings.Join(order, ", "); all != "drop much, lock much, fork much" {
		t.Errorf("in order: %s", all)
	}
	for _, part := range []fit.EscapementPart{fit.Banking, fit.Drop, fit.Lock, fit.Draw, fit.Run, fit.Fork} {
		for _, amount := range []fit.EscapementAmount{fit.Little, fit.Much} {
			if n := len(fit.EscapementRemarks([]fit.EscapementSeen{{Part: part, Judged: amount}})); n != 1 {
				t.Errorf("%s %s has %d remarks", amount, part, n)
			}
		}
	}
	// A lock that is not safe is no cause of a low amplitude.
	if r := fit.EscapementRemarks([]fit.EscapementSeen{{Part: fit.Lock, Judged: fit.Little}}); r[0].Lowers {
		t.Error("a light lock lowers the amplitude")
	}
}

func TestExplainAmplitude(t *testing.T) {
	t.Parallel()
	found := fit.EscapementRemarks([]fit.EscapementSeen{{Part: fit.Lock, Judged: fit.Much}, {Part: fit.Drop, Judged: fit.Much}})
	for _, c := range []struct {
		amplitude float64
		found     []fit.EscapementRemark
		want      string
	}{
		{265, found, "within its uncertainty"}, {300, found, "more than is looked for"},
		{230, nil, "nothing found here explains it"}, {230, found[:1], "40° less"}, {230, found, "2 things"},
	} {
		if got := fit.ExplainAmplitude(*degrees(c.amplitude, 10), fit.UsualLyingDeg, c.found); !strings.Contains(got, c.want) {
			t.Errorf("%.0f°: %q, want %q in it", c.amplitude, got, c.want)
		}
	}
}

func TestEscapementProblems(t *testing.T) {
	t.Parallel()
	for _, bad := range []fit.EscapementSeen{{Part: fit.Lock, Deg: degrees(-1, 0)}, {Part: fit.Lock, Deg: degrees(7, 0)},
		{Part: fit.Fork, Deg: degrees(1, 0)}, {Part: fit.Lock, Deg: degrees(1, -1)}} {
		if bad.Problem() == "" {
			t.Errorf("%s of %v is let pass", bad.Part, bad.Deg)
		}
	}
	if why := (fit.EscapementSeen{Part: fit.Lock, Deg: degrees(1, 0.2)}).Problem(); why != "" {
		t.Error(why)
	}
}
