package view

// TrialView is the sheet of a docket's trials.
type TrialView struct {
	Shown      *TrialShown
	Begin      *TrialBeginView // nil while a trial runs
	EndProblem string          // why the trial could not be ended
	Earlier    *DataView       // every trial of the docket, where there are several
}

// TrialBeginView is the form that begins a trial, or why there is none.
type TrialBeginView struct {
	Why              string
	Form             Form
	Category, Method Field
}

// TrialShown is one trial in full.
type TrialShown struct {
	ID       string
	Running  bool
	Today    *TrialToday
	Warnings []string
	Note     *TrialNoteView // the form of a day
	Charts   []ChartView
	Days     DataView
	Criteria DataView
	Forecast *TrialForecast
	Terms    []TermView

	Mark                  MarkKind
	Verdict, Simple, Rule string
	MayEnd                bool
	Abandon               *Form
	Paper                 *LinkView
}

// TrialToday is what today asks.
type TrialToday struct {
	Text  string
	Steps []TrialStep
}

// TrialStep is one day of the programme and what it asks.
type TrialStep struct {
	Label, Day  string
	Position    PositionView
	Temperature string
	Functions   bool // those that can be engaged run
}

// TrialNoteView is the form in which a day is noted or corrected.
type TrialNoteView struct {
	Heading, Day, Version string
	Corrects              bool
	Compared              bool // by clock comparison
	Functions             bool // the day asks for functions engaged
	Asked                 TrialStep
	Form                  Form
	Position              Field
}

// TrialForecast is how likely the trial is to be passed.
type TrialForecast struct {
	Percent, Scatter, Simulations string
	Days                          int
	Calibration                   string // how well such outlooks came true
	Criteria                      []TermView
}

func (v TrialNoteView) order() []string {
	return []string{"", "rate", "read_date", "read_time", "watch_time", "within", "position", "temperature", "functions", "note", "why"}
}

func (v TrialBeginView) order() []string {
	return []string{"", "category", "diameter", "area", "first_day", "reading_time", "method", "instrument", "clock_ppm", "settling_hours", "settling_temperature"}
}

func (f TrialForecast) days() string {
	if f.Days == 1 {
		return "one day"
	}
	return itoa(f.Days) + " days"
}
