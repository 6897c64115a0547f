// Package sheet is a docket's frame: its head and rail, change and save, conflict, moves, overview and journal.
package sheet

import (
	"context"
	"net/http"
	"slices"
	"strconv"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/staff"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/view"
)

// Store is what a docket's frame asks of the record.
type Store interface {
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

// sheets are the pages of a docket, in the order of the work.
var sheets = []struct{ slug, text string }{
	{"", "Overview"}, {"intake", "Intake"}, {"diagnosis", "Diagnosis"}, {"estimate", "Estimate"}, {"parts", "Parts"},
	{"service", "Service"}, {"regulation", "Regulation"}, {"advice", "Advice"}, {"trial", "Trial"},
	{"final-test", "Final test"}, {"hand-over", "Hand-over"},
	{"journal", "Journal"},
}

// sheetsAtTheBench are those from which the bench tools are opened.
var sheetsAtTheBench = []string{"diagnosis", "parts", "service", "bench"}

// DocketPage gives the layout's and the shell's part of a sheet.
func (s *Frame) DocketPage(r *http.Request, h store.Head, sheet string) (view.Page, view.DocketView) {
	number := h.Docket.Number.String()
	title := number
	d := view.DocketView{
		Number: number, Watch: WatchWords(h), Customer: h.Customer.Name, Place: h.Docket.Place.String(),
		Promised: s.Day(r, h.Docket.PromisedOn), Overdue: h.Docket.Overdue(s.Today(r)),
		Rail: railOf(h.Docket, h.Entered), Version: versionSeen(r, h.Docket.Version), Closed: h.Docket.Closed(),
	}
	if !d.Closed {
		d.Waits = docket.WaitsFor(h.Docket.Stage, h.Facts)
	}
	for _, sh := range sheets {
		if sh.slug == sheet && sheet != "" {
			title = sh.text + " of " + number
		}
		d.Tabs = append(d.Tabs, view.TabView{Text: sh.text, Href: view.DocketURL(number, sh.slug), Current: sh.slug == sheet,
			TestID: "tab-" + sh.slug})
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

// railStates are how the page draws a docket's progress.
var railStates = map[docket.Progress]view.StageState{docket.StageDone: view.StageDone, docket.StageNow: view.StageNow,
	docket.StageToCome: view.StageNext, docket.StageNotTaken: view.StageSkipped}

// railOf shows how far the docket has come.
func railOf(d docket.Docket, entered []docket.Stage) view.RailView {
	var rail view.RailView
	for _, step := range docket.Along(d.Stage, entered) {
		rail.Stages = append(rail.Stages, view.StageView{Name: step.Stage.Label(), State: railStates[step.Progress]})
	}
	if d.Stage.Exit() {
		exit := view.StageView{Name: d.Stage.Label(), State: view.StageNow}
		if d.Closed() {
			exit.Name += ", handed back"
		}
		rail.Exit = &exit
	}
	return rail
}
