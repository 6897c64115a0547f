package madeup

import (
	"fmt"
	"math"
	"slices"
	"strings"
)

// Share is one measure: Hits of Of, and the bounds that it must keep (0 and 1 bind nothing).
type Share struct {
	Name            string
	Of, Hits        int
	AtLeast, AtMost float64
	Low, High       []int // the first watches that were no hit, and that were one
}

// examples that are kept.
const examples = 5

func (s *Share) count(i int, o outcome) {
	if !o.counts {
		return
	}
	s.Of++
	list := &s.Low
	if o.hit {
		s.Hits++
		list = &s.High
	}
	if len(*list) < examples {
		*list = append(*list, i)
	}
}

// leastChance is how rare a count must be, for a share that is just as good as its bound, before it fails: one in some
// 700, as three standard deviations of a normal distribution.
const leastChance = 0.00135

// chanceOfAtMost is the chance of so many hits or fewer, of n that are one each with chance p (binomial, summed term by
// term in logarithms, so that thousands do no harm).
func chanceOfAtMost(hits, n int, p float64) float64 {
	sum := 0.0
	all, _ := math.Lgamma(float64(n + 1))
	for k := range hits + 1 {
		a, _ := math.Lgamma(float64(k + 1))
		b, _ := math.Lgamma(float64(n - k + 1))
		sum += math.Exp(all - a - b + float64(k)*math.Log(p) + float64(n-k)*math.Log1p(-p))
	}
	return min(sum, 1)
}

// Rate is the share, NaN where nothing counted.
func (s Share) Rate() float64 { return float64(s.Hits) / float64(s.Of) }

// Fails says what bound is broken, with the watches to look at; "" for none.
func (s Share) Fails() string {
	switch {
	case s.Of == 0:
		return ""
	case s.AtLeast > 0 && s.Rate() < s.AtLeast && chanceOfAtMost(s.Hits, s.Of, s.AtLeast) < leastChance:
		return fmt.Sprintf("%s: %s, at least %s is needed, and chance does not explain it; not so: %v", s.Name, s.rate(),
			percent(s.AtLeast), s.Low)
	case s.AtMost < 1 && s.Rate() > s.AtMost && chanceOfAtMost(s.Of-s.Hits, s.Of, 1-s.AtMost) < leastChance:
		return fmt.Sprintf("%s: %s, at most %s is allowed, and chance does not explain it; so: %v", s.Name, s.rate(),
			percent(s.AtMost), s.High)
	}
	return ""
}

func (s Share) rate() string { return fmt.Sprintf("%s of %d", percent(s.Rate()), s.Of) }

func percent(x float64) string { return fmt.Sprintf("%.1f %%", 100*x) }

// bounds writes what must hold.
func (s Share) bounds() string {
	switch {
	case s.AtLeast > 0 && s.AtMost < 1:
		return fmt.Sprintf("  %s to %s", percent(s.AtLeast), percent(s.AtMost))
	case s.AtLeast > 0:
		return "  at least " + percent(s.AtLeast)
	case s.AtMost < 1:
		return "  at most " + percent(s.AtMost)
	}
	return ""
}

// ClassReport is what was counted of one class.
type ClassReport struct {
	Name           string
	N              int
	Measures       [measures]Share
	Next, Verdicts map[string]int
}

func (r *ClassReport) add(m measure, s Share) {
	t := &r.Measures[m]
	t.Name, t.Of, t.Hits, t.AtMost = s.Name, t.Of+s.Of, t.Hits+s.Hits, 1
}

// Report is what was counted.
type Report struct {
	Options Options
	Classes []ClassReport // the last pools all
}

// Failures lists every share beyond its bounds.
func (r Report) Failures() []string {
	var out []string
	for _, c := range r.Classes {
		for _, s := range c.Measures {
			if f := s.Fails(); f != "" {
				out = append(out, c.Name+": "+f)
			}
		}
	}
	return out
}

// Share returns one count of one class by its printed names; class "all" pools them.
func (r Report) Share(class, name string) Share {
	for _, c := range r.Classes {
		for _, s := range c.Measures {
			if c.Name == class && s.Name == name {
				return s
			}
		}
	}
	return Share{}
}

// String writes the table.
func (r Report) String() string {
	var out strings.Builder
	fmt.Fprintf(&out, "%d made-up watches a class, seed %d\n", r.Options.PerClass, r.Options.Seed)
	for _, c := range r.Classes {
		fmt.Fprintf(&out, "%s\n", c.Name)
		for _, s := range c.Measures {
			if s.Of == 0 {
				continue
			}
			mark := " "
			if s.Fails() != "" {
				mark = "!"
			}
			fmt.Fprintf(&out, " %s %-29s %6s of %-6d%s\n", mark, s.Name, percent(s.Rate()), s.Of, s.bounds())
		}
		if len(c.Next) > 0 {
			fmt.Fprintf(&out, "   next: %s; verdict: %s\n", tally(c.Next), tally(c.Verdicts))
		}
	}
	return out.String()
}

// tally writes counts, greatest first.
func tally(counts map[string]int) string {
	var keys []string
	for k := range counts {
		keys = append(keys, k)
	}
	slices.SortFunc(keys, func(a, b string) int {
		if d := counts[b] - counts[a]; d != 0 {
			return d
		}
		return strings.Compare(a, b)
	})
	for i, k := range keys {
		keys[i] = fmt.Sprintf("%s %d", k, counts[k])
	}
	return strings.Join(keys, ", ")
}
