package paper

import "ledgerwheel/domain/tongue"

// Estimate is a numbered revision of what the work will cost (A4).
type Estimate struct {
	Issuer      Issuer
	Lang        string // BCP 47; empty is en-GB
	Tongue      tongue.Tongue
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
	t := e.Tongue
	name := t.Say("paper.estimate")
	doc := document{size: a4, title: name, number: e.Docket, issuer: e.Issuer, lang: e.Lang, tongue: t, parts: []part{
		letterhead{Issuer: e.Issuer},
		head{name: name, under: t.Say("paper.revision", "number", e.Revision), code: e.Docket,
			codeWords: t.Say("paper.docket", "number", e.Docket)},
		parties{e.Customer, []Field{{t.Say("paper.date"), e.Date}, {t.Say("paper.valid_until"), e.ValidUntil}}},
		fields{list: e.Watch, perRow: 3},
		pricedLines(t, "paper-lines", "paper-line", e.Lines),
		totals{e.Totals},
	}}
	if e.Answer != "" {
		doc.parts = append(doc.parts, prose{heading: t.Say("paper.your_answer"), id: "paper-answer",
			paragraphs: []string{e.Answer}, manner: inStrong})
	} else if words := e.ways(); len(words) > 0 {
		doc.parts = append(doc.parts, approval{t, e.ApprovalURL, words},
			signatures{roles: []string{t.Say("paper.approved_signature"), t.Say("paper.name_in_capitals"), t.Say("paper.date")}})
	}
	doc.parts = append(doc.parts, prose{heading: t.Say("paper.notes"), paragraphs: e.Notes})
	return doc
}

// ways are those in which the customer may answer.
func (e Estimate) ways() []string {
	if e.ApprovalURL == "" {
		return e.HowTo
	}
	return append([]string{e.Tongue.Say("paper.scan_to_answer", "number", e.Revision)}, e.HowTo...)
}
