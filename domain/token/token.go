// Package token has what another program may do with the shop's record: access tokens, what they open, and how long.
package token

import (
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"slices"
	"strings"
	"time"

	"ledgerwheel/domain/text"
)

// Scope is one thing that a token opens.
type Scope string

// The scopes. What each opens stands in the table below.
const (
	Dockets   Scope = "dockets"
	Customers Scope = "customers"
	Prices    Scope = "prices"
	Stock     Scope = "stock"
	Readings  Scope = "readings"
	Calendar  Scope = "calendar"
)

var scopes = []struct {
	scope Scope
	words string // completes "may"
}{
	{Dockets, "read dockets, watches and runs"},
	{Customers, "read customers, and whose each docket is"},
	{Prices, "read the price list"},
	{Stock, "read the parts and how many there are"},
	{Readings, "send runs of readings to dockets"},
	{Calendar, "read the calendar of promised days"},
}

// Scopes are all of them, in the order in which they are shown.
func Scopes() []Scope {
	list := make([]Scope, len(scopes))
	for i, s := range scopes {
		list[i] = s.scope
	}
	return list
}

// Words are what the scope opens, completing "may"; "" for an unknown one.
func (s Scope) Words() string {
	for _, known := range scopes {
		if known.scope == s {
			return known.words
		}
	}
	return ""
}

// Token is a program's way in. Its secret is not part of it: only what proves it is kept.
type Token struct {
	ID     int64
	Name   string // what it is for
	Scopes []Scope
	// Hint are the last characters of the secret, by which its owner tells it from others.
	Hint string
	// ActsFor is the person of the bench in whose name readings are recorded, 0 where none are sent.
	ActsFor   int64
	MadeAt    time.Time
	ExpiresAt time.Time // zero for never
	EndedAt   time.Time // zero while it serves
	UsedAt    time.Time // zero for never
}

const (
	maxName  = 80  // characters
	hintSize = 4   // characters of the secret
	maxDays  = 731 // two years
)

// Tidied returns t with its name fit to be kept and its scopes once each, in their order.
func (t Token) Tidied() Token {
	t.Name = text.Line(t.Name)
	var list []Scope
	for _, s := range Scopes() {
		if slices.Contains(t.Scopes, s) {
			list = append(list, s)
		}
	}
	t.Scopes = list
	return t
}

// Problems says, by form field, what stops t being made: "name", "scopes", "acts_for", "days".
func (t Token) Problems() map[string]string {
	bad := map[string]string{}
	switch {
	case t.Name == "":
		bad["name"] = "Say what it is for, such as the shop's web site."
	case text.TooLong(t.Name, maxName):
		bad["name"] = "Keep the name to 80 characters."
	}
	switch {
	case len(t.Scopes) == 0:
		bad["scopes"] = "Choose what it may do."
	case slices.ContainsFunc(t.Scopes, func(s Scope) bool { return s.Words() == "" }):
		bad["scopes"] = "Choose from the list."
	case t.Has(Calendar) && len(t.Scopes) > 1:
		bad["scopes"] = "A calendar's address is seen by whoever keeps the calendar: make another token for the rest."
	}
	if t.Has(Readings) && t.ActsFor == 0 {
		bad["acts_for"] = "Choose whose readings they are: the docket's journal names that person."
	}
	if !t.ExpiresAt.IsZero() && (!t.ExpiresAt.After(t.MadeAt) || t.ExpiresAt.Sub(t.MadeAt) > maxDays*24*time.Hour) {
		bad["days"] = "Give a number of days, 1 to 731, or leave it blank."
	}
	return bad
}

// Has reports whether t opens s.
func (t Token) Has(s Scope) bool { return slices.Contains(t.Scopes, s) }

// Serves reports whether t opens anything at a time.
func (t Token) Serves(at time.Time) bool {
	return t.EndedAt.IsZero() && (t.ExpiresAt.IsZero() || at.Before(t.ExpiresAt))
}

// Does says in words what t may do: "read the price list; read dockets, watches and runs".
func (t Token) Does() string {
	words := make([]string, len(t.Scopes))
	for i, s := range t.Scopes {
		words[i] = s.Words()
	}
	return strings.Join(words, "; ")
}

// prefix tells an access token of this program from other secrets, so that one that got out is known for what it is.
const prefix = "lwt_"

// secretBytes are drawn at random: 256 bits, as RFC 6750 asks that a bearer token not be guessed.
const secretBytes = 32

// NewSecret draws the secret of a token. It is shown once, and its sum is kept.
func NewSecret() string {
	b := make([]byte, secretBytes)
	rand.Read(b) // never fails, as it documents
	return prefix + base64.RawURLEncoding.EncodeToString(b)
}

// Sum is what is kept of a secret. Of 256 random bits no slow hash is needed.
func Sum(secret string) [32]byte { return sha256.Sum256([]byte(secret)) }

// LooksLike reports whether what was sent has the shape of a token's secret, so that nothing else is looked up.
func LooksLike(secret string) bool {
	body, ok := strings.CutPrefix(secret, prefix)
	if !ok {
		return false
	}
	b, err := base64.RawURLEncoding.DecodeString(body)
	return err == nil && len(b) == secretBytes
}

// HintOf are the characters of a secret by which its owner tells it from others.
func HintOf(secret string) string { return secret[max(0, len(secret)-hintSize):] }

// UsedEvery is how often it is written down that a token is in use.
const UsedEvery = 5 * time.Minute

// MadeSummary and EndedSummary are what the shop's journal tells of a token.
func MadeSummary(t Token) string {
	return "Access token " + t.Name + " was made: it may " + t.Does() + "."
}
func EndedSummary(t Token) string { return "Access token " + t.Name + " was ended." }
