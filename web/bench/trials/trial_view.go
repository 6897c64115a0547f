package trials

import "ledgerwheel/web/view"

// trialView is the sheet of a docket's trials.
type trialView struct {
	Shown      *shownView
	Begin      *trialBeginView // nil while a trial runs
	EndProblem string          // why the trial could not be ended, whatever is confirmed
	Earlier    *view.DataView  // every trial of the docket, where there are several
}

// trialBeginView is the form that begins a trial, or why there is none.
type trialBeginView struct {
	Why              string
	Form             view.Form
	Category, Method view.Field
}

// shownView is one trial in full.
type shownView struct {
	ID       string
	Running  bool
	Heading  string
	Taken    string // of what category, since when
	Today    *trialToday
	Warnings []string
	Note     *trialNoteView // the form of a day
	Charts   []view.ChartView
	Days     view.DataView
	Criteria view.DataView
	Forecast *outlookView
	// ForecastLater says when the outlook will be told; "" where it is, or where there is none.
	ForecastLater string

	Terms []view.TermView

	CriteriaSay, DaysSay, PlanSays string // what the folds hold, in a phrase

	Mark                  view.MarkKind
	Verdict, Simple, Rule string
	Advice                string     // what to do with a trial that is spoilt
	End                   *view.Form // the form that ends it; nil where it can't be ended
	Ending                string     // what ending it does
	Abandon               *view.Form
	Paper                 *view.LinkView
}

// trialToday is what today asks.
type trialToday struct {
	Text  string
	Steps []stepView
}

// stepView is one day of the programme and what it asks.
type stepView struct {
	Label, Day  string
	Position    view.PositionView
	Temperature string
	Functions   bool // those that can be engaged run
}

// trialNoteView is the form in which a day is noted or corrected.
type trialNoteView struct {
	Heading, Day, Version string
	Corrects              bool
	Compared              bool // by clock comparison
	Functions             bool // the day asks for functions engaged
	Asked                 stepView
	Form                  view.Form
	Position, Which       view.Field // Which has no name where the time stands once
}

// outlookView is how likely the trial is to be passed.
type outlookView struct {
	Percent, Scatter, Simulations string
	Days                          int
	Calibration                   string // how well such outlooks came true
	Criteria                      []view.TermView
}

// more reports whether what is usually left as the programme asks was typed or is to be corrected.
func (v trialNoteView) more() bool {
	for _, name := range []string{"position", "temperature", "note"} {
		if v.Form.Problems[name] != "" || v.Form.Asked[name].Text != "" || name != "position" && v.Form.Values.Get(name) != "" {
			return true
		}
	}
	return v.Corrects
}

func (v trialNoteView) order() []string {
	return []string{"", "rate", "read_date", "read_time", "which", "watch_time", "within", "position", "temperature", "functions",
		"note", "why"}
}

func (v trialBeginView) order() []string {
	return []string{"", "category", "diameter", "area", "first_day", "reading_time", "method", "instrument", "clock_ppm",
		"settling_hours", "settling_temperature"}
}

func (f outlookView) days() string {
	if f.Days == 1 {
		return "one day"
	}
	return view.Itoa(f.Days) + " days"
}
