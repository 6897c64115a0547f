package drawing

import (
	"strings"
	"testing"
)

// Quiet zones: ISO/IEC 15417 (10 modules) and ISO/IEC 18004 (4 modules), widths
// from memory. A QR symbol has 17 + 4 x version modules a side (ISO/IEC 18004).
func TestQuietZonesAndSizes(t *testing.T) {
	t.Parallel()
	linear, err := code128Modules("26-00042-K")
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range linear.rects {
		if r.x < 10 || r.x+r.w > linear.w-10 {
			t.Errorf("bar %+v in the quiet zone of a code %d wide", r, linear.w)
		}
	}
	if first, last := linear.rects[0], linear.rects[len(linear.rects)-1]; first.x != 10 || last.x+last.w != linear.w-10 {
		t.Errorf("the bars do not reach their quiet zones: %+v, %+v", first, last)
	}
	for text, side := range map[string]int{"26-00042-K": 21, strings.Repeat("x", 26): 25, strings.Repeat("x", 122): 45} {
		m, err := qrModules(text)
		if err != nil {
			t.Fatal(err)
		}
		if m.w != side+8 || m.h != side+8 {
			t.Errorf("QR of %d characters is %d x %d with its quiet zone, want %d", len(text), m.w, m.h, side+8)
		}
		for _, r := range m.rects {
			if r.x < 4 || r.y < 4 || r.x+r.w > m.w-4 || r.y+r.h > m.h-4 {
				t.Errorf("module %+v in the quiet zone", r)
			}
		}
	}
}

// Merged rectangles cover each dark module once.
func TestRectanglesDoNotOverlap(t *testing.T) {
	t.Parallel()
	m, err := qrModules("https://ternquay.example/claim/7Yq2mD0vXo4s9LrB1TnKfA")
	if err != nil {
		t.Fatal(err)
	}
	seen := map[[2]int]bool{}
	for _, r := range m.rects {
		for y := r.y; y < r.y+r.h; y++ {
			for x := r.x; x < r.x+r.w; x++ {
				if seen[[2]int{x, y}] {
					t.Fatalf("module %d, %d is drawn twice", x, y)
				}
				seen[[2]int{x, y}] = true
			}
		}
	}
	if len(m.rects) >= len(seen) {
		t.Errorf("%d rectangles for %d modules: nothing was merged", len(m.rects), len(seen))
	}
}
