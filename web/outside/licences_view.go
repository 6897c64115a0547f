package outside

import (
	"cmp"

	"ledgerwheel/web/view"
)

// licencesView is the public page that lists what the program is made of.
type licencesView struct{ Parts []licenceView }

// licenceView is one part with the address of its licence's text.
type licenceView struct{ Name, Version, Licences, Href string }

// table lists the parts; on a phone each is a small card.
func (v licencesView) table() view.DataView {
	d := view.DataView{TableView: view.TableView{Caption: "Parts of the program and their licences", HideCaption: true,
		TestID: "licences-table"}, Stack: true,
		Columns: []view.Column{{Text: "Part"}, {Text: "Version"}, {Text: "Licence"}}}
	for _, l := range v.Parts {
		d.Rows = append(d.Rows, view.Row{Head: true, Cells: []view.Cell{{Text: l.Name, Href: l.Href}, view.Txt(cmp.Or(l.Version, "–")),
			view.Txt(l.Licences)}})
	}
	return d
}
