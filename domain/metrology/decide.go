package metrology

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// Verdict is the outcome of judging a figure against limits.
type Verdict uint8

// The four verdicts. NotMeasured is the zero value: nothing was there to judge.
const (
	NotMeasured Verdict = iota
	Pass
	Fail
	Undecided // the limit lies inside the uncertainty: measure longer or better
)

var verdictWords = [...]string{NotMeasured: "not measured", Pass: "pass", Fail: "fail", Undecided: "undecided"}

// String returns the word shown and stored: pass, fail, undecided or not measured.
func (v Verdict) String() string {
	if int(v) < len(verdictWords) {
		return verdictWords[v]
	}
	return fmt.Sprintf("verdict %d", uint8(v))
}

// ParseVerdict is the inverse of String.
func ParseVerdict(word string) (Verdict, error) {
	for v, w := range verdictWords {
		if w == word {
			return Verdict(v), nil
		}
	}
	return NotMeasured, fmt.Errorf("%q is not a verdict", word)
}

// MarshalText writes the verdict's word.
func (v Verdict) MarshalText() ([]byte, error) {
	if int(v) >= len(verdictWords) {
		return nil, fmt.Errorf("verdict %d is unknown", uint8(v))
	}
	return []byte(v.String()), nil
}

// UnmarshalText reads the verdict's word.
func (v *Verdict) UnmarshalText(text []byte) error {
	parsed, err := ParseVerdict(string(text))
	if err != nil {
		return err
	}
	*v = parsed
	return nil
}

// Limits are the tolerance limits of a figure, in its unit, each end included. A nil end is open.
type Limits struct {
	Lower, Upper *float64
}

// AtLeast returns limits with a lower end only.
func AtLeast(lower float64) Limits { return Limits{Lower: &lower} }

// AtMost returns limits with an upper end only.
func AtMost(upper float64) Limits { return Limits{Upper: &upper} }

// Between returns limits with both ends.
func Between(lower, upper float64) Limits { return Limits{Lower: &lower, Upper: &upper} }

// Check says in plain words why l cannot be used, or returns nil: at least one end must be given, the ends must be
// finite, and the lower must not be above the upper.
func (l Limits) Check() error {
	switch {
	case l.Lower == nil && l.Upper == nil:
		return errors.New("give a lower limit, an upper limit or both")
	case l.Lower != nil && !finite(*l.Lower):
		return errors.New("the lower limit is not a finite number")
	case l.Upper != nil && !finite(*l.Upper):
		return errors.New("the upper limit is not a finite number")
	case l.Lower != nil && l.Upper != nil && *l.Lower > *l.Upper:
		return errors.New("the lower limit is above the upper limit")
	}
	return nil
}

func (l Limits) lower() float64 {
	if l.Lower == nil {
		return math.Inf(-1)
	}
	return *l.Lower
}

func (l Limits) upper() float64 {
	if l.Upper == nil {
		return math.Inf(1)
	}
	return *l.Upper
}

// Rule is the decision rule: the guard band is w = GuardFactor·U with U the expanded uncertainty (k = 2).
type Rule struct {
	GuardFactor float64
}

// The two rules a shop may choose.
var (
	Guarded = Rule{GuardFactor: 1} // w = U, JCGM 106, 8.3
	Simple  = Rule{GuardFactor: 0} // simple acceptance, w = 0, JCGM 106, 8.2
)

// String states the rule as a paper prints it.
func (r Rule) String() string {
	switch r.GuardFactor {
	case 0:
		return "simple acceptance: the figure itself decides, and its uncertainty is stated beside it (JCGM 106, 8.2)"
	case 1:
		return "guard band of the expanded uncertainty U (k = 2): pass if the figure ± U lies inside the limits, " +
			"fail if it lies outside, otherwise undecided (JCGM 106, 8.3)"
	}
	return fmt.Sprintf("guard band of %.3g times the expanded uncertainty U (k = 2) (JCGM 106, 8.3)", r.GuardFactor)
}

// limitSlack is the relative room given to a limit before a figure counts as beyond it. A mean of typed decimals
// that equals its limit on paper may differ in the last binary digits (about 1e-16 per addition); 1e-9 is far above
// that and far below any step an instrument shows.
const limitSlack = 1e-9

// Decide judges y against l by rule r and returns the verdict with the probability that the quantity itself lies
// inside the limits.
//
// With guard band w = r.GuardFactor·U: pass if [y-w, y+w] lies inside the limits (ends included), fail if all of it
// lies outside, otherwise undecided (JCGM 106, 8.3). With w = 0 nothing is undecided.
// The probability takes the quantity as normally distributed about y with standard deviation u (JCGM 106, 7.2 to
// 7.4): Φ((upper-y)/u) - Φ((lower-y)/u).
//
// It panics if y, l or r does not pass its Check; a figure and limits from outside are checked first.
func Decide(y Value, l Limits, r Rule) (verdict Verdict, probabilityOfConformity float64) {
	for _, err := range []error{y.Check(), l.Check(), r.Check()} {
		if err != nil {
			panic("metrology: cannot decide: " + err.Error())
		}
	}
	p := ProbabilityOfConformity(y, l)
	w := r.GuardFactor * y.Expanded()
	lower, upper := l.lower(), l.upper()
	lowerSlack, upperSlack := slack(lower), slack(upper)
	switch {
	case y.Value-w >= lower-lowerSlack && y.Value+w <= upper+upperSlack:
		return Pass, p
	case y.Value+w < lower-lowerSlack || y.Value-w > upper+upperSlack:
		return Fail, p
	}
	return Undecided, p
}

// Check says in plain words why r cannot be used, or returns nil.
func (r Rule) Check() error {
	if !finite(r.GuardFactor) || r.GuardFactor < 0 {
		return errors.New("the guard factor must be zero or more")
	}
	return nil
}

// ProbabilityOfConformity returns the probability, 0 to 1, that the quantity lies inside l when it is normally
// distributed about y (JCGM 106, 7.4). With u = 0 it is 1 inside and 0 outside.
func ProbabilityOfConformity(y Value, l Limits) float64 {
	lower, upper := l.lower(), l.upper()
	if y.StdUncertainty == 0 {
		if y.Value >= lower-slack(lower) && y.Value <= upper+slack(upper) {
			return 1
		}
		return 0
	}
	n := distuv.Normal{Mu: y.Value, Sigma: y.StdUncertainty}
	// Taken in the nearer tail, so that a small probability is not lost in 1 - 1.
	if lower > y.Value {
		return n.Survival(lower) - n.Survival(upper)
	}
	return n.CDF(upper) - n.CDF(lower)
}

func slack(limit float64) float64 {
	if math.IsInf(limit, 0) {
		return 0
	}
	return limitSlack * math.Max(1, math.Abs(limit))
}
