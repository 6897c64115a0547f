package toolset_test

import (
	"net/url"
	"testing"

	"ledgerwheel/web/bench/tools/toolset"
)

// The rate book's clock of domain/timing, 2 min 00 s and 2 min 01 s fast on following days, gains 1 s/d; a reference that
// gains half a second a day makes that 1.5.
func TestDailyRateTool(t *testing.T) {
	t.Parallel()
	ask := func(rows, reference string) (toolset.Answer, map[string]string) {
		return toolset.DailyRateTool().Solve(url.Values{"comparisons": {rows}, "within": {"0"},
			"reference_rate": {reference}, "reference_within": {"0.1"}})
	}
	a, bad := ask("2026-05-17 12:00 +120\n\n2026-05-18 12:00:00 121 s\n", "0,5")
	if len(bad) > 0 {
		t.Fatal(bad)
	}
	wantWords(t, a.Finding, "Mean daily rate +1.50 ± 0.12 s/d over 1.0 days")
	a, bad = ask("2026-05-17 12:00 0\n2026-05-18 12:00 2 set\n2026-05-19 12:00 −3\n2026-05-20 12:00 1", "0")
	if len(bad) > 0 || len(a.Tables[0].Rows) != 2 {
		t.Fatal(bad, a.Tables)
	}
	wantWords(t, a.Finding, "+3.00", "over 2.0 days", "Variation 2.00 s/d", "scatter 1.41 s/d")
	for _, rows := range []string{"", "2026-05-17 12:00 0", "17 May 12:00 3", "2026-05-17 12:00 x\n2026-05-18 12:00 1",
		"2026-05-17 12:00 0\n2026-05-18 12:00 −7200"} {
		if _, bad := ask(rows, "0"); bad["comparisons"] == "" {
			t.Errorf("%q is let pass", rows)
		}
	}
	if _, bad := toolset.DailyRateTool().Solve(url.Values{"within": {"-1"}, "reference_within": {"-1"}}); len(bad) != 2 {
		t.Errorf("below zero: %v", bad)
	}
	for _, rate := range []string{"fast", "601", "−601"} {
		if _, bad := ask("2026-05-17 12:00 0\n2026-05-18 12:00 1", rate); bad["reference_rate"] == "" {
			t.Errorf("a reference of %s s/d is let pass", rate)
		}
	}
}
