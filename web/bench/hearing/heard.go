package hearing

import (
	"net/http"
	"strconv"
	"time"

	"ledgerwheel/domain/figure"
	"ledgerwheel/domain/heard"
	"ledgerwheel/domain/recorder"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/timing"
	"ledgerwheel/domain/watch"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/view"
)

// heardRoutes are the ways of a recording: sent in, looked at, corrected, kept as a reading, and listened to again.
func (s *Room) heardRoutes() []page.Route {
	take := page.Needs(staff.TakeReadings)
	return []page.Route{
		page.Get("/listen/upload", take, s.showUpload),
		page.Post("/listen/upload", take, s.uploadSound),
		page.Get("/listen/heard/{recording}", take, s.showRecording),
		page.Get("/listen/heard/{recording}/sound", take, s.sendRecording),
		page.Post("/listen/heard/{recording}/instants", take, s.correctRecording),
		page.Post("/listen/heard/{recording}/docket", take, s.takeRecording),
		page.Post("/listen/heard/{recording}/discard", take, s.discardRecording),
		page.Get("/dockets/{number}/listen/upload", take, s.showDocketUpload),
		page.Post("/dockets/{number}/listen/upload", take, s.uploadSound),
		page.Get("/dockets/{number}/listen/heard/{heard}", take, s.showDocketRecording),
		page.Get("/dockets/{number}/listen/heard/{heard}/sound", take, s.sendDocketRecording),
		page.Post("/dockets/{number}/listen/heard/{heard}/instants", take, s.correctDocketRecording),
		page.Post("/dockets/{number}/listen/heard/{heard}/keep", take, s.keepRecording),
		page.Post("/dockets/{number}/listen/heard/{heard}/run-down", take, s.keepRunDown),
		page.Post("/dockets/{number}/listen/heard/{heard}/discard", take, s.discardDocketRecording),
		page.Get("/dockets/{number}/heard/{kept}", page.Needs(staff.ViewDockets), s.showHeard),
		page.Get("/dockets/{number}/heard/{kept}/sound", page.Needs(staff.ViewDockets), s.sendHeard),
	}
}

// soundUpload is the form that a recording is sent in by. The action of a docket's is below its own address; number is
// "" where there is none.
func soundUpload(f *page.Form, number string, calibre watch.Calibre, crownHour int,
	recorders []recorder.Recorder) soundUploadForm {
	v := soundUploadForm{Form: f.View(), Action: uploadURL(number), MaxMB: maxSoundMB,
		Positions: positionOptions(crownHour)}
	if calibre.BeatsPerHour > 0 {
		v.Beats = strconv.Itoa(calibre.BeatsPerHour)
	}
	if calibre.LiftAngleDeg > 0 {
		v.Lift = figure.Plain(calibre.LiftAngleDeg)
	}
	for _, r := range recorders {
		if r.Retired() {
			continue
		}
		text := r.Name
		if r.Calibration == nil {
			text += ", never calibrated"
		}
		v.Recorders = append(v.Recorders, view.Option{Value: page.Itoa64(r.ID), Text: text})
	}
	v.Recorders = append(v.Recorders, view.Option{Value: "0", Text: "another one, not in the list"})
	return v
}

// blankUpload is what the form holds before anything is typed.
func blankUpload(calibre watch.Calibre) *page.Form {
	f := page.EmptyForm()
	f.Values.Set("hours", "0")
	f.Values.Set("position", string(timing.DialUp))
	if calibre.LiftAngleDeg > 0 { // else one is assumed, and called so
		f.Values.Set("lift_angle", figure.Plain(calibre.LiftAngleDeg))
	}
	return f
}

// statedOf is what a calibre says of its watch.
func statedOf(calibre watch.Calibre) heard.Stated {
	return heard.Stated{Calibre: calibre.Name, BeatsPerHour: float64(calibre.BeatsPerHour), LiftAngleDeg: calibre.LiftAngleDeg}
}

// answered notes in the facts that a person said that it is the right watch; where something speaks against that and
// nobody said so, the field of the form asks.
func (s *Room) answered(r *http.Request, f *page.Form, field string, stated heard.Stated, facts heard.Facts) heard.Facts {
	clash := stated.Clash(facts)
	switch {
	case clash == "":
	case f.Checked(field):
		facts.RightWatch = &heard.RightWatch{By: page.Actor(r).Name, At: s.Now().UTC().Truncate(time.Second), Asked: clash + " " + heard.RightWatchQuestion}
	default:
		f.Fail(field, clash+" "+heard.RightWatchQuestion+" Only once somebody says so it is kept.")
	}
	return facts
}

// positionOptions are the six positions in words, and first that it is not said.
func positionOptions(crownHour int) []view.Option {
	options := []view.Option{{Value: "", Text: "not said"}}
	for _, p := range timing.Positions() {
		options = append(options, view.Option{Value: string(p), Text: string(p) + ", " + p.Words(crownHour)})
	}
	return options
}

func uploadURL(number string) string {
	if number == "" {
		return "/listen/upload"
	}
	return view.DocketURL(number, "listen/upload")
}

// recordingURL is where a recording is looked at.
func recordingURL(number string, id int64, what string) string {
	path := "/listen/heard/" + page.Itoa64(id)
	if number != "" {
		path = view.DocketURL(number, "listen/heard/"+page.Itoa64(id))
	}
	if what != "" {
		path += "/" + what
	}
	return path
}

func (s *Room) showUpload(w http.ResponseWriter, r *http.Request) error {
	return s.renderUpload(w, r, http.StatusOK, blankUpload(watch.Calibre{}))
}

func (s *Room) renderUpload(w http.ResponseWriter, r *http.Request, status int, f *page.Form) error {
	recorders, err := s.store.Recorders(r.Context())
	if err != nil {
		return err
	}
	mine, err := s.store.RecordingsOf(r.Context(), page.Actor(r).StaffID, s.Now())
	if err != nil {
		return err
	}
	p := s.Page(r, "Listen to a recording")
	p.Scripts = append(p.Scripts, "js/sound-upload.js")
	return page.Render(w, r, status, soundUploadPage(p, soundUpload(f, "", watch.Calibre{}, 0, recorders),
		s.heardRows(r, mine)))
}

func (s *Room) showDocketUpload(w http.ResponseWriter, r *http.Request) error {
	return s.renderDocketUpload(w, r, http.StatusOK, nil)
}

// renderDocketUpload shows the form of a docket; nil stands for one in which nothing is typed.
func (s *Room) renderDocketUpload(w http.ResponseWriter, r *http.Request, status int, f *page.Form) error {
	n, err := page.PathNumber(r)
	if err != nil {
		return err
	}
	head, err := s.store.Head(r.Context(), n)
	if err != nil {
		return err
	}
	recorders, err := s.store.Recorders(r.Context())
	if err != nil {
		return err
	}
	if f == nil {
		f = blankUpload(head.Calibre)
	}
	p, d := s.DocketPage(r, head, "regulation")
	p.Scripts = append(p.Scripts, "js/sound-upload.js")
	return page.Render(w, r, status, docketSoundUpload(p, d, soundUpload(f, d.Number, head.Calibre, head.Watch.CrownAt,
		recorders)))
}

// heardRows lists a person's recordings.
func (s *Room) heardRows(r *http.Request, mine []store.Recording) []heardRow {
	rows := make([]heardRow, len(mine))
	for i, rec := range mine {
		row := heardRow{Name: rec.FileName, Href: recordingURL("", rec.ID, ""), Sent: s.Moment(r, rec.SentAt),
			Expires: s.Moment(r, rec.ExpiresAt)}
		switch s.standingOf(rec) {
		case store.RecordingHeard:
			rate, _, _ := rec.Facts.Figures()
			row.Figures = timing.Rate.Format(rate)
		case store.RecordingListening:
			row.State = "being listened to"
		case interrupted:
			row.State = "interrupted"
		default:
			row.State = "no figures"
		}
		rows[i] = row
	}
	return rows
}
