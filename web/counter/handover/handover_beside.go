package handover

import (
	"fmt"
	"strconv"
	"strings"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/finaltest"
	"ledgerwheel/domain/photo"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/text"
	"ledgerwheel/domain/visit"
	"ledgerwheel/domain/warranty"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/sheet"
	"ledgerwheel/web/view"
)

// photosShown is how many photographs are shown beside the form.
const photosShown = 4

// photos are the first ones of how the watch came in.
func (b handOverBuilder) photos() []view.PhotoView {
	var cameIn []store.Photo
	for _, p := range b.sheet.Photos {
		if p.About == photo.OfCondition {
			cameIn = append(cameIn, p)
		}
	}
	var list []view.PhotoView
	for _, p := range sheet.PhotoViews(cameIn) {
		if len(list) < photosShown {
			list = append(list, p.Photo)
		}
	}
	return list
}

// beside is what to know of the watch before it goes, a line for each thing.
func (b handOverBuilder) beside() []besideLine {
	var lines []besideLine
	for _, l := range []*besideLine{b.test(), b.card(), b.waits()} {
		if l != nil {
			lines = append(lines, *l)
		}
	}
	for _, o := range b.sheet.Beside {
		lines = append(lines, b.besideOf(o))
	}
	return lines
}

// besideOf says how it stands with another watch of the ticket.
func (b handOverBuilder) besideOf(o store.Beside) besideLine {
	number := o.Number.String()
	line := besideLine{Name: "Also on this ticket", TestID: "also-" + number, Mark: view.NotMeasured, Word: o.Stage.Label(), Text: o.Watch.Title(),
		Link: &view.LinkView{Text: number, Href: view.DocketURL(number, ""), TestID: "to-also"}}
	switch {
	case o.Closed:
		line.Mark, line.Word = view.Pass, "gone"
	case o.Leaves():
		line.Mark = view.Pass
		line.Link = &view.LinkView{Text: number + ", hand over together", Href: togetherURL(visit.Number(b.sheet.Head.VisitID)), TestID: "to-together"}
	}
	return line
}

// usualDays is after how many days a watch that is not collected is looked at: common practice.
const usualDays = 14

// waits says how long a finished watch has waited, once that is longer than usual.
func (b handOverBuilder) waits() *besideLine {
	h := b.sheet.Head
	if _, leaves := docket.LeavingMove(h.Docket.Stage); !leaves || h.Docket.Closed() {
		return nil
	}
	days := int(b.s.Today(b.r).Sub(b.s.CivilDayOf(b.r, h.MovedAt)).Hours() / 24)
	if days <= usualDays {
		return nil
	}
	return &besideLine{Name: "Not collected", TestID: "waits-line", Mark: view.Undecided, Word: strconv.Itoa(days) + " days",
		Link: &view.LinkView{Text: "Letters and proofs", Href: view.DocketURL(h.Docket.Number.String(), "uncollected"), TestID: "to-uncollected"}}
}

var testMarks = map[finaltest.Outcome]view.MarkKind{finaltest.OutcomePass: view.Pass, finaltest.OutcomeFail: view.Fail}

// test is the final test's verdict in a line, and the final run's beside it; nil where the watch had neither.
func (b handOverBuilder) test() *besideLine {
	f := b.sheet.Head.Facts
	line := &besideLine{Name: "Final test", TestID: "test-line", Mark: view.NotMeasured, Word: "none"}
	if len(b.sheet.Tests) > 0 {
		t := b.sheet.Tests[0]
		verdict := t.Sheet.Verdict()
		line.Mark, line.Word = view.Undecided, "not done"
		if mark, done := testMarks[verdict]; done {
			line.Mark, line.Word = mark, string(verdict)
		}
		line.Text = b.s.Day(b.r, b.s.CivilDayOf(b.r, t.At)) + ", " + t.By + "."
	} else if f.RunOutcome == docket.NotYet {
		return nil
	}
	if f.RunAfterWork {
		line.Text = text.Capital(line.Text + " Final run: " + f.RunOutcome.Words() + ".")
	}
	return line
}

// papers are those that go with the watch.
func (b handOverBuilder) papers() []view.LinkView {
	number := b.sheet.Head.Docket.Number.String()
	var links []view.LinkView
	if len(b.sheet.Payments) > 0 && page.May(b.r, staff.PrintPapers) {
		links = append(links, view.LinkView{Text: "Print the " + strings.ToLower(receiptName(writtenDown(b.sheet.Shop))), Href: view.DocketURL(number, "papers/receipt"),
			TestID: "to-receipt"})
	}
	if len(b.sheet.Payments) > 0 && len(b.sheet.Beside) > 0 && page.May(b.r, staff.PrintPapers) {
		links = append(links, view.LinkView{Text: "Receipt of the whole ticket",
			Href: sheet.VisitURL(visit.Number(b.sheet.Head.VisitID)) + "/papers/receipt", TestID: "to-visit-receipt"})
	}
	if b.sheet.HasInvoice() && page.May(b.r, staff.PrintPapers) {
		links = append(links, view.LinkView{Text: "Invoice", Href: view.DocketURL(number, "papers/invoice"),
			TestID: "to-invoice"})
	}
	if b.sheet.HasInvoice() || len(b.sheet.Invoices) > 0 {
		links = append(links, view.LinkView{Text: "Billing", Href: view.DocketURL(number, "invoices"), TestID: "to-invoices"})
	}
	if c := b.sheet.Card; c != nil && c.Live() && page.May(b.r, staff.PrintCard) {
		links = append(links, view.LinkView{Text: "Print the warranty card", Href: view.DocketURL(number, "papers/warranty-card"),
			TestID: "to-card-paper"})
	}
	return links
}

// card says how it stands with the docket's warranty card; nil where it will have none.
func (b handOverBuilder) card() *besideLine {
	h := b.sheet.Head
	c := b.sheet.Card
	if c == nil && !warranty.MayIssue(h.Docket.Stage) {
		return nil
	}
	line := &besideLine{Name: "Warranty card", TestID: "card-line", Mark: view.NotMeasured, Word: "none yet", Text: "No warranty card has been issued.",
		Link: &view.LinkView{Text: "To the warranty card", Href: view.DocketURL(h.Docket.Number.String(), "card"),
			TestID: "to-card"}}
	switch {
	case c == nil && b.cardProblem() == "":
		line.Text, line.Link = "", nil // the form offers it
	case c == nil && page.May(b.r, staff.IssueCard):
		line.Link.Text = "Issue the warranty card"
	case c == nil:
		line.Text = fmt.Sprintf("No warranty card has been issued; it is for %s to issue.", sheet.RoleNames(staff.IssueCard))
	case !c.Fate.VoidedAt.IsZero():
		line.Mark, line.Word, line.Text = view.Fail, "void", "Card "+c.Code.Grouped()+" was declared void."
	default:
		line.Mark, line.Word, line.Text = view.Pass, "issued", "Card "+c.Code.Grouped()+", "+b.s.Moment(b.r, c.IssuedAt)+"."
	}
	return line
}
