package docket

import "slices"

// Likely returns the numbers that were probably meant: first the one whose digits were typed, its check
// character put right; then those that have the check character typed and differ in one digit, or in two
// neighbouring digits that changed places, of which one may be the check character. Not all of them need exist.
func (e *CheckError) Likely() []Number {
	likely := []Number{}
	add := func(n Number) {
		if n.Problem() == "" && !slices.Contains(likely, n) {
			likely = append(likely, n)
		}
	}
	add(e.Typed)
	typed := append([]byte(e.Typed.digits()), e.Given)
	try := func(changed []byte) {
		if n, err := ParseNumber(string(changed)); err == nil {
			add(n)
		}
	}
	for i := range typed[:len(typed)-1] {
		changed := slices.Clone(typed)
		changed[i], changed[i+1] = changed[i+1], changed[i]
		try(changed)
	}
	for i := range typed[:len(typed)-1] {
		for c := byte('0'); c <= '9'; c++ {
			changed := slices.Clone(typed)
			changed[i] = c
			try(changed)
		}
	}
	return likely
}
