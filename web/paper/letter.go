package paper

// Letter is a message to a customer on paper (A4), in the customer's language.
type Letter struct {
	Issuer     Issuer
	Lang       string
	Docket     string // for the running head; the letter's own words say which it is
	Date       string
	Customer   []string // name and address
	Subject    string
	Paragraphs []string // each may have several lines
}

func (v Letter) document() document {
	return document{size: a4, title: v.Subject, number: v.Docket, issuer: v.Issuer, lang: v.Lang, running: v.Subject, parts: []part{
		letterhead{Issuer: v.Issuer},
		parties{v.Customer, nil},
		prose{paragraphs: []string{v.Date}, manner: inLetter},
		prose{paragraphs: []string{v.Subject}, manner: inStrong},
		prose{paragraphs: v.Paragraphs, manner: inLetter},
	}}
}
