package outside

import (
	"strings"

	"ledgerwheel/web/priced"
	"ledgerwheel/web/view"
)

// customerPageView is what a customer sees behind their private link, and nothing else.
type customerPageView struct {
	Form     view.Form
	Notice   string // why an answer was not taken
	Number   string
	Watch    string
	Status   string // in plain words
	Promised string
	Shop     string
	Contact  []string
	Revision *priced.RevisionView
	Answered string
	InForce  string
	Optional []view.Option
	Action   string
	Photos   []view.PhotoView
}

func (v customerPageView) waiting() bool {
	return v.Revision != nil && v.Revision.Waiting && !v.Revision.Expired && v.Answered == ""
}

func (v customerPageView) questions() string {
	return "Questions? " + strings.Join(append([]string{v.Shop}, v.Contact...), ", ") + "."
}
