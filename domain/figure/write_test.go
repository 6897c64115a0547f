package figure_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"ledgerwheel/domain/figure"
)

// TestPlainReadsBack: what Plain writes the reader takes for the same number.
func TestPlainReadsBack(t *testing.T) {
	t.Parallel()
	for x, want := range map[float64]string{0: "0", 28800: "28800", 0.03: "0.03", -4.5: "-4.5", 1e-7: "0.0000001", 1e21: "1000000000000000000000"} {
		if got := figure.Plain(x); got != want {
			t.Errorf("%g is written %q, want %q", x, got, want)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		x := rapid.Float64Range(-1e9, 1e9).Filter(func(x float64) bool { return x == 0 || math.Abs(x) > 1e-9 }).Draw(t, "x")
		n, err := figure.Parse(figure.Plain(x))
		if err != nil || n.Float() != x {
			t.Errorf("%g is written %q and read as %g, %v", x, figure.Plain(x), n.Float(), err)
		}
	})
}

func TestSignificant(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		x      float64
		digits int
		want   float64
	}{
		{12.3456, 3, 12.3}, {0.00098765, 2, 0.00099}, {-4567, 2, -4600}, {0.0996, 2, 0.1}, {0, 3, 0}, {7, 3, 7},
		{math.MaxFloat64, 3, math.MaxFloat64}, // 1.80e308 is beyond the range
	} {
		if got := figure.Significant(c.x, c.digits); got != c.want {
			t.Errorf("%g to %d digits is %g, want %g", c.x, c.digits, got, c.want)
		}
	}
}

// A printed sign is a true minus, none before what rounds to nothing, and a plus only where it is asked for.
func TestPrintedSigns(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ got, want string }{
		{figure.Signed(-3.456, 2), "−3.46"}, {figure.Signed(3.456, 1), "+3.5"}, {figure.Signed(-0.004, 2), "0.00"},
		{figure.Signed(0, 0), "0"}, {figure.Places(-12.5, 1), "−12.5"}, {figure.Places(12.5, 1), "12.5"},
		{figure.Shown(-4.5), "−4.5"}, {figure.Shown(23), "23"}, {figure.Printed("+0.40", true), "+0.40"},
		{figure.Printed("-1.5e-07", true), "−1.5e−07"}, {figure.Printed("-0.0", true), "0.0"},
	} {
		if c.got != c.want {
			t.Errorf("%q, want %q", c.got, c.want)
		}
	}
}
