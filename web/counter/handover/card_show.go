package handover

import (
	"fmt"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"github.com/a-h/templ"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/warranty"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/paper"
	"ledgerwheel/web/sheet"
	"ledgerwheel/web/view"
)

// cardBuilder makes the page of a docket's warranty cards.
type cardBuilder struct {
	s     *Room
	r     *http.Request
	sheet store.CardSheet
	typed sheet.Refused
}

func (b cardBuilder) page() (cardPageView, error) {
	v := cardPageView{Problems: b.typed.Problems()}
	newest, any := b.sheet.Newest()
	standing := any && newest.Live()
	var card warranty.Card
	if any {
		var err error
		if card, err = newest.Card(); err != nil {
			v.Altered, standing = true, false
			b.s.Log.Error("warranty card altered", "id", page.RequestIDOf(b.r.Context()), "card", newest.Code, "error", err)
		}
		v.Now = b.standing(newest, card, v.Altered)
	}
	v.MayVoid = any && newest.Live() && page.May(b.r, staff.VoidCard)
	v.Void = b.field(formVoid, "reason", "Why it is void").Need().WithHint("For the shop's own record; whoever checks " +
		"the card is only told that it is void.")
	switch {
	case any && newest.Live():
		v.MayReissue = !v.Altered && page.May(b.r, staff.IssueCard)
	case !warranty.MayIssue(b.sheet.Head.Docket.Stage):
		v.Why = "A warranty card is issued once the watch is ready."
	case page.May(b.r, staff.IssueCard):
		v.MayIssue = true
	case !page.May(b.r, staff.IssueByOrder):
		v.Why = "Warranty cards are issued by " + sheet.RoleNames(staff.IssueCard) + "."
	default:
		viewer, _ := page.ViewerOf(b.r.Context())
		v.Why = warranty.OrderProblem(viewer.Shop.CardByClerk, b.sheet.Head.Facts)
		v.ByOrder = v.Why == ""
	}
	form := b.form(v.MayReissue, card)
	if v.MayIssue || v.MayReissue {
		v.Form = b.wordingForm(form, v.MayReissue)
	}
	var err error
	v.Faces, v.Draft, err = b.faces(standing, v, card)
	for _, c := range b.sheet.Cards {
		v.History = append(v.History, b.row(c))
	}
	v.More = b.sheet.More
	return v, err
}

// faces draws the card that stands or, while one is being made, how it would look.
func (b cardBuilder) faces(standing bool, v cardPageView, card warranty.Card) (templ.Component, bool, error) {
	viewer, _ := page.ViewerOf(b.r.Context())
	typing := b.typed.Form != nil && b.typed.What != formVoid
	switch {
	case standing && !typing:
		newest, _ := b.sheet.Newest()
		return cardFaces(b.s.issuedPaper(card, newest), false)
	case v.MayIssue || v.MayReissue || v.ByOrder:
		w := b.sheet.Suggested
		w.StartsOn = b.s.Today(b.r)
		if typing {
			w = readWording(&page.Form{Values: b.typed.Form.Values, Problems: map[string]string{}})
		}
		draft := b.sheet.Basis.Card(w)
		if v.MayReissue {
			draft.StartsOn, draft.ExpiresOn = card.StartsOn, card.ExpiresOn
		}
		return cardFaces(b.s.cardPaper(draft, page.VoiceOf(b.sheet.Head.Docket.Tongue, viewer.Shop)), true)
	}
	return nil, false, nil
}

// cardFaces is the card as it prints.
func cardFaces(c paper.WarrantyCard, draft bool) (templ.Component, bool, error) {
	sheets, err := paper.Set(c)
	if err != nil {
		return nil, draft, err
	}
	return sheets.Page(), draft, nil
}

// form is the wording as it would be typed: of the card that stands, else as the record suggests.
func (b cardBuilder) form(reissue bool, card warranty.Card) view.Form {
	if b.typed.Form != nil && b.typed.What != formVoid {
		return b.typed.Form.View()
	}
	w := b.sheet.Suggested
	if reissue {
		w = warranty.Wording{WorkDone: card.WorkDone, Covers: card.Covers}
	}
	values := url.Values{"work_done": {strings.Join(w.WorkDone, "\n")}, "covers": {w.Covers},
		"months": {strconv.Itoa(w.Months)}, "starts_on": {b.s.Today(b.r).Format("2006-01-02")}}
	return view.Form{Values: values}
}

func (b cardBuilder) wordingForm(f view.Form, reissue bool) *cardFormView {
	number := b.sheet.Head.Docket.Number.String()
	v := &cardFormView{Action: view.DocketURL(number, "card"), Heading: "Issue the card", Button: "Sign and issue",
		TestID: "issue-card",
		Work: f.Field("work_done", "Work done").Need().WithRows(5).WithHint(fmt.Sprintf("A line for each piece of work, "+
			"at most %d, and %d characters in total.", warranty.MaxCardLines, warranty.MaxCardWork)),
		Covers: f.Field("covers", "What it covers").Need().WithRows(3).WithHint(fmt.Sprintf("At most %d characters. "+
			"Anyone who checks the card can read it.", warranty.MaxCardCovers)),
	}
	if reissue {
		v.Action, v.Heading, v.Button, v.TestID = view.DocketURL(number, "card/reissue"), "Reissue the card",
			"Sign and reissue", "reissue-card"
		reason := b.field(formReissue, "reason", "Why it is reissued").Need().WithHint("Such as: card lost, serial " +
			"corrected. Goes into the journal.")
		v.Reason = &reason
		return v
	}
	months := f.Field("months", "Term").Need().WithUnit("months").WithWidth(view.Quarter)
	v.Months = &months
	if b.sheet.Basis.HandedOverOn.IsZero() {
		starts := f.Field("starts_on", "Runs from").Need().WithHint("The day the customer takes the watch.").WithWidth(view.Third)
		v.Starts = &starts
	} else {
		v.Term = "It runs from the day of hand-over, " + b.s.Day(b.r, b.sheet.Basis.HandedOverOn) + "."
	}
	return v
}

// field is a field of one form of the page; see handOverBuilder.field.
func (b cardBuilder) field(what, name, label string) view.Field {
	f := view.Form{Values: url.Values{}}
	if b.typed.Form != nil && b.typed.What == what {
		return b.typed.Form.View().Field(name, label)
	}
	field := f.Field(name, label)
	field.ID = what + "-" + name
	return field
}

// standing says how it stands with the card issued last.
func (b cardBuilder) standing(c store.CardRow, card warranty.Card, altered bool) *cardStanding {
	v := &cardStanding{Number: c.Code.Grouped(), Issued: b.s.Moment(b.r, c.IssuedAt) + ", " + c.IssuedBy,
		CheckHref: "/w/" + string(c.Code), Check: b.s.checkURL(c.Code)}
	if altered {
		v.Mark, v.Word, v.Text = view.Fail, "altered", "What is kept of this card was altered outside the program. It no "+
			"longer proves itself, and whoever checks it is told so."
		return v
	}
	standing := warranty.StandingOf(card, c.Fate, b.s.Today(b.r))
	v.Mark, v.Word = page.StandingMark(standing), string(standing)
	v.Text = standing.Words()
	v.Term = b.s.Day(b.r, card.StartsOn) + " to " + b.s.Day(b.r, card.ExpiresOn)
	if standing == warranty.Void {
		v.Text += " " + c.Fate.VoidReason
	}
	if c.Live() && page.May(b.r, staff.PrintCard) {
		v.Print = &view.LinkView{Text: "Print the card", Href: view.DocketURL(card.Docket.String(), "papers/warranty-card"),
			TestID: "print-card", Kind: view.Chief}
	}
	h := b.sheet.Head
	if standing == warranty.Genuine && h.Docket.Stage == docket.StageHandedOver && page.May(b.r, staff.TakeIn) {
		v.Comeback = &view.LinkView{Text: "It came back under warranty", Href: comebackURL(h), TestID: "comeback"}
	}
	return v
}

func (b cardBuilder) row(c store.CardRow) cardRowView {
	v := cardRowView{Number: c.Code.Grouped(), Href: "/w/" + string(c.Code), Issued: b.s.Moment(b.r, c.IssuedAt),
		By:   c.IssuedBy,
		Mark: view.Pass, Word: "stands"}
	switch {
	case !c.Fate.VoidedAt.IsZero():
		v.Mark, v.Word = view.Fail, "void"
		v.Note = b.s.Moment(b.r, c.Fate.VoidedAt) + ", " + c.VoidedBy + ": " + c.Fate.VoidReason
	case c.Fate.SupersededBy != "":
		v.Mark, v.Word, v.Note = view.Fail, "replaced", "by "+c.Fate.SupersededBy.Grouped()
	}
	if _, err := c.Card(); err != nil {
		v.Mark, v.Word = view.Fail, "altered"
	}
	return v
}
