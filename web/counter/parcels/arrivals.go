package parcels

import (
	"fmt"
	"net/http"
	"strconv"
	"strings"

	"ledgerwheel/domain/parcel"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/text"
	"ledgerwheel/store"
	"ledgerwheel/store/files"
	"ledgerwheel/web/page"
	"ledgerwheel/web/view"
)

// showParcels lists the parcels that came, newest first.
func (s *Room) showParcels(w http.ResponseWriter, r *http.Request) error {
	before, _ := strconv.ParseInt(r.URL.Query().Get("before"), 10, 64) // anything else shows the newest
	list, err := s.store.ParcelsIn(r.Context(), before)
	if err != nil {
		return err
	}
	v := parcelsView{MayTakeIn: page.May(r, staff.TakeIn)}
	for _, p := range list {
		v.Parcels = append(v.Parcels, parcelRow{Href: parcelURL(p.ID), Title: text.Capital(p.Title()), Came: s.Moment(r, p.CameAt),
			State: text.Capital(p.StateWords()), Whole: p.Whole(), Sender: p.Sender, Dockets: p.Dockets})
	}
	if len(list) == store.ParcelsPage {
		v.Older = "/parcels?before=" + page.Itoa64(list[len(list)-1].ID)
	}
	return page.Render(w, r, http.StatusOK, parcelsPage(s.Page(r, "Parcels"), v))
}

func parcelURL(id int64) string { return "/parcels/" + page.Itoa64(id) }

func (s *Room) newParcel(w http.ResponseWriter, r *http.Request) error {
	return s.renderNew(w, r, http.StatusOK, page.EmptyForm())
}

func (s *Room) renderNew(w http.ResponseWriter, r *http.Request, status int, f *page.Form) error {
	list, err := s.store.Carriers(r.Context())
	if err != nil {
		return err
	}
	v := newParcelView{Form: f.View()}
	for _, c := range list {
		v.Carriers = append(v.Carriers, c.Name)
	}
	for _, o := range parcel.Seals() {
		v.Seals = append(v.Seals, view.Option{Value: string(o), Text: text.Capital(o.Words())})
	}
	for _, o := range parcel.Boxes() {
		v.Boxes = append(v.Boxes, view.Option{Value: string(o), Text: text.Capital(o.Words())})
	}
	return page.Render(w, r, status, newParcelPage(s.Page(r, "A parcel came"), v))
}

// keepParcel writes down a parcel with its photographs: all or nothing.
func (s *Room) keepParcel(w http.ResponseWriter, r *http.Request) error {
	f, pictures, err := s.ReceivePhotos(w, r)
	if err != nil {
		return err
	}
	a := parcel.Arrival{Carrier: f.Text("carrier"), Number: f.Text("number"), Sender: f.Text("sender"), Seal: parcel.Seal(f.Text("seal")),
		Box: parcel.Box(f.Text("box")), Contents: f.Text("contents"), Note: f.Text("note")}.Tidied()
	if f.Text("things") == "" {
		f.Fail("things", "Count what was in it.")
	} else {
		a.Things = f.Int("things")
	}
	f.FailAll(a.Problems())
	var id int64
	if f.OK() {
		err = s.KeepPictures(pictures, func() (err error) {
			id, err = s.store.KeepParcelIn(r.Context(), a, pictures, page.Actor(r), s.Now())
			return err
		})
	}
	if err != nil && !f.Takes(err) {
		return err
	}
	if !f.OK() {
		return s.renderNew(w, r, http.StatusUnprocessableEntity, f)
	}
	s.Say(r.Context(), "The parcel is written down.")
	return page.SeeOther(w, r, parcelURL(id))
}

func (s *Room) showParcel(w http.ResponseWriter, r *http.Request) error {
	id, err := page.PathID(r, "id")
	if err != nil {
		return err
	}
	p, err := s.store.ParcelIn(r.Context(), id)
	if err != nil {
		return err
	}
	v := parcelView{Title: text.Capital(p.Title()), Came: s.Moment(r, p.CameAt) + " by " + p.By, State: text.Capital(p.StateWords()),
		Whole: p.Whole(), Sender: p.Sender, Contents: p.Contents, Note: p.Note, Dockets: p.Dockets, Removed: p.Removed}
	if page.May(r, staff.TakeIn) {
		v.TakeInURL = "/intake?parcel=" + page.Itoa64(id)
		if len(p.Dockets) > 0 {
			v.TakeInURL = "/intake?with=" + p.Dockets[0] + "&parcel=" + page.Itoa64(id)
		}
	}
	v.Contents = strings.ReplaceAll(v.Contents, "\n", ", ")
	for i, photo := range p.Photos {
		base := "/parcels/photos/" + page.Itoa64(photo.ID) + "/"
		pv := view.PhotoView{Thumb: base + string(files.Thumb), Full: base + string(files.Full), Alt: fmt.Sprintf("Photograph %d of the parcel", i+1)}
		pv.Width, pv.Height = page.ThumbSize(photo.WidthPx, photo.HeightPx)
		v.Photos = append(v.Photos, pv)
	}
	return page.Render(w, r, http.StatusOK, parcelPage(s.Page(r, v.Title), v))
}

// showPhoto sends one picture of a parcel to those who may see dockets.
func (s *Room) showPhoto(w http.ResponseWriter, r *http.Request) error {
	id, err := page.PathID(r, "photo")
	if err != nil {
		return err
	}
	size, err := page.PathSize(r)
	if err != nil {
		return err
	}
	p, err := s.store.ParcelPhoto(r.Context(), id)
	if err != nil {
		return err
	}
	return s.SendPicture(w, r, p.Sum, size)
}
