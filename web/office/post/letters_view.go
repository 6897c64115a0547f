package post

import "ledgerwheel/web/view"

// lettersView are the letters that the demo's mail server took.
type lettersView struct {
	Demo    bool
	Letters []letterLine
}

type letterLine struct{ Href, At, To, Subject string }

type headerLine struct{ Name, Value string }

// letterView is one letter. Frame is where its second form stands, Raw where it can be had as it came.
type letterView struct {
	letterLine
	From, Text, Frame, Raw string
	Header                 []headerLine
}

func (v lettersView) table() view.DataView {
	d := view.DataView{TableView: view.TableView{Caption: "Letters", HideCaption: true}, Stack: true,
		Columns: []view.Column{{Text: "Subject"}, {Text: "To"}, {Text: "Came"}}}
	for _, l := range v.Letters {
		d.Rows = append(d.Rows, view.Row{Head: true, TestID: "letter", Cells: []view.Cell{{Text: l.Subject, Href: l.Href, Auto: true},
			view.Txt(l.To), view.Txt(l.At)}})
	}
	return d
}

func (v letterView) terms() []view.TermView {
	terms := []view.TermView{view.Term("To", v.To), view.Term("Came", v.At)}
	for _, h := range v.Header {
		terms = append(terms, view.Term(h.Name, h.Value))
	}
	return terms
}

// secret hides what is typed.
func secret(f view.Field) view.Field {
	f.Type = "password"
	return f
}
