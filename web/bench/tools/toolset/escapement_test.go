package toolset_test

import (
	"net/url"
	"strings"
	"testing"

	"ledgerwheel/web/bench/tools/toolset"
)

func TestEscapementTool(t *testing.T) {
	t.Parallel()
	ask := func(pairs ...string) (toolset.Answer, map[string]string) {
		v := url.Values{"within": {"0.3"}, "looked_for": {"270"}, "amplitude_within": {"10"}}
		for i := 0; i+1 < len(pairs); i += 2 {
			v.Set(pairs[i], pairs[i+1])
		}
		return toolset.EscapementTool().Solve(v)
	}
	a, bad := ask("lock_deg", "2,5", "drop", "much", "draw", "usual", "amplitude", "231")
	if len(bad) > 0 {
		t.Fatal(bad)
	}
	var rows []string
	for _, r := range a.Rows {
		rows = append(rows, r.Label+" "+r.Value+" "+r.Note)
	}
	all := strings.Join(rows, "\n")
	wantWords(t, all, "39° less", "2 things", "Drop: much", "Lock: deep", "lowers the amplitude", "every tooth still locks safely")
	if strings.Index(all, "Drop: much") > strings.Index(all, "Lock: deep") {
		t.Error("lock stands before drop")
	}
	wantWords(t, a.Finding, "Escapement: drop: much; lock: deep.", "231° ± 10°")
	if len(a.Tables[0].Rows) != 3 {
		t.Errorf("%d of three things are listed", len(a.Tables[0].Rows))
	}
	// Without doubt only: 1.7° with ± 0.3° may be as usual.
	if a, _ = ask("lock_deg", "1.7"); !strings.Contains(a.Finding, "all as usual") {
		t.Errorf("within its uncertainty: %s", a.Finding)
	}
	for name, value := range map[string]string{"lock_deg": "seven", "drop_deg": "90", "draw": "plenty", "within": "-1",
		"amplitude": "12", "amplitude_within": "x", "looked_for": "900"} {
		if _, bad := ask("run", "usual", name, value); bad[name] == "" {
			t.Errorf("%s %q is let pass: %v", name, value, bad)
		}
	}
	if _, bad := ask(); bad[""] == "" {
		t.Error("nothing at all is answered")
	}
}
