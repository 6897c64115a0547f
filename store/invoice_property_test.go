package store_test

import (
	"errors"
	"fmt"
	"math/rand/v2"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/books"
	"ledgerwheel/domain/customer"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/invoice"
	"ledgerwheel/domain/money"
	"ledgerwheel/domain/till"
	"ledgerwheel/store"
)

// moneyActs are several people at several dockets at once, in a currency whose cash goes in steps of five.
type moneyActs struct {
	*bench
	numbers []docket.Number
	done    atomic.Int64
	days    atomic.Int64 // that have passed
}

// closes counts the till as somebody whose shift ends, and begins the next day.
func (m *moneyActs) closes(t *testing.T, at time.Time) error {
	v, err := m.Till(t.Context(), "CHF", civil(at, m.shop.Location()), time.Time{})
	if err != nil {
		return err
	}
	c := store.TillClosing{Currency: "CHF", On: v.Day.On, SeenMinor: v.Day.HoldsMinor(), Closing: till.Closing{CountedMinor: max(0, v.Day.HoldsMinor()), Why: "nobody knows"}}
	switch err := m.CloseTill(t.Context(), c, m.clerk, at); {
	case err == nil:
		m.days.Add(1)
		return nil
	case errors.Is(err, till.ErrClosed), errors.Is(err, till.ErrEarly):
		return nil
	default:
		return err
	}
}

// owedHoldsUp works out, document by document and payment by payment, what customers owed at the end of each closed day, and on
// other days, and holds what the closings kept and what the books begin with to that.
func (m *moneyActs) owedHoldsUp(t *testing.T) (closed int) {
	t.Helper()
	type passed struct {
		on    time.Time
		minor int64
	}
	list := func(sql string) (all []passed) {
		t.Helper()
		rows, _ := m.Pool().Query(t.Context(), sql)
		var p passed
		if _, err := pgx.ForEachRow(rows, []any{&p.on, &p.minor}, func() error { all = append(all, p); return nil }); err != nil {
			t.Fatal(err)
		}
		return all
	}
	all := append(list(`SELECT booked_on, CASE kind WHEN 'credit-note' THEN -gross_minor ELSE gross_minor END FROM invoice`),
		list(`SELECT day, -(minor - coalesce(rounded_minor, 0)) FROM payment`)...)
	before := func(day time.Time) (sum int64) {
		for _, p := range all {
			if p.on.Before(day) {
				sum += p.minor
			}
		}
		return sum
	}
	kept := list(`SELECT day, owed_minor FROM till_close`)
	for _, k := range kept {
		if got := before(k.on.AddDate(0, 0, 1)); got != k.minor {
			t.Errorf("%s was closed with %d owed, by hand %d", k.on.Format(time.DateOnly), k.minor, got)
		}
	}
	first := civil(m.at, m.shop.Location()).AddDate(0, 0, -2)
	for i := range len(kept) + 6 {
		day := first.AddDate(0, 0, i)
		b, err := m.Books(t.Context(), "CHF", day, day)
		if err != nil {
			t.Fatal(err)
		}
		if b.OwedMinor != before(day) || b.OwedMinor+books.Total(b.Facts).OwedMinor != before(day.AddDate(0, 0, 1)) {
			t.Errorf("%s begins with %d owed, by hand %d", day.Format(time.DateOnly), b.OwedMinor, before(day))
		}
	}
	return len(kept)
}

func newMoneyActs(t *testing.T, dockets int) *moneyActs {
	m := &moneyActs{bench: newBench(t)}
	m.numbers = []docket.Number{m.n}
	for i := range dockets - 1 {
		in := m.takingIn()
		in.Customer = customer.Customer{Name: fmt.Sprintf("Wren Abara %d", i), Phone: fmt.Sprintf("01632 96020%d", i)}.Tidied("GB")
		in.Watch.Serial = fmt.Sprintf("88110%d", i)
		n, _ := m.mustTakeIn(t, in)
		m.numbers = append(m.numbers, n)
	}
	for _, sql := range []string{`UPDATE docket SET currency = 'CHF'`,
		`INSERT INTO estimate_revision (docket_id, number, state, currency, prices_include_tax, valid_until, net_minor, tax_minor, gross_minor, made_by, made_at)
			SELECT id, 1, 'approved', 'CHF', false, '2027-01-01', 20033, 1623, 21656, received_by, received_at FROM docket`,
		`INSERT INTO estimate_line (revision_id, ordinal, kind, description, quantity_milli, unit_minor, tax_basis_points, optional, declined)
			SELECT id, 1, 'labour', 'Full service', 1000, 20033, 810, false, false FROM estimate_revision`} {
		if _, err := m.Pool().Exec(t.Context(), sql); err != nil {
			t.Fatal(err)
		}
	}
	return m
}

// act does one thing at random, as somebody who looks first. Refusals are part of it; anything else is an error.
func (m *moneyActs) act(t *testing.T, r *rand.Rand) error {
	n := m.numbers[r.IntN(len(m.numbers))]
	sheet, err := m.InvoiceSheet(t.Context(), n)
	if err != nil {
		return err
	}
	by := []store.Actor{m.clerk, m.owner}[r.IntN(2)]
	c := store.Change{Number: n, Version: sheet.Head.Docket.Version, By: by, At: m.at.AddDate(0, 0, int(m.days.Load())).Add(time.Duration(m.done.Load()) * time.Second)}
	due := sheet.Head.Facts.DueMinor
	method := []docket.Method{docket.Cash, docket.Card}[r.IntN(2)]
	if r.IntN(20) == 0 {
		err = m.closes(t, c.At)
	}
	if err != nil && !errors.Is(err, domain.ErrChanged) {
		return err
	}
	switch r.IntN(7) {
	case 0:
		_, err = m.IssueDeposit(t.Context(), store.Billing{Issue: store.Issue{Change: c}}, 1+r.Int64N(9000))
	case 1:
		v := store.Billing{Issue: store.Issue{Change: c}, Reason: "goodwill"}
		if r.IntN(2) == 0 {
			v.Choices.OffMinor = r.Int64N(400)
		}
		_, err = m.IssueBill(t.Context(), v)
	case 2, 3:
		if len(sheet.Invoices) == 0 {
			return nil
		}
		of := sheet.Invoices[r.IntN(len(sheet.Invoices))]
		_, err = m.IssueCredit(t.Context(), store.Issue{Change: c}, of.Number, invoice.Crediting{GrossMinor: r.Int64N(3) * (1 + r.Int64N(8000)), Why: "complaint"})
		if of.Kind == invoice.Credit && errors.Is(err, domain.ErrNotFound) {
			err = nil
		}
	case 4:
		p := docket.Payment{Minor: due, Method: method, Beyond: true}
		if method == docket.Cash {
			p.Minor = money.CashRounded(due, "CHF")
		}
		if r.IntN(2) == 0 || p.Minor <= 0 {
			p.Minor = 1 + r.Int64N(9000)
		}
		err = m.TakePayment(t.Context(), c, p)
	case 5:
		err = m.TakePayment(t.Context(), c, docket.Payment{Minor: -1 - r.Int64N(max(1, -due)+50), Method: method, Note: "given back"})
	case 6:
		charge := 15000 + r.Int64N(9000)
		err = m.Charge(t.Context(), c, docket.Charge{Minor: &charge, Reason: "agreed again", Word: docket.Word{How: docket.SaidByPhone, On: m.at, By: "Nuala"}})
	}
	var invalid *domain.InvalidError
	if errors.As(err, &invalid) || errors.Is(err, domain.ErrChanged) {
		return nil
	}
	if err == nil {
		m.done.Add(1)
	}
	return err
}

// anyMoment holds, in one snapshot, what the documents and payments of every docket with a bill come to against what its newest
// entry about money says is still due.
func (m *moneyActs) anyMoment(t *testing.T) int {
	rows, _ := m.Pool().Query(t.Context(), `SELECT d.number,
		(SELECT coalesce(sum(CASE kind WHEN 'credit-note' THEN -gross_minor ELSE gross_minor END), 0)::bigint FROM invoice WHERE docket_id = d.id),
		(SELECT coalesce(sum(minor), 0)::bigint FROM payment WHERE docket_id = d.id), (SELECT coalesce(sum(rounded_minor), 0)::bigint FROM payment WHERE docket_id = d.id),
		(SELECT (convert_from(j.facts, 'UTF8')::json ->> 'still_due_minor')::bigint FROM journal j WHERE j.docket_id = d.id AND j.facts IS NOT NULL
			AND convert_from(j.facts, 'UTF8')::jsonb ? 'still_due_minor' ORDER BY j.seq DESC LIMIT 1)
		FROM docket d WHERE EXISTS (SELECT FROM invoice WHERE docket_id = d.id AND kind = 'invoice')`)
	var number string
	var billed, paid, rounded int64
	var due *int64
	held := 0
	if _, err := pgx.ForEachRow(rows, []any{&number, &billed, &paid, &rounded, &due}, func() error {
		held++
		if due == nil || billed-paid+rounded != *due {
			t.Errorf("%s: invoices less credit notes %d, takings %d, rounded %d; the journal says that %v is due", number, billed, paid, rounded, due)
		}
		return nil
	}); err != nil {
		t.Error(err)
	}
	return held
}

// recomputed adds up every document from its own lines, and every payment, and holds the page's figures to that.
func (m *moneyActs) recomputed(t *testing.T) (documents int) {
	t.Helper()
	for _, n := range m.numbers {
		sheet, err := m.InvoiceSheet(t.Context(), n)
		if err != nil {
			t.Fatal(err)
		}
		documents += len(sheet.Invoices)
		billed, takings, rounded := int64(0), int64(0), int64(0)
		for _, v := range sheet.Invoices {
			sum, err := v.Document.Totals()
			if err != nil || sum.GrossMinor != v.Totals.GrossMinor || sum.TaxMinor != v.Totals.TaxMinor {
				t.Errorf("%s: its lines come to %+v, it is kept as %+v, %v", v.Number, sum, v.Totals, err)
			}
			if v.Kind == invoice.Credit {
				billed -= sum.GrossMinor
			} else {
				billed += sum.GrossMinor
			}
		}
		for _, p := range sheet.Payments {
			takings, rounded = takings+p.Minor, rounded+p.Rounded
		}
		owed := sheet.Book().Account(sheet.Head.PaidMinor, sheet.Head.Money.RoundedMinor).OwedMinor()
		if billed != takings-rounded+owed {
			t.Errorf("%s: %d billed is not takings %d less rounding %d and %d owed", n, billed, takings, rounded, owed)
		}
		if sheet.Head.Money.Billed && sheet.Head.Facts.DueMinor != owed {
			t.Errorf("%s: the page says %d due, the documents say %d", n, sheet.Head.Facts.DueMinor, owed)
		}
		if billed < 0 {
			t.Errorf("%s: more is credited than was billed", n)
		}
	}
	return documents
}

// At any moment the invoices less the credit notes are the takings and what is owed, whoever does what at once.
func TestMoneyAddsUp(t *testing.T) {
	t.Parallel()
	m := newMoneyActs(t, 3)
	held, documents, closed := 0, 0, 0
	for round := range 5 {
		var people sync.WaitGroup
		for person := range 4 {
			people.Go(func() {
				r := rand.New(rand.NewPCG(uint64(round), uint64(person)))
				for range 60 {
					if err := m.act(t, r); err != nil {
						t.Error(err)
						return
					}
				}
			})
		}
		over := make(chan struct{})
		var watcher sync.WaitGroup
		watcher.Go(func() {
			for {
				held += m.anyMoment(t)
				select {
				case <-over:
					return
				case <-time.After(2 * time.Millisecond):
				}
			}
		})
		people.Wait()
		close(over)
		watcher.Wait()
		documents, closed = m.recomputed(t), m.owedHoldsUp(t)
	}
	numbersHaveNoGap(t, m.Store)
	m.mustProveInvoices(t)
	if m.done.Load() < 100 || documents < 20 || held < 50 || closed < 5 {
		t.Errorf("%d acts, %d documents, %d days closed, looked at %d: this tests little", m.done.Load(), documents, closed, held)
	}
	t.Logf("%d acts on %d dockets, %d documents; %d accounts held in between", m.done.Load(), len(m.numbers), documents, held)
}
