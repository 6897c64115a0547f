package view

// KeysView is the owner's page of signing keys.
type KeysView struct {
	Problem string
	Current string // id of the key in use, "" for none
	Keys    []KeyRowView
}

// KeyRowView is one key, without its private half; Retired is "" while it signs.
type KeyRowView struct {
	ID, Public, Made, MadeBy, Retired, RetiredBy, LastUsed string
}

func (k KeyRowView) state() Cell {
	if k.Retired == "" {
		return Cell{Text: "signs", Mark: Pass}
	}
	return Cell{Text: "retired", Mark: NotMeasured, Note: join(k.Retired+",", k.RetiredBy)}
}

func rotateText(current string) string {
	if current == "" {
		return "Make the first key"
	}
	return "Retire this key and make another"
}
