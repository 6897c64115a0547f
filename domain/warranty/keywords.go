package warranty

import "errors"

// ErrNoGivenKey reports that a new key was asked for where keys are given from outside and no unused one is.
var ErrNoGivenKey = errors.New("no unused signing key is given to the program")

// KeyAway says why no card can be signed while the private half of the key in use can't be used here.
func KeyAway(id KeyID) string {
	return "Cards can't be signed here now: the private half of the signing key " + string(id) + " can't be used on this " +
		"machine. The owner puts it back or begins a new key, under Owner, Signing keys. Cards issued so far stay genuine."
}

// NoGivenKey says what must be done before another key can be begun where keys are given from outside.
const NoGivenKey = "This program is given its signing keys from outside, and all of them were used already. Add a new " +
	"one to LEDGERWHEEL_KEYS of every copy of the program, start them again, and come back here. Nothing was done."
