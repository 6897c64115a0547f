package estimate

import (
	"slices"
	"strings"

	"ledgerwheel/domain/diagnosis"
	"ledgerwheel/domain/stock"
	"ledgerwheel/domain/text"
)

// Discard throws the draft of that number away, which nobody outside the shop has seen; its number is free again. The
// error is ErrNoRevision, or ErrNotDraft once it was sent.
func (e Estimate) Discard(number int) (Estimate, error) {
	next, err := e.change(number, func(r *Revision) error {
		if r.State != Draft {
			return ErrNotDraft
		}
		return nil
	})
	if err != nil {
		return e, err
	}
	next.Revisions = slices.DeleteFunc(next.Revisions, func(r Revision) bool { return r.Number == number })
	return next, nil
}

// Shown returns the revision that the customer has before them: the newest that was ever sent.
func (e Estimate) Shown() (Revision, bool) {
	for _, r := range slices.Backward(e.Revisions) {
		if r.State != Draft {
			return r, true
		}
	}
	return Revision{}, false
}

// Suggest gives lines, still to be priced, for what the diagnosis asks and for the parts the docket needs, leaving out
// those that stand in the lines typed already. What must be mended is charged for; what should be is offered as an
// optional line; what was only noted is left out. taxRate is as typed.
func Suggest(findings []diagnosis.Finding, parts []stock.PartLine, typed []LineForm, taxRate string) []LineForm {
	said := map[string]bool{}
	for _, l := range typed {
		said[sameWords(l.Description)] = true
	}
	var lines []LineForm
	add := func(l LineForm) {
		if key := sameWords(l.Description); !said[key] {
			said[key] = true
			l.TaxRate = taxRate
			lines = append(lines, l)
		}
	}
	for _, f := range findings {
		if f.Severity == diagnosis.Observe {
			continue
		}
		add(LineForm{Kind: string(Labour), Description: findingWords(f), Quantity: "1",
			Optional: f.Severity == diagnosis.Advise})
	}
	for _, p := range parts {
		if p.State == stock.Cancelled {
			continue
		}
		words := p.Description
		if p.Reference != "" {
			words += ", " + p.Reference
		}
		add(LineForm{Kind: string(Part), Description: words, Quantity: FormatQuantity(int64(p.Quantity) * 1000), PartID: p.PartID})
	}
	return lines
}

// findingWords are what a line says that is suggested for a finding.
func findingWords(f diagnosis.Finding) string {
	return text.Capital(f.Component.Words()) + ": " + f.Fault
}

// FindingOf is the finding that a line was taken over from: the one in whose words the line still stands. ok is false for
// a line that somebody wrote or reworded.
func FindingOf(l Line, findings []diagnosis.Finding) (f diagnosis.Finding, ok bool) {
	for _, f := range findings {
		if sameWords(findingWords(f)) == sameWords(l.Description) {
			return f, true
		}
	}
	return diagnosis.Finding{}, false
}

func sameWords(s string) string { return strings.ToLower(strings.Join(strings.Fields(s), " ")) }
