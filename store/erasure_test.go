package store_test

import (
	"errors"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/customer"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/invoice"
	"ledgerwheel/domain/shop"
	"ledgerwheel/store"
	"ledgerwheel/store/storetest"
)

// erasable is a bench whose watch was handed over, four years ago.
func erasable(t *testing.T) (b *bench, id int64, now time.Time) {
	t.Helper()
	b = ready(t)
	b.mustHandOver(t)
	id = b.head(t).Docket.CustomerID
	c, version, err := b.Customer(t.Context(), id)
	if err != nil {
		t.Fatal(err)
	}
	c.Address, c.Notes = "2 Quay Row\nSaltby", "Ada rings after six"
	if err := b.SaveCustomer(t.Context(), b.clerk, b.at, c, version); err != nil {
		t.Fatal(err)
	}
	return b, id, b.at.AddDate(4, 0, 0)
}

func (b *bench) invoices(t *testing.T, years int) {
	t.Helper()
	b.saves(t, func(s *shop.Shop) { s.InvoiceYears = years })
}

func (b *bench) erase(t *testing.T, id int64, now time.Time) error {
	t.Helper()
	return b.EraseCustomer(t.Context(), store.Erasing{CustomerID: id, Why: "Asked for by letter of Ada Quillmarsh.", By: b.owner, At: now,
		Today: now.Truncate(24 * time.Hour)})
}

// TestEraseCustomer: name and ways to reach the person go, a pseudonym stands in the journal as it is shown, the evidence
// stays, and the record is whole.
func TestEraseCustomer(t *testing.T) {
	t.Parallel()
	b, id, now := erasable(t)
	var invalid *domain.InvalidError
	if err := b.erase(t, id, now); !errors.As(err, &invalid) || !strings.Contains(invalid.Problems[""], "how many years") {
		t.Errorf("nobody said how long invoices are kept: %v", err)
	}
	b.invoices(t, 2)
	if err := b.erase(t, id, b.at.AddDate(0, 1, 0)); !errors.As(err, &invalid) || !strings.Contains(invalid.Problems[""], "warranty") {
		t.Errorf("while the warranty runs: %v", err)
	}
	if err := b.erase(t, id, now); err != nil {
		t.Fatal(err)
	}
	if err := b.erase(t, id, now); !errors.Is(err, domain.ErrChanged) {
		t.Errorf("erased again: %v", err)
	}
	page, err := b.CustomerSheet(t.Context(), id, 0)
	if err != nil {
		t.Fatal(err)
	}
	want := customer.Customer{ID: id, Name: customer.Pseudonym(id)}
	if page.Customer != want || page.Erasure == nil || !page.Erasure.Finished || page.Erasure.Sealed == 0 {
		t.Errorf("the record is %+v, of the erasure stands %+v", page.Customer, page.Erasure)
	}
	sheet, err := b.JournalSheet(t.Context(), b.n, 1<<40)
	if err != nil {
		t.Fatal(err)
	}
	if err := sheet.Verify(); err != nil {
		t.Errorf("the journal does not hold: %v", err)
	}
	told := ""
	for _, e := range sheet.Entries {
		told += e.By.Name + "\n" + e.Summary + "\n" + e.Why + "\n" + string(e.Facts) + "\n"
	}
	for _, word := range []string{"Ada", "Quillmarsh", "960123", "ada@example.org"} {
		if strings.Contains(told, word) {
			t.Errorf("the journal as it is shown says %q:\n%s", word, told)
		}
	}
	why := "Asked for by letter of " + customer.Pseudonym(id) + "."
	if sheet.Entries[0].Why != why || page.Erasure.Why != why {
		t.Errorf("why it was done reads %q on the docket and %q on the customer", sheet.Entries[0].Why, page.Erasure.Why)
	}
	shopJournal, err := b.ShopJournal(t.Context(), 0)
	if err != nil {
		t.Fatal(err)
	}
	if newest := shopJournal.Entries[0]; newest.Kind != docket.DataErased || newest.Why != why {
		t.Errorf("the shop's journal says %s, %q", newest.Kind, newest.Why)
	}
	if !strings.Contains(told, "from "+customer.Pseudonym(id)) || sheet.Entries[0].Kind != docket.CustomerErased {
		t.Errorf("the journal as it is shown:\n%s", told)
	}
}

// TestErasureWaitsForInvoices: name and address stay while invoices must show them, the rest goes at once.
func TestErasureWaitsForInvoices(t *testing.T) {
	t.Parallel()
	b, id, now := erasable(t)
	b.invoices(t, 6)
	if err := b.erase(t, id, now); err != nil {
		t.Fatal(err)
	}
	page, err := b.CustomerSheet(t.Context(), id, 0)
	if err != nil {
		t.Fatal(err)
	}
	until := time.Date(b.at.Year()+6, 12, 31, 0, 0, 0, 0, time.UTC)
	want := customer.Customer{ID: id, Name: "Ada Quillmarsh", Address: "2 Quay Row\nSaltby"}
	if page.Customer != want || page.Erasure == nil || page.Erasure.Finished || !page.Erasure.KeptUntil.Equal(until) {
		t.Errorf("the record is %+v, of the erasure stands %+v", page.Customer, page.Erasure)
	}
	if list := b.documents(t); len(list) != 1 || list[0].Buyer.Name != "Ada Quillmarsh" {
		t.Errorf("while it must be kept the invoice names %+v", list)
	}
	for _, day := range []struct {
		today time.Time
		done  int
	}{{until, 0}, {until.AddDate(0, 0, 1), 1}, {until.AddDate(0, 0, 2), 0}} {
		if n, err := b.FinishErasures(t.Context(), day.today, day.today.Add(time.Hour)); err != nil || n != day.done {
			t.Errorf("%s: %d finished, %v", day.today.Format(time.DateOnly), n, err)
		}
	}
	if page, err = b.CustomerSheet(t.Context(), id, 0); err != nil || page.Customer.Name != customer.Pseudonym(id) || !page.Erasure.Finished {
		t.Errorf("in the end %+v, %v", page.Customer, err)
	}
	if list := b.documents(t); list[0].Buyer != (invoice.Party{Name: customer.Pseudonym(id)}) || list[0].Totals.GrossMinor != 9000 {
		t.Errorf("in the end the invoice names %+v", list[0].Buyer)
	}
}

// TestErasedAgainAfterARestore: a record from before an erasure is erased by the list of those that were.
func TestErasedAgainAfterARestore(t *testing.T) {
	t.Parallel()
	b, id, now := erasable(t)
	list := []store.ErasedID{{ID: id, At: now}}
	for _, want := range []int{1, 0} {
		if n, err := b.EraseAgain(t.Context(), list, now, now); err != nil || n != want {
			t.Fatalf("%d erased again, %v; want %d", n, err, want)
		}
	}
	if c, _, err := b.Customer(t.Context(), id); err != nil || c.Email != "" || c.Phone != "" || c.Notes != "" {
		t.Errorf("%+v, %v", c, err)
	}
	young := b.add(t, customer.Customer{Name: "Fern Adeyinka"})[0]
	if n, err := b.EraseAgain(t.Context(), []store.ErasedID{{ID: young, At: b.at}}, now, now); err != nil || n != 0 {
		t.Errorf("who came later than the erasure of that number: %d, %v", n, err)
	}
}

// TestEveryTextIsKnown: of every column that holds text an erasure replaces what people wrote freely, or it is known why
// it leaves it alone.
func TestEveryTextIsKnown(t *testing.T) {
	t.Parallel()
	s := storetest.New(t)
	rows, _ := s.Pool().Query(t.Context(), `SELECT table_name::text, column_name::text FROM information_schema.columns
		WHERE table_schema = 'public' AND udt_name IN ('text', '_text', 'varchar', '_varchar', 'jsonb', 'json', 'bytea') AND table_name <> 'goose_db_version' ORDER BY 1, 2`)
	columns, err := pgx.CollectRows(rows, pgx.RowToStructByPos[struct{ Table, Column string }])
	if err != nil {
		t.Fatal(err)
	}
	replaced := 0
	for _, c := range columns {
		switch store.TextsKnown(c.Table, c.Column) {
		case "":
			t.Errorf("%s.%s: say in store/personal.go whether people write freely in it", c.Table, c.Column)
		case "replaced":
			replaced++
		}
	}
	t.Logf("%d columns hold text; in %d of them an erasure replaces words", len(columns), replaced)
}

// TestEveryTableIsExportedOrNot: each table that names a customer, a watch or a docket, also by way of another row of a
// docket, is part of an export, or it is said why not.
func TestEveryTableIsExportedOrNot(t *testing.T) {
	t.Parallel()
	s := storetest.New(t)
	rows, _ := s.Pool().Query(t.Context(), `WITH RECURSIVE named AS (
			SELECT c.oid FROM pg_class c WHERE c.oid IN ('customer'::regclass, 'docket'::regclass, 'watch'::regclass) OR c.relkind = 'r'
				AND c.relnamespace = 'public'::regnamespace AND EXISTS (SELECT FROM pg_attribute a WHERE a.attrelid = c.oid AND a.attname IN ('customer_id', 'docket_id', 'watch_id'))
			UNION SELECT f.conrelid FROM pg_constraint f JOIN named n ON f.confrelid = n.oid AND f.contype = 'f')
		SELECT oid::regclass::text FROM named ORDER BY 1`)
	tables, err := pgx.CollectRows(rows, pgx.RowTo[string])
	if err != nil {
		t.Fatal(err)
	}
	exported := store.ExportedTables()
	for _, table := range tables {
		if slices.Contains(exported, table) == (store.NotExported(table) != "") {
			t.Errorf("table %s holds what belongs to a customer: it is exported, or store/export.go says why not", table)
		}
	}
	t.Logf("of %d tables that lead to a customer %d are exported", len(tables), len(exported))
}
