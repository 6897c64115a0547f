package store

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/estimate"
	"ledgerwheel/domain/invoice"
	"ledgerwheel/domain/shop"
)

// InvoiceRow is an issued document, whole, with when and by whom.
type InvoiceRow struct {
	invoice.Settled
	BookedOn time.Time // civil day to which the books put it
	By       string    // "" for the program
	At       time.Time // UTC
}

const invoiceSQL = `SELECT i.id, i.number, i.body, i.booked_on, coalesce(m.name, ''), i.at, i.net_minor, i.tax_minor, i.gross_minor,
	coalesce((SELECT jsonb_agg(jsonb_build_object('TaxBasisPoints', r.tax_basis_points, 'NetMinor', r.net_minor, 'TaxMinor', r.tax_minor,
		'GrossMinor', r.gross_minor) ORDER BY r.tax_basis_points) FROM invoice_rate r WHERE r.invoice_id = i.id), '[]')
	FROM invoice i LEFT JOIN staff m ON m.id = i.by_id `

func scanInvoice(row pgx.CollectableRow) (InvoiceRow, error) {
	var v InvoiceRow
	t := &v.Totals
	err := row.Scan(&v.ID, &v.Number, &v.Document, &v.BookedOn, &v.By, &v.At, &t.NetMinor, &t.TaxMinor, &t.GrossMinor, &t.ByRate)
	v.At = v.At.UTC()
	return v, err
}

// queueInvoices adds to a batch the documents that were issued, oldest first; where names the invoices i.
func queueInvoices(batch *pgx.Batch, list *[]InvoiceRow, where string, args ...any) {
	batch.Queue(invoiceSQL+where+` ORDER BY i.id`, args...).Query(func(rows pgx.Rows) (err error) {
		*list, err = pgx.CollectRows(rows, scanInvoice)
		return err
	})
}

const invoicesOfDocket = `WHERE i.docket_id = (SELECT id FROM docket WHERE number = $1)`

// BookOf puts documents of one docket together.
func BookOf(list []InvoiceRow) invoice.Book {
	var book invoice.Book
	for _, v := range list {
		book = append(book, v.Settled)
	}
	return book
}

// billing is what a bill is made of, read in the transaction that issues it.
type billing struct {
	head     Head
	shop     shop.Shop // as it stands
	estimate estimateReader
	reason   string
	word     docket.Word
	invoices []InvoiceRow
	tests    []FinalTest
	series   []heldSeries
	found    bool
	closedTo time.Time // last closed day of the till, which is held
}

// heldSeries is a series whose counter the transaction holds.
type heldSeries struct {
	invoice.Series
	year, last    int
	usual, credit bool
}

// queue reads all of it. series is the one that was chosen, 0 for the usual ones; the counters of those that may be needed are
// held to the end of the transaction, always in the order of their ids.
func (b *billing) queue(batch *pgx.Batch, n docket.Number, series int64, at time.Time) {
	queueHeldTill(batch, n, &b.closedTo)
	stood := stoodShops{}
	queueHead(batch, n, &b.head, &b.found)
	queueShops(batch, stood, `SELECT 0`)
	batch.Queue(`SELECT 0`).Query(stood.give(&b.shop))
	b.estimate.queue(batch, ofDocket, n.String())
	queueCharge(batch, n, &b.reason, &b.word)
	queueFinalTests(batch, n, 1, &b.tests)
	queueInvoices(batch, &b.invoices, invoicesOfDocket, n.String())
	queueSeriesHeld(batch, series, at, &b.series)
}

// queueSeriesHeld adds to a batch the reading and holding of the series that may number a document at a moment.
func queueSeriesHeld(batch *pgx.Batch, series int64, at time.Time, list *[]heldSeries) {
	const year = `CASE WHEN s.yearly THEN extract(year FROM $2::timestamptz AT TIME ZONE (SELECT time_zone FROM shop))::int ELSE 0 END`
	const wanted = `NOT s.ended AND (s.id = $1 OR s.usual OR s.usual_credit)`
	batch.Queue(`INSERT INTO invoice_number (series_id, year, last) SELECT s.id, `+year+`, 0 FROM invoice_series s WHERE `+wanted+`
		ON CONFLICT DO NOTHING`, series, at)
	batch.Queue(`SELECT s.id, s.name, s.before, s.digits, s.yearly, s.usual, s.usual_credit, n.year, n.last
		FROM invoice_series s JOIN invoice_number n ON n.series_id = s.id AND n.year = `+year+` WHERE `+wanted+` ORDER BY s.id FOR UPDATE OF n`, series, at).
		Query(func(rows pgx.Rows) (err error) {
			*list, err = pgx.CollectRows(rows, func(row pgx.CollectableRow) (s heldSeries, err error) {
				return s, row.Scan(&s.ID, &s.Name, &s.Before, &s.Digits, &s.Yearly, &s.usual, &s.credit, &s.year, &s.last)
			})
			return err
		})
}

// queueCharge adds to a batch why another sum is charged than was agreed, and on whose word.
func queueCharge(batch *pgx.Batch, n docket.Number, reason *string, word *docket.Word) {
	batch.Queue(`SELECT charged_reason, charged_word, charged_word_on, charged_word_by FROM docket WHERE number = $1`, n.String()).
		Query(func(rows pgx.Rows) error {
			var on *time.Time
			_, err := pgx.ForEachRow(rows, []any{reason, &word.How, &on, &word.By}, func() error {
				word.On = timeOr(on)
				return nil
			})
			return err
		})
}

// basis is what the record says of the bill.
func (b *billing) basis() invoice.Basis {
	return billBasis(b.head, b.estimate.estimate, b.shop, b.reason, b.word, BookOf(b.invoices), b.tests)
}

// comebackKeys are of what a bill says of a comeback once its cover was decided.
var comebackKeys = map[docket.Cover]string{docket.Covered: "paper.comeback.covered", docket.NotCovered: "paper.comeback.not-covered"}

func billBasis(h Head, e estimate.Estimate, sh shop.Shop, reason string, word docket.Word, book invoice.Book, tests []FinalTest) invoice.Basis {
	d := h.Docket
	out := invoice.Basis{Docket: d.Number.String(), Watch: h.Watch.Maker, WatchReference: h.Watch.Reference, WatchSerial: h.Watch.Serial, Tongue: d.Tongue, TaxName: sh.TaxName, Currency: d.Currency,
		Seller:    invoice.Party{Name: sh.Name, Address: sh.Address, TaxNumber: sh.TaxNumber, OtherNumber: sh.OtherTaxNumber},
		Buyer:     invoice.Party{Name: h.Customer.Named().Name, Address: h.Customer.Address, TaxNumber: h.Customer.TaxNumber},
		Reference: d.OrderNumber, Rule: estimate.TaxRule{PricesIncludeTax: sh.PricesIncludeTax}, UsualBasisPoints: sh.TaxBasisPoints,
		OwedMinor: docket.OwedMinor(d.Stage, h.Facts, h.Money.Charged), Deposits: book.Deposits()}
	if said := TestedSaid(tests, d.Tongue, sh); said != "" {
		out.Notes = []string{said}
	}
	if key := comebackKeys[h.Facts.Cover]; key != "" {
		out.Notes = append(out.Notes, d.Tongue.Say(key, "number", h.ComebackOf))
	}
	if h.Watch.Model != "" {
		out.Watch += " " + h.Watch.Model
	}
	if billed, ok := e.Billed(h.Facts.Agreed()); ok && !d.Stage.Exit() {
		out.Lines, out.Rule = billed.AgreedLines(), billed.Rule
	}
	if h.Money.Charged != nil {
		out.Why = reason
		if said := word.Said(d.Tongue); said != "" {
			out.Why = reason + " " + said
		}
	}
	return out
}

// InvoiceSheet is what the page of a docket's invoices shows.
type InvoiceSheet struct {
	HandOverSheet
	Series  []SeriesRow
	Today   shop.Shop // the settings by which a document is made now
	Minutes int       // spent at the bench
}

// Basis is what the record says of the bill.
func (v InvoiceSheet) Basis() invoice.Basis {
	return billBasis(v.Head, v.Estimate, v.Today, v.ChargedReason, v.ChargedWord, v.Book(), v.Tests)
}

// InvoiceSheet reads it in one round trip; the error wraps domain.ErrNotFound.
func (s *Store) InvoiceSheet(ctx context.Context, n docket.Number) (InvoiceSheet, error) {
	var r handOverReader
	var v InvoiceSheet
	var batch pgx.Batch
	r.queue(&batch, n)
	queueSeries(&batch, &v.Series)
	stood := stoodShops{}
	queueShops(&batch, stood, `SELECT 0`)
	batch.Queue(`SELECT 0`).Query(stood.give(&v.Today))
	batch.Queue(`SELECT coalesce((SELECT sum(minutes) FROM bench_work w WHERE w.docket_id = d.id), 0) + coalesce((SELECT sum(minutes) FROM service_step s
		WHERE s.docket_id = d.id), 0) FROM docket d WHERE d.number = $1`, n.String()).QueryRow(func(row pgx.Row) error { return ignoreNone(row.Scan(&v.Minutes)) })
	if err := s.sendSheet(ctx, &batch, &r.found); err != nil {
		return v, fmt.Errorf("invoices of docket %s: %w", n, err)
	}
	v.HandOverSheet = r.done()
	return v, nil
}
