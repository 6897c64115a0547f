package published

import "math"

// Share holds how often something came true, held of so many draws, to the share that is stated of it: within so many
// binomial spreads √(p(1−p)/n), on both sides. Too seldom, and what is stated is a promise not kept; too often, and it
// is so cautious that it says nothing. It needs room below and above: np(1−p) should be 5 or more.
func Share(t T, what string, held, of int, stated, spreads float64) {
	t.Helper()
	room := spreads * math.Sqrt(stated*(1-stated)/float64(of))
	if got := float64(held) / float64(of); !(math.Abs(got-stated) <= room) {
		t.Errorf("%s: %d of %d, a share of %.4f, where %.4f ± %.4f is stated", what, held, of, got, stated, room)
	}
}
