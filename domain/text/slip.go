package text

import "slices"

// OneSlip reports whether two words are one slip of the hand apart: a letter left out, one too many, one for another, or
// two neighbours exchanged (F. J. Damerau, Communications of the ACM 7(3), 1964, who counted these to be four in five of
// all slips). Equal words are none apart.
func OneSlip(a, b string) bool {
	x, y := []rune(a), []rune(b)
	if len(x) > len(y) {
		x, y = y, x
	}
	at := 0
	for at < len(x) && x[at] == y[at] {
		at++
	}
	x, y = x[at:], y[at:]
	switch {
	case len(y)-len(x) > 1 || len(y) == 0:
		return false
	case len(x) < len(y):
		return slices.Equal(x, y[1:])
	case slices.Equal(x[1:], y[1:]):
		return true
	}
	return len(x) > 1 && x[0] == y[1] && x[1] == y[0] && slices.Equal(x[2:], y[2:])
}

// WithoutOne is the word, and the word without each of its letters.
func WithoutOne(word string) []string {
	letters := []rune(word)
	rests := []string{word}
	for i := range letters {
		if rest := string(letters[:i]) + string(letters[i+1:]); !slices.Contains(rests, rest) {
			rests = append(rests, rest)
		}
	}
	return rests
}
