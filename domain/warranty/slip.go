package warranty

const codeAlphabet = "ABCDEFGHIJKLMNOPQRSTUVWXYZ234567"

// Slips are the codes from which c comes by one slip of whoever typed it: one character mistaken for another, or two
// neighbours swapped. There are 496 of the first and at most 15 of the second. A code carries no check character, since
// the cards that are out have none; its slips are looked up instead, which finds every one of them and takes a code of
// chance for a slip of one of n cards with a probability of n · 511 / 2^80.
func (c Code) Slips() []Code {
	var slips []Code
	for i := range len(c) {
		for _, other := range []byte(codeAlphabet) {
			if other != c[i] {
				slips = append(slips, c[:i]+Code(other)+c[i+1:])
			}
		}
		if i > 0 && c[i-1] != c[i] {
			slips = append(slips, c[:i-1]+Code(c[i])+Code(c[i-1])+c[i+1:])
		}
	}
	return slips
}
