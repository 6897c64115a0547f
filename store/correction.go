package store

import (
	"strconv"
	"strings"
	"time"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/money"
	"ledgerwheel/domain/watch"
)

// correction is one particular as the journal tells what became of it, in plain words.
type correction struct {
	What string `json:"what"`
	From string `json:"from"`
	To   string `json:"to"`
}

// corrections keeps those of the pairs (what, from, to) that differ.
func corrections(pairs [][3]string) []correction {
	var list []correction
	for _, p := range pairs {
		if p[1] != p[2] {
			list = append(list, correction{p[0], p[1], p[2]})
		}
	}
	return list
}

// correctionSummary names what was corrected: "Watch corrected: serial, lume."
func correctionSummary(start string, changes []correction) string {
	names := make([]string, len(changes))
	for i, c := range changes {
		names[i] = c.What
	}
	return start + ": " + strings.Join(names, ", ") + "."
}

func watchChanges(old, now watch.Watch) []correction {
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

// intakeChanges leaves the promised day out: a promise has an event of its own.
func intakeChanges(old, now docket.Intake) []correction {
	return corrections([][3]string{
		{"complaint", old.Complaint, now.Complaint},
		{"service wanted", old.Wanted.Label(), now.Wanted.Label()},
		{"declared value", amountWords(old.DeclaredValueMinor, old.Currency), amountWords(now.DeclaredValueMinor, now.Currency)},
		{"approval limit", amountWords(old.ApprovalLimitMinor, old.Currency), amountWords(now.ApprovalLimitMinor, now.Currency)},
	})
}

// amountWords writes an amount for the journal, which has no locale of its own.
func amountWords(minor *int64, currency string) string {
	if minor == nil {
		return "not stated"
	}
	return money.Plain(*minor, currency) + " " + currency
}

// dayWords writes a civil day for the journal.
func dayWords(day time.Time) string {
	if day.IsZero() {
		return "no day"
	}
	return day.Format("Mon 2 Jan 2006")
}
