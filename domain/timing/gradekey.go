package timing

import (
	"slices"
	"strconv"
	"strings"
)

// maxGradeKey is the longest key of a grade, in characters; some room is kept for a number.
const maxGradeKey = 40

// reservedGrades are no keys, as addresses have them.
var reservedGrades = []string{"new"}

// GradeKey makes the key of a new grade from its name: small letters, digits and hyphens, and a number where another
// grade, or none of the name's letters, has taken it.
func GradeKey(name string, taken []string) string {
	base := strings.Map(func(r rune) rune {
		switch {
		case r >= 'a' && r <= 'z', r >= '0' && r <= '9':
			return r
		case r == ' ' || r == '-' || r == '_' || r == '/':
			return '-'
		}
		return -1
	}, strings.ToLower(name))
	base = strings.Join(strings.FieldsFunc(base, func(r rune) bool { return r == '-' }), "-")
	if base = strings.Trim(base[:min(len(base), maxGradeKey-5)], "-"); base == "" {
		base = "grade"
	}
	key := base
	for n := 2; slices.Contains(taken, key) || slices.Contains(reservedGrades, key); n++ {
		key = base + "-" + strconv.Itoa(n)
	}
	return key
}

// GradeNameTaken is said where a shop names a grade like one that it has.
const GradeNameTaken = "There is a grade of this name already. Publish a new version of it, or choose another name."

// SameGradeName reports whether two names of grades read alike.
func SameGradeName(a, b string) bool {
	return strings.EqualFold(strings.Join(strings.Fields(a), " "), strings.Join(strings.Fields(b), " "))
}
