package bench

import "ledgerwheel/web/view"

// serviceView is the service sheet of a docket.
type serviceView struct {
	Form         view.Form
	MayWork      bool
	Unread       bool // there are cautions that nobody has read
	DiagnosisURL string
	NotAgreed    string // why work should not go on yet
	Opens        string // what work recorded now opens again
	Time         string // spent in all
	Done, Steps  int
	Lubricants   []view.TermView // the latest of each place
	Entry        workForm
	Works        []workView // newest first
}

// workForm asks for a stretch of bench work.
type workForm struct {
	Form   view.Form
	Steps  []stepRow
	Places []placeRow
	Kinds  []string        // of lubricant, offered while typing
	Sheet  []view.TermView // of the docket's own calibre
	Of     string          // its name
}

// stepRow is a usual step; Done says who did it first and when.
type stepRow struct {
	Slug, Words, Done string
	Ticked            bool
}

// placeRow is a place that takes lubricant, with what is usual there, what the calibre's sheet says and what was used on
// this watch.
type placeRow struct {
	Slug, Words, Usual, Used string
	Calibre                  string // what the calibre's own sheet says; "" for nothing
}

// workView is one stretch of work as entered.
type workView struct {
	By, At, Time, Note string
	Steps, Lubricants  []string
	CorrectURL         string
}

// correctWorkView is the page that corrects one stretch of work.
type correctWorkView struct {
	Entry  workForm
	Said   workView
	Action string
}

func (f workForm) problem(name string) string { return f.Form.Problems[name] }

func (f workForm) minutes(step stepRow) view.Field {
	field := f.Form.Field("minutes."+step.Slug, "Minutes for: "+step.Words)
	field.HideName, field.InputMode = true, "numeric"
	return field.WithAttr("placeholder", "min")
}

func (f workForm) lubricant(place placeRow) view.Field {
	hint := "Usual: " + place.Usual
	if place.Calibre != "" {
		hint = "This calibre: " + place.Calibre + ". " + hint
	}
	if place.Used != "" {
		hint = "Used already: " + place.Used
	}
	return f.Form.Field("lubricant."+place.Slug,
		place.Words).WithHint(hint).WithSuggest(f.Kinds...).WithWidth(view.Half).WithMaxLength(120).WithAttr("dir", "auto")
}

// order is that of the form's fields, for the summary of problems.
func (f workForm) order() []string {
	names := []string{"", "steps"}
	for _, s := range f.Steps {
		names = append(names, "minutes."+s.Slug)
	}
	names = append(names, "lubricant")
	for _, p := range f.Places {
		names = append(names, "lubricant."+p.Slug)
	}
	return append(names, "minutes", "note")
}

func (v serviceView) figures() []view.FigureView {
	return []view.FigureView{
		{Label: "Time at the bench", Value: v.Time, TestID: "total-time"},
		{Label: "Usual steps done", Value: view.Itoa(v.Done), Note: "of " + view.Itoa(v.Steps), TestID: "steps-done"},
	}
}
