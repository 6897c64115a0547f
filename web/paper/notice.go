package paper

import "ledgerwheel/domain/tongue"

// Notice is a letter that asks a customer to collect a watch (A4).
type Notice struct {
	Issuer     Issuer
	Lang       string
	Tongue     tongue.Tongue
	Docket     string
	Date       string
	Title      string
	Addressee  []string
	Paragraphs []string // each may have several lines
}

func (v Notice) document() document {
	doc := document{size: a4, title: v.Title, number: v.Docket, issuer: v.Issuer, lang: v.Lang, tongue: v.Tongue}
	doc.running = v.Title + " · " + doc.docket(v.Docket)
	doc.parts = []part{
		letterhead{Issuer: v.Issuer},
		parties{v.Addressee, []Field{{v.Tongue.Say("paper.date"), v.Date}}},
		head{name: v.Title, code: v.Docket, codeWords: v.Tongue.Say("paper.docket", "number", v.Docket)},
		prose{paragraphs: v.Paragraphs, manner: inLetter},
	}
	return doc
}
