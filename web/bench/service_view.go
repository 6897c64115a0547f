package view

// ServiceView is the service sheet of a docket.
type ServiceView struct {
	Form         Form
	MayWork      bool
	Unread       bool // there are cautions that nobody has read
	DiagnosisURL string
	NotAgreed    string // why work should not go on yet
	Time         string // spent in all
	Done, Steps  int
	Lubricants   []TermView // the latest of each place
	Entry        WorkForm
	Works        []WorkView // newest first
}

// WorkForm asks for a stretch of bench work.
type WorkForm struct {
	Form   Form
	Steps  []StepRow
	Places []PlaceRow
	Kinds  []string // of lubricant, offered while typing
}

// StepRow is a usual step; Done says who did it first and when.
type StepRow struct {
	Slug, Words, Done string
	Ticked            bool
}

// PlaceRow is a place that takes lubricant, with what is usual there and what was used on this watch.
type PlaceRow struct {
	Slug, Words, Usual, Used string
}

// WorkView is one stretch of work as entered.
type WorkView struct {
	By, At, Time, Note string
	Steps, Lubricants  []string
	CorrectURL         string
}

// CorrectWorkView is the page that corrects one stretch of work.
type CorrectWorkView struct {
	Entry  WorkForm
	Said   WorkView
	Action string
}

func (f WorkForm) problem(name string) string { return f.Form.Problems[name] }

func (f WorkForm) minutes(step StepRow) Field {
	field := f.Form.Field("minutes."+step.Slug, "Minutes for: "+step.Words)
	field.HideName, field.InputMode = true, "numeric"
	return field.WithAttr("placeholder", "min")
}

func (f WorkForm) lubricant(place PlaceRow) Field {
	hint := "Usual: " + place.Usual
	if place.Used != "" {
		hint = "Used already: " + place.Used
	}
	return f.Form.Field("lubricant."+place.Slug, place.Words).WithHint(hint).WithSuggest(f.Kinds...).WithWidth(Half).WithMaxLength(120).WithAttr("dir", "auto")
}

// order is that of the form's fields, for the summary of problems.
func (f WorkForm) order() []string {
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

func (v ServiceView) figures() []FigureView {
	return []FigureView{
		{Label: "Time at the bench", Value: v.Time, TestID: "total-time"},
		{Label: "Usual steps done", Value: itoa(v.Done), Note: "of " + itoa(v.Steps), TestID: "steps-done"},
	}
}
