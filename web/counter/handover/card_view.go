package handover

import (
	"github.com/a-h/templ"

	"ledgerwheel/web/view"
)

// cardPageView is the page of a docket's warranty cards.
type cardPageView struct {
	Problems map[string]string
	Now      *cardStanding   // the card issued last; nil for none
	Altered  bool            // what is kept of it no longer proves itself
	Faces    templ.Component // the card as it prints; nil for none
	Draft    bool            // the faces show a card that is not issued
	Version  string

	MayIssue, MayReissue, MayVoid bool
	ByOrder                       bool   // it can be issued as drawn, under the owner's standing order
	Why                           string // why none can be issued
	Form                          *cardFormView
	Void                          view.Field

	History []cardRowView // newest first
	More    bool
}

// cardStanding is how it stands with a card.
type cardStanding struct {
	Mark                 view.MarkKind
	Word, Text           string
	Number, Issued, Term string
	CheckHref, Check     string // where anyone may check it
	Print, Comeback      *view.LinkView
}

// cardFormView asks what a card is to say. Months and Starts are nil for a reissue, which keeps the term; Starts also
// after the hand-over, when Term says from when it runs.
type cardFormView struct {
	Action, Heading, Button, TestID string
	Work, Covers                    view.Field
	Months, Starts, Reason          *view.Field
	Term                            string
}

// cardRowView is one card of a docket's history.
type cardRowView struct {
	Number, Href, Issued, By string
	Mark                     view.MarkKind
	Word, Note               string
}

func cardFacesHeading(draft bool) string {
	if draft {
		return "How it would look"
	}
	return "The card"
}

func cardFormNote(reissue bool) string {
	if reissue {
		return "The new card takes the place of the one that stands, under the same term. Serials and final rates come " +
			"from the record as it is now."
	}
	return "Watch, serials and final rates come from the record. Once signed, a card is never edited: a mistake is " +
		"corrected by reissuing it."
}

func (v cardPageView) history() view.DataView {
	d := view.DataView{TableView: view.TableView{Caption: "Every card issued, and what became of it", HideCaption: true},
		Stack:   true,
		Columns: []view.Column{{Text: "Number"}, {Text: "Issued"}, {Text: "By"}, {Text: "Now"}}}
	for _, c := range v.History {
		d.Rows = append(d.Rows, view.Row{Head: true, TestID: "card-row",
			Cells: []view.Cell{{Text: c.Number, Href: c.Href, Code: true}, view.Txt(c.Issued),
				{Text: c.By, Auto: true}, {Text: c.Word, Mark: c.Mark, Note: c.Note}}})
	}
	return d
}
