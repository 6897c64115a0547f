package drawing

import (
	"strings"
	"testing"

	"ledgerwheel/web/paper/typeface"
)

// What is set in a column keeps to its width and keeps every character: on one line while it may shrink, else wrapped.
func TestSettle(t *testing.T) {
	t.Parallel()
	st := Style{typeface.Sans, 10, Plain}
	const words = "Halvorsen & Pike Meridian"
	natural := st.Width(words)
	for _, tt := range []struct {
		name  string
		width float64
		lines int
	}{{"room enough", natural + 1, 1}, {"a little smaller", natural * 0.8, 1}, {"wrapped", natural * 0.5, 2},
		{"broken", natural * 0.1, 5}} {
		b := st.Settle(words, 6, tt.width)
		var all strings.Builder
		for _, l := range b.Lines {
			if w := b.Style.Width(l.Text); w > tt.width {
				t.Errorf("%s: %q is %.3f mm wide in %.3f", tt.name, l.Text, w, tt.width)
			}
			all.WriteString(l.Text)
		}
		if len(b.Lines) < tt.lines || tt.lines == 1 && len(b.Lines) != 1 || b.Style.Size < 6 || b.Style.Size > 10 {
			t.Errorf("%s: %d lines at %v points", tt.name, len(b.Lines), b.Style.Size)
		}
		if strings.Join(strings.Fields(all.String()), "") != strings.Join(strings.Fields(words), "") {
			t.Errorf("%s: %q", tt.name, all.String())
		}
	}
}

// No line ends within a sum or an hour, however narrow the column (Unicode Standard Annex 14: class GL keeps together).
func TestSumsStayWhole(t *testing.T) {
	t.Parallel()
	st := Style{typeface.Sans, 10, Plain}
	for _, sum := range []string{"1\u202f234,50\u00a0€", "14\u00a0h\u00a005", "KWD\u00a01,234.567", "20\u2007%"} {
		drawn := strings.NewReplacer("\u202f", "\u00a0", "\u2007", "\u00a0").Replace(sum)
		for _, r := range drawn {
			if face, as := st.Face.Pick(r); face != st.Face || as != r {
				t.Errorf("the face lacks %q of %q", r, sum)
			}
		}
		for width := st.Width(drawn); width < 60; width++ {
			whole := false
			for _, line := range st.Wrap("Encore à régler à la remise: "+sum+" en tout", width) {
				whole = whole || strings.Contains(line.Text, drawn)
			}
			if !whole {
				t.Errorf("%q is parted in a column of %.1f mm", sum, width)
			}
		}
	}
}

func TestFit(t *testing.T) {
	t.Parallel()
	st := Style{typeface.Sans, 9, Plain}
	for _, n := range []int{1, 4, 40} {
		text := strings.Repeat("the hand catches on the dial ", n)
		b, whole := st.Fit(text, 5, 40, 10)
		if whole != (n < 40) || whole && b.Height() > 10+1e-9 {
			t.Errorf("%d sentences: whole %v, %.2f mm high", n, whole, b.Height())
		}
	}
}

// A long line of Latin and Arabic stays in its column, in the picture as in the PDF.
func TestMixedDirectionsStay(t *testing.T) {
	t.Parallel()
	d := New(60, 60)
	d.AddPage()
	st := Style{typeface.Serif, 10, Plain}
	text := strings.Repeat("ساعات محمد العربية (Tern Quay) 1984 ", 4)
	d.Block(5, 5, 50, st.Settle(text, 8, 50), Left)
	if len(d.Boxes()) < 3 {
		t.Fatalf("%d lines", len(d.Boxes()))
	}
	for _, b := range d.Boxes() {
		if b.X < 5-0.01 || b.X+b.W > 55.01 {
			t.Errorf("%q from %.2f to %.2f", b.Text, b.X, b.X+b.W)
		}
	}
	if svg := d.SVG()[0]; !strings.Contains(svg, `direction="rtl"`) || !strings.Contains(svg, "محمد") {
		t.Error("the picture hasn't the letters as typed, in their direction")
	}
}

func TestWrap(t *testing.T) {
	t.Parallel()
	st := Style{typeface.Sans, 9, Plain}
	text := strings.Repeat("the hand catches on the dial near four; ", 14) + "\nnext " + strings.Repeat("WWWWWWWWWW", 30)
	var all strings.Builder
	for _, line := range st.Wrap(text, 50) {
		if w := st.Width(line.Text); w > 50 {
			t.Errorf("%q is %.3f mm wide", line.Text, w)
		}
		all.WriteString(line.Text)
	}
	squeeze := func(s string) string { return strings.Join(strings.Fields(s), "") }
	if squeeze(all.String()) != squeeze(text) {
		t.Error("wrapping lost or added characters")
	}
	if got := st.Wrap(" \n ", 50); len(got) != 0 {
		t.Errorf("white space alone wraps to %v", got)
	}
	directions := st.Wrap("abc\nשלום\nabc", 50)
	if len(directions) != 3 || directions[0].RTL || !directions[1].RTL || directions[2].RTL {
		t.Errorf("paragraphs keep their own direction: %v", directions)
	}
}
