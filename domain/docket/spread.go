package docket

// DueOf is what is to be paid for several dockets at once: the sum of what is due for each, in minor units of the currency
// that they share. Where more was paid than was owed, nothing is due: what goes back is a refund of that docket alone.
func DueOf(dueMinor []int64) (sum int64) {
	for _, due := range dueMinor {
		sum += max(0, due)
	}
	return sum
}

// Spread lays payments, as [Tender.Settle] gives them for [DueOf] the dockets, onto each docket's invoice: the first docket is
// paid in full before the second gets anything, and so on, by the payments in their order. Every minor unit goes to one
// docket, none is made or lost. Cash that was counted over the counter goes with the part that it paid; the change belongs
// to the last of these parts. Our own rule: any order is as good, but it has to be one.
func Spread(payments []Payment, dueMinor []int64) [][]Payment {
	out := make([][]Payment, len(dueMinor))
	i, left := -1, int64(0) // the docket that is being paid, and what is still due for it
	for _, p := range payments {
		rest, change, rounded := p.Minor-p.RoundedMinor, p.ChangeMinor(), p.RoundedMinor
		largest := -1 // the docket whose part of this payment bears what cash rounded
		for rest > 0 {
			for left == 0 && i+1 < len(dueMinor) {
				i++
				left = max(0, dueMinor[i])
			}
			if left == 0 {
				break // more than is due: not what Settle gives
			}
			part := p
			part.Minor, part.RoundedMinor = min(rest, left), 0
			rest, left = rest-part.Minor, left-part.Minor
			if p.GivenMinor > 0 {
				part.GivenMinor = part.Minor
				if rest == 0 {
					part.GivenMinor += change
				}
			}
			out[i] = append(out[i], part)
			if largest < 0 || part.Minor > out[largest][len(out[largest])-1].Minor {
				largest = i
			}
		}
		if largest >= 0 && rounded != 0 {
			part := &out[largest][len(out[largest])-1]
			part.Minor, part.RoundedMinor = part.Minor+rounded, rounded
			if part.GivenMinor > 0 {
				part.GivenMinor += rounded
			}
		}
	}
	return out
}

// OldPartsOf is the answer for one of several watches that leave at once: where no part was fitted and none is kept to go
// back nothing is asked, and there are none.
func OldPartsOf(said OldParts, fitted bool, kept []string) OldParts {
	if !fitted && len(kept) == 0 {
		return OldPartsNone
	}
	return said
}

// SumProblem says that what stood in a form as due is not what is due for the watches that are ticked in it.
func SumProblem(stoodMinor, dueMinor int64, currency string) string {
	return "For the watches that are ticked " + amountWords(&dueMinor, currency) + " is due, not " + amountWords(&stoodMinor, currency) +
		" as stood here. Nothing was done: take what is due now, and press again."
}
