package office

import (
	"cmp"

	"ledgerwheel/domain/warranty"
	"ledgerwheel/web/view"
)

// keysView is the owner's page of signing keys.
type keysView struct {
	Problem string
	Current string // id of the key in use, "" for none
	Away    string // why the private half of the key in use can't be used on this machine; "" where it can
	Keys    []keyRowView
}

// keyRowView is one key, without its private half; Retired is "" while it signs. Left is when its private half left the
// database, "" for one that never was there.
type keyRowView struct {
	ID, Public, Made, MadeBy, Retired, RetiredBy, LastUsed, Left string
}

func (k keyRowView) state() view.Cell {
	if k.Retired == "" {
		return view.Cell{Text: "signs", Mark: view.Pass}
	}
	return view.Cell{Text: "retired", Mark: view.NotMeasured, Note: view.Join(k.Retired+",", k.RetiredBy)}
}

func (k keyRowView) terms() []view.TermView {
	list := []view.TermView{
		view.Term("Made", view.Join(k.Made, view.When(k.MadeBy != "", "by "+k.MadeBy))),
		view.Term("Last card signed", cmp.Or(k.LastUsed, "none yet")),
	}
	if k.Left != "" {
		list = append(list, view.Term("Left the database", k.Left+"; copies of the database from before still hold its private half"))
	}
	return append(list, view.TermView{Term: "Public half", Cell: view.Show(view.KeyHex(k.Public))})
}

// problemTitle heads a refusal: somebody else changed the key first, or no new one is given.
func (v keysView) problemTitle() string {
	if v.Problem == warranty.NoGivenKey {
		return "No unused key"
	}
	return "Someone else saved first"
}

func rotateText(current string) string {
	if current == "" {
		return "Make the first key"
	}
	return "Retire this key and make another"
}
