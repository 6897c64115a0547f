package told

import "ledgerwheel/web/view"

// toldView is what a customer was told about a docket, and what is still to be told.
type toldView struct {
	Problems map[string]string
	Who      string // the customer's name
	Rather   string // how they would rather be reached, in which language
	ToDo     []toDoView
	Log      *logView // nil for those who may not write
	Now      *nowView
	Story    []storyView
}

// toDoView is a message that waits for a person, or a mail that was refused.
type toDoView struct {
	ID, Heading, Since string
	Refused            string // why the mail server would not have it; "" for what waits for a person
	Subject, Words     string
	Ways               []view.LinkView // dial, open as a text message, print
	Action             string
	Number             string // as people read it; "" unless by telephone
	Said               view.Field
	Why                view.Field
	Way                view.Field
	Open               bool // the fold of other ways
}

// byPhone reports whether it is told on the telephone.
func (v toDoView) byPhone() bool { return v.Number != "" }

// logView is the form of a call or a note.
type logView struct {
	Action, Number string
	Words, SpokeTo view.Field
	Kinds          []view.ButtonView
}

// nowView is the form that tells something by itself.
type nowView struct {
	Action   string
	Topic    view.Field
	Question view.Field
	Tell     view.TellView
	Open     bool
}

// storyView is a line of what was told, said and noted.
type storyView struct {
	At, Datetime, Who, What string
	Mark                    view.MarkKind
	State                   string // in a word; "" for a call or a note
	Why                     string
	Subject, Words          string // in full, folded away; "" for none
	Plain                   string // what was said or noted, shown at once
}
