package stock

import (
	"cmp"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"ledgerwheel/domain"
	"ledgerwheel/domain/ledger"
	"ledgerwheel/domain/purchase"
	"ledgerwheel/domain/staff"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
)

func (s *Room) showSuppliers(w http.ResponseWriter, r *http.Request) error {
	list, err := s.store.Suppliers(r.Context())
	if err != nil {
		return err
	}
	v := suppliersView{May: page.May(r, staff.ManageStock)}
	for _, p := range list {
		row := supplierRow{Name: p.Name, Reach: cmp.Or(p.Email, p.Phone), Account: p.Account}
		if p.LeadDays != nil {
			row.Lead = strconv.Itoa(*p.LeadDays) + " days"
		}
		if v.May {
			row.Href = "/suppliers/" + page.Itoa64(p.ID)
		}
		v.Rows = append(v.Rows, row)
	}
	return page.Render(w, r, http.StatusOK, suppliersPage(s.Page(r, "Suppliers"), v))
}

// supplierOf is the supplier that the address names; the zero value for a new one.
func (s *Room) supplierOf(r *http.Request) (store.SupplierRow, error) {
	id, err := page.PathID(r, "id")
	if err != nil {
		return store.SupplierRow{}, err
	}
	list, err := s.store.Suppliers(r.Context())
	if err != nil {
		return store.SupplierRow{}, err
	}
	for _, p := range list {
		if p.ID == id {
			return p, nil
		}
	}
	return store.SupplierRow{}, domain.ErrNotFound
}

func (s *Room) showNewSupplier(w http.ResponseWriter, r *http.Request) error {
	return s.renderSupplier(w, r, http.StatusOK, store.SupplierRow{}, page.EmptyForm())
}

func (s *Room) showSupplier(w http.ResponseWriter, r *http.Request) error {
	p, err := s.supplierOf(r)
	if err != nil {
		return err
	}
	f := page.EmptyForm()
	for name, value := range map[string]string{"name": p.Name, "email": p.Email, "phone": p.Phone, "account": p.Account, "address": p.Address, "note": p.Note,
		"version": page.Itoa64(p.Version)} {
		f.Values.Set(name, value)
	}
	if p.LeadDays != nil {
		f.Values.Set("lead_days", strconv.Itoa(*p.LeadDays))
	}
	return s.renderSupplier(w, r, http.StatusOK, p, f)
}

func (s *Room) renderSupplier(w http.ResponseWriter, r *http.Request, status int, p store.SupplierRow, f *page.Form) error {
	v := supplierView{Form: f.View(), Action: "/suppliers/new", Title: "New supplier"}
	if p.ID != 0 {
		v.Action, v.Title = "/suppliers/"+page.Itoa64(p.ID), p.Name
	}
	return page.Render(w, r, status, supplierPage(s.Page(r, v.Title), v))
}

func (s *Room) addSupplier(w http.ResponseWriter, r *http.Request) error {
	return s.keepSupplier(w, r, store.SupplierRow{})
}

func (s *Room) saveSupplier(w http.ResponseWriter, r *http.Request) error {
	p, err := s.supplierOf(r)
	if err != nil {
		return err
	}
	return s.keepSupplier(w, r, p)
}

// keepSupplier saves what was typed of a supplier that stood as was.
func (s *Room) keepSupplier(w http.ResponseWriter, r *http.Request, was store.SupplierRow) error {
	f, err := page.ReadForm(w, r)
	if err != nil {
		return err
	}
	p := purchase.Supplier{ID: was.ID, Name: f.Text("name"), Email: f.Text("email"), Phone: f.Text("phone"), Account: f.Text("account"),
		Address: f.Raw("address"), Note: f.Raw("note")}.Tidied()
	if f.Text("lead_days") != "" {
		days := f.Int("lead_days")
		p.LeadDays = &days
	}
	f.FailAll(p.Problems())
	if f.OK() {
		_, err = s.store.SaveSupplier(r.Context(), p, f.ID("version"), page.Actor(r), s.Now())
	}
	if err != nil && !f.Takes(err) {
		return err
	}
	if !f.OK() {
		return s.renderSupplier(w, r, http.StatusUnprocessableEntity, was, f)
	}
	s.Say(r.Context(), p.Name+" is saved.")
	return page.SeeOther(w, r, "/suppliers")
}

// typedSources reads the suppliers' numbers of a part, one a line: "Gannet Materials: 4471-2". problem says what is wrong.
func typedSources(typed string, suppliers []store.SupplierRow) (list []ledger.Source, problem string) {
	for line := range strings.Lines(typed) {
		if strings.TrimSpace(line) == "" {
			continue
		}
		name, number, ok := strings.Cut(line, ":")
		name, number = strings.TrimSpace(name), strings.TrimSpace(number)
		at := slices.IndexFunc(suppliers, func(s store.SupplierRow) bool { return strings.EqualFold(s.Name, name) })
		switch {
		case !ok || number == "":
			return nil, "Write each as supplier: number, one a line."
		case at < 0:
			return nil, "No supplier is called " + name + ": add it under Suppliers first."
		}
		list = append(list, ledger.Source{SupplierID: suppliers[at].ID, Number: number})
	}
	return list, ""
}

// sourceWords are the numbers as they would be typed.
func sourceWords(list []ledger.Source, suppliers []store.SupplierRow) string {
	var lines []string
	for _, src := range list {
		for _, s := range suppliers {
			if s.ID == src.SupplierID {
				lines = append(lines, s.Name+": "+src.Number)
			}
		}
	}
	return strings.Join(lines, "\n")
}
