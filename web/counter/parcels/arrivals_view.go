package parcels

import "ledgerwheel/web/view"

// parcelsView is the list of parcels that came.
type parcelsView struct {
	Parcels   []parcelRow
	Older     string
	MayTakeIn bool
}

type parcelRow struct {
	Href, Title, Came, State, Sender string
	Whole                            bool
	Dockets                          []string // taken in from it
}

func (v parcelsView) rows() []view.Row {
	var rows []view.Row
	for _, p := range v.Parcels {
		rows = append(rows, view.Row{Head: true, TestID: "parcel-row", Cells: []view.Cell{{Text: p.Title, Href: p.Href, Auto: true}, view.Txt(p.Came),
			stateCell(p.State, p.Whole), {Text: p.Sender, Auto: true}, view.Show(docketsOf(p.Dockets))}})
	}
	return rows
}

// stateCell says how a parcel came, with a mark that it was not whole.
func stateCell(words string, whole bool) view.Cell {
	if whole {
		return view.Txt(words)
	}
	return view.Cell{Text: words, Mark: view.Fail}
}

// newParcelView is a parcel being written down.
type newParcelView struct {
	Form         view.Form
	Carriers     []string
	Seals, Boxes []view.Option
}

func (v newParcelView) photos() view.Field {
	f := v.Form.Field("photos", "Photographs").WithHint("the label, the seal, each damage, and what was in it").WithWidth(view.Half)
	f.Accept, f.Multiple = "image/*", true
	return f
}

// parcelView is one parcel that came.
type parcelView struct {
	Title, Came, State, Sender, Contents, Note string
	Whole                                      bool
	Dockets                                    []string
	Photos                                     []view.PhotoView
	Removed                                    int    // photographs that went with the data of who sent it
	TakeInURL                                  string // "" for who may not take in
}

func (v parcelView) terms() []view.TermView {
	terms := []view.TermView{view.Term("Came", v.Came), {Term: "State", Cell: stateCell(v.State, v.Whole)}, view.Term("From", v.Sender),
		view.Term("In it", v.Contents)}
	if v.Note != "" {
		terms = append(terms, view.Term("Note", v.Note))
	}
	return append(terms, view.TermView{Term: "Taken in on", Cell: view.Cell{Component: docketsOf(v.Dockets)}})
}

func (v parcelView) takeInWords() string {
	if len(v.Dockets) > 0 {
		return "Take in another watch from it"
	}
	return "Take in the watch from it"
}

func (v parcelView) removedWords() string {
	if v.Removed == 1 {
		return "1 photograph was deleted with the data of the person who sent the parcel. Its sum stays in the record."
	}
	return view.Itoa(v.Removed) + " photographs were deleted with the data of the person who sent the parcel. Their sums stay in the record."
}
