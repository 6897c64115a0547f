package toolset_test

import (
	"net/http"
	"net/url"
	"testing"

	"ledgerwheel/web/bench/tools/toolset"
	"ledgerwheel/web/webtest"
)

// aBarrel is a man's wristwatch of the usual sizes, made up.
func aBarrel(pairs ...string) url.Values {
	v := url.Values{"barrel_inside_diameter": {"12"}, "arbor_diameter": {"4"}, "mainspring_width": {"1.2"},
		"mainspring_thickness": {"0.13"},
		"barrel_teeth":         {"80"}, "centre_pinion_leaves": {"10"}}
	for i := 0; i < len(pairs); i += 2 {
		v.Set(pairs[i], pairs[i+1])
	}
	return v
}

// MS-N-5 has 7.2636 turns; at eight hours a turn (MS-RES-D1: 80 into 10) that is 58.1 hours.
func TestPowerReservePage(t *testing.T) {
	t.Parallel()
	c := webtest.NewSite(t)
	bench := c.As(c.Watchmaker)
	start := bench.Get("/bench/power-reserve").Want(http.StatusOK)
	wantWords(t, start.Text("bench-cautions"), "eye protection", "licensed practice")
	wantWords(t, start.Text("bench-formulas"), "E·b·h³/12", "ASTM F1058", "barrel teeth / leaves")
	a := bench.Get("/bench/power-reserve?" + aBarrel("power_reserve_hours", "60", "free_coils", "−1", "material",
		"carbon").Encode()).Want(http.StatusOK)
	wantWords(t, a.Text("bench-answer"), "58.1 h", "7.26 turns at 8 h, exactly 80/10", "54.1 h",
		"can’t give it: 1.9 h too much", "Force after 24 h",
		"mN·m", "Half the free space, since none was given", "Force as the watch runs down")
	wantWords(t, a.Text("bench-drawing"), "Barrel and mainspring", "58.1 h")
}

func TestPowerReserveAnswers(t *testing.T) {
	t.Parallel()
	ask := func(pairs ...string) (toolset.Answer, map[string]string) {
		return toolset.PowerReserveTool().Solve(aBarrel(pairs...))
	}
	value := func(a toolset.Answer, label string) string {
		for _, r := range a.Rows {
			if r.Label == label {
				return r.Value
			}
		}
		return ""
	}
	a, bad := ask()
	if len(bad) > 0 || a.Correction["power_reserve_hours"] != "54" { // half a turn, four hours, less
		t.Fatal(bad, a.Correction)
	}
	// Straight when free: wound out to √20 mm, so in (√20 − 2)/0.13 = 19.02 coils; less three turns a day, 84.2 % is left.
	if got := value(a, "Force after 24 h"); got != "84 %" {
		t.Errorf("after a day %s, want 84 %%", got)
	}
	if rows := a.Tables[0].Rows; rows[0][2] != "100 %" || rows[4][0] != "24.0" || rows[4][2] != "84 %" ||
		rows[len(rows)-1][0] != "58.1" {
		t.Errorf("course %v", rows)
	}
	if a, _ := ask("mainspring_width", ""); value(a, "Torque at the barrel, wound") != "" || len(a.Tables[0].Head) != 3 ||
		value(a, "Runs for") != "58.1 h" {
		t.Error("a torque from no width, or no hours without it")
	}
	if a, _ := ask("kept_turns", "5"); value(a, "Force after 24 h") != "none" {
		t.Error("a force after the watch has stopped")
	}
	if a, _ := ask("free_coils", "14"); value(a, "The spring is set") == "" {
		t.Error("a set spring is not said")
	}
	if a, _ := ask("power_reserve_hours", "50"); value(a, "Stated") != "50.0 h" {
		t.Error("the stated hours are not set beside it")
	}
	for field, typed := range map[string]string{
		"barrel_inside_diameter": "x", "arbor_diameter": "12.1", "mainspring_width": "99", "mainspring_thickness": "",
		"mainspring_length": "9999",
		"barrel_teeth":      "0", "centre_pinion_leaves": "7.5", "free_coils": "20", "kept_turns": "8", "lost_turns": "-1",
		"material": "gold", "modulus": "2",
		"power_reserve_hours": "many",
	} {
		if _, bad := ask(field, typed); bad[field] == "" || len(bad) != 1 {
			t.Errorf("%s %q: got %v", field, typed, bad)
		}
	}
}
