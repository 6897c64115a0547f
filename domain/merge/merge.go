// Package merge puts together what two people made of the same thing at once.
package merge

// Outcome says whose words hold once two people's are put together.
type Outcome int

// The outcomes.
const (
	Alike  Outcome = iota // both leave the same: it holds once
	Mine                  // only the second person changed it
	Theirs                // only the first did
	Clash                 // both did, differently: somebody must say which holds
)

// Of holds what stands (theirs) and what is typed (mine) against what the typist had seen (base), where same says
// what counts as equal. Nothing that either of the two changed is dropped: it holds, or it clashes.
func Of[T any](base, theirs, mine T, same func(a, b T) bool) Outcome {
	switch {
	case same(theirs, mine):
		return Alike
	case same(base, mine):
		return Theirs
	case same(base, theirs):
		return Mine
	}
	return Clash
}

// Field merges one field of a record. What clashes stays as the second person typed it, for whoever asks.
func Field[T comparable](base, theirs, mine T) (T, Outcome) {
	switch how := Of(base, theirs, mine, func(a, b T) bool { return a == b }); how {
	case Alike, Theirs:
		return theirs, how
	default:
		return mine, how
	}
}

// LastChange returns the index of the newest state that is not the same as the one before it, or -1.
func LastChange[T any](states []T, same func(a, b T) bool) int {
	for i := len(states) - 1; i > 0; i-- {
		if !same(states[i-1], states[i]) {
			return i
		}
	}
	return -1
}
