package docket

import "unicode"

// cardNumberProblem says that a text holds what looks like the number of a payment card, which is never kept; "" where it
// does not.
func cardNumberProblem(s string) string {
	if holdsCardNumber(s) {
		return "This looks like the number of a card, which is never kept. Write its last four digits at most."
	}
	return ""
}

// holdsCardNumber reports whether 13 to 19 digits stand in s, parted by single spaces or hyphens at most, that end in the
// check digit of card numbers (ISO/IEC 7812-1, annex B: the Luhn formula).
func holdsCardNumber(s string) bool {
	var run []int
	parted := false
	for _, r := range s + "." {
		switch {
		case unicode.IsDigit(r) && r < 128:
			run, parted = append(run, int(r-'0')), false
			continue
		case (r == ' ' || r == '-') && len(run) > 0 && !parted:
			parted = true
			continue
		}
		if len(run) >= 13 && len(run) <= 19 && luhn(run) {
			return true
		}
		run, parted = nil, false
	}
	return false
}

// luhn reports whether the digits sum to a multiple of ten, every second from the right but the last doubled.
func luhn(digits []int) bool {
	sum := 0
	for i, d := range digits {
		if (len(digits)-i)%2 == 0 {
			if d *= 2; d > 9 {
				d -= 9
			}
		}
		sum += d
	}
	return sum%10 == 0
}
