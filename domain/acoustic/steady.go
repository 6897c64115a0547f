package acoustic

import "slices"

// The beats of a watch agree with their neighbours to within this, in ms: scatter, the escape wheel and noise
// together stay well below.
const agreeMs = 0.2

// Of the beats of a watch nine in ten agree, of noise one in four by chance. The sum over a spell of the logarithms of
// how much likelier a watch makes what each beat did is the log-likelihood ratio of a watch in it (Wald, Sequential
// Analysis, 1947, 3.3); steadyRatio of it is believed.
const (
	agreeGain   = 1.28 // ln(0.9/0.25)
	differLoss  = 2.01 // −ln(0.1/0.75)
	steadyRatio = 20
)

// steady reports whether a watch beats in some spell of the block, and keeps that spell alone.
func (h *heardBlock) steady() bool {
	type at struct{ swing, k, number int }
	var all []at
	for i := range h.swings {
		for k, n := range h.swings[i].beats {
			all = append(all, at{i, k, n})
		}
	}
	slices.SortFunc(all, func(a, b at) int { return a.number - b.number })
	sum, best, from, bestFrom, bestTo := 0.0, 0.0, 0, 0, -1
	for m, a := range all {
		if sum <= 0 {
			sum, from = 0, m
		}
		if h.swings[a.swing].agrees[a.k] {
			sum += agreeGain
		} else {
			sum -= differLoss
		}
		if sum > best {
			best, bestFrom, bestTo = sum, from, m
		}
	}
	if best < steadyRatio {
		return false
	}
	for m, a := range all {
		s := &h.swings[a.swing]
		if m < bestFrom || m > bestTo {
			s.heard[a.k], s.loud[a.k] = false, 0
			continue
		}
		s.heard[a.k] = s.heard[a.k] && s.agrees[a.k]
	}
	return true
}
