package persons

import (
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"ledgerwheel/domain"
	"ledgerwheel/domain/customer"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/staff"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/sheet"
	"ledgerwheel/web/view"
)

func (s *Room) eraseRoutes() []page.Route {
	return []page.Route{
		page.Get("/customers/{id}/erase", page.Needs(staff.EraseCustomers), s.showErase),
		page.Post("/customers/{id}/erase", page.Needs(staff.EraseCustomers), s.erase),
	}
}

// showErase says what would go, what stays and on which ground, or what stands against it.
func (s *Room) showErase(w http.ResponseWriter, r *http.Request) error {
	id, err := page.PathID(r, "id")
	if err != nil {
		return err
	}
	h, err := s.store.ErasureHelp(r.Context(), id, s.Today(r))
	if err != nil {
		return err
	}
	f := page.EmptyForm()
	f.Values.Set("version", strconv.FormatInt(h.Version, 10))
	f.Values.Set("words", strings.Join(h.Words, "\n"))
	return s.renderErase(w, r, http.StatusOK, h, f)
}

func (s *Room) renderErase(w http.ResponseWriter, r *http.Request, status int, h store.ErasureHelp, f *page.Form) error {
	v := eraseView{Form: f.View(), Name: h.Customer.Name, Pseudonym: customer.Pseudonym(h.Customer.ID),
		Action: sheet.CustomerURL(h.Customer.ID) + "/erase", Back: sheet.CustomerURL(h.Customer.ID),
		Export: exportURL(h.Customer.ID), Against: h.Standing.Hindrances(), Photos: photoChoices(h.Photos), ParcelPhotos: h.ParcelPhotos}
	v.AskSettings = !h.Standing.InvoicedOn.IsZero() && h.Standing.InvoiceYears == 0
	if h.Standing.KeepsInvoices() {
		v.KeptUntil = docket.DayWords(h.Standing.InvoicesUntil())
	}
	return page.Render(w, r, status, erasePage(s.Page(r, "Erase a customer's data"), v))
}

func photoChoices(photos []store.Photo) []view.PhotoView {
	var list []view.PhotoView
	for _, p := range sheet.PhotoViews(photos) {
		p.Photo.Note = p.ID
		list = append(list, p.Photo)
	}
	return list
}

func (s *Room) erase(w http.ResponseWriter, r *http.Request) error {
	f, err := page.ReadForm(w, r)
	if err != nil {
		return err
	}
	id, err := page.PathID(r, "id")
	if err != nil {
		return err
	}
	h, err := s.store.ErasureHelp(r.Context(), id, s.Today(r))
	if err != nil {
		return err
	}
	e := store.Erasing{CustomerID: id, Version: f.ID("version"), Words: page.NonEmptyLines(f.Text("words")), Why: f.Text("why"),
		By: page.Actor(r), At: s.Now(), Today: s.Today(r)}
	if e.Photos, err = chosenPhotos(f, h.Photos); err != nil {
		return err
	}
	if e.Why == "" {
		f.Fail("why", "Write why: it goes into the journal.")
	}
	if len(h.Standing.Hindrances()) > 0 {
		f.Fail("", "Nothing can be erased yet.")
	}
	if !f.OK() {
		return s.renderErase(w, r, http.StatusUnprocessableEntity, h, f)
	}
	sure, err := s.Sure(w, r, f, view.SureView{Title: "Erase the data of " + h.Customer.Name + "?", Button: "Erase the data", Prove: true,
		Text: sureWords(h, len(e.Photos))})
	if !sure {
		return err
	}
	err = s.store.EraseCustomer(r.Context(), e)
	switch {
	case errors.Is(err, domain.ErrChanged):
		s.Say(r.Context(), "Someone else saved first: look at what would be erased again.")
		return page.SeeOther(w, r, sheet.CustomerURL(id))
	case err != nil && !f.Takes(err):
		return err
	case err != nil:
		return s.renderErase(w, r, http.StatusUnprocessableEntity, h, f)
	}
	s.afterErasing(r)
	s.Say(r.Context(), "The data were erased. "+backupWords)
	return page.SeeOther(w, r, sheet.CustomerURL(id))
}

// backupWords say what an erasure does not reach.
const backupWords = "Backups from before still hold them until they fall out of the number that is kept; whoever restores one has them erased again by the program."

func sureWords(h store.ErasureHelp, photos int) string {
	words := "Telephone number, e-mail address and notes are deleted, and in everything written freely the person's words are replaced by " +
		customer.Pseudonym(h.Customer.ID) + "."
	if h.Standing.KeepsInvoices() {
		words += " Name and address stay for invoices until " + docket.DayWords(h.Standing.InvoicesUntil()) + " and are then deleted too."
	} else {
		words += " Name and address are deleted too."
	}
	if photos > 0 {
		words += fmt.Sprintf(" %d photographs are deleted.", photos)
	}
	return words
}

// chosenPhotos are those ticked, which must be among the customer's.
func chosenPhotos(f *page.Form, photos []store.Photo) ([]int64, error) {
	var chosen []int64
	for _, typed := range f.Values["photo"] {
		id, err := strconv.ParseInt(typed, 10, 64)
		if err != nil || !slices.ContainsFunc(photos, func(p store.Photo) bool { return p.ID == id }) {
			return nil, page.BadRequest(fmt.Errorf("photograph %q is none of theirs", typed))
		}
		chosen = append(chosen, id)
	}
	return chosen, nil
}

// afterErasing deletes files and notes who was erased beside the record. What fails is made up for at the next start.
func (s *Room) afterErasing(r *http.Request) {
	if err := s.ClearPictures(r.Context(), s.store); err != nil {
		s.Log.Error("files of removed photographs are left for the next start", "error", err)
	}
	if s.noteErased == nil {
		return
	}
	list, err := s.store.ErasedIDs(r.Context())
	if err == nil {
		err = s.noteErased(list)
	}
	if err != nil {
		s.Log.Error("who was erased is noted beside the record at the next start", "error", err)
	}
}
