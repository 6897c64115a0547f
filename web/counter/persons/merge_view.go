package persons

import "ledgerwheel/web/view"

// chooseView asks which other record is of the same person.
type chooseView struct {
	Name, Action, Back, Query string
	Others                    []otherRow
}

// otherRow is a record that may be of the same person.
type otherRow struct{ Href, Name, Phone, Email, Why string }

func (v chooseView) rows() []view.Row {
	rows := make([]view.Row, len(v.Others))
	for i, o := range v.Others {
		rows[i] = view.Row{Head: true, TestID: "other", Cells: []view.Cell{{Text: o.Name, Href: o.Href, Auto: true}, view.Txt(o.Phone),
			view.Txt(o.Email), view.Txt(o.Why)}}
	}
	return rows
}

// mergeView lays two records side by side.
type mergeView struct {
	Form               view.Form
	Name, Action, Back string
	KeptID, Other      string
	Swap               string // address of the same the other way round
	Differ             []view.Field
	Same               []view.TermView
	Changed            bool // somebody else saved one of them meanwhile
}
