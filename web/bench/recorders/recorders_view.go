package recorders

import (
	"cmp"

	"ledgerwheel/web/view"
)

// recordersView is the list of the shop's recorders.
type recordersView struct {
	Rows []recorderRow
	May  bool // add and calibrate
}

// recorderRow is one recorder in the list.
type recorderRow struct {
	ID         int64
	Name, Note string
	Rate       string // "48 000"
	State      stateView
	Found      string // "+12.31 ± 0.42 ppm"
	FoundNote  string // when and how
}

// stateView is how a recorder's clock stands, in words.
type stateView struct {
	Mark  view.MarkKind
	Words string
}

func recorderURL(id int64) string { return "/recorders/" + view.Itoa(int(id)) }

func (v recordersView) data() view.DataView {
	d := view.DataView{TableView: view.TableView{Caption: "Recorders", HideCaption: true, TestID: "recorders"},
		Stack: true,
		Columns: []view.Column{{Text: "Recorder"}, {Text: "Its clock"}, {Text: "Runs fast by"},
			{Text: "Usual rate", Unit: "samples a second", Numeric: true}}}
	for _, r := range v.Rows {
		d.Rows = append(d.Rows, view.Row{Head: true, TestID: "recorder-" + view.Itoa(int(r.ID)), Cells: []view.Cell{
			{Text: r.Name, Href: recorderURL(r.ID), Note: r.Note, Auto: true}, view.Show(recorderState(r.State)),
			{Text: cmp.Or(r.Found, "–"), Note: r.FoundNote}, view.Txt(r.Rate)}})
	}
	return d
}

// newRecorderView is the form for one more recorder.
type newRecorderView struct{ Form view.Form }

// recorderView is one recorder's page.
type recorderView struct {
	ID           int64
	Name, Note   string
	Retired      string // "" while in use; else when, by whom and why
	State        stateView
	Clock        []view.TermView
	Calibrations []calibrationView
	History      []recorderEventView
	May          bool
	Form         view.Form // what was posted, and what is wrong with it
	Describe     view.Form // note and usual rate as they stand, or as typed
	Open         recorderForm
	Server       serverClockView
	LiveURL      string // "" when live listening is not offered
}

// serverClockView is what is assumed of the server's clock, and what sessions against it are worth.
type serverClockView struct {
	SteadyMs, LeastMinutes string
	Worth                  []string // "10 minutes: about ±14 ppm"
}

// recorderForm names one of the page's forms.
type recorderForm string

// The forms of a recorder's page.
const (
	noForm       recorderForm = ""
	soundForm    recorderForm = "sound"
	typedForm    recorderForm = "typed"
	describeForm recorderForm = "describe"
	retireForm   recorderForm = "retire"
)

// calibrationView is one calibration in the history.
type calibrationView struct {
	ID             int64
	Figure         string // "+12.31 ± 0.42 ppm"
	State          stateView
	Terms          []view.TermView
	MayRetire      bool
	RetireProblems bool
}

func (c calibrationView) why() string { return calibrationWhy(c.ID) }

// calibrationWhy names the field that asks why a calibration is retired.
func calibrationWhy(id int64) string { return "why-" + view.Itoa(int(id)) }

// recorderEventView is one line of the history.
type recorderEventView struct{ At, By, Words string }

func (v recorderView) url(rest string) string { return recorderURL(v.ID) + rest }

func (v recorderView) calibrating() bool { return v.May && v.Retired == "" }

func (v recorderView) history() view.DataView {
	d := view.DataView{TableView: view.TableView{Caption: "What happened, newest first", HideCaption: true,
		TestID: "recorder-history"}, Stack: true,
		Columns: []view.Column{{Text: "When"}, {Text: "By"}, {Text: "What"}}}
	for _, e := range v.History {
		d.Rows = append(d.Rows, view.Row{Cells: []view.Cell{view.Txt(e.At), {Text: e.By, Auto: true},
			{Text: e.Words, Auto: true}}})
	}
	return d
}

// order is the page's fields as they stand.
func (v recorderView) order() []string {
	fields := []string{"", "reference", "reference_rate", "reference_u95", "sound", "ppm", "uncertainty", "made_on",
		"typed_redo_by", "typed_note"}
	for _, c := range v.Calibrations {
		fields = append(fields, c.why())
	}
	return append(fields, "note", "usual_rate", "why")
}

var referenceOptions = []view.Option{
	{Value: "pulses", Text: "One pulse a second", Hint: "Of a receiver or generator that keeps true time. Taken as " +
		"exact unless you say how well it is known."},
	{Value: "quartz watch", Text: "The steps of a quartz watch", Hint: "One a second, of a watch whose rate you know " +
		"from days of comparison. Lay it on the microphone, or beside a coil."},
}

// recordingField asks for the sound.
func recordingField(f view.Form) view.Field {
	field := f.Field("sound", "The recording").Need().WithHint("WAV or FLAC, from half a minute to hours.")
	field.Accept = ".wav,.flac,audio/wav,audio/x-wav,audio/flac"
	return field
}
