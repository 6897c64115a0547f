package acoustic

import (
	"math/rand/v2"
	"slices"
	"testing"
)

// TestMedianIsOfTheSorted holds the selection against sorting, for numbers of all orders and with many alike.
func TestMedianIsOfTheSorted(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	for n := 1; n < 400; n++ {
		for _, kinds := range []int{1, 2, 5, 1000000} {
			x := make([]float64, n)
			for i := range x {
				x[i] = float64(rng.IntN(kinds))
			}
			switch rng.IntN(4) {
			case 0:
				slices.Sort(x)
			case 1:
				slices.Sort(x)
				slices.Reverse(x)
			}
			sorted := slices.Sorted(slices.Values(x))
			want := sorted[n/2]
			if n%2 == 0 {
				want = (sorted[n/2-1] + sorted[n/2]) / 2
			}
			given := slices.Clone(x)
			if got := median(x); got != want {
				t.Fatalf("%v: median %v, not %v", given, got, want)
			}
			if slices.Sort(x); !slices.Equal(x, sorted) {
				t.Fatalf("%v became %v", given, x)
			}
		}
	}
}
