package paper

// Seal is a seal of the record on paper (A4), to be kept elsewhere.
type Seal struct {
	Issuer Issuer
	Lang   string
	Short  string
	Facts  []Field  // when, over how many entries
	Code   string   // the whole seal, as the square code says it
	Text   []string // and its lines
	Notes  []string
}

func (s Seal) document() document {
	return document{size: a4, title: "Seal of the record", number: s.Short, issuer: s.Issuer, lang: s.Lang,
		running: "Seal of the record " + s.Short,
		parts: []part{
			letterhead{Issuer: s.Issuer},
			plain{name: "Seal of the record"},
			title{"Seal of the record"},
			fields{list: append([]Field{{"In short", s.Short}}, s.Facts...), strong: 1, qr: s.Code, words: "The seal as text", ruled: true},
			prose{heading: "The seal", id: "seal-text", paragraphs: s.Text},
			prose{heading: "How to use it", paragraphs: s.Notes},
		}}
}
