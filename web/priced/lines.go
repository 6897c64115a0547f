// Package priced has the lines of an estimate or invoice as forms, pages and papers show them, with amounts and tax.
package priced

import (
	"strconv"

	"ledgerwheel/domain/estimate"
	"ledgerwheel/domain/text"
	"ledgerwheel/web/page"
	"ledgerwheel/web/view"
)

// OptionalLines are the lines that may be left out, by their index.
func OptionalLines(rev estimate.Revision) []view.Option {
	var list []view.Option
	for i, l := range rev.Lines {
		if l.Optional {
			list = append(list, view.Option{Value: strconv.Itoa(i), Text: l.Description})
		}
	}
	return list
}

// ReadAnswer reads an answer to a revision. Of an answer that declines, no line is left out by itself.
func ReadAnswer(f *page.Form) estimate.Answer {
	a := estimate.Answer{Revision: f.Int("revision"), Name: text.Line(f.Text("name")), Note: text.Lines(f.Text("note"))}
	switch f.Text("decision") {
	case "approve":
		a.Approve = true
		for _, typed := range f.Values["leave_out"] {
			i, err := strconv.Atoi(typed)
			if err != nil {
				i = -1 // refused as no line that can be left out
			}
			a.DeclinedLines = append(a.DeclinedLines, i)
		}
	case "decline":
	default:
		f.Fail("decision", "Choose whether the estimate is approved or declined.")
	}
	return a
}

// AgreedOrOffered are the totals that a revision stands for: of an approved one without the lines left out.
func AgreedOrOffered(rev estimate.Revision) estimate.Totals {
	t, err := rev.AgreedTotals()
	if err != nil {
		return estimate.Totals{} // what can't be summed is never kept
	}
	return t
}

// LinesOf are a revision's lines and totals for reading.
func LinesOf(m Money, rev estimate.Revision) Lines {
	v := Lines{Totals: m.Totals(AgreedOrOffered(rev), rev.Rule), Rule: m.RuleWords(rev.Rule)}
	for _, l := range rev.Lines {
		row := Line{Kind: l.Kind.Words(), Description: l.Description, Quantity: m.Quantity(l.QuantityMilli),
			UnitPrice: m.Format(l.UnitMinor), Tax: m.Percent(l.TaxBasisPoints), LeftOut: l.Declined}
		if l.Optional && !l.Declined {
			row.Optional = m.Tongue.Say("paper.may_leave_out")
			if rev.Answer != nil && rev.Answer.Approve {
				row.Optional = ""
			}
		}
		if minor, err := l.AmountMinor(rev.Rule.Rounding); err == nil {
			row.Amount = m.Format(minor)
		}
		v.Lines = append(v.Lines, row)
	}
	return v
}
