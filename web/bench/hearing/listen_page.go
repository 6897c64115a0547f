package hearing

import (
	"net/http"

	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/timing"
	"ledgerwheel/web/page"
	"ledgerwheel/web/runs"
	"ledgerwheel/web/sheet"
	"ledgerwheel/web/view"
)

// renderListen shows the page; f says what is typed and what is wrong with it.
func (s *Room) renderListen(w http.ResponseWriter, r *http.Request, status int, b subject, f *page.Form) error {
	v := listenView{Base: "/listen", Form: f.View(), Problem: f.Problems[""], MayClock: page.May(r, staff.ManageRecorders)}
	crown := timing.CrownAtThree
	if b.sheet != nil {
		crown = b.sheet.Head.Watch.CrownAt
	}
	for _, p := range timing.Positions() {
		v.Positions = append(v.Positions, listenPosition{PositionView: runs.PositionView(p, crown),
			Chosen: f.Text("position") == string(p)})
	}
	v.Recorders = runs.Recorders(b.recorders, s.Today(r))
	p := s.Page(r, "Listen")
	v.Upload, v.Back = uploadURL(""), view.LinkView{Text: "Today", Href: "/"}
	if b.sheet != nil {
		p.Title = "Listen to " + b.sheet.Head.Docket.Number.String()
		s.docketListen(r, b, &v)
	}
	p.Scripts = append(p.Scripts, "js/listen.js")
	return page.Render(w, r, status, listenPage(p, v))
}

func (s *Room) docketListen(r *http.Request, b subject, v *listenView) {
	head := b.sheet.Head
	_, d := s.DocketPage(r, head, "regulation")
	v.Number = head.Docket.Number.String()
	v.Base = view.DocketURL(v.Number, "listen")
	v.Upload, v.Back = uploadURL(v.Number), view.LinkView{Text: "Regulation", Href: view.DocketURL(v.Number, "regulation")}
	v.Docket, v.Version, v.Watch = true, d.Version, sheet.WatchWords(head)
	options := runs.Choices(s.Host, r, *b.sheet)
	v.Runs = options
	if len(options) == 0 {
		v.NoRun = "No run is taken in the stage " + b.sheet.Head.Docket.Stage.Label() +
			": the watch can be listened to, and nothing is kept."
		if b.sheet.Head.Docket.Closed() {
			v.NoRun = "The watch has left the shop: nothing that is heard is kept."
		}
	}
	if limits, found := b.limits(); found {
		v.JudgedBy, v.JudgedHref = runs.VersionName(limits.Limits), runs.LimitsURL(limits.Limits)
	}
}
