package static

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"testing"
)

// luminance and contrast follow WCAG 2.2, "relative luminance" and "contrast ratio".
func luminance(t *testing.T, hex string) float64 {
	t.Helper()
	weights := [3]float64{0.2126, 0.7152, 0.0722}
	sum := 0.0
	for i, w := range weights {
		v, err := strconv.ParseUint(hex[1+2*i:3+2*i], 16, 8)
		if err != nil {
			t.Fatalf("colour %q: %v", hex, err)
		}
		c := float64(v) / 255
		if c <= 0.04045 {
			c /= 12.92
		} else {
			c = math.Pow((c+0.055)/1.055, 2.4)
		}
		sum += w * c
	}
	return sum
}

func contrast(t *testing.T, a, b string) float64 {
	t.Helper()
	la, lb := luminance(t, a), luminance(t, b)
	return (math.Max(la, lb) + 0.05) / (math.Min(la, lb) + 0.05)
}

// tokens returns each colour token's light and dark value.
func tokens(t *testing.T) map[string][2]string {
	t.Helper()
	css, err := files.ReadFile("css/tokens.css")
	if err != nil {
		t.Fatal(err)
	}
	found := map[string][2]string{}
	pair := regexp.MustCompile(`--([a-z-]+): light-dark\((#[0-9a-f]{6}), (#[0-9a-f]{6})\);`)
	for _, m := range pair.FindAllStringSubmatch(string(css), -1) {
		found[m[1]] = [2]string{m[2], m[3]}
	}
	return found
}

func TestContrastFormula(t *testing.T) {
	t.Parallel()
	// WCAG 2.2 defines black on white as 21:1; #767676 on white is its often quoted least grey, 4.54:1
	// (common practice). tol 0.01: published figures carry two decimals.
	for _, c := range []struct {
		a, b string
		want float64
	}{{"#000000", "#ffffff", 21}, {"#767676", "#ffffff", 4.54}} {
		if got := contrast(t, c.a, c.b); math.Abs(got-c.want) > 0.01 {
			t.Errorf("contrast(%s, %s) = %.3f, want %.2f", c.a, c.b, got, c.want)
		}
	}
}

// WCAG 2.2: 1.4.3 asks 4.5:1 of text, 1.4.11 asks 3:1 of marks and of the edges of controls.
func TestTokenContrast(t *testing.T) {
	t.Parallel()
	grounds := []string{"paper", "sheet", "well"}
	need := map[string]float64{"ink": 4.5, "quiet": 4.5, "accent": 4.5, "brass": 3, "edge": 3}
	found := tokens(t)
	for _, name := range append([]string{"ink", "quiet", "accent", "brass", "edge", "rule", "on-accent"}, grounds...) {
		if _, ok := found[name]; !ok {
			t.Fatalf("tokens.css lacks --%s", name)
		}
	}
	for scheme, label := range []string{"light", "dark"} {
		check := func(fore, back string, least float64) {
			t.Run(fmt.Sprintf("%s/%s on %s", label, fore, back), func(t *testing.T) {
				if got := contrast(t, found[fore][scheme], found[back][scheme]); got < least {
					t.Errorf("contrast %.2f, want at least %.1f", got, least)
				}
			})
		}
		for fore, least := range need {
			for _, back := range grounds {
				check(fore, back, least)
			}
		}
		check("on-accent", "accent", 4.5)
		check("paper", "ink", 4.5) // the skip link and reversed marks
	}
}
