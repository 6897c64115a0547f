package parcel

import (
	"fmt"
	"slices"
	"strconv"

	"ledgerwheel/domain/text"
)

// Seal is how a parcel was closed when it came.
type Seal string

// The seals.
const (
	SealWhole  Seal = "whole"
	SealBroken Seal = "broken"
	SealNone   Seal = "none"
)

// Seals returns every Seal in the order in which the form offers them.
func Seals() []Seal { return []Seal{SealWhole, SealBroken, SealNone} }

// Words says s after "seal".
func (s Seal) Words() string {
	return map[Seal]string{SealWhole: "seal whole", SealBroken: "seal broken", SealNone: "no seal"}[s]
}

// Box is how the outer box looked when a parcel came.
type Box string

// The states of a box.
const (
	BoxWhole   Box = "whole"
	BoxDamaged Box = "damaged"
	BoxOpened  Box = "opened"
)

// Boxes returns every Box in the order in which the form offers them.
func Boxes() []Box { return []Box{BoxWhole, BoxDamaged, BoxOpened} }

// Words says b.
func (b Box) Words() string {
	return map[Box]string{BoxWhole: "box whole", BoxDamaged: "box damaged", BoxOpened: "box had been opened"}[b]
}

// Arrival is a parcel as it came, written down before and while it was opened.
type Arrival struct {
	Carrier  string // as on the label
	Number   string // the carrier's; may be empty where a parcel bears none
	Sender   string // as on the label
	Seal     Seal
	Box      Box
	Things   int    // counted in it
	Contents string // what they are
	Note     string
}

const (
	maxNumber   = 60
	maxSender   = 300
	maxContents = 1000
	maxThings   = 200
)

// Tidied returns a with its texts fit to be kept.
func (a Arrival) Tidied() Arrival {
	a.Carrier, a.Number, a.Sender = text.Line(a.Carrier), text.Line(a.Number), text.Lines(a.Sender)
	a.Contents, a.Note = text.Lines(a.Contents), text.Lines(a.Note)
	return a
}

// Problems says, by form field, what is still to be said: "carrier", "number", "sender", "seal", "box", "things",
// "contents", "note". A claim against a carrier hangs on seal, box and a count made while the parcel was opened (common
// practice).
func (a Arrival) Problems() map[string]string {
	bad := map[string]string{}
	switch {
	case a.Carrier == "":
		bad["carrier"] = "Write who brought the parcel."
	case text.TooLong(a.Carrier, maxCarrier):
		bad["carrier"] = "Keep the carrier to 80 characters."
	}
	switch {
	case a.Sender == "":
		bad["sender"] = "Write whom it comes from, as the label says."
	case text.TooLong(a.Sender, maxSender):
		bad["sender"] = "Keep the sender to 300 characters."
	}
	if text.TooLong(a.Number, maxNumber) {
		bad["number"] = "Keep the number to 60 characters."
	}
	if !slices.Contains(Seals(), a.Seal) {
		bad["seal"] = "Say how the seal was."
	}
	if !slices.Contains(Boxes(), a.Box) {
		bad["box"] = "Say how the box was."
	}
	if a.Things < 0 || a.Things > maxThings {
		bad["things"] = "Count what was in it: 0 to 200 things."
	}
	switch {
	case a.Contents == "" && a.Things > 0:
		bad["contents"] = "Write what was in it, one thing a line."
	case text.TooLong(a.Contents, maxContents):
		bad["contents"] = "Keep the contents to 1000 characters."
	}
	if text.TooLong(a.Note, maxNote) {
		bad["note"] = "Keep the note to 1000 characters."
	}
	return bad
}

// Title names the parcel.
func (a Arrival) Title() string {
	if a.Number == "" {
		return "parcel of " + a.Carrier
	}
	return "parcel " + a.Number + " of " + a.Carrier
}

// StateWords say how it came.
func (a Arrival) StateWords() string {
	things := strconv.Itoa(a.Things) + " things counted"
	if a.Things == 1 {
		things = "1 thing counted"
	}
	return fmt.Sprintf("%s, %s, %s", a.Seal.Words(), a.Box.Words(), things)
}

// Whole reports whether the parcel came as it was sent, as far as it shows.
func (a Arrival) Whole() bool { return a.Seal != SealBroken && a.Box == BoxWhole }

// Summary says in a journal how the parcel came.
func (a Arrival) Summary() string {
	return text.Capital(fmt.Sprintf("%s came: %s.", a.Title(), a.StateWords()))
}

// TakenOutSummary says on the docket of a watch in which parcel it came.
func (a Arrival) TakenOutSummary() string {
	return fmt.Sprintf("Came by post in %s: %s.", a.Title(), a.StateWords())
}
