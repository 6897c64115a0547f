package counter

import (
	"fmt"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"ledgerwheel/domain/customer"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/tongue"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/sheet"
	"ledgerwheel/web/view"
)

// showCustomers lists customers by name, or those whom the query q finds.
func (s *Room) showCustomers(w http.ResponseWriter, r *http.Request) error {
	viewer, _ := page.ViewerOf(r.Context())
	query := r.URL.Query()
	v := customersView{Query: strings.TrimSpace(query.Get("q")), MayTakeIn: page.May(r, staff.TakeIn)}
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
		v.Customers = append(v.Customers, customerRow{Href: sheet.CustomerURL(row.Customer.ID), Name: row.Customer.Name,
			Phone: row.Customer.PhoneIn(viewer.Shop.PhoneRegion), Email: row.Customer.Email, Open: row.OpenDockets})
	}
	return page.Render(w, r, http.StatusOK, customersPage(s.Page(r, "Customers"), v))
}

// customerPage is the page of the list that begins after the customer named by the query, and the address of the next.
func (s *Room) customerPage(r *http.Request, query url.Values) (rows []store.CustomerRow, next string, err error) {
	mark := store.CustomerMark{NameKey: query.Get("after")}
	if id := query.Get("id"); id != "" {
		if mark.ID, err = strconv.ParseInt(id, 10, 64); err != nil {
			return nil, "", page.BadRequest(err)
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
		return 0, page.BadRequest(fmt.Errorf("before: %q is no docket", typed))
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

func (s *Room) showCustomer(w http.ResponseWriter, r *http.Request) error {
	return s.renderCustomer(w, r, http.StatusOK, page.EmptyForm())
}

// renderCustomer shows the page of the customer whom the address names; f is what was typed of their mail.
func (s *Room) renderCustomer(w http.ResponseWriter, r *http.Request, status int, f *page.Form) error {
	id, err := page.PathID(r, "id")
	if err != nil {
		return err
	}
	before, err := pathBefore(r)
	if err != nil {
		return err
	}
	record, err := s.store.CustomerSheet(r.Context(), id, before)
	if err != nil {
		return err
	}
	if record.MergedInto != 0 {
		return page.SeeOther(w, r, sheet.CustomerURL(record.MergedInto))
	}
	region := phoneRegion(r)
	v := customerView{Name: record.Customer.Name, Terms: sheet.CustomerParticulars(record.Customer, region),
		EditURL: sheet.CustomerURL(id) + "/edit",
		MayEdit: page.May(r, staff.ManageCustomers), MayTakeIn: page.May(r, staff.TakeIn), TakeInURL: "/intake?customer=" +
			strconv.FormatInt(id, 10),
		Dockets: s.history(r, record.Dockets, ofCustomer), Older: olderURL(sheet.CustomerURL(id), record.Dockets,
			record.OlderDockets)}
	if before != 0 {
		v.Newest = sheet.CustomerURL(id)
	}
	v.Mail = s.mailOf(r, record.Customer, f)
	if err := s.addPersonsData(r, &v, record); err != nil {
		return err
	}
	for _, row := range record.Watches {
		v.Watches = append(v.Watches, watchRow{Href: watchURL(row.Watch.ID), Title: row.Watch.Title(),
			Serial: row.Watch.Serial,
			Docket: row.LastDocket, InShop: row.LastOpen})
	}
	return page.Render(w, r, status, customerPage(s.Page(r, record.Customer.Name), v))
}

// phoneRegion is the country in which the shop reads telephone numbers.
func phoneRegion(r *http.Request) string {
	viewer, _ := page.ViewerOf(r.Context())
	return viewer.Shop.PhoneRegion
}

// customerForm is a customer as it would be typed in a shop of the region.
func customerForm(c customer.Customer, version int64, region string) *page.Form {
	f := page.EmptyForm()
	phone := c.PhoneIn(region)
	for name, value := range map[string]string{"name": c.Name, "phone": phone, "phone_shown": phone, "email": c.Email, "address": c.Address,
		"notes":             c.Notes,
		"preferred_contact": string(c.PreferredContact), "tongue": string(c.Tongue), "tax_number": c.TaxNumber, "version": strconv.FormatInt(version, 10)} {
		f.Values.Set(name, value)
	}
	if c.Firm {
		f.Values.Set("firm", "yes")
	}
	return f
}

// tongueOptions are the languages that a customer may be spoken to in; first the shop's own, which is meant where nobody
// said.
func tongueOptions(r *http.Request) []view.Option {
	viewer, _ := page.ViewerOf(r.Context())
	own := view.Option{Text: "the shop's (" + tongue.Of(viewer.Shop.Locale).Words() + ")"}
	return append([]view.Option{own}, page.Options(tongue.All, tongue.Tongue.Words)...)
}

func firmWords(firm bool) string {
	if firm {
		return "a firm"
	}
	return "a person"
}

func tongueWords(t tongue.Tongue) string {
	if t == "" {
		return "the shop's"
	}
	return t.Words()
}

func (s *Room) editCustomer(w http.ResponseWriter, r *http.Request) error {
	id, err := page.PathID(r, "id")
	if err != nil {
		return err
	}
	c, version, err := s.store.Customer(r.Context(), id)
	if err != nil {
		return err
	}
	return s.renderCustomerForm(w, r, http.StatusOK, id, customerForm(c, version, phoneRegion(r)), nil)
}

func (s *Room) renderCustomerForm(w http.ResponseWriter, r *http.Request, status int, id int64, f *page.Form,
	theirs []difference) error {
	v := customerFormView{Form: f.View(), Action: sheet.CustomerURL(id) + "/edit", Back: sheet.CustomerURL(id),
		Theirs:   theirs,
		Contacts: page.Options(customer.Contacts, customer.Contact.Words), Tongues: tongueOptions(r)}
	return page.Render(w, r, status, customerFormPage(s.Page(r, "Correct a customer"), v))
}

func (s *Room) saveCustomer(w http.ResponseWriter, r *http.Request) error {
	f, err := page.ReadForm(w, r)
	if err != nil {
		return err
	}
	id, err := page.PathID(r, "id")
	if err != nil {
		return err
	}
	was, _, err := s.store.Customer(r.Context(), id)
	if err != nil {
		return err
	}
	c := readCustomer(f).Over(was, f.Text("phone_shown"), phoneRegion(r))
	f.FailAll(c.Problems())
	if f.OK() {
		err = s.store.SaveCustomer(r.Context(), page.Actor(r), s.Now(), c, f.ID("version"))
	}
	return s.Settle(w, r, sheet.Ending{Form: f, Err: err, Said: "The customer is as you corrected it.",
		To:      sheet.CustomerURL(id),
		Changed: func() error { return s.customerConflict(w, r, f, c) },
		Again:   func(status int) error { return s.renderCustomerForm(w, r, status, id, f, nil) }})
}

// customerConflict keeps what was typed and shows beside it what somebody else has saved meanwhile. Saving once more
// replaces theirs.
func (s *Room) customerConflict(w http.ResponseWriter, r *http.Request, f *page.Form, mine customer.Customer) error {
	now, version, err := s.store.Customer(r.Context(), mine.ID)
	if err != nil {
		return err
	}
	region := phoneRegion(r)
	phone := now.PhoneIn(region)
	if f.Text("phone") == f.Text("phone_shown") { // not typed: it follows the record
		mine = mine.Over(now, mine.Phone, region)
		f.Values.Set("phone", phone)
	}
	f.Values.Set("phone_shown", phone)
	theirs := differences([][3]string{
		{"Name", now.Name, mine.Name}, {"Telephone", phone, mine.PhoneIn(region)}, {"E-mail", now.Email, mine.Email},
		{"Address", now.Address, mine.Address}, {"Would rather be reached", now.PreferredContact.Words(),
			mine.PreferredContact.Words()},
		{"Language", tongueWords(now.Tongue), tongueWords(mine.Tongue)},
		{"Firm", firmWords(now.Firm), firmWords(mine.Firm)},
		{"Tax number", now.TaxNumber, mine.TaxNumber},
		{"Notes", now.Notes, mine.Notes},
	})
	f.Values.Set("version", strconv.FormatInt(version, 10))
	return s.renderCustomerForm(w, r, http.StatusConflict, mine.ID, f, theirs)
}

// differences keeps those of the rows (label, theirs, mine) in which the two differ. It is never nil: that there is no
// difference is also worth saying.
func differences(rows [][3]string) []difference {
	list := []difference{}
	for _, row := range rows {
		if row[1] != row[2] {
			list = append(list, difference{Label: row[0], Theirs: row[1], Mine: row[2]})
		}
	}
	return list
}
