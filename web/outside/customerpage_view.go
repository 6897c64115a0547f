package view

import "strings"

// CustomerPageView is what a customer sees behind their private link, and nothing else.
type CustomerPageView struct {
	Form     Form
	Notice   string // why an answer was not taken
	Number   string
	Watch    string
	Status   string // in plain words
	Promised string
	Shop     string
	Contact  []string
	Revision *RevisionView
	Answered string
	InForce  string
	Optional []Option
	Action   string
	Photos   []PhotoView
}

func (v CustomerPageView) waiting() bool {
	return v.Revision != nil && v.Revision.Waiting && !v.Revision.Expired && v.Answered == ""
}

func (v CustomerPageView) questions() string {
	return "Questions? " + strings.Join(append([]string{v.Shop}, v.Contact...), ", ") + "."
}
