package share_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"ledgerwheel/domain/published"
	"ledgerwheel/domain/share"
)

func near(t published.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s: %v, published %v", what, got, want)
	}
}

func TestPublished(t *testing.T) {
	type pair struct{ Lo, Hi, Held float64 }
	published.Hold(t, "testdata/published.json", map[string]published.Check{
		"WILSON-*": func(t published.T, r published.Row) {
			var in struct {
				K, N             int
				Level, Tolerance float64
			}
			var want pair
			r.Read(t, &in, &want)
			lo, hi := share.Wilson(in.K, in.N, share.Z(in.Level))
			near(t, "lower", lo, want.Lo, in.Tolerance)
			near(t, "upper", hi, want.Hi, in.Tolerance)
		},
		"DIFF-*": func(t published.T, r published.Row) {
			var in struct {
				K, N, K2, N2     int
				Level, Tolerance float64
			}
			var want pair
			r.Read(t, &in, &want)
			lo, hi := share.Difference(share.Share{K: in.K, N: in.N}, share.Share{K: in.K2, N: in.N2}, share.Z(in.Level))
			near(t, "lower", lo, want.Lo, in.Tolerance)
			near(t, "upper", hi, want.Hi, in.Tolerance)
		},
		"RANKS-*": func(t published.T, r published.Row) {
			var in struct {
				N        int64
				Q, Level float64
			}
			var want pair
			r.Read(t, &in, &want)
			lo, hi, held, _ := share.Ranks(in.N, in.Q, in.Level)
			near(t, "lower rank", float64(lo), want.Lo, 0)
			near(t, "upper rank", float64(hi), want.Hi, 0)
			near(t, "held", held, want.Held, 5e-6)
		},
		"QUANTILE-*": func(t published.T, r published.Row) {
			var in struct {
				Values []int
				Q      float64
			}
			var want struct{ Value float64 }
			r.Read(t, &in, &want)
			got, _ := histogram(in.Values).Quantile(in.Q)
			near(t, "value", float64(got), want.Value, 0)
		},
	}, nil)
}

func histogram(values []int) share.Histogram {
	var bins []share.Bin
	for _, v := range values {
		bins = append(bins, share.Bin{Value: v, N: 1})
	}
	return share.HistogramOf(bins)
}

// A quantile is what sorting all values and counting says.
func TestQuantileIsOfSortedValues(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		values := rapid.SliceOfN(rapid.IntRange(-40, 40), 1, 60).Draw(t, "values")
		tenths := rapid.IntRange(1, 10).Draw(t, "tenths")
		got, ok := histogram(values).Quantile(float64(tenths) / 10)
		slices.Sort(values)
		want := values[(tenths*len(values)+9)/10-1]
		if !ok || got != want {
			t.Fatalf("%d tenths of %v: %d, %t, want %d", tenths, values, got, ok, want)
		}
	})
	if _, ok := (share.Histogram{}).Quantile(0.5); ok {
		t.Error("nothing has a middle")
	}
	if _, _, _, ok := share.Ranks(5, 0.5, 0.95); ok {
		t.Error("five values bound no median at 95 %")
	}
}

// How often Wilson's interval holds the true share, averaged over shares as a shop has them, is near what is stated.
func TestWilsonHolds(t *testing.T) {
	random := rand.New(rand.NewPCG(3, 4))
	const draws = 40_000
	held := 0
	for range draws {
		p, n, k := 0.05+0.9*random.Float64(), 10+random.IntN(190), 0
		for range n {
			if random.Float64() < p {
				k++
			}
		}
		if lo, hi := (share.Share{K: k, N: n}).Interval(); lo <= p && p <= hi {
			held++
		}
	}
	t.Logf("held %d of %d", held, draws)
	if got := float64(held) / draws; got < 0.945 || got > 0.96 {
		t.Errorf("holds %.4f of the time, 0.95 is stated", got)
	}
}

// Of made-up shops whose benches are all alike at most 5 in 100 are told that any bench differs; where one is truly worse by far it is seen.
func TestEqualBenchesAreSeldomToldApart(t *testing.T) {
	random := rand.New(rand.NewPCG(5, 6))
	shop := func(benches, each int, p func(i int) float64) []share.Share {
		list := make([]share.Share, benches)
		for i := range list {
			list[i].N = 1 + each/2 + random.IntN(each)
			for range list[i].N {
				if random.Float64() < p(i) {
					list[i].K++
				}
			}
		}
		return list
	}
	told := func(v []share.Verdict) bool {
		return slices.ContainsFunc(v, func(v share.Verdict) bool { return v == share.Above || v == share.Below })
	}
	const shops = 4000
	all, wrong := 0, 0
	for _, benches := range []int{2, 3, 5, 8} {
		for _, each := range []int{15, 40, 150} {
			for _, p := range []float64{0.5, 0.8, 0.9, 0.97} {
				n := 0
				for range shops {
					if told(share.Compare(shop(benches, each, func(int) float64 { return p }))) {
						n++
					}
				}
				all, wrong = all+shops, wrong+n
				what := fmt.Sprintf("%d benches of about %d, share %.2f", benches, each, p)
				t.Logf("%s: told wrongly in %.2f of 100 shops", what, 100*float64(n)/shops)
				if bound := 0.05 + 3*math.Sqrt(0.05*0.95/shops); float64(n)/shops > bound {
					t.Errorf("%s: told wrongly in %d of %d", what, n, shops)
				}
			}
		}
	}
	t.Logf("told wrongly in %d of %d shops", wrong, all)
	seen := 0
	for range shops {
		v := share.Compare(shop(4, 80, func(i int) float64 { return []float64{0.6, 0.9, 0.9, 0.9}[i] }))
		if v[0] == share.Below {
			seen++
		}
	}
	t.Logf("a bench at 60 of 100 among three at 90 is seen in %d of %d shops", seen, shops)
	if seen < shops*8/10 {
		t.Error("a bench that is far worse is seen too seldom")
	}
}

func TestTooFew(t *testing.T) {
	for _, c := range []struct {
		s    share.Share
		want bool
	}{{share.Share{}, true}, {share.Share{K: 19, N: 19}, true}, {share.Share{K: 20, N: 20}, false}, {share.Share{K: 30, N: 60}, false}} {
		if got := c.s.TooFew(); got != c.want {
			t.Errorf("%+v: %t", c.s, got)
		}
		if lo, hi := c.s.Interval(); !c.want && hi-lo > 0.41 {
			t.Errorf("%+v is said, with %.3f to %.3f", c.s, lo, hi)
		}
	}
}
