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
		label := photo.Label{About: aboutOf(f), Caption: f.Text("caption"), CustomerSees: f.Checked("customer_sees")}
		err = s.KeepPictures(pictures, func() error {
			_, err := s.store.AddPhotos(r.Context(), c, label, pictures)
			return err
		})
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

// sightOfPhoto shows a photograph to the customer, or takes it out of the customer's sight.
func (s *Room) sightOfPhoto(w http.ResponseWriter, r *http.Request) error {
	f, c, err := s.ChangeForm(w, r)
	if err != nil {
		return err
	}
	id, err := page.PathID(r, "id")
	if err != nil {
		return err
	}
	if f.Text("reason") != "" {
		sure, err := s.Sure(w, r, f, view.SureView{Title: "Remove this photograph?", Button: "Remove the photograph",
			Text: "The photograph is deleted for good, here and on the customer's page. The journal keeps that it was there, who " +
				"removed it and why."})
		if !sure {
			return err
		}
	}
	c.Version = 0 // what is asked for holds whatever others did meanwhile
	sees := f.Text("customer_sees") == "yes"
	said := "The customer does not see the photograph any more."
	if sees {
		said = "The customer sees the photograph."
	}
	return s.settlePhotos(w, r, f, c, s.store.ShowPhoto(r.Context(), c, id, sees), said)
}

// removePhoto removes a photograph with its reason. Its files go once that is in the record.
func (s *Room) removePhoto(w http.ResponseWriter, r *http.Request) error {
	f, c, err := s.ChangeForm(w, r)
	if err != nil {
		return err
	}
	id, err := page.PathID(r, "id")
	if err != nil {
		return err
	}
	c.Version = 0 // what is asked for holds whatever others did meanwhile
	f.Values.Set("photo", strconv.FormatInt(id, 10))
	err = s.store.RemovePhoto(r.Context(), c, id, f.Text("reason"))
	if err == nil {
		if left := s.ClearPictures(r.Context(), s.store); left != nil {
			s.Log.Error("files of a removed photograph are left for the next start", "error", left)
		}
	}
	return s.settlePhotos(w, r, f, c, err, "The photograph was removed.")
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
