package web

import (
	"context"
	"net/http"
	"strconv"
	"time"

	"ledgerwheel/domain/acoustic"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/heard"
	"ledgerwheel/domain/recorder"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/timing"
	"ledgerwheel/domain/watch"
	"ledgerwheel/store"
	"ledgerwheel/web/view"
)

type heardStore interface {
	AddRecording(ctx context.Context, in store.NewRecording) (int64, error)
	RecordingHeardAs(ctx context.Context, id int64, r acoustic.Result, f heard.Facts) error
	RecordingRefusedFor(ctx context.Context, id int64, reason string) error
	CorrectRecording(ctx context.Context, id int64, f heard.Facts) error
	TakeRecording(ctx context.Context, id int64, n docket.Number) error
	DiscardRecording(ctx context.Context, id int64) ([][32]byte, error)
	ExpireRecordings(ctx context.Context, now time.Time) ([][32]byte, error)
	Recording(ctx context.Context, id int64) (store.Recording, error)
	RecordingsOf(ctx context.Context, staffID int64, now time.Time) ([]store.Recording, error)
	RecordingSheet(ctx context.Context, n docket.Number, id int64) (store.RecordingSheet, error)
	KeepHeard(ctx context.Context, c store.Change, in store.HeardReading) (int64, error)
	KeepRunDown(ctx context.Context, c store.Change, in store.RunDown) (int64, error)
	HeardSheet(ctx context.Context, n docket.Number, id int64) (store.HeardSheet, error)
	KeptSound(ctx context.Context, id int64) (store.Heard, error)
	SoundNamed(ctx context.Context, sum [32]byte) (bool, error)
}

// heardRoutes are the ways of a recording: sent in, looked at, corrected, kept as a reading, and listened to again.
func (s *Server) heardRoutes() []route {
	take := needs(staff.TakeReadings)
	return []route{
		{http.MethodGet, "/listen/upload", take, s.showUpload},
		{http.MethodPost, "/listen/upload", take, s.uploadSound},
		{http.MethodGet, "/listen/heard/{recording}", take, s.showRecording},
		{http.MethodGet, "/listen/heard/{recording}/sound", take, s.sendRecording},
		{http.MethodPost, "/listen/heard/{recording}/instants", take, s.correctRecording},
		{http.MethodPost, "/listen/heard/{recording}/docket", take, s.takeRecording},
		{http.MethodPost, "/listen/heard/{recording}/discard", take, s.discardRecording},
		{http.MethodGet, "/dockets/{number}/listen/upload", take, s.showDocketUpload},
		{http.MethodPost, "/dockets/{number}/listen/upload", take, s.uploadSound},
		{http.MethodGet, "/dockets/{number}/listen/heard/{heard}", take, s.showDocketRecording},
		{http.MethodGet, "/dockets/{number}/listen/heard/{heard}/sound", take, s.sendDocketRecording},
		{http.MethodPost, "/dockets/{number}/listen/heard/{heard}/instants", take, s.correctDocketRecording},
		{http.MethodPost, "/dockets/{number}/listen/heard/{heard}/keep", take, s.keepRecording},
		{http.MethodPost, "/dockets/{number}/listen/heard/{heard}/run-down", take, s.keepRunDown},
		{http.MethodPost, "/dockets/{number}/listen/heard/{heard}/discard", take, s.discardDocketRecording},
		{http.MethodGet, "/dockets/{number}/heard/{kept}", needs(staff.ViewDockets), s.showHeard},
		{http.MethodGet, "/dockets/{number}/heard/{kept}/sound", needs(staff.ViewDockets), s.sendHeard},
	}
}

// soundUpload is the form that a recording is sent in by. The action of a docket's is below its own address; number is ""
// where there is none.
func soundUpload(f *form, number string, calibre watch.Calibre, crownHour int, recorders []recorder.Recorder) view.SoundUploadForm {
	v := view.SoundUploadForm{Form: f.view(), Action: uploadURL(number), MaxMB: maxSoundMB, Positions: positionOptions(crownHour)}
	if calibre.BeatsPerHour > 0 {
		v.Beats = strconv.Itoa(calibre.BeatsPerHour)
	}
	for _, r := range recorders {
		if r.Retired() {
			continue
		}
		text := r.Name
		if r.Calibration == nil {
			text += ", never calibrated"
		}
		v.Recorders = append(v.Recorders, view.Option{Value: itoa64(r.ID), Text: text})
	}
	v.Recorders = append(v.Recorders, view.Option{Value: "0", Text: "another one, not in the list"})
	return v
}

// blankUpload is what the form holds before anything is typed.
func blankUpload(calibre watch.Calibre) *form {
	f := emptyForm()
	f.Values.Set("hours", "0")
	f.Values.Set("position", string(timing.DialUp))
	f.Values.Set("lift_angle", strconv.FormatFloat(liftAngle(calibre), 'f', -1, 64))
	return f
}

func liftAngle(calibre watch.Calibre) float64 {
	if calibre.LiftAngleDeg > 0 {
		return calibre.LiftAngleDeg
	}
	return acoustic.DefaultLiftAngleDeg
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
	path := "/listen/heard/" + itoa64(id)
	if number != "" {
		path = view.DocketURL(number, "listen/heard/"+itoa64(id))
	}
	if what != "" {
		path += "/" + what
	}
	return path
}

func (s *Server) showUpload(w http.ResponseWriter, r *http.Request) error {
	return s.renderUpload(w, r, http.StatusOK, blankUpload(watch.Calibre{}))
}

func (s *Server) renderUpload(w http.ResponseWriter, r *http.Request, status int, f *form) error {
	recorders, err := s.store.Recorders(r.Context())
	if err != nil {
		return err
	}
	mine, err := s.store.RecordingsOf(r.Context(), actor(r).StaffID, s.now())
	if err != nil {
		return err
	}
	p := s.page(r, "Listen to a recording")
	p.Scripts = append(p.Scripts, "js/sound-upload.js")
	return render(w, r, status, view.SoundUploadPage(p, soundUpload(f, "", watch.Calibre{}, 0, recorders), s.heardRows(r, mine)))
}

func (s *Server) showDocketUpload(w http.ResponseWriter, r *http.Request) error {
	return s.renderDocketUpload(w, r, http.StatusOK, nil)
}

// renderDocketUpload shows the form of a docket; nil stands for one in which nothing is typed.
func (s *Server) renderDocketUpload(w http.ResponseWriter, r *http.Request, status int, f *form) error {
	n, err := pathNumber(r)
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
	p, d := s.docketPage(r, head, "regulation")
	p.Scripts = append(p.Scripts, "js/sound-upload.js")
	return render(w, r, status, view.DocketSoundUpload(p, d, soundUpload(f, d.Number, head.Calibre, head.Watch.CrownAt, recorders)))
}

// heardRows lists a person's recordings.
func (s *Server) heardRows(r *http.Request, mine []store.Recording) []view.HeardRow {
	rows := make([]view.HeardRow, len(mine))
	for i, rec := range mine {
		row := view.HeardRow{Name: rec.FileName, Href: recordingURL("", rec.ID, ""), Sent: s.moment(r, rec.SentAt), Expires: s.moment(r, rec.ExpiresAt)}
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
