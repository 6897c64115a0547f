package web

import (
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"time"

	"github.com/go-chi/chi/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/staff"
	"ledgerwheel/store"
	"ledgerwheel/web/view"
)

// sheets are the pages of a docket, in the order of the work.
var sheets = []struct{ slug, text string }{
	{"", "Overview"}, {"intake", "Intake"}, {"diagnosis", "Diagnosis"}, {"estimate", "Estimate"}, {"parts", "Parts"},
	{"service", "Service"}, {"regulation", "Regulation"}, {"advice", "Advice"}, {"trial", "Trial"}, {"final-test", "Final test"}, {"hand-over", "Hand-over"},
	{"journal", "Journal"},
}

// sheetsAtTheBench are those from which the bench tools are opened.
var sheetsAtTheBench = []string{"diagnosis", "parts", "service", "bench"}

// pathNumber reads the docket's number from the address. Anything else is not found: addresses are not typed.
func pathNumber(r *http.Request) (docket.Number, error) {
	n, err := docket.ParseNumber(chi.URLParam(r, "number"))
	if err != nil {
		return docket.Number{}, fmt.Errorf("%w: %w", domain.ErrNotFound, err)
	}
	return n, nil
}

// pathID reads the id of a record from the address.
func pathID(r *http.Request, name string) (int64, error) {
	id, err := strconv.ParseInt(chi.URLParam(r, name), 10, 64)
	if err != nil || id <= 0 {
		return 0, domain.ErrNotFound
	}
	return id, nil
}

// changeOf says which docket a form changes, as it stood when the person saw it. Forms that only add
// carry no version.
func (s *Server) changeOf(r *http.Request, f *form) (store.Change, error) {
	n, err := pathNumber(r)
	if err != nil {
		return store.Change{}, err
	}
	c := store.Change{Number: n, By: actor(r), At: s.now()}
	if typed := f.Text("version"); typed != "" {
		if c.Version, err = strconv.ParseInt(typed, 10, 64); err != nil {
			return store.Change{}, badRequest(err)
		}
	}
	return c, nil
}

// docketPage gives the layout's and the shell's part of a sheet.
func (s *Server) docketPage(r *http.Request, h store.Head, sheet string) (view.Page, view.DocketView) {
	number := h.Docket.Number.String()
	title := number
	d := view.DocketView{
		Number: number, Watch: watchWords(h), Customer: h.Customer.Name, Place: h.Docket.Place.String(),
		Promised: s.day(r, h.Docket.PromisedOn), Overdue: h.Docket.Overdue(s.today(r)),
		Rail: railOf(h.Docket), Version: strconv.FormatInt(h.Docket.Version, 10), Closed: h.Docket.Closed(),
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
	if slices.Contains(sheetsAtTheBench, sheet) && may(r, staff.UseBenchTools) {
		d.Bench = benchLinks(view.DocketURL(number, "bench/"))
	}
	p := s.page(r, title)
	for i := range p.Nav {
		p.Nav[i].Current = p.Nav[i].Href == "/dockets"
	}
	return p, d
}

func watchWords(h store.Head) string {
	if h.Watch.Model == "" {
		return h.Watch.Maker
	}
	return h.Watch.Maker + " " + h.Watch.Model
}

// railOf shows how far the docket has come. A stage before the present one counts as done; parts is skipped
// by watches that need none, which only the journal tells, so it shows as done all the same.
func railOf(d docket.Docket) view.RailView {
	var rail view.RailView
	now := d.Stage.Order()
	for i, st := range docket.Rail() {
		v := view.StageView{Name: st.Label(), State: view.StageNext}
		switch {
		case now < 0:
			v.State = view.StageSkipped
		case i < now || d.Stage == docket.StageHandedOver:
			v.State = view.StageDone
		case i == now:
			v.State = view.StageNow
		}
		rail.Stages = append(rail.Stages, v)
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

// today is the civil day in the shop, as midnight UTC, the form in which the domain keeps days.
func (s *Server) today(r *http.Request) time.Time {
	v, _ := viewerOf(r.Context())
	return civil(s.now().In(v.Shop.Location()))
}

func civil(t time.Time) time.Time {
	y, m, d := t.Date()
	return time.Date(y, m, d, 0, 0, 0, 0, time.UTC)
}

// day writes a civil day, or nothing for none.
func (s *Server) day(_ *http.Request, t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.Format("Mon 2 Jan 2006")
}

// momentLayout is how a point in time is written, always in the shop's zone.
const momentLayout = "2 Jan 2006, 15:04"

// moment writes a point in time in the shop's zone.
func (s *Server) moment(r *http.Request, t time.Time) string {
	if t.IsZero() {
		return ""
	}
	v, _ := viewerOf(r.Context())
	return t.In(v.Shop.Location()).Format(momentLayout)
}
