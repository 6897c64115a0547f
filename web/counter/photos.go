package web

import (
	"context"
	"net/http"
	"strconv"

	"ledgerwheel/domain/photo"
	"ledgerwheel/store"
	"ledgerwheel/web/view"
)

type photoStore interface {
	AddPhotos(ctx context.Context, c store.Change, about photo.About, caption string, pictures []photo.Picture) ([]int64, error)
	CaptionPhoto(ctx context.Context, c store.Change, id int64, caption string) error
	Photo(ctx context.Context, id int64) (store.Photo, error)
}

// Limits of one sending of photographs.
const ()

// addPhotos adds photographs to a docket: all that were sent, or none.
func (s *Server) addPhotos(w http.ResponseWriter, r *http.Request) error {
	f, pictures, err := s.receivePhotos(w, r)
	if err != nil {
		return err
	}
	c, err := s.changeOf(r, f)
	if err != nil {
		return err
	}
	c.Version = 0 // an addition does not depend on what others did meanwhile
	if f.OK() {
		if err = s.keepPictures(pictures); err == nil {
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
func (s *Server) settlePhotos(w http.ResponseWriter, r *http.Request, f *form, c store.Change, err error, said string) error {
	return s.settle(w, r, ending{form: f, change: c, err: err, closed: "photos", said: said,
		to:    view.DocketURL(c.Number.String(), "intake") + "#photographs",
		again: func(status int) error { return s.renderIntakeSheet(w, r, status, sheetForm{part: partPhotos, form: f}) }})
}

func aboutOf(f *form) photo.About {
	switch about := photo.About(f.Text("about")); about {
	case photo.OfDiagnosis, photo.OfWork:
		return about
	}
	return photo.OfCondition
}

// captionPhoto says what a photograph shows.
func (s *Server) captionPhoto(w http.ResponseWriter, r *http.Request) error {
	f, c, err := s.changeForm(w, r)
	if err != nil {
		return err
	}
	id, err := pathID(r, "id")
	if err != nil {
		return err
	}
	return s.settlePhotos(w, r, f, c, s.store.CaptionPhoto(r.Context(), c, id, f.Text("caption")), "")
}

// showPhoto sends one picture to those who may see dockets.
func (s *Server) showPhoto(w http.ResponseWriter, r *http.Request) error {
	id, err := pathID(r, "id")
	if err != nil {
		return err
	}
	size, err := pathSize(r)
	if err != nil {
		return err
	}
	p, err := s.store.Photo(r.Context(), id)
	if err != nil {
		return err
	}
	return s.sendPicture(w, r, p.Sum, size)
}
