package web

import (
	"context"
	"fmt"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"ledgerwheel/domain/customer"
	"ledgerwheel/domain/staff"
	"ledgerwheel/store"
	"ledgerwheel/web/view"
)

type customerStore interface {
	Customers(ctx context.Context, after store.CustomerMark) (list []store.CustomerRow, more bool, err error)
	FindCustomers(ctx context.Context, typed, region string, limit int) (list []store.CustomerRow, more bool, err error)
	CustomerSheet(ctx context.Context, id, before int64) (store.CustomerSheet, error)
	Customer(ctx context.Context, id int64) (c customer.Customer, version int64, err error)
	SaveCustomer(ctx context.Context, c customer.Customer, version int64) error
}

// showCustomers lists customers by name, or those whom the query q finds.
func (s *Server) showCustomers(w http.ResponseWriter, r *http.Request) error {
	viewer, _ := viewerOf(r.Context())
	query := r.URL.Query()
	v := view.CustomersView{Query: strings.TrimSpace(query.Get("q")), MayTakeIn: may(r, staff.TakeIn)}
	var rows []store.CustomerRow
	var err error
	if v.Query != "" {
		rows, v.TooMany, err = s.store.FindCustomers(r.Context(), v.Query, viewer.Shop.PhoneRegion, store.CustomerPage)
	} else {
		rows, v.Next, err = s.customerPage(r, query)
	}
	if err != nil {
		return err
	}
	v.Later = query.Get("after") != ""
	for _, row := range rows {
		v.Customers = append(v.Customers, view.CustomerRow{Href: customerURL(row.Customer.ID), Name: row.Customer.Name,
			Phone: row.Customer.Phone, Email: row.Customer.Email, Open: row.OpenDockets})
	}
	return render(w, r, http.StatusOK, view.Customers(s.page(r, "Customers"), v))
}

// customerPage is the page of the list that begins after the customer named by the query, and the address of the next.
func (s *Server) customerPage(r *http.Request, query url.Values) (rows []store.CustomerRow, next string, err error) {
	mark := store.CustomerMark{NameKey: query.Get("after")}
	if id := query.Get("id"); id != "" {
		if mark.ID, err = strconv.ParseInt(id, 10, 64); err != nil {
			return nil, "", badRequest(err)
		}
	}
	rows, more, err := s.store.Customers(r.Context(), mark)
	if more {
		last := rows[len(rows)-1].Customer
		next = "/customers?" + url.Values{"after": {last.MatchKeys().Name}, "id": {strconv.FormatInt(last.ID, 10)}}.Encode()
	}
	return rows, next, err
}

func watchURL(id int64) string { return "/watches/" + strconv.FormatInt(id, 10) }

// pathBefore reads where a page of a history ends: below the docket with this id.
func pathBefore(r *http.Request) (int64, error) {
	typed := r.URL.Query().Get("before")
	if typed == "" {
		return 0, nil
	}
	id, err := strconv.ParseInt(typed, 10, 64)
	if err != nil || id < 1 {
		return 0, badRequest(fmt.Errorf("before: %q is no docket", typed))
	}
	return id, nil
}

// olderURL leads to the next page of a history, or nowhere.
func olderURL(base string, dockets []store.PastDocket, older bool) string {
	if !older || len(dockets) == 0 {
		return ""
	}
	return base + "?before=" + strconv.FormatInt(dockets[len(dockets)-1].ID, 10)
}

func (s *Server) showCustomer(w http.ResponseWriter, r *http.Request) error {
	id, err := pathID(r, "id")
	if err != nil {
		return err
	}
	before, err := pathBefore(r)
	if err != nil {
		return err
	}
	sheet, err := s.store.CustomerSheet(r.Context(), id, before)
	if err != nil {
		return err
	}
	v := view.CustomerView{Name: sheet.Customer.Name, Terms: customerParticulars(sheet.Customer), EditURL: customerURL(id) + "/edit",
		MayEdit: may(r, staff.ManageCustomers), MayTakeIn: may(r, staff.TakeIn), TakeInURL: "/intake?customer=" + strconv.FormatInt(id, 10),
		Dockets: s.history(r, sheet.Dockets, ofCustomer), Older: olderURL(customerURL(id), sheet.Dockets, sheet.OlderDockets)}
	if before != 0 {
		v.Newest = customerURL(id)
	}
	for _, row := range sheet.Watches {
		v.Watches = append(v.Watches, view.WatchRow{Href: watchURL(row.Watch.ID), Title: row.Watch.Title(), Serial: row.Watch.Serial,
			Docket: row.LastDocket, InShop: row.LastOpen})
	}
	return render(w, r, http.StatusOK, view.Customer(s.page(r, sheet.Customer.Name), v))
}

// customerForm is a customer as it would be typed.
func customerForm(c customer.Customer, version int64) *form {
	f := emptyForm()
	for name, value := range map[string]string{"name": c.Name, "phone": c.Phone, "email": c.Email, "address": c.Address, "notes": c.Notes,
		"preferred_contact": string(c.PreferredContact), "version": strconv.FormatInt(version, 10)} {
		f.Values.Set(name, value)
	}
	return f
}

func (s *Server) editCustomer(w http.ResponseWriter, r *http.Request) error {
	id, err := pathID(r, "id")
	if err != nil {
		return err
	}
	c, version, err := s.store.Customer(r.Context(), id)
	if err != nil {
		return err
	}
	return s.renderCustomerForm(w, r, http.StatusOK, id, customerForm(c, version), nil)
}

func (s *Server) renderCustomerForm(w http.ResponseWriter, r *http.Request, status int, id int64, f *form, theirs []view.Difference) error {
	v := view.CustomerFormView{Form: f.view(), Action: customerURL(id) + "/edit", Back: customerURL(id), Theirs: theirs,
		Contacts: options(customer.Contacts, customer.Contact.Words)}
	return render(w, r, status, view.CustomerForm(s.page(r, "Correct a customer"), v))
}

func (s *Server) saveCustomer(w http.ResponseWriter, r *http.Request) error {
	f, err := readForm(w, r)
	if err != nil {
		return err
	}
	id, err := pathID(r, "id")
	if err != nil {
		return err
	}
	viewer, _ := viewerOf(r.Context())
	c := readCustomer(f).Tidied(viewer.Shop.PhoneRegion)
	c.ID = id
	f.FailAll(c.Problems())
	if f.OK() {
		err = s.store.SaveCustomer(r.Context(), c, f.ID("version"))
	}
	return s.settle(w, r, ending{form: f, err: err, said: "The customer is as you corrected it.", to: customerURL(id),
		changed: func() error { return s.customerConflict(w, r, f, c) },
		again:   func(status int) error { return s.renderCustomerForm(w, r, status, id, f, nil) }})
}

// customerConflict keeps what was typed and shows beside it what somebody else has saved meanwhile. Saving once more
// replaces theirs.
func (s *Server) customerConflict(w http.ResponseWriter, r *http.Request, f *form, mine customer.Customer) error {
	now, version, err := s.store.Customer(r.Context(), mine.ID)
	if err != nil {
		return err
	}
	theirs := differences([][3]string{
		{"Name", now.Name, mine.Name}, {"Telephone", now.Phone, mine.Phone}, {"E-mail", now.Email, mine.Email},
		{"Address", now.Address, mine.Address}, {"Would rather be reached", now.PreferredContact.Words(), mine.PreferredContact.Words()},
		{"Notes", now.Notes, mine.Notes},
	})
	f.Values.Set("version", strconv.FormatInt(version, 10))
	return s.renderCustomerForm(w, r, http.StatusConflict, mine.ID, f, theirs)
}

// differences keeps those of the rows (label, theirs, mine) in which the two differ. It is never nil: that there is no
// difference is also worth saying.
func differences(rows [][3]string) []view.Difference {
	list := []view.Difference{}
	for _, row := range rows {
		if row[1] != row[2] {
			list = append(list, view.Difference{Label: row[0], Theirs: row[1], Mine: row[2]})
		}
	}
	return list
}
