package takeaway

import "ledgerwheel/web/view"

// takeAwayView is the page on which the owner chooses what goes into the file.
type takeAwayView struct{ Form view.Form }

func (v takeAwayView) with() view.Field {
	return v.Form.Field("with", "Besides the tables and journals").WithOptions(
		view.Option{Value: withPapers, Text: "Papers, as PDF", Hint: "They are made one by one: a thousand dockets take some minutes."},
		view.Option{Value: withPictures, Text: "Photographs"},
		view.Option{Value: withSounds, Text: "Sounds"})
}
