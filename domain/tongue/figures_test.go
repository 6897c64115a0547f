package tongue

import "testing"

// The decimal marks are those of Unicode's CLDR: a comma in Germany, Austria and France, and in French in Switzerland, a
// point in German there.
func TestFigures(t *testing.T) {
	for _, c := range []struct{ locale, printed, want string }{
		{"en-GB", "+2.1 ± 0.4", "+2.1 ± 0.4"},
		{"de-DE", "−12.35 ± 0.4", "−12,35 ± 0,4"},
		{"de-AT", "8.1 %", "8,1 %"},
		{"de-CH", "8.1 %", "8.1 %"},
		{"de-GB", "−0.8", "−0,8"},
		{"fr-FR", "0.6 to 2.5", "0,6 to 2,5"},
		{"fr-CH", "+1.25", "+1,25"},
		{"de-DE", "296°", "296°"},
		{"nonsense locale", "1.5", "1.5"},
	} {
		if got := Figures(c.printed, c.locale); got != c.want {
			t.Errorf("%s: %q becomes %q, want %q", c.locale, c.printed, got, c.want)
		}
	}
	for locale, want := range map[string]string{"en-GB": "12,345", "de-DE": "12.345", "de-CH": "12’345", "xx-": "12,345"} {
		if got := Whole(12345, locale); got != want {
			t.Errorf("%s: 12345 is %q, want %q", locale, got, want)
		}
	}
}
