package warranty_test

import (
	"crypto/rand"
	"math"
	"math/big"
	"testing"

	"ledgerwheel/domain/warranty"
)

func newCode(t *testing.T) warranty.Code {
	t.Helper()
	c, err := warranty.NewCode(rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// Every single slip is recognised, and none twice; a code of chance is not.
func TestSlips(t *testing.T) {
	t.Parallel()
	const alphabet = "ABCDEFGHIJKLMNOPQRSTUVWXYZ234567"
	kept := map[warranty.Code]bool{}
	recognised := func(typed warranty.Code) bool {
		for _, c := range typed.Slips() {
			if kept[c] {
				return true
			}
		}
		return false
	}
	const cards = 40
	slips, missed := 0, 0
	for range cards {
		c := newCode(t)
		clear(kept)
		kept[c] = true
		seen := map[warranty.Code]bool{}
		for _, s := range c.Slips() {
			if seen[s] || s == c {
				t.Fatalf("%s slips to %s twice, or to itself", c, s)
			}
			seen[s] = true
			if _, err := warranty.ParseCode(string(s)); err != nil {
				t.Fatalf("%s slips to %q: %v", c, s, err)
			}
		}
		for i := range len(c) {
			for _, letter := range []byte(alphabet) {
				typed := c[:i] + warranty.Code(letter) + c[i+1:]
				if typed == c {
					continue
				}
				if slips++; !recognised(typed) {
					missed++
				}
			}
			if i > 0 && c[i] != c[i-1] {
				typed := c[:i-1] + warranty.Code(c[i]) + warranty.Code(c[i-1]) + c[i+1:]
				if slips++; !recognised(typed) {
					missed++
				}
			}
		}
	}
	t.Logf("of %d single slips in %d codes %d were missed", slips, cards, missed)
	if missed > 0 || slips < cards*496 {
		t.Errorf("%d of %d slips were missed", missed, slips)
	}

	clear(kept)
	for range 5000 {
		kept[newCode(t)] = true
	}
	const strangers = 1000
	mistaken := 0
	for range strangers {
		if recognised(newCode(t)) {
			mistaken++
		}
	}
	all := new(big.Float).SetMantExp(big.NewFloat(1), 80)
	chance, _ := new(big.Float).Quo(big.NewFloat(5000*511), all).Float64()
	t.Logf("beside 5000 cards %d of %d codes of chance were called mistyped; the probability is %.1g", mistaken, strangers,
		chance)
	if mistaken > 0 || math.Abs(chance-2.1e-18) > 0.1e-18 {
		t.Errorf("%d codes of chance were called mistyped, probability %g", mistaken, chance)
	}
}
