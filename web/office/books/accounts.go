package books

import (
	"errors"
	"net/http"

	"ledgerwheel/domain"
	"ledgerwheel/domain/books"
	"ledgerwheel/domain/text"
	"ledgerwheel/web/page"
)

func (s *Room) showAccounts(w http.ResponseWriter, r *http.Request) error {
	return s.renderAccounts(w, r, http.StatusOK, nil)
}

// renderAccounts shows the form of the accounts; f is nil for how they stand.
func (s *Room) renderAccounts(w http.ResponseWriter, r *http.Request, status int, f *page.Form) error {
	b, err := s.store.BookAccounts(r.Context())
	if err != nil {
		return err
	}
	if f == nil {
		f = page.EmptyForm()
		f.Values.Set("version", page.Itoa64(b.Version))
		for _, n := range b.Names {
			f.Values.Set("number-"+string(n.Account), n.Number)
			f.Values.Set("name-"+string(n.Account), n.Name)
		}
	}
	v := accountsView{Form: f.View()}
	for _, a := range books.Usual(b.Rates) {
		v.Accounts = append(v.Accounts, accountRow{Key: string(a), Words: a.Words()})
	}
	return page.Render(w, r, status, accountsPage(s.Page(r, "Accounts"), v))
}

func (s *Room) nameAccounts(w http.ResponseWriter, r *http.Request) error {
	f, err := page.ReadForm(w, r)
	if err != nil {
		return err
	}
	b, err := s.store.BookAccounts(r.Context())
	if err != nil {
		return err
	}
	var list []books.Named
	for _, a := range books.Usual(b.Rates) {
		list = append(list, books.Named{Account: a, Number: f.Text("number-" + string(a)), Name: text.Line(f.Text("name-" + string(a)))})
	}
	err = s.store.NameAccounts(r.Context(), list, f.ID("version"), page.Actor(r), s.Now())
	status := http.StatusUnprocessableEntity
	if errors.Is(err, domain.ErrChanged) {
		status = http.StatusConflict
		f.Fail("", "Someone else saved first: look at the accounts again before you save.")
	} else if err != nil && !f.Takes(err) {
		return err
	}
	if !f.OK() {
		return s.renderAccounts(w, r, status, f)
	}
	s.Say(r.Context(), "The accounts are saved.")
	return page.SeeOther(w, r, "/books/accounts")
}
