package balance_test

import (
	"net/http"
	"strings"
	"testing"

	"ledgerwheel/web/bench/tools/balance"
	"ledgerwheel/web/webtest"
)

// TestTemperatureTool: Kleinlein's figure 4 (Rules and Practice for Adjusting Watches, 1920, sections 12 to 14) has 8
// s/d at 90 °F, 12 at 65 °F and −1 at 40 °F: 9 s fast in heat over 27.78 °C, 8.5 s/d fast in the middle. ISO 3159's C
// is the same quotient between 8 °C and 38 °C.
func TestTemperatureTool(t *testing.T) {
	t.Parallel()
	checkBench(t, balance.TemperatureTool(), []benchCase{
		{name: "KL-FIG4", given: []string{"temperature_1", "32.22", "rate_1", "8 ± 0", "temperature_2", "4.44", "rate_2",
			"-1 ± 0", "temperature_3", "18.33", "rate_3", "12 ± 0"},
			rows: map[string]string{"Temperature coefficient": "+0.323974 s/d per °C", "Secondary error": "+8.5 s/d"},
			says: "secondary error +8.5"},
		{name: "ISO 3159 C", given: []string{"temperature_1", "8", "rate_1", "−12 ± 1", "temperature_2", "38", "rate_2",
			"12 ± 1"},
			rows: map[string]string{"Temperature coefficient": "+0.800 ± 0.047 s/d per °C"}},
		// HS-TEMP-D: −10.584, printed as about 11 by Boettcher.
		{name: "expected", given: []string{"temperature_1", "10", "rate_1", "50 ± 1", "temperature_2", "30", "rate_2",
			"-150 ± 1", "spring", "steel", "balance", "brass"},
			rows: map[string]string{"Temperature coefficient": "−10.000 ± 0.071",
				"Expected of these materials": "−10.6 s/d per °C"}},
	})
	checkRefusals(t, balance.TemperatureTool(), []benchRefusal{
		{nil, "temperature_2", "two or three"},
		{[]string{"temperature_1", "20", "rate_1", "3", "temperature_2", "21", "rate_2", "4"}, "temperature_2",
			"at least 2 °C apart"},
		{[]string{"temperature_1", "20", "rate_1", "3", "temperature_2", "30"}, "rate_2", "Give the rate"},
		{[]string{"temperature_1", "200", "rate_1", "3"}, "temperature_1", "80 °C"},
		{[]string{"rate_1", "3"}, "temperature_1", "Give the temperature"},
		{[]string{"temperature_1", "20", "rate_1", "99999"}, "rate_1", "another fault"},
	})
}

func TestTemperaturePage(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	bench := s.As(s.Watchmaker)
	asked := askedOf(balance.TemperatureTool(), "temperature_1", "8", "rate_1", "-6 ± 1", "temperature_2", "38", "rate_2",
		"3 ± 1", "temperature_3", "23", "rate_3", "2 ± 1")
	page := bench.Get("/bench/temperature?" + asked.Encode()).Want(http.StatusOK)
	if said := page.Text("bench-answer"); !strings.Contains(said, "+0.300 ± 0.047 s/d per °C") {
		t.Errorf("the answer is %q", said)
	}
	if drawing := page.Text("bench-drawing"); !strings.Contains(drawing, "23 °C: +2.0 ± 1.0 s/d") {
		t.Errorf("the drawing says %q", drawing)
	}
}
