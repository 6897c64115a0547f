package timing_test

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"ledgerwheel/domain/published"
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

// checkSymbol: ISO 3158 symbols as digests of ISO 3159 give them, and the crown's direction with the crown at 3.
func checkSymbol(t published.T, row published.Row) {
	var in struct{ Symbol timing.Position }
	var want struct {
		Meaning, Plane, Uppermost string
		Crown                     string `json:"crown_direction_if_crown_at_3"`
	}
	row.Read(t, &in, &want)
	plane, uppermost := "horizontal", map[timing.Position]string{timing.DialUp: "dial",
		timing.DialDown: "case back"}[in.Symbol]
	words := in.Symbol.Words(timing.CrownAtThree)
	meaning := map[timing.Position]string{timing.DialUp: "dial up (horizontal)",
		timing.DialDown: "dial down, case back up (horizontal)"}[in.Symbol]
	crown := "-"
	if in.Symbol.Vertical() {
		plane, uppermost = "vertical", strings.TrimSuffix(string(in.Symbol), "H")
		meaning = "vertical, " + strings.TrimSuffix(in.Symbol.Words(0), " up") + " side uppermost"
		crown = strings.TrimPrefix(words, "crown ")
	} else if !strings.HasPrefix(meaning, words) {
		t.Errorf("got %q, want %q", words, meaning)
	}
	direction, _, _ := strings.Cut(want.Crown, " ") // some add from where it is seen
	for _, c := range [][2]string{{plane, want.Plane}, {uppermost, want.Uppermost}, {meaning, want.Meaning},
		{crown, direction}} {
		if c[0] != c[1] {
			t.Errorf("got %q, want %q", c[0], c[1])
		}
	}
	if in.Symbol.Vertical() == in.Symbol.Horizontal() {
		t.Errorf("%s is both or neither", in.Symbol)
	}
}

func checkCrown(t published.T, row published.Row) {
	var in struct {
		Uppermost []int `json:"uppermost_marker"`
		Crown     int   `json:"crown_at"`
	}
	var want struct{ Crown []string }
	row.Read(t, &in, &want)
	for i, hour := range in.Uppermost {
		p := timing.Position(fmt.Sprintf("%dH", hour))
		if got := p.Words(in.Crown); got != "crown "+want.Crown[i] {
			t.Errorf("%s: got %q, want crown %s", p, got, want.Crown[i])
		}
	}
}

func checkSix(t published.T, row published.Row) {
	var want []timing.Position
	row.Read(t, nil, &want)
	if !slices.Equal(timing.Positions(), want) {
		t.Errorf("got %v, want %v", timing.Positions(), want)
	}
}

// pendantWords are the pendant names of old adjusters.
var pendantWords = map[string]string{"PU": "crown up", "PD": "crown down", "PR": "crown right", "PL": "crown left"}

// checkPendantNames: on an open-face pocket watch, pendant at 12.
func checkPendantNames(t published.T, row published.Row) {
	var openFace map[string]timing.Position
	row.Read(t, nil, &openFace)
	if len(openFace) != len(pendantWords) {
		t.Errorf("%d names", len(openFace))
	}
	for name, p := range openFace {
		if got := p.Words(timing.CrownAtTwelve); got != pendantWords[name] {
			t.Errorf("open face %s = %s: got %q, want %q", name, p, got, pendantWords[name])
		}
	}
}

// And on a hunter, pendant at 3.
func TestPendantNamesOfAHunter(t *testing.T) {
	t.Parallel()
	for name, p := range map[string]timing.Position{"PU": "3H", "PD": "9H", "PR": "12H", "PL": "6H"} {
		if got := p.Words(timing.CrownAtThree); got != pendantWords[name] {
			t.Errorf("hunter %s = %s: got %q, want %q", name, p, got, pendantWords[name])
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
