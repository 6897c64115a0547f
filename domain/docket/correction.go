package docket

import (
	"strconv"
	"strings"
	"time"

	"ledgerwheel/domain/money"
	"ledgerwheel/domain/watch"
)

// Correction is one particular as the journal tells what became of it, in plain words. It is kept as JSON, so no field
// is renamed.
type Correction struct {
	What string `json:"what"`
	From string `json:"from"`
	To   string `json:"to"`
}

// corrections keeps those of the pairs (what, from, to) that differ.
func corrections(pairs [][3]string) []Correction {
	var list []Correction
	for _, p := range pairs {
		if p[1] != p[2] {
			list = append(list, Correction{p[0], p[1], p[2]})
		}
	}
	return list
}

// IntakeCorrectedSummary names what was corrected of what was said at the counter: "Intake corrected: complaint."
func IntakeCorrectedSummary(changes []Correction) string { return correctedSummary("Intake", changes) }

// WatchCorrectedSummary names what was corrected of the watch: "Watch corrected: serial, lume."
func WatchCorrectedSummary(changes []Correction) string { return correctedSummary("Watch", changes) }

func correctedSummary(of string, changes []Correction) string {
	names := make([]string, len(changes))
	for i, c := range changes {
		names[i] = c.What
	}
	return of + " corrected: " + strings.Join(names, ", ") + "."
}

// WatchCorrections are the particulars in which a watch was corrected.
func WatchCorrections(old, now watch.Watch) []Correction {
	return corrections([][3]string{
		{"maker", old.Maker, now.Maker},
		{"model", old.Model, now.Model},
		{"reference", old.Reference, now.Reference},
		{"serial", old.Serial, now.Serial},
		{"movement serial", old.MovementSerial, now.MovementSerial},
		{"calibre", old.CalibreName, now.CalibreName},
		{"case material", old.CaseMaterial, now.CaseMaterial},
		{"strap", old.Strap, now.Strap},
		{"lume", old.Lume.Words(), now.Lume.Words()},
		{"winding", old.Winding.Words(), now.Winding.Words()},
		{"water resistance marked", old.WaterResistanceMarked, now.WaterResistanceMarked},
		{"crown at", strconv.Itoa(old.CrownAt), strconv.Itoa(now.CrownAt)},
		{"notes", old.Notes, now.Notes},
	})
}

// Corrections are what was corrected of what was said at the counter, without the promised day: a promise has an entry
// of its own.
func (in Intake) Corrections(now Intake) []Correction {
	return corrections([][3]string{
		{"complaint", in.Complaint, now.Complaint},
		{"order number", in.OrderNumber, now.OrderNumber},
		{"service wanted", in.Wanted.Label(), now.Wanted.Label()},
		{"declared value", amountWords(in.DeclaredValueMinor, in.Currency), amountWords(now.DeclaredValueMinor,
			now.Currency)},
		{"approval limit", amountWords(in.ApprovalLimitMinor, in.Currency), amountWords(now.ApprovalLimitMinor,
			now.Currency)},
		{"language of papers", in.Tongue.Words(), now.Tongue.Words()},
	})
}

// TongueBilled says why the language of the papers stays: the invoice was made in it.
func (in Intake) TongueBilled() string {
	return "The invoice was made in " + in.Tongue.Words() + ", so the papers of this docket stay in it."
}

// amountWords writes an amount of minor units for the journal, which has no locale of its own; nil was not stated.
func amountWords(minor *int64, currency string) string {
	if minor == nil {
		return "not stated"
	}
	return money.Plain(*minor, currency) + " " + currency
}

// DayWords writes a civil day for the journal.
func DayWords(day time.Time) string {
	if day.IsZero() {
		return "no day"
	}
	return day.Format(dayLayout)
}

const dayLayout = "Mon 2 Jan 2006"
