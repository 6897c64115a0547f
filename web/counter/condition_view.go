package counter

import "ledgerwheel/web/view"

// intakeSheetView is what was taken in, said and seen at the counter.
type intakeSheetView struct {
	ParcelURL string // in which it came; "" for one that was brought
	TakenIn   bool   // just now: the next steps are offered
	Failed    string // the form that was refused: "work", "condition" or "photos"

	Watch        []view.TermView
	WatchURL     string
	MayEditWatch bool
	Customer     string
	CustomerURL  string
	Notes        []noteView
	Hazards      []string

	Complaint  string
	Said       []view.TermView
	Currency   string
	Wanted     []view.Option
	Tongues    []view.Option
	Work       view.Form
	Tell       view.TellView // of a later day; the zero value where none can be told
	MayCorrect bool

	Noted     bool // on the outline or by a photograph
	Outline   view.OutlineView
	Editor    view.OutlineForm
	Condition view.Form
	MayNote   bool

	Photos        []view.CaptionedPhoto
	Upload        view.Form
	RemovedPhotos []view.RemovedPhoto
	MayPhotograph bool
	MayShowPhotos bool // to the customer
	MayRemove     bool // photographs
	MayPrint      bool
}

// problems are those of the form that was refused.
func (v intakeSheetView) problems() map[string]string {
	switch v.Failed {
	case "work":
		return v.Work.Problems
	case "condition":
		return v.Condition.Problems
	case "photos":
		return v.Upload.Problems
	}
	return nil
}

// stepTwo says that the condition is still to be noted: it and the photographs come first then, as whoever scanned the
// ticket with a telephone is there for them.
func (v intakeSheetView) stepTwo() bool { return v.noConditionYet() && v.MayNote }

func (v intakeSheetView) noConditionYet() bool {
	return len(v.Outline.Marks) == 0 && len(v.Outline.Clear) == 0
}

func (v intakeSheetView) grid() []view.PhotoView {
	photos := make([]view.PhotoView, len(v.Photos))
	for i, p := range v.Photos {
		photos[i] = p.Photo
		photos[i].Note = view.When(p.CustomerSees, "The customer sees it.")
	}
	return photos
}

func (v intakeSheetView) photoForms(number string) view.PhotoForms {
	return view.PhotoForms{Number: number, Photos: v.Photos, MayCaption: v.MayPhotograph, MayShow: v.MayShowPhotos,
		MayRemove: v.MayRemove, Refused: v.Upload}
}
