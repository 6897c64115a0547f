package view

import (
	"cmp"
)

// RecordersView is the list of the shop's recorders.
type RecordersView struct {
	Rows []RecorderRow
	May  bool // add and calibrate
}

// RecorderRow is one recorder in the list.
type RecorderRow struct {
	ID         int64
	Name, Note string
	Rate       string // "48 000"
	State      RecorderState
	Found      string // "+12.31 ± 0.42 ppm"
	FoundNote  string // when and how
}

// RecorderState is how a recorder's clock stands, in words.
type RecorderState struct {
	Mark  MarkKind
	Words string
}

func recorderURL(id int64) string { return "/recorders/" + itoa(int(id)) }

func (v RecordersView) data() DataView {
	d := DataView{TableView: TableView{Caption: "Recorders", HideCaption: true, TestID: "recorders"}, Stack: true,
		Columns: []Column{{Text: "Recorder"}, {Text: "Its clock"}, {Text: "Runs fast by"}, {Text: "Usual rate", Unit: "samples a second", Numeric: true}}}
	for _, r := range v.Rows {
		d.Rows = append(d.Rows, Row{Head: true, TestID: "recorder-" + itoa(int(r.ID)), Cells: []Cell{
			{Text: r.Name, Href: recorderURL(r.ID), Note: r.Note, Auto: true}, Show(recorderState(r.State)),
			{Text: cmp.Or(r.Found, "–"), Note: r.FoundNote}, Txt(r.Rate)}})
	}
	return d
}

// NewRecorderView is the form for one more recorder.
type NewRecorderView struct{ Form Form }

// RecorderView is one recorder's page.
type RecorderView struct {
	ID           int64
	Name, Note   string
	Retired      string // "" while in use; else when, by whom and why
	State        RecorderState
	Clock        []TermView
	Calibrations []CalibrationView
	History      []RecorderEventView
	May          bool
	Form         Form // what was posted, and what is wrong with it
	Describe     Form // note and usual rate as they stand, or as typed
	Open         RecorderForm
	Server       ServerClockView
	LiveURL      string // "" when live listening is not offered
}

// ServerClockView is what is assumed of the server's clock, and what sessions against it are worth.
type ServerClockView struct {
	SteadyMs, LeastMinutes string
	Worth                  []string // "10 minutes: about ±14 ppm"
}

// RecorderForm names one of the page's forms.
type RecorderForm string

// The forms of a recorder's page.
const (
	NoForm       RecorderForm = ""
	SoundForm    RecorderForm = "sound"
	TypedForm    RecorderForm = "typed"
	DescribeForm RecorderForm = "describe"
	RetireForm   RecorderForm = "retire"
)

// CalibrationView is one calibration in the history.
type CalibrationView struct {
	ID             int64
	Figure         string // "+12.31 ± 0.42 ppm"
	State          RecorderState
	Terms          []TermView
	MayRetire      bool
	RetireProblems bool
}

func (c CalibrationView) why() string { return CalibrationWhy(c.ID) }

// CalibrationWhy names the field that asks why a calibration is retired.
func CalibrationWhy(id int64) string { return "why-" + itoa(int(id)) }

// RecorderEventView is one line of the history.
type RecorderEventView struct{ At, By, Words string }

func (v RecorderView) url(rest string) string { return recorderURL(v.ID) + rest }

func (v RecorderView) calibrating() bool { return v.May && v.Retired == "" }

func (v RecorderView) history() DataView {
	d := DataView{TableView: TableView{Caption: "What happened, newest first", HideCaption: true, TestID: "recorder-history"}, Stack: true,
		Columns: []Column{{Text: "When"}, {Text: "By"}, {Text: "What"}}}
	for _, e := range v.History {
		d.Rows = append(d.Rows, Row{Cells: []Cell{Txt(e.At), {Text: e.By, Auto: true}, {Text: e.Words, Auto: true}}})
	}
	return d
}

// order is the page's fields as they stand.
func (v RecorderView) order() []string {
	fields := []string{"", "reference", "reference_rate", "reference_u95", "sound", "ppm", "uncertainty", "made_on", "typed_redo_by", "typed_note"}
	for _, c := range v.Calibrations {
		fields = append(fields, c.why())
	}
	return append(fields, "note", "usual_rate", "why")
}

var referenceOptions = []Option{
	{Value: "pulses", Text: "One pulse a second", Hint: "Of a receiver or generator that keeps true time. Taken as exact unless you say how well it is known."},
	{Value: "quartz watch", Text: "The steps of a quartz watch", Hint: "One a second, of a watch whose rate you know from days of comparison. Lay it on the microphone, or beside a coil."},
}

// recordingField asks for the sound.
func recordingField(f Form) Field {
	field := f.Field("sound", "The recording").Need().WithHint("WAV or FLAC, from half a minute to hours.")
	field.Accept = ".wav,.flac,audio/wav,audio/x-wav,audio/flac"
	return field
}
