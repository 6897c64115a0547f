package hearing

import (
	"github.com/a-h/templ"

	"ledgerwheel/web/view"
)

// soundUploadForm asks for a recording and what is known of it.
type soundUploadForm struct {
	Form      view.Form
	Action    string        // where it is posted to
	Recorders []view.Option // by id; "0" for one that is not in the list
	Positions []view.Option
	MaxMB     int
	Beats     string // what the calibre says, as a hint; "" when not known
	Lift      string // its lift angle; "" when not known
}

func (v soundUploadForm) sound() view.Field {
	f := v.Form.Field("sound", "Recording").Need().WithHint("WAV or FLAC, at most " + view.Itoa(v.MaxMB) +
		" MB. With scripts on, other sound files that this browser can play are taken too.")
	f.Accept = ".wav,.flac,audio/*,video/mp4,video/webm"
	return f
}

func (v soundUploadForm) recorder() view.Field {
	return v.Form.Field("recorder", "Recorder").WithOptions(v.Recorders...).WithWidth(view.Half).
		WithHint("Its calibration corrects the rate. One that is not in the list counts as never calibrated: ±50 ppm.")
}

func (v soundUploadForm) beats() view.Field {
	hint := "leave empty to have it found"
	if v.Beats != "" {
		hint = "the calibre’s: " + v.Beats + "; empty to have it found"
	}
	return v.Form.Field("beats_per_hour", "Beats per hour").Maybe().WithHint(hint).WithWidth(view.Quarter)
}

func (v soundUploadForm) lift() view.Field {
	hint := "as the calibre’s sheet gives it; empty: 52° is assumed"
	if v.Lift != "" {
		hint = "the calibre’s: " + v.Lift + "°"
	}
	return v.Form.Field("lift_angle", "Lift angle").WithUnit("°").WithHint(hint).WithWidth(view.Quarter)
}

func (v soundUploadForm) position() view.Field {
	return v.Form.Field("position", "Position").WithOptions(v.Positions...).WithWidth(view.Quarter)
}

func (v soundUploadForm) hours() view.Field {
	return v.Form.Field("hours", "Hours after winding").WithUnit("h").WithHint("0 for full wind").WithWidth(view.Quarter)
}

// heardView is what was heard in a recording that was sent in.
type heardView struct {
	Number  string // of the docket; "" when it belongs to none
	Name    string // of the file
	Sent    string // when and by whom
	Expires string // when it is cleared away
	State   heardState
	Reason  string // why no figures were found
	Done    string // how far the listening has come: "3 min of 2 h"
	Again   view.LinkView

	Figures []view.FigureView
	Notes   []string
	Said    string // what a change of the instants did
	Verdict *heardVerdict
	Keep    *keepHeardForm
	RunDown *runDownFormView // nil for a short recording
	Take    *view.Form       // to which docket; nil when it belongs to one or none may be chosen
	TakeURL string
	Charts  []view.ChartView
	Tables  []view.DataView
	Correct *instantsFormView
	Facts   []view.TermView
	Sound   playerView
	Discard string // address; "" when it may not be thrown away
	Kept    *view.LinkView
}

// heardState is how far the listening is.
type heardState string

// The states.
const (
	heardListening heardState = "listening"
	heardToFigures heardState = "heard"
	heardNothing   heardState = "nothing" // Reason says why
)

// heardVerdict is how far what was heard decides, limit by limit.
type heardVerdict struct {
	Mark  view.MarkKind
	Word  string // stands for the mark's own when given
	Text  string
	Lines []string
}

// keepHeardForm asks into which cell of which run a reading goes.
type keepHeardForm struct {
	Form      view.Form
	Action    string
	Runs      []view.Option
	Positions []view.Option
	None      string // why none can be kept, "" when one can
	Clash     string // asks whether it is the right watch; "" when nothing speaks against it
}

// instantsFormView asks for the instants of the two averaged sounds.
type instantsFormView struct {
	Form      view.Form
	Action    string
	Corrected string // "" while they stand as found
	Drawing   templ.Component
	Frame     templ.Attributes // where the drawing has its axis, for the script that lays marks over it
}

// playerView is a sound to listen to and to take along.
type playerView struct {
	Src, Type, Text string
}

// heardFactsView is what was kept of the recording that a reading was taken from.
type heardFactsView struct {
	Reading   []view.TermView
	Standing  string // "" while the reading stands
	RunHref   string
	RunText   string
	Notes     []string
	Facts     []view.TermView
	Corrected []view.TermView
	Sound     *playerView
	Charts    []view.ChartView // none when what was heard was not kept
	Tables    []view.DataView
}

// heardRow is one of a person's recordings.
type heardRow struct {
	Name, Href, Sent, State, Figures, Expires string
}

func heardList(mine []heardRow) view.DataView {
	d := view.DataView{TableView: view.TableView{ID: "recording-list", Caption: "Your recordings", HideCaption: true,
		TestID: "recording-list"}, Stack: true,
		Columns: []view.Column{{Text: "file"}, {Text: "sent"}, {Text: "heard"}, {Text: "cleared away"}}}
	for _, r := range mine {
		said := r.Figures
		if said == "" {
			said = r.State
		}
		d.Rows = append(d.Rows, view.Row{Head: true, Cells: []view.Cell{view.Lnk(r.Name, r.Href), view.Txt(r.Sent),
			view.Txt(said), view.Txt(r.Expires)}})
	}
	return d
}
