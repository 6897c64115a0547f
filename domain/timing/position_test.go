package timing_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"ledgerwheel/domain/timing"
)

// crownPoint puts a dial on paper, hour marks on the unit circle with 12 at the top, turns the paper until the
// uppermost mark is at the top, and returns where the crown has gone: x to the right, y up, seen from the dial.
func crownPoint(uppermost, crown int) (x, y float64) {
	mark := func(hour int) (x, y float64) {
		clockwise := 2 * math.Pi * float64(hour) / 12
		return math.Sin(clockwise), math.Cos(clockwise)
	}
	ux, uy := mark(uppermost)
	cx, cy := mark(crown)
	// The rotation that takes (ux, uy) to (0, 1) has the rows (uy, -ux) and (ux, uy).
	return uy*cx - ux*cy, ux*cx + uy*cy
}

func TestWordsAgreeWithGeometry(t *testing.T) {
	t.Parallel()
	hours := map[timing.Position]int{timing.ThreeUp: 3, timing.SixUp: 6, timing.NineUp: 9, timing.TwelveUp: 12}
	for p, hour := range hours {
		for crown := 1; crown <= 12; crown++ {
			x, y := crownPoint(hour, crown)
			var want []string // nearer direction first
			horizontal, vertical := "right", "up"
			if x < 0 {
				horizontal = "left"
			}
			if y < 0 {
				vertical = "down"
			}
			switch {
			case math.Abs(x) < 1e-9:
				want = []string{vertical}
			case math.Abs(y) < 1e-9:
				want = []string{horizontal}
			case math.Abs(y) > math.Abs(x):
				want = []string{vertical, horizontal}
			default:
				want = []string{horizontal, vertical}
			}
			if got := p.Words(crown); got != "crown "+strings.Join(want, "-") {
				t.Errorf("%s with the crown at %d: got %q, but it lies at x %.2f, y %.2f", p, crown, got, x, y)
			}
			deg, ok := p.CrownBearingDeg(crown)
			if !ok {
				t.Fatalf("%s with the crown at %d has no bearing", p, crown)
			}
			near(t, fmt.Sprintf("%s crown %d x", p, crown), math.Sin(float64(deg)*math.Pi/180), x, 1e-9)
			near(t, fmt.Sprintf("%s crown %d y", p, crown), math.Cos(float64(deg)*math.Pi/180), y, 1e-9)
		}
	}
}

// ISO 3158 symbols as digests of ISO 3159 give them, and the crown's direction with the crown at 3.
func TestSymbolsAgreeWithISO3158(t *testing.T) {
	t.Parallel()
	checked := 0
	for _, row := range publishedRows(t, "POS-") {
		var in struct{ Symbol timing.Position }
		var want struct {
			Meaning, Plane string
			Crown          string `json:"crown_direction_if_crown_at_3"`
		}
		if row.ID == "POS-GEO" || row.ID == "POS-PENDANT" || row.ID == "POS-SIX" {
			continue
		}
		row.decode(t, &in, &want)
		checked++
		if got := in.Symbol.Horizontal(); got != (want.Plane == "horizontal") {
			t.Errorf("%s: horizontal %v, want %s", in.Symbol, got, want.Plane)
		}
		if in.Symbol.Vertical() == in.Symbol.Horizontal() {
			t.Errorf("%s is both or neither", in.Symbol)
		}
		words := in.Symbol.Words(timing.CrownAtThree)
		if want.Crown == "-" {
			if !strings.HasPrefix(want.Meaning, words) {
				t.Errorf("%s: got %q, want %q", in.Symbol, words, want.Meaning)
			}
		} else if direction, _, _ := strings.Cut(want.Crown, " "); words != "crown "+direction {
			t.Errorf("%s: got %q, want crown %s", in.Symbol, words, direction)
		}
	}
	if checked != 6 {
		t.Errorf("%d symbols were checked, want 6", checked)
	}
	var geometry struct {
		Uppermost []int `json:"uppermost_marker"`
		Crown     int   `json:"crown_at"`
	}
	var directions struct{ Crown []string }
	publishedRows(t, "POS-GEO")[0].decode(t, &geometry, &directions)
	for i, hour := range geometry.Uppermost {
		p := timing.Position(fmt.Sprintf("%dH", hour))
		if got := p.Words(geometry.Crown); got != "crown "+directions.Crown[i] {
			t.Errorf("%s: got %q, want crown %s", p, got, directions.Crown[i])
		}
	}
	var set any
	var six []timing.Position
	publishedRows(t, "POS-SIX")[0].decode(t, &set, &six)
	if fmt.Sprint(timing.Positions()) != fmt.Sprint(six) {
		t.Errorf("got %v, want %v", timing.Positions(), six)
	}
}

// The pendant names of old adjusters (PU up, PD down, PR right, PL left) on an open-face pocket watch, pendant at 12,
// and on a hunter, pendant at 3.
func TestPendantNames(t *testing.T) {
	t.Parallel()
	var in any
	var openFace map[string]timing.Position
	publishedRows(t, "POS-PENDANT")[0].decode(t, &in, &openFace)
	words := map[string]string{"PU": "crown up", "PD": "crown down", "PR": "crown right", "PL": "crown left"}
	for name, p := range openFace {
		if got := p.Words(timing.CrownAtTwelve); got != words[name] {
			t.Errorf("open face %s = %s: got %q, want %q", name, p, got, words[name])
		}
	}
	for name, p := range map[string]timing.Position{"PU": "3H", "PD": "9H", "PR": "12H", "PL": "6H"} {
		if got := p.Words(timing.CrownAtThree); got != words[name] {
			t.Errorf("hunter %s = %s: got %q, want %q", name, p, got, words[name])
		}
	}
}

func TestWordsWithoutCrown(t *testing.T) {
	t.Parallel()
	for p, want := range map[timing.Position]string{
		timing.DialUp: "dial up", timing.DialDown: "dial down", timing.SixUp: "6 o'clock up", "XX": "XX",
	} {
		if got := p.Words(0); got != want {
			t.Errorf("%s: got %q, want %q", p, got, want)
		}
	}
	if _, ok := timing.DialUp.CrownBearingDeg(3); ok {
		t.Error("a horizontal position has a bearing")
	}
	if _, ok := timing.SixUp.CrownBearingDeg(13); ok {
		t.Error("a crown at 13 has a bearing")
	}
}

func TestParsePosition(t *testing.T) {
	t.Parallel()
	for _, p := range timing.Positions() {
		if got, err := timing.ParsePosition(" " + strings.ToLower(string(p)) + " "); err != nil || got != p {
			t.Errorf("%s: got %v, %v", p, got, err)
		}
	}
	for _, text := range []string{"", "4H", "DU", "12"} {
		if _, err := timing.ParsePosition(text); err == nil {
			t.Errorf("%q was accepted", text)
		}
	}
}
