package docket

import (
	"errors"
	"fmt"
)

// checkAlphabet orders the characters of ISO 7064 MOD 37,36; a character's value is its index.
const checkAlphabet = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ"

// CheckCharacter returns the ISO 7064 MOD 37,36 check character for s, which holds upper-case letters
// A to Z and digits only. It returns an error for an empty string or any other character.
//
// The hybrid system, from ISO 7064:2003: with M = 36, P starts at M; each character's value a makes
// S = (P + a) mod M, taken as M where it is 0, and P = 2*S mod (M+1). The check character's value c
// makes (P + c) mod M = 1.
//
// The standard promises that every single substitution is caught, and "all or nearly all" transpositions
// of neighbours. Exactly: of the 22680 ways in which two different neighbours can follow each of the 36
// values of P, 36 swaps go unnoticed; nine of them are between digits, always a digit and its successor.
// The tests measure this.
func CheckCharacter(s string) (byte, error) {
	p, err := hybridProduct(s)
	if err != nil {
		return 0, err
	}
	const m = len(checkAlphabet)
	return checkAlphabet[(m+1-p)%m], nil
}

// hybridProduct returns P after the last character of s.
func hybridProduct(s string) (int, error) {
	if s == "" {
		return 0, errors.New("check character: nothing to check")
	}
	const m = len(checkAlphabet)
	p := m
	for i := range len(s) {
		a := checkValue(s[i])
		if a < 0 {
			return 0, fmt.Errorf("check character: %q at %d is neither A to Z nor a digit", s[i], i+1)
		}
		sum := (p + a) % m
		if sum == 0 {
			sum = m
		}
		p = 2 * sum % (m + 1)
	}
	return p, nil
}

// checkValue is c's value in the alphabet, or -1.
func checkValue(c byte) int {
	switch {
	case c >= '0' && c <= '9':
		return int(c - '0')
	case c >= 'A' && c <= 'Z':
		return int(c-'A') + 10
	}
	return -1
}

// mustCheck is CheckCharacter for text already known to be digits.
func mustCheck(digits string) byte {
	c, err := CheckCharacter(digits)
	if err != nil {
		panic(err)
	}
	return c
}
