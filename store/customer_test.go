package store_test

import (
	"errors"
	"fmt"
	"slices"
	"testing"

	"ledgerwheel/domain"
	"ledgerwheel/domain/customer"
	"ledgerwheel/store"
)

func (c *counter) add(t *testing.T, customers ...customer.Customer) []int64 {
	t.Helper()
	var ids []int64
	for _, one := range customers {
		id, err := c.AddCustomer(t.Context(), one.Tidied("GB"), c.at)
		if err != nil {
			t.Fatal(err)
		}
		ids = append(ids, id)
	}
	return ids
}

// The telephone numbers lie in the range that Ofcom keeps for drama (from memory).
func TestFindCustomers(t *testing.T) {
	t.Parallel()
	c := newCounter(t)
	c.add(t,
		customer.Customer{Name: "Ada Quillmarsh", Phone: "01632 960123", Email: "ada@example.org"},
		customer.Customer{Name: "Seán O’Malley", Phone: "+44 1632 960456"},
		customer.Customer{Name: "משה לוי", Email: "moshe_levi@example.org"},
		customer.Customer{Name: "Ada Thole", Phone: "01632 960789"},
		customer.Customer{Name: "Percy 100%", Phone: "01632 960999"},
	)
	for _, tt := range []struct {
		typed string
		want  []string
	}{
		{"ada", []string{"Ada Quillmarsh", "Ada Thole"}},
		{"tho ad", []string{"Ada Thole"}},
		{"o'mal", []string{"Seán O’Malley"}},
		{"SEAN", []string{"Seán O’Malley"}},
		{"לוי", []string{"משה לוי"}},
		{"moshe_l", []string{"משה לוי"}},
		{"moshexl", nil}, // the underscore is no wildcard
		{"960456", []string{"Seán O’Malley"}},
		{"0456", []string{"Seán O’Malley"}},
		{"456", nil}, // too few digits
		{"(01632) 960-789", []string{"Ada Thole"}},
		{"+441632960789", []string{"Ada Thole"}},
		{"100%", []string{"Percy 100%"}},
		{"%", nil},
		{"' | !", nil},
		{`\`, nil},
		{"a", nil},
		{"", nil},
	} {
		rows, more, err := c.FindCustomers(t.Context(), tt.typed, "GB", 10)
		if err != nil || more {
			t.Fatalf("%q: %v, more %v", tt.typed, err, more)
		}
		var got []string
		for _, r := range rows {
			got = append(got, r.Customer.Name)
		}
		if !slices.Equal(got, tt.want) {
			t.Errorf("%q found %q, want %q", tt.typed, got, tt.want)
		}
	}
	if rows, more, err := c.FindCustomers(t.Context(), "ada", "GB", 1); err != nil || len(rows) != 1 || !more {
		t.Errorf("limit of one: %d rows, more %v, %v", len(rows), more, err)
	}
}

func TestCustomersPageByName(t *testing.T) {
	t.Parallel()
	c := newCounter(t)
	const all = store.CustomerPage + 7
	for i := range all {
		c.add(t, customer.Customer{Name: fmt.Sprintf("Name %02d", i%30), Email: fmt.Sprintf("c%d@example.org", i)})
	}
	seen := map[int64]bool{}
	first, more, err := c.Customers(t.Context(), store.CustomerMark{})
	if err != nil || len(first) != store.CustomerPage || !more {
		t.Fatalf("%d of the first page, more %v, %v", len(first), more, err)
	}
	last := first[len(first)-1].Customer
	second, more, err := c.Customers(t.Context(), store.CustomerMark{NameKey: last.MatchKeys().Name, ID: last.ID})
	if err != nil || len(second) != all-store.CustomerPage || more {
		t.Fatalf("%d of the second page, more %v, %v", len(second), more, err)
	}
	for _, r := range append(first, second...) {
		seen[r.Customer.ID] = true
	}
	if len(seen) != all {
		t.Errorf("%d customers on two pages, want %d", len(seen), all)
	}
}

func TestAlikeCustomersAreFoundByIndexAndDomain(t *testing.T) {
	t.Parallel()
	c := newCounter(t)
	c.add(t, ada, customer.Customer{Name: "Lijuan", Email: "l@example.org"})
	for _, tt := range []struct {
		typed customer.Customer
		want  int
	}{
		{customer.Customer{Name: "B", Phone: "+44 (0)1632 960 123"}, 1},
		{customer.Customer{Name: "B", Email: "ADA@EXAMPLE.org"}, 1},
		{customer.Customer{Name: "quillmarsh ADA"}, 1},
		{customer.Customer{Name: "Ada Quilmarsh"}, 1},
		{customer.Customer{Name: "Lijuan"}, 1},
		{customer.Customer{Name: "Lijuam"}, 1},
		{customer.Customer{Name: "Ada Thole", Phone: "01632 960124"}, 0},
		{customer.Customer{Name: "' & ! : *"}, 0},
		{customer.Customer{}, 0},
	} {
		help, err := c.IntakeHelp(t.Context(), store.IntakeQuestion{Customer: tt.typed.Tidied("GB")})
		if err != nil || len(help.Alike) != tt.want {
			t.Errorf("%+v: %d alike, want %d, %v", tt.typed, len(help.Alike), tt.want, err)
		}
	}
}

func TestSaveCustomer(t *testing.T) {
	t.Parallel()
	c := newCounter(t)
	id := c.add(t, ada)[0]
	got, version, err := c.Customer(t.Context(), id)
	if err != nil {
		t.Fatal(err)
	}
	got.Name = "Ada Quillmarsh-Thole"
	if err := c.SaveCustomer(t.Context(), c.clerk, c.at, got, version); err != nil {
		t.Fatal(err)
	}
	if err := c.SaveCustomer(t.Context(), c.clerk, c.at, got, version); !errors.Is(err, domain.ErrChanged) {
		t.Errorf("an old version gives %v", err)
	}
	if rows, _, err := c.FindCustomers(t.Context(), "thole", "GB", 5); err != nil || len(rows) != 1 {
		t.Errorf("not found by the new name: %v, %v", rows, err)
	}
	nobody := got
	nobody.Name, nobody.Phone, nobody.PhoneE164, nobody.PhoneRegion = "", "", "", ""
	if problemsOf(t, c.SaveCustomer(t.Context(), c.clerk, c.at, nobody, version+1))["name"] == "" {
		t.Error("a customer with neither name nor telephone was kept")
	}
	got, _, _ = c.Customer(t.Context(), id)
	got.ID = 4711
	if err := c.SaveCustomer(t.Context(), c.clerk, c.at, got, 1); !errors.Is(err, domain.ErrNotFound) {
		t.Errorf("no such customer gives %v", err)
	}
	if _, err := c.CustomerSheet(t.Context(), 4711, 0); !errors.Is(err, domain.ErrNotFound) {
		t.Errorf("no such sheet gives %v", err)
	}
}

func TestCustomerSheetPagesItsDockets(t *testing.T) {
	t.Parallel()
	c := newCounter(t)
	_, sheet := c.mustTakeIn(t, c.takingIn())
	for i := range store.HistoryPage {
		in := c.takingIn()
		in.CustomerID, in.Watch.Serial = sheet.Head.Customer.ID, fmt.Sprintf("N%d", 100+i)
		c.mustTakeIn(t, in)
	}
	page, err := c.CustomerSheet(t.Context(), sheet.Head.Customer.ID, 0)
	if err != nil || len(page.Dockets) != store.HistoryPage || !page.OlderDockets ||
		len(page.Watches) != store.HistoryPage+1 {
		t.Fatalf("%d dockets, older %v, %d watches, %v", len(page.Dockets), page.OlderDockets, len(page.Watches), err)
	}
	older, err := c.CustomerSheet(t.Context(), sheet.Head.Customer.ID, page.Dockets[store.HistoryPage-1].ID)
	if err != nil || len(older.Dockets) != 1 || older.OlderDockets || older.Dockets[0].Number != sheet.Head.Docket.Number {
		t.Errorf("older %+v, %v", older.Dockets, err)
	}
	if page.Watches[0].LastDocket == "" || !page.Watches[0].LastOpen {
		t.Errorf("newest watch %+v", page.Watches[0])
	}
}

// A shop that moves to another country finds its customers by their old numbers as they are written at home and
// abroad, and a corrected note leaves the number and the country that it was read in.
func TestAPhoneNumberOutlivesTheShopsCountry(t *testing.T) {
	t.Parallel()
	c := newCounter(t)
	id := c.add(t, customer.Customer{Name: "Capt. Sorley", Phone: "01632 960052"})[0]
	for _, region := range []string{"GB", "DE", "CH"} {
		was, version, err := c.Customer(t.Context(), id)
		if err != nil || was.PhoneE164 != "+441632960052" || was.PhoneRegion != "GB" || was.PhoneUnread {
			t.Fatalf("in %s: %+v, %v", region, was, err)
		}
		shown := was.PhoneIn(region)
		form := customer.Customer{Name: was.Name, Phone: shown, Notes: "Seen from " + region}
		if err := c.SaveCustomer(t.Context(), c.clerk, c.at, form.Over(was, shown, region), version); err != nil {
			t.Errorf("in %s a note can't be corrected: %v", region, err)
		}
		for _, typed := range []string{"01632 960052", "+44 1632 960052", "0044 1632 960052", "+44 (0)1632 960 052", "960052"} {
			rows, _, err := c.FindCustomers(t.Context(), typed, region, 5)
			if err != nil || len(rows) != 1 {
				t.Errorf("in %s the list finds %d by %q, %v", region, len(rows), typed, err)
			}
			found, err := c.Find(t.Context(), store.FindQuery{Text: typed, Region: region, Year: c.at.Year()})
			if err != nil || len(found.Phones) != 1 {
				t.Errorf("in %s the search finds %d by %q, %v", region, len(found.Phones), typed, err)
			}
		}
		again := customer.Customer{Name: "Somebody", Phone: "+44 1632 960052"}.Tidied(region)
		help, err := c.IntakeHelp(t.Context(), store.IntakeQuestion{Customer: again})
		if err != nil || len(help.Alike) != 1 {
			t.Errorf("in %s taking in offers %d, %v", region, len(help.Alike), err)
		}
	}
}
