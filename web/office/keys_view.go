package office

import "ledgerwheel/web/view"

// keysView is the owner's page of signing keys.
type keysView struct {
	Problem string
	Current string // id of the key in use, "" for none
	Keys    []keyRowView
}

// keyRowView is one key, without its private half; Retired is "" while it signs.
type keyRowView struct {
	ID, Public, Made, MadeBy, Retired, RetiredBy, LastUsed string
}

func (k keyRowView) state() view.Cell {
	if k.Retired == "" {
		return view.Cell{Text: "signs", Mark: view.Pass}
	}
	return view.Cell{Text: "retired", Mark: view.NotMeasured, Note: view.Join(k.Retired+",", k.RetiredBy)}
}

func rotateText(current string) string {
	if current == "" {
		return "Make the first key"
	}
	return "Retire this key and make another"
}
