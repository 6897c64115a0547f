package view

import "github.com/a-h/templ"

// SoundUploadForm asks for a recording and what is known of it.
type SoundUploadForm struct {
	Form      Form
	Action    string   // where it is posted to
	Recorders []Option // by id; "0" for one that is not in the list
	Positions []Option
	MaxMB     int
	Beats     string // what the calibre says, as a hint; "" when not known
}

func (v SoundUploadForm) sound() Field {
	f := v.Form.Field("sound", "Recording").Need().WithHint("WAV or FLAC, at most " + itoa(v.MaxMB) + " MB. With scripts on, other sound files that this browser can play are taken too.")
	f.Accept = ".wav,.flac,audio/*,video/mp4,video/webm"
	return f
}

func (v SoundUploadForm) recorder() Field {
	return v.Form.Field("recorder", "Recorder").WithOptions(v.Recorders...).WithWidth(Half).
		WithHint("Its calibration corrects the rate. One that is not in the list counts as never calibrated: ±50 ppm.")
}

func (v SoundUploadForm) beats() Field {
	hint := "leave empty to have it found"
	if v.Beats != "" {
		hint = "the calibre’s: " + v.Beats + "; empty to have it found"
	}
	return v.Form.Field("beats_per_hour", "Beats per hour").Maybe().WithHint(hint).WithWidth(Quarter)
}

func (v SoundUploadForm) lift() Field {
	return v.Form.Field("lift_angle", "Lift angle").WithUnit("°").WithHint("as the calibre’s sheet gives it").WithWidth(Quarter)
}

func (v SoundUploadForm) position() Field {
	return v.Form.Field("position", "Position").WithOptions(v.Positions...).WithWidth(Quarter)
}

func (v SoundUploadForm) hours() Field {
	return v.Form.Field("hours", "Hours after winding").WithUnit("h").WithHint("0 for full wind").WithWidth(Quarter)
}

// HeardView is what was heard in a recording that was sent in.
type HeardView struct {
	Number  string // of the docket; "" when it belongs to none
	Name    string // of the file
	Sent    string // when and by whom
	Expires string // when it is cleared away
	State   HeardState
	Reason  string // why no figures were found
	Done    string // how far the listening has come: "3 min of 2 h"
	Again   LinkView

	Figures []FigureView
	Notes   []string
	Said    string // what a change of the instants did
	Verdict *HeardVerdict
	Keep    *KeepHeardForm
	RunDown *RunDownForm // nil for a short recording
	Take    *Form        // to which docket; nil when it belongs to one or none may be chosen
	TakeURL string
	Charts  []ChartView
	Tables  []DataView
	Correct *InstantsForm
	Facts   []TermView
	Sound   SoundView
	Discard string // address; "" when it may not be thrown away
	Kept    *LinkView
}

// HeardState is how far the listening is.
type HeardState string

// The states.
const (
	HeardListening HeardState = "listening"
	HeardFigures   HeardState = "heard"
	HeardNothing   HeardState = "nothing" // Reason says why
)

// HeardVerdict is how far what was heard decides, limit by limit.
type HeardVerdict struct {
	Mark  MarkKind
	Word  string // stands for the mark's own when given
	Text  string
	Lines []string
}

// KeepHeardForm asks into which cell of which run a reading goes.
type KeepHeardForm struct {
	Form      Form
	Action    string
	Runs      []Option
	Positions []Option
	None      string // why none can be kept, "" when one can
}

// InstantsForm asks for the instants of the two averaged sounds.
type InstantsForm struct {
	Form      Form
	Action    string
	Corrected string // "" while they stand as found
	Drawing   templ.Component
	Frame     templ.Attributes // where the drawing has its axis, for the script that lays marks over it
}

// SoundView is a sound to listen to and to take along.
type SoundView struct {
	Src, Type, Text string
}

// HeardFactsView is what was kept of the recording that a reading was taken from.
type HeardFactsView struct {
	Reading   []TermView
	Standing  string // "" while the reading stands
	RunHref   string
	RunText   string
	Notes     []string
	Facts     []TermView
	Corrected []TermView
	Sound     *SoundView
	Charts    []ChartView // none when what was heard was not kept
	Tables    []DataView
}

// HeardRow is one of a person's recordings.
type HeardRow struct {
	Name, Href, Sent, State, Figures, Expires string
}

func heardList(mine []HeardRow) DataView {
	d := DataView{TableView: TableView{ID: "recording-list", Caption: "Your recordings", HideCaption: true, TestID: "recording-list"}, Stack: true,
		Columns: []Column{{Text: "file"}, {Text: "sent"}, {Text: "heard"}, {Text: "cleared away"}}}
	for _, r := range mine {
		said := r.Figures
		if said == "" {
			said = r.State
		}
		d.Rows = append(d.Rows, Row{Head: true, Cells: []Cell{Lnk(r.Name, r.Href), Txt(r.Sent), Txt(said), Txt(r.Expires)}})
	}
	return d
}
