package store_test

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/books"
	"ledgerwheel/domain/customer"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/invoice"
	"ledgerwheel/domain/record"
	"ledgerwheel/store"
	"ledgerwheel/store/storetest"
)

func (b *bench) issue(t *testing.T, by store.Actor) store.Issue {
	t.Helper()
	return store.Issue{Change: b.change(t, by)}
}

func (b *bench) mustBill(t *testing.T, choices invoice.Choices) string {
	t.Helper()
	number, err := b.IssueBill(t.Context(), store.Billing{Issue: b.issue(t, b.clerk), Choices: choices})
	if err != nil {
		t.Fatal(err)
	}
	return number
}

// documents reads what was issued on the docket.
func (b *bench) documents(t *testing.T) []store.InvoiceRow {
	t.Helper()
	sheet, err := b.InvoiceSheet(t.Context(), b.n)
	if err != nil {
		t.Fatal(err)
	}
	return sheet.Invoices
}

func TestIssueBill(t *testing.T) {
	t.Parallel()
	b := ready(t)
	number := b.mustBill(t, invoice.Choices{Reference: " PO 7 "})
	if want := fmt.Sprintf("%d-0001", b.at.Year()); number != want {
		t.Errorf("number %s, want %s", number, want)
	}
	list := b.documents(t)
	if len(list) != 1 || list[0].Number != number || list[0].Document.Number != number || list[0].Totals.GrossMinor != 9000 ||
		list[0].Reference != "PO 7" || list[0].Buyer.Name == "" || list[0].Docket != b.n.String() || list[0].By != b.clerk.Name {
		t.Errorf("%+v", list)
	}
	if sum, err := list[0].Document.Totals(); err != nil || sum.GrossMinor != list[0].Totals.GrossMinor {
		t.Errorf("what is kept comes to %+v, %v", sum, err)
	}
	if due := b.head(t).Facts.DueMinor; due != 9000 {
		t.Errorf("due %d", due)
	}
	kinds := b.kinds(t, b.n)
	if kinds[len(kinds)-1] != docket.InvoiceIssued {
		t.Errorf("journal %v", kinds)
	}
	var invalid *domain.InvalidError
	if _, err := b.IssueBill(t.Context(), store.Billing{Issue: b.issue(t, b.clerk)}); !errors.As(err, &invalid) || !strings.Contains(invalid.Problems[""], number) {
		t.Errorf("billed again: %v", err)
	}
	more := int64(9500)
	if err := b.Charge(t.Context(), b.change(t, b.owner), docket.Charge{Minor: &more, Reason: "more", Word: docket.Word{How: docket.OwnerDecided}}); !errors.As(err, &invalid) {
		t.Errorf("charged after the bill: %v", err)
	}
	b.mustProveInvoices(t)
}

// mustProveInvoices holds every document against the journal. What these tests write beside the program is found too, and is
// passed over.
func (b *bench) mustProveInvoices(t *testing.T) {
	t.Helper()
	checked, err := b.CheckRecord(t.Context(), store.RecordCheck{}, func(f record.Finding) {
		if strings.Contains(f.Sentence, "invoice") {
			t.Errorf("record check: %s", f.Sentence)
		}
	})
	if err != nil || checked.Rows == 0 {
		t.Errorf("record check: %+v, %v", checked, err)
	}
}

// An issued document is never changed or deleted, whoever tries.
func TestIssuedNeverChanges(t *testing.T) {
	t.Parallel()
	b := ready(t)
	b.mustBill(t, invoice.Choices{})
	for _, sql := range []string{`UPDATE invoice SET gross_minor = gross_minor`, `UPDATE invoice SET body = '{}'`, `DELETE FROM invoice_rate`, `DELETE FROM invoice`,
		`UPDATE invoice_rate SET net_minor = net_minor`, `TRUNCATE invoice CASCADE`, `TRUNCATE invoice_rate`} {
		if _, err := b.Pool().Exec(t.Context(), sql); err == nil || !strings.Contains(err.Error(), "credit note answers") {
			t.Errorf("%s: %v", sql, err)
		}
	}
}

// Issuing takes six round trips at most, begin, commit and the guard against sending twice among them.
func TestIssuingTakesFewRoundTrips(t *testing.T) {
	t.Parallel()
	b := ready(t)
	in := b.issue(t, b.clerk)
	ctx, counter := storetest.CountRoundTrips(store.WithSending(t.Context(), &store.Sending{Key: [32]byte{1}}))
	if _, err := b.IssueDeposit(ctx, store.Billing{Issue: in}, 1000); err != nil {
		t.Fatal(err)
	}
	deposit := counter.Trips()
	in = b.issue(t, b.clerk)
	ctx, counter = storetest.CountRoundTrips(store.WithSending(t.Context(), &store.Sending{Key: [32]byte{2}}))
	number, err := b.IssueBill(ctx, store.Billing{Issue: in})
	if err != nil {
		t.Fatal(err)
	}
	bill := counter.Trips()
	in = b.issue(t, b.owner)
	ctx, counter = storetest.CountRoundTrips(store.WithSending(t.Context(), &store.Sending{Key: [32]byte{3}}))
	if _, err := b.IssueCredit(ctx, in, number, invoice.Crediting{Why: "goodwill", GrossMinor: 100}); err != nil {
		t.Fatal(err)
	}
	// The test's own guard, which looks for rows that no entry declares, is a trip that the program does not make.
	if credit := counter.Trips(); max(deposit, bill, credit)-1 > 6 {
		t.Errorf("round trips: deposit %d, bill %d, credit note %d", deposit-1, bill-1, credit-1)
	} else {
		t.Logf("round trips: deposit %d, bill %d, credit note %d", deposit-1, bill-1, credit-1)
	}
}

// numbersHaveNoGap holds the numbers of every series and year against 1, 2, 3 …, and the counters against the last, and
// returns how many documents there are.
func numbersHaveNoGap(t *testing.T, s *store.Store) int {
	t.Helper()
	rows, _ := s.Pool().Query(t.Context(), `SELECT i.series_id, i.year, i.n, i.number, c.last FROM invoice i JOIN invoice_number c USING (series_id, year) ORDER BY 1, 2, 3`)
	list, err := pgx.CollectRows(rows, pgx.RowToStructByPos[struct {
		Series  int64
		Year, N int
		Number  string
		Last    int
	}])
	if err != nil {
		t.Fatal(err)
	}
	next, last := map[[2]int64]int{}, map[[2]int64]int{}
	seen := map[string]bool{}
	for _, v := range list {
		k := [2]int64{v.Series, int64(v.Year)}
		next[k]++
		last[k] = v.Last
		if v.N != next[k] {
			t.Errorf("series %d, %d: number %d comes after %d", v.Series, v.Year, v.N, next[k]-1)
		}
		if seen[v.Number] {
			t.Errorf("%s was given twice", v.Number)
		}
		seen[v.Number] = true
	}
	for k, n := range next {
		if last[k] != n {
			t.Errorf("series %d, %d has %d numbers, its counter says %d", k[0], k[1], n, last[k])
		}
	}
	return len(list)
}

// Fifty issues at once over several series, with transactions that fail after they took a number and backends that are
// killed, leave no gap and no double.
func TestNumbersWithoutGap(t *testing.T) {
	t.Parallel()
	b := ready(t)
	series := []int64{0}
	for i, before := range []string{"R-", "{year}/"} {
		id, err := b.SaveSeries(t.Context(), store.SeriesRow{Series: invoice.Series{Name: before, Before: before, Digits: 3, Yearly: i == 1}}, b.owner, b.at)
		if err != nil {
			t.Fatal(err)
		}
		series = append(series, id)
	}
	for _, sql := range []string{`CREATE FUNCTION fails() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN RAISE EXCEPTION 'no entry'; END $$`,
		`CREATE TRIGGER fails BEFORE INSERT ON journal FOR EACH ROW WHEN (NEW.by_name = 'Fails') EXECUTE FUNCTION fails()`} {
		if _, err := b.Pool().Exec(t.Context(), sql); err != nil {
			t.Fatal(err)
		}
	}
	numbers := []docket.Number{b.n}
	for i := range 5 {
		in := b.takingIn()
		in.Customer = customer.Customer{Name: fmt.Sprintf("Wren Abara %d", i), Phone: fmt.Sprintf("01632 96020%d", i)}.Tidied("GB")
		in.Watch.Serial = fmt.Sprintf("88110%d", i)
		n, _ := b.mustTakeIn(t, in)
		numbers = append(numbers, n)
		if _, err := b.Pool().Exec(t.Context(), `INSERT INTO estimate_revision (docket_id, number, state, currency, prices_include_tax, valid_until, net_minor, tax_minor,
			gross_minor, made_by, made_at) SELECT id, 1, 'approved', 'EUR', true, '2027-01-01', 9000, 0, 9000, received_by, received_at FROM docket WHERE number = $1`, n.String()); err != nil {
			t.Fatal(err)
		}
	}
	issued, failed, killed := 0, 0, 0
	for round := range 3 {
		var mu sync.Mutex
		var all sync.WaitGroup
		stop := make(chan struct{})
		for i := range 50 {
			all.Go(func() {
				in := store.Issue{Change: store.Change{Number: numbers[i%len(numbers)], By: b.clerk, At: b.at.Add(time.Duration(i) * time.Millisecond)}, SeriesID: series[i/2%3]}
				if i%7 == 3 { // fails once it holds a number and wrote its rows
					in.By.Name = "Fails"
				}
				_, err := b.IssueDeposit(t.Context(), store.Billing{Issue: in}, int64(1+i%3))
				mu.Lock()
				defer mu.Unlock()
				if err == nil {
					issued++
				} else {
					failed++
				}
			})
		}
		var killer sync.WaitGroup
		killer.Go(func() {
			for {
				select {
				case <-stop:
					return
				case <-time.After(time.Duration(5+rand.IntN(20)) * time.Millisecond):
				}
				var n int
				err := b.Pool().QueryRow(context.WithoutCancel(t.Context()), `SELECT count(*) FROM (SELECT pg_terminate_backend(pid) FROM pg_stat_activity
					WHERE datname = current_database() AND state <> 'idle' AND query LIKE '%invoice%' AND pid <> pg_backend_pid() ORDER BY random() LIMIT 1) k`).Scan(&n)
				if err == nil {
					killed += n
				}
			}
		})
		all.Wait()
		close(stop)
		killer.Wait()
		if n := numbersHaveNoGap(t, b.Store); n < issued {
			t.Errorf("round %d: %d documents, and %d were said to be issued", round, n, issued)
		}
	}
	if issued < 60 || failed < 10 {
		t.Errorf("%d issued, %d failed: this tests little", issued, failed)
	}
	t.Logf("%d issued, %d failed, %d backends killed", issued, failed, killed)
	b.mustProveInvoices(t)
}

// Reverse charge takes the numbers of shop and customer from the record, of two countries; without one it is refused with where to
// enter it. The bill bears both and the sentence, asks for no tax, is booked by itself, and what answers it is as it is.
func TestReverseCharge(t *testing.T) {
	t.Parallel()
	b := ready(t)
	ctx := t.Context()
	bill := func() (string, error) {
		return b.IssueBill(ctx, store.Billing{Issue: b.issue(t, b.owner), Choices: invoice.Choices{Treatment: invoice.ReverseCharge}})
	}
	refused := func(where string) {
		t.Helper()
		var invalid *domain.InvalidError
		if _, err := bill(); !errors.As(err, &invalid) || !strings.Contains(invalid.Problems["treatment"], where) {
			t.Errorf("without a number: %v, want one that names %s", err, where)
		}
	}
	refused("both")
	sh, err := b.Shop(ctx)
	if err != nil {
		t.Fatal(err)
	}
	sh.TaxNumber, sh.OtherTaxNumber = "GB980780684", "Trader 12"
	if err := b.SaveShop(ctx, sh, b.owner, b.at); err != nil {
		t.Fatal(err)
	}
	refused("customer's page")
	c, version, err := b.Customer(ctx, b.head(t).Customer.ID)
	if err != nil {
		t.Fatal(err)
	}
	c.TaxNumber = "de 136 695 976"
	if err := b.SaveCustomer(ctx, b.clerk, b.at, c.Over(c, c.Phone, "GB"), version); err != nil {
		t.Fatal(err)
	}
	number, err := bill()
	if err != nil {
		t.Fatal(err)
	}
	credit, err := b.IssueCredit(ctx, b.issue(t, b.owner), number, invoice.Crediting{Why: "goodwill", GrossMinor: 1000})
	if err != nil {
		t.Fatal(err)
	}
	for _, d := range b.documents(t) {
		if d.Seller.TaxNumber != "GB980780684" || d.Seller.OtherNumber != "Trader 12" || d.Buyer.TaxNumber != "DE136695976" || d.Sentence != "Reverse charge." || d.Totals.TaxMinor != 0 {
			t.Errorf("%s: %+v", d.Number, d.Document)
		}
	}
	all, err := b.Books(ctx, "EUR", b.at.AddDate(0, 0, -1), b.at.AddDate(0, 0, 1))
	if err != nil {
		t.Fatal(err)
	}
	sold := int64(0)
	for _, l := range books.Lines(all.Facts) {
		if l.Account == books.Untaxed(invoice.ReverseCharge) {
			sold += l.CreditMinor - l.DebitMinor
		}
	}
	if sold != 9000-1000 {
		t.Errorf("%s and %s are booked as %d sold by reverse charge", number, credit, sold)
	}
	b.mustProveInvoices(t)
}
