package office

import (
	"ledgerwheel/web/view"
)

// logoView asks for the shop's logo and shows papers with it.
type logoView struct {
	Form   view.Form
	Logo   string // its address; "" for none
	None   bool   // the owner said that none is wanted
	Papers []samplePaper
}

func (v logoView) file() view.Field {
	label := "File with the logo"
	if v.Logo != "" {
		label = "Another file"
	}
	f := v.Form.Field("logo", label).Need().WithHint("PNG, JPEG or SVG, at most 4 MB. Dark on a clear or white ground prints best. Margins are cut off; an SVG is drawn here, and only what is drawn is kept.")
	f.Accept = ".png,.jpg,.jpeg,.svg,image/png,image/jpeg,image/svg+xml"
	return f
}

func (v logoView) saveWords() string {
	if v.Logo != "" {
		return "Replace the logo"
	}
	return "Save the logo"
}
