package paper

import (
	"slices"
	"time"
)

// Estimate is a numbered revision of what the work will cost (A4).
type Estimate struct {
	Issuer      Issuer
	Lang        string // BCP 47; empty is en-GB
	Docket      string
	Revision    string // as "2"
	Date        string
	ValidUntil  string
	Customer    []string // name, address lines
	Watch       []Field  // maker and model, serial, calibre ...
	Lines       []Line
	Totals      []Total
	ApprovalURL string   // private link; empty once it no longer serves
	HowTo       []string // other ways to approve or decline, a paragraph each
	Answer      string   // "Approved by ... on ...": printed instead of how to approve
	Notes       []string // paragraphs
}

// Texts is as [ClaimTicket.Texts].
func (e Estimate) Texts() []string {
	return slices.Concat(e.Issuer.texts(), e.Customer, fieldTexts(e.Watch), ledgerTexts(e.Lines, e.Totals),
		e.HowTo, []string{e.Answer}, e.Notes)
}

// PDF sets the estimate. Fields that a code is made of must fit it
// ([ErrCodeTooLong]); created must not be zero ([ErrNoDate]).
func (e Estimate) PDF(created time.Time) ([]byte, error) {
	f, err := e.layout(created)
	if err != nil {
		return nil, err
	}
	return f.finish()
}

func (e Estimate) layout(created time.Time) (*flow, error) {
	f, err := newFlow(e.Issuer, "Estimate", e.Docket, e.Lang, created)
	if err != nil {
		return nil, err
	}
	f.letterhead()
	if err := f.title("Estimate", "Revision "+e.Revision, e.Docket); err != nil {
		return nil, err
	}
	f.addressee(e.Customer, []Field{
		{"Date", e.Date}, {"Valid until", e.ValidUntil},
	})
	f.fields(e.Watch, 3)
	f.y += 3
	f.pricedLines(e.Lines, e.Totals)
	if err := f.approval(e); err != nil {
		return nil, err
	}
	f.notes(e.Notes)
	return f, nil
}

// notes sets paragraphs under a heading.
func (f *flow) notes(notes []string) {
	if len(notes) == 0 {
		return
	}
	f.y += 3
	f.section("Notes", 2*bodyStyle.lineHeight())
	for _, note := range notes {
		f.prose(note, bodyStyle)
		f.y += 1.4
	}
}

// approval says how to answer: a code with the private link, and in words.
func (f *flow) approval(e Estimate) error {
	if e.Answer != "" {
		f.section("Your answer", 10)
		f.prose(e.Answer, strongStyle)
		return nil
	}
	words := []string{}
	if e.ApprovalURL != "" {
		words = append(words, "Scan the code, or open the private link beneath it, to approve or decline revision "+
			e.Revision+". The link is yours alone: whoever has it can answer for you.")
	}
	words = append(words, e.HowTo...)
	if len(words) == 0 {
		return nil
	}
	f.section("How to approve or decline", 46)
	const size = 30.0
	indent := 0.0
	top := f.y
	if e.ApprovalURL != "" {
		indent = size + 4
		// The code's own white zone stands in for the gap at its left and top.
		if err := f.qr(marginSide-2, f.y-1, size, e.ApprovalURL); err != nil {
			return err
		}
	}
	width := a4Inner - indent
	for i, w := range words {
		b := bodyStyle.fitBlock(w, 6, width, 6*bodyStyle.lineHeight())
		f.need(b.height())
		f.y = f.block(marginSide+indent, f.y, width, b) + 1.4
		if i == 0 && e.ApprovalURL != "" {
			st := style{sans, 8, accentInk}
			url := st.fitBlock(e.ApprovalURL, 5, width, 2*st.lineHeight())
			f.pdf.LinkString(marginSide+indent, f.y, width, url.height(), e.ApprovalURL)
			f.y = f.block(marginSide+indent, f.y, width, url) + 2
		}
	}
	f.y = max(f.y, top+size)
	f.y += 2
	f.signatures([]string{"Approved, customer’s signature", "Name in capitals", "Date"})
	return nil
}
