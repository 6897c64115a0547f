package hearing

import (
	"net/http"

	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/timing"
	"ledgerwheel/domain/watch"
	"ledgerwheel/web/page"
	"ledgerwheel/web/runs"
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
	if b.sheet == nil {
		v.Upload = soundUpload(blankUpload(watch.Calibre{}), "", watch.Calibre{}, 0, b.recorders)
		p := s.Page(r, "Listen")
		p.Scripts = append(p.Scripts, "js/listen.js", "js/sound-upload.js")
		return page.Render(w, r, status, listenPage(p, v))
	}
	p, d := s.DocketPage(r, b.sheet.Head, "regulation")
	p.Title = "Listen to " + d.Number
	p.Scripts = append(p.Scripts, "js/listen.js", "js/sound-upload.js")
	s.docketListen(r, b, &v, d)
	return page.Render(w, r, status, listenDocket(p, d, v))
}

func (s *Room) docketListen(r *http.Request, b subject, v *listenView, d view.DocketView) {
	v.Base = view.DocketURL(d.Number, "listen")
	v.Docket, v.Version = true, d.Version
	head := b.sheet.Head
	v.Upload = soundUpload(blankUpload(head.Calibre), d.Number, head.Calibre, head.Watch.CrownAt, b.recorders)
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
