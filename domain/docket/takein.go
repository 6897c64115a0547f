package docket

import "slices"

// TakeInProblems says, by form field, what stops a watch that is taken in lying at p.
func (p Place) TakeInProblems() map[string]string {
	bad := p.Problems()
	if bad["place"] == "" && !slices.Contains(TakeInPlaces(), p.Kind) {
		bad["place"] = "A watch that is taken in lies at the counter or in the safe."
	}
	return bad
}

// What the counter is told when a record that it chose is not what it was any more.
const (
	CustomerGone  = "This customer is no longer in the record; choose again."
	WatchGone     = "This watch is no longer in the record; choose again."
	OtherWatch    = "That docket is not of this watch; choose again."
	ConditionDone = "Diagnosis is done: the condition at intake stands as it was noted."
	NoBench       = "Choose somebody who works at a bench."
)

// InShopProblem says that the watch is in the shop already, under docket n.
func InShopProblem(n Number) string {
	return "This watch is in the shop already, under docket " + n.String() + ". Look there first."
}

// NoWarrantyProblem says that the watch can't come back under the warranty of docket n.
func NoWarrantyProblem(n Number) string {
	return "The warranty of docket " + n.String() + " does not run on this day."
}
