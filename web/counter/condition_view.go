package view

// IntakeSheetView is what was taken in, said and seen at the counter.
type IntakeSheetView struct {
	TakenIn bool   // just now: the next steps are offered
	Failed  string // the form that was refused: "work", "condition" or "photos"

	Watch        []TermView
	WatchURL     string
	MayEditWatch bool
	Customer     string
	CustomerURL  string
	Notes        []ListedNote
	Hazards      []string

	Complaint  string
	Said       []TermView
	Currency   string
	Wanted     []Option
	Work       Form
	MayCorrect bool

	Noted     bool // on the outline or by a photograph
	Outline   OutlineView
	Editor    OutlineForm
	Condition Form
	MayNote   bool

	Photos        []CaptionedPhoto
	Upload        Form
	MayPhotograph bool
	MayPrint      bool
}

// problems are those of the form that was refused.
func (v IntakeSheetView) problems() map[string]string {
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

func (v IntakeSheetView) noConditionYet() bool {
	return len(v.Outline.Marks) == 0 && len(v.Outline.Clear) == 0
}

func (v IntakeSheetView) grid() []PhotoView {
	photos := make([]PhotoView, len(v.Photos))
	for i, p := range v.Photos {
		photos[i] = p.Photo
	}
	return photos
}
