package comebacks

import (
	"ledgerwheel/domain/comeback"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/text"
	"ledgerwheel/web/view"
)

// comebackView is the comeback's sheet of a docket.
type comebackView struct {
	Form       view.Form
	Before     view.BeforeView
	Said, Cost []view.TermView // nothing where nobody said anything; the cost is the bench's to see
	May        bool
	Owner      bool // may decide otherwise than the cause does
	Left       bool // what is said now corrects
	TooEarly   string
	Beware     string // that more is charged than a covered comeback should be
}

// heading is that of the form.
func (v comebackView) heading() string {
	if len(v.Said) > 0 {
		return "Correct"
	}
	return "Why it came back"
}

func (v comebackView) causes() view.Field {
	f := v.Form.Field("cause", "What brought it back").Need()
	for _, c := range comeback.Causes {
		f.Options = append(f.Options, view.Option{Value: string(c), Text: text.Capital(c.Words()), Hint: c.Hint()})
	}
	return f
}

func (v comebackView) covers() view.Field {
	open := view.Option{Value: string(docket.CoverOpen), Text: "The owner decides", Hint: "It can’t be made ready before that, but with a reason."}
	return v.Form.Field("cover", "Under warranty").Need().WithOptions(
		view.Option{Value: string(docket.Covered), Text: "Covered", Hint: "Nothing is charged, and nobody need be asked."},
		view.Option{Value: string(docket.NotCovered), Text: "Not covered", Hint: "It goes the usual way, with an estimate."}, open)
}
