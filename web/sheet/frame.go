// Package sheet is a docket's frame: its head and rail, change and save, conflict, moves, overview and journal.
package sheet

import (
	"context"
	"net/http"
	"slices"
	"strconv"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/money"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/tongue"
	"ledgerwheel/domain/visit"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/view"
)

// Store is what a docket's frame asks of the record.
type Store interface {
	AtRisk(ctx context.Context) (store.AtRisk, error)
	AnswerQuestion(ctx context.Context, c store.Change, id int64, answer string) error
	Assign(ctx context.Context, c store.Change, benchID int64) error
	ChangesSince(ctx context.Context, n docket.Number, version int64) ([]docket.Entry, error)
	JournalSheet(ctx context.Context, n docket.Number, upTo int64) (store.JournalSheet, error)
	Move(ctx context.Context, c store.Change, to docket.Stage, a docket.Act, benchID int64) error
	MoveWatch(ctx context.Context, c store.Change, p docket.Place) error
	Overview(ctx context.Context, n docket.Number) (store.Overview, error)
}

// Frame is what every sheet of a docket stands in, and the sheets that belong to no door: overview, moves, journal.
type Frame struct {
	*page.Host
	store Store
	tools func(under string) []view.BenchLink
}

// New returns the frame over a record; tools lists the bench tools below an address.
func New(host *page.Host, store Store, tools func(under string) []view.BenchLink) *Frame {
	return &Frame{Host: host, store: store, tools: tools}
}

// Routes are the rows of the table of routes that lead here.
func (s *Frame) Routes() []page.Route { return s.docketRoutes() }

// sheetTitles are what the sheets of a docket are called.
var sheetTitles = map[string]string{"intake": "Intake", "diagnosis": "Diagnosis", "estimate": "Estimate",
	"parts": "Parts", "service": "Service", "regulation": "Regulation", "advice": "Advice", "poising": "Poising",
	"trial":      "Trial",
	"final-test": "Final test", "hand-over": "Hand-over", "told": "What is told", "comeback": "Comeback", "post": "By post", "loan": "Loan watch", "journal": "Journal"}

// sheetsAtTheBench are those from which the bench tools are opened.
var sheetsAtTheBench = []string{"diagnosis", "parts", "service", "bench"}

// DocketPage gives the layout's and the shell's part of a sheet.
func (s *Frame) DocketPage(r *http.Request, h store.Head, sheet string) (view.Page, view.DocketView) {
	viewer, _ := page.ViewerOf(r.Context())
	number, today := h.Docket.Number.String(), s.Today(r)
	d := view.DocketView{
		Number: number, Watch: WatchWords(h), Customer: h.Customer.Name, Phone: h.Customer.PhoneIn(viewer.Shop.PhoneRegion),
		Place: h.Docket.Place.String(), Promised: h.Docket.PromiseWords(today), Late: h.Docket.Overdue(today),
		Rail: railOf(h, sheet, viewer.Member.Role), Version: versionSeen(r, h.Docket.Version), Closed: h.Docket.Closed(),
	}
	if h.Customer.PhoneE164 != "" {
		d.Tel = "tel:" + h.Customer.PhoneE164
	}
	if t := h.Customer.Tongue; t != "" && t != tongue.Of(viewer.Shop.Locale) {
		d.Speaks = t.Words()
	}
	if h.Bench != "" {
		d.Place += ", " + h.Bench
	}
	if len(h.With) > 0 {
		d.With, d.TogetherHref = visit.TogetherWords(h.With), VisitURL(visit.Number(h.VisitID))
	}
	d.LoanOut = h.Facts.LoanOut
	if h.Facts.DueMinor > 0 {
		d.Due = money.Format(h.Facts.DueMinor, h.Docket.Currency, viewer.Shop.Locale)
	}
	if !d.Closed {
		d.Waits = docket.WaitsFor(h.Docket.Stage, h.Facts)
		d.Next = nextOf(h, sheet, page.Actor(r))
	}
	title := number
	if name := sheetTitles[sheet]; name != "" {
		title = name + " of " + number
	}
	if slices.Contains(sheetsAtTheBench, sheet) && page.May(r, staff.UseBenchTools) {
		d.Bench = s.tools(view.DocketURL(number, "bench/"))
	}
	p := s.Page(r, title)
	for i := range p.Nav {
		p.Nav[i].Current = p.Nav[i].Href == "/dockets"
	}
	return p, d
}

// versionSeen is the version that a form shown again goes out with: the one that whoever typed it had seen, so that what
// others changed since is not agreed to unseen. A page not typed on yet shows the newest.
func versionSeen(r *http.Request, newest int64) string {
	if typed := r.PostForm.Get("version"); typed != "" {
		return typed
	}
	return strconv.FormatInt(newest, 10)
}
