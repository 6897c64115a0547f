package parcel

import (
	"fmt"
	"slices"
	"time"

	"ledgerwheel/domain/text"
)

// Cell is the cell that goes with a watch.
type Cell string

// The answers. A loose lithium cell is none: it does not go by post.
const (
	CellNone    Cell = "none"    // there is none, or it stays here
	CellOther   Cell = "other"   // silver oxide or another without lithium, installed
	CellLithium Cell = "lithium" // lithium, installed in the watch
)

// Cells returns every Cell in the order in which the form offers them.
func Cells() []Cell { return []Cell{CellNone, CellOther, CellLithium} }

// Words says c.
func (c Cell) Words() string {
	return map[Cell]string{CellNone: "no cell goes with it", CellOther: "a cell without lithium, inside the watch",
		CellLithium: "a lithium cell, inside the watch"}[c]
}

// ConsentHow is how the customer said that the watch may be sent.
type ConsentHow string

// The ways: each leaves something in writing.
const (
	ByLetter    ConsentHow = "letter"
	ByMail      ConsentHow = "mail"
	ByMessage   ConsentHow = "text"
	BySignature ConsentHow = "signed"
)

// ConsentWays returns every ConsentHow in the order in which the form offers them.
func ConsentWays() []ConsentHow { return []ConsentHow{ByMail, ByLetter, ByMessage, BySignature} }

// Words says h.
func (h ConsentHow) Words() string {
	return map[ConsentHow]string{ByLetter: "by letter", ByMail: "by e-mail", ByMessage: "by text message",
		BySignature: "signed at the counter"}[h]
}

// Consent is the customer's written word that the watch may be sent, and for what value.
type Consent struct {
	By  string // who agreed
	On  time.Time
	How ConsentHow
}

// Dispatch is a parcel that goes out with the watch of a docket.
type Dispatch struct {
	Carrier    Carrier // as the shop has it written down now
	To         Address
	ValueMinor int64  // declared to the carrier, in minor units
	Currency   string // of the docket
	Contents   string
	Cell       Cell
	// RadiumAsked is what the carrier answered about luminous paint that may hold radium.
	RadiumAsked string
	// NothingBarred says that somebody looked: no loose lithium cell, and no oil, solvent or other flammable fluid is in the box.
	NothingBarred bool
	Consent       Consent
}

// Holds is what the docket knows of the watch that bears on how it may be sent.
type Holds struct {
	Cell   bool // a coin cell was noted as a hazard
	Radium bool // its luminous paint holds radium, or may
}

// Tidied returns d with its texts fit to be kept.
func (d Dispatch) Tidied() Dispatch {
	d.To, d.Contents, d.RadiumAsked, d.Consent.By = d.To.Tidied(), text.Lines(d.Contents), text.Lines(d.RadiumAsked), text.Line(d.Consent.By)
	return d
}

// Problems says, by form field, what stops the watch being sent so; h is what its docket knows and today the civil day in the
// shop. Above the carrier's limit nothing is sent, whoever agrees to it: nothing would be insured as declared. That the
// customer agrees to sending and value, and that a parcel is declared at its value, is common practice (a jeweller, a
// subcontractor and a carrier were all held liable for a ring sent at 100 dollars, (1986) 14 OAC 4). Installed cells and radium
// go by the carrier's own word.
func (d Dispatch) Problems(h Holds, today time.Time) map[string]string {
	bad := d.To.Problems()
	d.carrierProblems(bad, h)
	switch {
	case d.Contents == "":
		bad["contents"] = "Write what is in the parcel."
	case text.TooLong(d.Contents, maxContents):
		bad["contents"] = "Keep the contents to 1000 characters."
	}
	if !d.NothingBarred {
		bad["nothing_barred"] = "Look into the box: none of this goes by post."
	}
	switch {
	case d.Consent.By == "":
		bad["consent_by"] = "Write who agreed that the watch is sent, and to the value."
	case text.TooLong(d.Consent.By, maxLine):
		bad["consent_by"] = "Keep the name to 200 characters."
	}
	switch {
	case d.Consent.On.IsZero():
		bad["consent_on"] = "Write the day on which they agreed."
	case d.Consent.On.After(today):
		bad["consent_on"] = "This day is still to come."
	}
	if !slices.Contains(ConsentWays(), d.Consent.How) {
		bad["consent_how"] = "Say how they agreed: it must be in writing."
	}
	return bad
}

// carrierProblems holds value and contents against what the carrier takes.
func (d Dispatch) carrierProblems(bad map[string]string, h Holds) {
	c := d.Carrier
	switch {
	case c.ID == 0:
		bad["carrier"] = "Choose the carrier."
	case c.Currency != d.Currency:
		bad["carrier"] = fmt.Sprintf("The limit of %s is written down in %s, and this docket is in %s: have the owner write it down in %[3]s.",
			c.Name, c.Currency, d.Currency)
	case d.ValueMinor > c.LimitMinor:
		bad["value"] = fmt.Sprintf("%s insures up to %s: this is more, so it is not sent by them. Choose a carrier that insures the whole value.",
			c.Name, Amount(c.LimitMinor, c.Currency))
	}
	if d.ValueMinor < 1 || d.ValueMinor > maxMinor {
		bad["value"] = "Write the value that is declared to the carrier, as the customer agreed to it."
	}
	switch {
	case !slices.Contains(Cells(), d.Cell):
		bad["cell"] = "Say what cell goes with the watch."
		if h.Cell {
			bad["cell"] = "A coin cell was noted on this docket. Say what becomes of it: loose it does not go by post."
		}
	case d.Cell == CellLithium && c.ID != 0 && !c.CellsInEquipment:
		bad["cell"] = c.Name + " takes no lithium cells: take it out and keep it here, or choose another carrier."
	}
	switch {
	case h.Radium && d.RadiumAsked == "":
		bad["radium_asked"] = "The luminous paint may hold radium. Ask the carrier first, and write whom you asked and what they said."
	case text.TooLong(d.RadiumAsked, maxNote):
		bad["radium_asked"] = "Keep this to 1000 characters."
	}
}

// PreparedSummary says in the journal what is ready to be sent.
func (d Dispatch) PreparedSummary() string {
	return fmt.Sprintf("A parcel by %s is ready, declared at %s; %s agreed %s on %s.", d.Carrier.Name,
		Amount(d.ValueMinor, d.Currency), d.Consent.By, d.Consent.How.Words(), d.Consent.On.Format("2 January 2006"))
}

// WithdrawnSummary says in the journal that the parcel is not sent.
const WithdrawnSummary = "The parcel is not sent."

// Posting is the proof that the carrier has the parcel.
type Posting struct {
	Number string // the carrier's number of the parcel
	Proof  string // the receipt: its number, or where it is kept
}

// Tidied returns p with its texts fit to be kept.
func (p Posting) Tidied() Posting { return Posting{text.Line(p.Number), text.Lines(p.Proof)} }

// Problems says, by form field, what the posting lacks: "number", "proof".
func (p Posting) Problems() map[string]string {
	bad := map[string]string{}
	switch {
	case p.Number == "":
		bad["number"] = "Write the carrier's number of the parcel."
	case text.TooLong(p.Number, maxNumber):
		bad["number"] = "Keep the number to 60 characters."
	}
	switch {
	case p.Proof == "":
		bad["proof"] = "Write the proof of posting: the number of the receipt, or where it is kept."
	case text.TooLong(p.Proof, 500):
		bad["proof"] = "Keep the proof to 500 characters."
	}
	return bad
}

// GivenSummary says in the journal who has the watch now.
func (p Posting) GivenSummary(carrier string) string {
	return fmt.Sprintf("Given to %s as parcel %s.", carrier, p.Number)
}

// IdentityWords stand on the docket in place of how a person at the counter was checked.
func (p Posting) IdentityWords() string {
	return "Sent by post, parcel " + p.Number + ". Proof of posting: " + p.Proof
}
