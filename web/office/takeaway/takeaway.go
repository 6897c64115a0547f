package takeaway

import (
	"net/http"
	"time"

	"ledgerwheel/web/page"
	"ledgerwheel/web/view"
)

func (s *Room) show(w http.ResponseWriter, r *http.Request) error {
	f := page.EmptyForm()
	f.Values["with"] = []string{withPapers, withPictures, withSounds}
	return page.Render(w, r, http.StatusOK, takeAwayPage(s.Page(r, "Take the record away"), takeAwayView{f.View()}))
}

// What may come with the tables.
const (
	withPapers   = "papers"
	withPictures = "photographs"
	withSounds   = "sounds"
)

// send streams everything as one archive, in no more memory than one paper takes. What breaks on the way breaks the download, so
// that nobody takes half for the whole.
func (s *Room) send(w http.ResponseWriter, r *http.Request) error {
	f, err := page.ReadForm(w, r)
	if err != nil {
		return err
	}
	if ok, err := s.Proven(w, r, f, view.SureView{Title: "Take the whole record away?", Button: "Take it away", Back: "/take-away",
		Text: "The file holds every customer, watch and docket. Keep it where only you can read it."}); !ok {
		return err
	}
	t, err := s.store.TakeAway(r.Context(), page.Actor(r), s.Now())
	if err != nil {
		return err
	}
	defer t.Close()
	// It takes as long as the line does.
	if err := http.NewResponseController(w).SetWriteDeadline(time.Time{}); err != nil {
		s.Log.Debug("take away: the deadline of the answer stays", "error", err)
	}
	w.Header().Set("Content-Type", "application/zip")
	w.Header().Set("Content-Disposition", `attachment; filename="record-`+s.Today(r).Format(time.DateOnly)+`.zip"`)
	a := &archive{Room: s, r: r, Archive: page.NewArchive(w, s.Now()), from: t, with: f.Values["with"]}
	if err := a.write(); err != nil {
		if r.Context().Err() == nil {
			s.Log.Error("taking the record away broke off", "error", err)
		}
		panic(http.ErrAbortHandler)
	}
	return nil
}
