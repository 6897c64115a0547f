package script

import "golang.org/x/text/unicode/bidi"

// bidiLevels resolves the embedding level of each character of one line by
// Unicode Standard Annex 9 (Unicode Bidirectional Algorithm), without explicit
// embeddings, which prepare drops: rules W1 to W7, N0 to N2, I1, I2 and L1. The
// library gives character classes but only the direction of runs, and reordering
// (L2) needs the level.
func bidiLevels(runes []rune, rtl bool) []int {
	base := 0
	if rtl {
		base = 1
	}
	orig := make([]bidi.Class, len(runes))
	for i, r := range runes {
		orig[i] = class(r)
	}
	// Boundary neutrals (joiners) take no part (X9).
	index := make([]int, 0, len(runes))
	for i, c := range orig {
		if c != bidi.BN {
			index = append(index, i)
		}
	}
	classes := make([]bidi.Class, len(index))
	text := make([]rune, len(index))
	for k, i := range index {
		classes[k], text[k] = orig[i], runes[i]
	}
	weak := resolveWeak(append([]bidi.Class(nil), classes...), direction(base))
	resolveBrackets(text, classes, weak, direction(base))
	resolveNeutral(weak, direction(base))

	levels := make([]int, len(runes))
	for k, i := range index {
		levels[i] = base + implicitStep(weak[k], base)
	}
	resetTrailing(levels, orig, base)
	return levels
}

func direction(level int) bidi.Class {
	if level%2 == 1 {
		return bidi.R
	}
	return bidi.L
}

// resolveWeak applies W1 to W7 in place; sos and eos are the base direction.
func resolveWeak(c []bidi.Class, base bidi.Class) []bidi.Class {
	prev, strong := base, base
	for i := range c { // W1 to W3; W3 last, for W2 needs to see AL
		if c[i] == bidi.NSM {
			c[i] = prev
		}
		prev = c[i]
		switch c[i] {
		case bidi.L, bidi.R, bidi.AL:
			strong = c[i]
		case bidi.EN:
			if strong == bidi.AL {
				c[i] = bidi.AN
			}
		}
	}
	for i := range c {
		if c[i] == bidi.AL {
			c[i] = bidi.R
		}
	}
	resolveSeparators(c)
	strong = base
	for i := range c { // W7
		switch c[i] {
		case bidi.L, bidi.R:
			strong = c[i]
		case bidi.EN:
			if strong == bidi.L {
				c[i] = bidi.L
			}
		}
	}
	return c
}

// resolveSeparators applies W4 to W6.
func resolveSeparators(c []bidi.Class) {
	for i := 1; i+1 < len(c); i++ { // W4
		before, after := c[i-1], c[i+1]
		if before != after {
			continue
		}
		if before == bidi.EN && (c[i] == bidi.ES || c[i] == bidi.CS) ||
			before == bidi.AN && c[i] == bidi.CS {
			c[i] = before
		}
	}
	for i := 0; i < len(c); { // W5
		if c[i] != bidi.ET {
			i++
			continue
		}
		end := i
		for end < len(c) && c[end] == bidi.ET {
			end++
		}
		if i > 0 && c[i-1] == bidi.EN || end < len(c) && c[end] == bidi.EN {
			for k := i; k < end; k++ {
				c[k] = bidi.EN
			}
		}
		i = end
	}
	for i := range c { // W6
		switch c[i] {
		case bidi.ES, bidi.ET, bidi.CS:
			c[i] = bidi.ON
		}
	}
}

// strongOf is the direction that a resolved class lends to neutrals beside it:
// numbers count as right to left (N1).
func strongOf(c bidi.Class) (bidi.Class, bool) {
	switch c {
	case bidi.L:
		return bidi.L, true
	case bidi.R, bidi.EN, bidi.AN:
		return bidi.R, true
	}
	return bidi.ON, false
}

// resolveBrackets applies N0: a pair of brackets takes the direction of what it
// holds. orig gives the classes before W1, for marks that follow a bracket.
func resolveBrackets(text []rune, orig, c []bidi.Class, base bidi.Class) {
	for _, pair := range bracketPairs(text, c) {
		dir, found := bracketDirection(c, pair, base)
		if !found {
			continue
		}
		for _, at := range pair {
			c[at] = dir
			for k := at + 1; k < len(c) && orig[k] == bidi.NSM; k++ {
				c[k] = dir
			}
		}
	}
}

func bracketDirection(c []bidi.Class, pair [2]int, base bidi.Class) (bidi.Class, bool) {
	opposite := false
	for _, inside := range c[pair[0]+1 : pair[1]] {
		dir, ok := strongOf(inside)
		if ok && dir == base {
			return base, true
		}
		opposite = opposite || ok
	}
	if !opposite {
		return bidi.ON, false
	}
	for k := pair[0] - 1; k >= 0; k-- {
		if dir, ok := strongOf(c[k]); ok {
			return dir, true
		}
	}
	return base, true
}

// bracketPairs matches brackets as BD16 says, sorted by the opening one.
func bracketPairs(text []rune, c []bidi.Class) [][2]int {
	const deepest = 63 // BD16
	type open struct {
		at    int
		close rune
	}
	var stack []open
	closing := map[int]int{}
	for i, r := range text {
		p, _ := bidi.LookupRune(r)
		if c[i] != bidi.ON || !p.IsBracket() {
			continue
		}
		if p.IsOpeningBracket() {
			if len(stack) == deepest {
				return nil
			}
			stack = append(stack, open{i, canonical(mirror(r))})
			continue
		}
		for k := len(stack) - 1; k >= 0; k-- {
			if stack[k].close == canonical(r) {
				closing[stack[k].at] = i
				stack = stack[:k]
				break
			}
		}
	}
	var pairs [][2]int
	for i := range text {
		if end, ok := closing[i]; ok {
			pairs = append(pairs, [2]int{i, end})
		}
	}
	return pairs
}

// canonical folds the angle brackets that Unicode holds equal.
func canonical(r rune) rune {
	switch r {
	case '\u2329':
		return '\u3008'
	case '\u232A':
		return '\u3009'
	}
	return r
}

// resolveNeutral applies N1 and N2.
func resolveNeutral(c []bidi.Class, base bidi.Class) {
	for i := 0; i < len(c); {
		if _, ok := strongOf(c[i]); ok {
			i++
			continue
		}
		end := i
		for end < len(c) {
			if _, ok := strongOf(c[end]); ok {
				break
			}
			end++
		}
		before, after := base, base
		if i > 0 {
			before, _ = strongOf(c[i-1])
		}
		if end < len(c) {
			after, _ = strongOf(c[end])
		}
		dir := base
		if before == after {
			dir = before
		}
		for k := i; k < end; k++ {
			c[k] = dir
		}
		i = end
	}
}

// implicitStep applies I1 and I2: how far above the base level a class lies.
func implicitStep(c bidi.Class, base int) int {
	switch {
	case base == 0 && c == bidi.R:
		return 1
	case base == 0 && (c == bidi.AN || c == bidi.EN):
		return 2
	case base == 1 && c != bidi.R:
		return 1
	}
	return 0
}

// resetTrailing applies L1: separators, and white space before them or at the
// end of the line, stand at the base level. Characters that took no part follow
// the one before them.
func resetTrailing(levels []int, orig []bidi.Class, base int) {
	for i, c := range orig {
		if c == bidi.BN {
			levels[i] = base
			if i > 0 {
				levels[i] = levels[i-1]
			}
		}
	}
	reset := true
	for i := len(orig) - 1; i >= 0; i-- {
		switch orig[i] {
		case bidi.S, bidi.B:
			reset = true
			levels[i] = base
		case bidi.WS, bidi.BN:
			if reset {
				levels[i] = base
			}
		default:
			reset = false
		}
	}
}

// reorder applies L2 to L4: reverses runs from the highest level down, keeps
// combining marks after their base and mirrors what stands at an odd level.
func reorder(runes []rune, levels []int) []rune {
	out := append([]rune(nil), runes...)
	lv := append([]int(nil), levels...)
	highest := 0
	for i, l := range lv {
		highest = max(highest, l)
		if l%2 == 1 {
			out[i] = mirror(out[i])
		}
	}
	for level := highest; level > 0; level-- {
		for i := 0; i < len(out); {
			if lv[i] < level {
				i++
				continue
			}
			end := i
			for end < len(out) && lv[end] >= level {
				end++
			}
			reverse(out[i:end])
			reverse(lv[i:end])
			i = end
		}
	}
	marksAfterBase(out, lv)
	return out
}

// marksAfterBase applies L3: in a reversed run the marks stand before their base.
func marksAfterBase(runes []rune, levels []int) {
	for i := 0; i < len(runes); {
		end := i
		for end < len(runes) && levels[end]%2 == 1 && class(runes[end]) == bidi.NSM {
			end++
		}
		if end == i {
			i++
			continue
		}
		if end < len(runes) && levels[end]%2 == 1 {
			reverse(runes[i : end+1])
			end++
		}
		i = end
	}
}

func reverse[T any](s []T) {
	for i, j := 0, len(s)-1; i < j; i, j = i+1, j-1 {
		s[i], s[j] = s[j], s[i]
	}
}

// mirrored lists the Bidi_Mirrored characters of common text that are no
// brackets by BD16.
var mirrored = map[rune]rune{'<': '>', '>': '<', '«': '»', '»': '«', '‹': '›', '›': '‹', '≤': '≥', '≥': '≤'}

func mirror(r rune) rune {
	if m, ok := mirrored[r]; ok {
		return m
	}
	for _, m := range bidi.ReverseString(string(r)) {
		return m
	}
	return r
}
