package handover

import "ledgerwheel/web/view"

// togetherView is the page on which several watches of one ticket leave. Form is nil where none can.
type togetherView struct {
	Number, URL, VisitURL string
	Customer, CustomerURL string
	Phone                 string
	Problems              map[string]string
	Watches               []togetherWatch
	Form                  *togetherForm
	Why                   string // there is no form
	Papers                []view.LinkView
	Money                 string // of those that have left
}

// togetherWatch is one of the watches. Tick is nil for one that stays, or has left; its Word and Text say why.
type togetherWatch struct {
	Number, Title, URL string
	Serial             string // by which watches of one name are told apart
	Photo              *view.PhotoView
	Tick               *view.Field
	Version            string
	Problem            string // of one without a tick
	Mark               view.MarkKind
	Word, Text         string
	Links              []view.LinkView
	Due                string // "" for nothing
	Lines              []besideLine
	OldParts           *view.Field // nil where there can be none
	Kept               []string
	Gone               bool
}

// togetherForm is what is said once for all that go. Pay is nil where nothing is due for any, Card where none gets one.
type togetherForm struct {
	Sum    sumView
	Pay    *payFields
	Ticket view.Field
	Said   string
	Check  view.ButtonView
	Other  otherFields
	Card   *view.Field
	Reason *view.Field
	Later  bool
	Button view.ButtonView
}

// sumView is what is due for the watches that are ticked; Minor goes back with the form.
type sumView struct{ Due, Minor string }

// problemOrder is that of the fields on the page.
func (v togetherView) problemOrder() []string {
	order := []string{"go"}
	for _, w := range v.Watches {
		order = append(order, "go-"+w.Number, "old_parts-"+w.Number)
	}
	return append(order, "pay", "given-cash", "given-card", "given-transfer", "given-other", "given-note", "ticket", "collected_by", "shown",
		"done", "identity", "card", "reason", "")
}
