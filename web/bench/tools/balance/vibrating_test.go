package balance_test

import (
	"net/http"
	"strings"
	"testing"

	"ledgerwheel/web/bench/tools/balance"
	"ledgerwheel/web/webtest"
)

// TestVibratingTool: f ∝ L^(−1/2), so a spring that beats 18000 at 100 mm beats 20124.6 at 80 mm and 16099.7 at 125 mm:
// 300 beats in 53.666 s and 67.082 s.
func TestVibratingTool(t *testing.T) {
	t.Parallel()
	first := []string{"beats_per_hour", "18000", "pinned_1", "80 ± 0.2", "beats_1", "300", "seconds_1", "53.666"}
	both := append(first[:len(first):len(first)], "pinned_2", "125 ± 0.2", "beats_2", "300", "seconds_2", "67.082")
	checkBench(t, balance.VibratingTool(), []benchCase{
		{name: "one trial", given: first, rows: map[string]string{"Pin at": "100.0 ± 1.1 mm", "Rate this leaves open": "± "},
			says: "it is pinned at 100.0"},
		{name: "two trials", given: both, rows: map[string]string{"Pin at": "100.0", "Working length there": "100.0",
			"The measure’s place of no length": "0 if it was taken from the collet"},
			fields: map[string]string{"hairspring_length": "100"}},
		{name: "strength", given: append(both[:len(both):len(both)], "balance_inertia", "30 ± 0"),
			rows:   map[string]string{"Strength of the spring so pinned": "0.74022 µN·m/rad"},
			fields: map[string]string{"hairspring_stiffness": "0.7402"}},
		{name: "beyond", given: append(both[:len(both):len(both)], "beats_per_hour", "14400"),
			rows: map[string]string{"Beyond the trials": "third trial"}},
	})
	checkRefusals(t, balance.VibratingTool(), []benchRefusal{
		{nil, "beats_per_hour", "Give the beats"},
		{nil, "pinned_1", "above 0"},
		{append(first[:len(first):len(first)], "pinned_2", "125"), "beats_2", "beats counted"},
		{append(first[:len(first):len(first)], "seconds_1", "0"), "seconds_1", "above 0"},
		{append(first[:len(first):len(first)], "beats_1", "-3"), "beats_1", "from 10"},
		{append(both[:len(both):len(both)], "pinned_2", "80 ± 0.2", "seconds_2", "53.7"), "pinned_2", "further apart"},
		{append(both[:len(both):len(both)], "seconds_1", "67.082", "seconds_2", "53.666"), "pinned_2", "beat faster"},
		{append(first[:len(first):len(first)], "timing", "-1"), "timing", "above zero"},
	})
}

func TestVibratingPage(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	bench := s.As(s.Watchmaker)
	asked := askedOf(balance.VibratingTool(), "beats_per_hour", "18000", "pinned_1", "80", "beats_1", "300", "seconds_1",
		"53.67", "pinned_2", "125", "beats_2", "300", "seconds_2", "67.08")
	page := bench.Get("/bench/vibrating?" + asked.Encode()).Want(http.StatusOK)
	if said := page.Text("bench-answer"); !strings.Contains(said, "Pin at") || !strings.Contains(said, "Held at") {
		t.Errorf("the answer is %q", said)
	}
	if drawing := page.Text("bench-drawing"); !strings.Contains(drawing, "Regulator pins") {
		t.Errorf("the drawing says %q", drawing)
	}
	asked.Set("seconds_2", "53.67")
	if refused := bench.Get("/bench/vibrating?" +
		asked.Encode()).Want(http.StatusUnprocessableEntity); refused.Problem("pinned_2") == "" ||
		refused.Value("seconds_2") != "53.67" {
		t.Error("trials alike are answered, or what was typed is lost")
	}
}
