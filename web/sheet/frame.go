package web

import (
	"net/http"
	"slices"
	"strconv"

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
		d.Bench = s.benchTools(view.DocketURL(number, "bench/"))
	}
	p := s.page(r, title)
	for i := range p.Nav {
		p.Nav[i].Current = p.Nav[i].Href == "/dockets"
	}
	return p, d
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
