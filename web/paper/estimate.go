package paper

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

func (e Estimate) document() document {
	doc := document{size: a4, title: "Estimate", number: e.Docket, issuer: e.Issuer, lang: e.Lang, parts: []part{
		letterhead{Issuer: e.Issuer},
		head{name: "Estimate", under: "Revision " + e.Revision, code: e.Docket, codeWords: "Docket " + e.Docket},
		parties{e.Customer, []Field{{"Date", e.Date}, {"Valid until", e.ValidUntil}}},
		fields{list: e.Watch, perRow: 3},
		pricedLines("paper-lines", "paper-line", e.Lines),
		totals{e.Totals},
	}}
	if e.Answer != "" {
		doc.parts = append(doc.parts, prose{heading: "Your answer", id: "paper-answer", paragraphs: []string{e.Answer},
			manner: inStrong})
	} else if words := e.ways(); len(words) > 0 {
		doc.parts = append(doc.parts, approval{e.ApprovalURL, words},
			signatures{roles: []string{"Approved, customer’s signature", "Name in capitals", "Date"}})
	}
	doc.parts = append(doc.parts, prose{heading: "Notes", paragraphs: e.Notes})
	return doc
}

// ways are those in which the customer may answer.
func (e Estimate) ways() []string {
	if e.ApprovalURL == "" {
		return e.HowTo
	}
	return append([]string{"Scan the code, or open the private link beneath it, to approve or decline revision " +
		e.Revision + ". The link is yours alone: whoever has it can answer for you."}, e.HowTo...)
}
