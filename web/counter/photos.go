package counter

import (
	"net/http"
	"strconv"

	"ledgerwheel/domain/photo"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/sheet"
	"ledgerwheel/web/view"
)

// Limits of one sending of photographs.
const ()

// addPhotos adds photographs to a docket: all that were sent, or none.
func (s *Room) addPhotos(w http.ResponseWriter, r *http.Request) error {
	f, pictures, err := s.ReceivePhotos(w, r)
	if err != nil {
		return err
	}
	c, err := s.ChangeOf(r, f)
	if err != nil {
		return err
	}
	c.Version = 0 // an addition does not depend on what others did meanwhile
	if f.OK() {
		if err = s.KeepPictures(pictures); err == nil {
			_, err = s.store.AddPhotos(r.Context(), c, aboutOf(f), f.Text("caption"), pictures)
		}
	}
	said := "One photograph was added."
	if len(pictures) > 1 {
		said = strconv.Itoa(len(pictures)) + " photographs were added."
	}
	return s.settlePhotos(w, r, f, c, err, said)
}

// settlePhotos goes back to the photographs of the intake sheet.
func (s *Room) settlePhotos(w http.ResponseWriter, r *http.Request, f *page.Form, c store.Change, err error,
	said string) error {
	return s.Settle(w, r, sheet.Ending{Form: f, Change: c, Err: err, Closed: "photos", Said: said,
		To:    view.DocketURL(c.Number.String(), "intake") + "#photographs",
		Again: func(status int) error { return s.renderIntakeSheet(w, r, status, sheetForm{part: partPhotos, form: f}) }})
}

func aboutOf(f *page.Form) photo.About {
	switch about := photo.About(f.Text("about")); about {
	case photo.OfDiagnosis, photo.OfWork:
		return about
	}
	return photo.OfCondition
}

// captionPhoto says what a photograph shows.
func (s *Room) captionPhoto(w http.ResponseWriter, r *http.Request) error {
	f, c, err := s.ChangeForm(w, r)
	if err != nil {
		return err
	}
	id, err := page.PathID(r, "id")
	if err != nil {
		return err
	}
	return s.settlePhotos(w, r, f, c, s.store.CaptionPhoto(r.Context(), c, id, f.Text("caption")), "")
}

// showPhoto sends one picture to those who may see dockets.
func (s *Room) showPhoto(w http.ResponseWriter, r *http.Request) error {
	id, err := page.PathID(r, "id")
	if err != nil {
		return err
	}
	size, err := page.PathSize(r)
	if err != nil {
		return err
	}
	p, err := s.store.Photo(r.Context(), id)
	if err != nil {
		return err
	}
	return s.SendPicture(w, r, p.Sum, size)
}
