package docket

import (
	"slices"
	"strings"
	"unicode/utf8"
)

// PlaceKind is a sort of place where a watch may be. The value is the slug kept in the database.
type PlaceKind string

// The kinds of place.
const (
	PlaceCounter  PlaceKind = "counter"       // at the counter, being taken in or about to be collected
	PlaceSafe     PlaceKind = "safe"          // locked away
	PlaceBench    PlaceKind = "bench"         // on a bench; Detail names it
	PlaceSentOut  PlaceKind = "sent-out"      // with an outside workshop; Detail names it
	PlaceCustomer PlaceKind = "with-customer" // handed over or handed back
)

const maxPlaceDetail = 80 // characters

// PlaceKinds returns every kind, in the order in which forms offer them.
func PlaceKinds() []PlaceKind {
	return []PlaceKind{PlaceCounter, PlaceSafe, PlaceBench, PlaceSentOut, PlaceCustomer}
}

// Label is the kind in plain words.
func (k PlaceKind) Label() string {
	switch k {
	case PlaceCounter:
		return "counter"
	case PlaceSafe:
		return "safe"
	case PlaceBench:
		return "bench"
	case PlaceSentOut:
		return "sent out"
	case PlaceCustomer:
		return "with the customer"
	}
	return "unknown place"
}

// NeedsDetail reports whether a place of this kind must name a bench or a workshop.
func (k PlaceKind) NeedsDetail() bool { return k == PlaceBench || k == PlaceSentOut }

// Place is where a watch physically is.
type Place struct {
	Kind   PlaceKind
	Detail string // the bench's number or name, or to whom it was sent; empty for the other kinds
}

// PlaceAt is the place of the given kind. The detail is trimmed, and dropped where the kind has none, so
// that a form's leftover bench number does no harm.
func PlaceAt(kind PlaceKind, detail string) Place {
	if !kind.NeedsDetail() {
		return Place{Kind: kind}
	}
	return Place{Kind: kind, Detail: strings.TrimSpace(detail)}
}

// String is the place in plain words: "safe", "bench 2", "sent out to Gannet Dialworks".
func (p Place) String() string {
	switch p.Kind {
	case PlaceBench:
		return strings.TrimSpace("bench " + p.Detail)
	case PlaceSentOut:
		if p.Detail == "" {
			return "sent out"
		}
		return "sent out to " + p.Detail
	}
	return p.Kind.Label()
}

// InShop reports whether the watch is on the premises.
func (p Place) InShop() bool {
	return p.Kind == PlaceCounter || p.Kind == PlaceSafe || p.Kind == PlaceBench
}

// Problems says, by form field ("place", "place_detail"), what is wrong with p.
func (p Place) Problems() map[string]string {
	bad := map[string]string{}
	switch {
	case p.Kind == "":
		bad["place"] = "Say where the watch is now."
	case !slices.Contains(PlaceKinds(), p.Kind):
		bad["place"] = "Choose one of the places listed."
	case p.Kind == PlaceBench && strings.TrimSpace(p.Detail) == "":
		bad["place_detail"] = "Say which bench."
	case p.Kind == PlaceSentOut && strings.TrimSpace(p.Detail) == "":
		bad["place_detail"] = "Say to whom the watch was sent."
	case !p.Kind.NeedsDetail() && p.Detail != "":
		bad["place_detail"] = "Only a bench or an outside workshop has a name here; leave this empty."
	}
	if utf8.RuneCountInString(p.Detail) > maxPlaceDetail {
		bad["place_detail"] = "Keep the name to 80 characters."
	}
	return bad
}
