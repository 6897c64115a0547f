package store

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/books"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/estimate"
	"ledgerwheel/domain/invoice"
)

// Books is what the books of a span of days are made of, in one currency.
type Books struct {
	books.Facts
	// OwedMinor is what customers owed before the first day, less what they had paid ahead.
	OwedMinor int64
	Names     []books.Named
	Rates     []int // of tax that were ever billed, in basis points
	Version   int64 // of the names
	// First is the first day on which anything was booked; zero where nothing was.
	First time.Time
}

// Books reads the books of the civil days from the first to the last, both among them, in one round trip.
func (s *Store) Books(ctx context.Context, currency string, from, to time.Time) (Books, error) {
	var b Books
	var batch pgx.Batch
	queueBooked(&batch, &b.Facts, currency, from, to)
	batch.Queue(owedBeforeSQL, currency, from).QueryRow(func(row pgx.Row) error { return row.Scan(&b.OwedMinor) })
	batch.Queue(`SELECT least((SELECT min(booked_on) FROM invoice WHERE currency = $1), (SELECT min(day) FROM payment WHERE currency = $1 AND day IS NOT NULL),
		(SELECT min(day) FROM till_move WHERE currency = $1))`, currency).QueryRow(func(row pgx.Row) error {
		var first *time.Time
		err := row.Scan(&first)
		b.First = timeOr(first)
		return err
	})
	queueBookNames(&batch, &b)
	if err := s.db.SendBatch(ctx, &batch).Close(); err != nil {
		return b, fmt.Errorf("books from %s: %w", from.Format(time.DateOnly), Translate(err))
	}
	return b, nil
}

// owedBeforeSQL is what customers owed in a currency ($1) before a civil day ($2), less what they had paid ahead: what the closed day
// before it kept, and what was booked since. What was paid before days were kept is booked with the first document of its docket.
const owedBeforeSQL = `SELECT c.owed_minor
	+ coalesce((SELECT sum(CASE kind WHEN 'credit-note' THEN -gross_minor ELSE gross_minor END) FROM invoice
		WHERE currency = $1 AND booked_on > c.day AND booked_on < $2), 0)::bigint
	- coalesce((SELECT sum(minor - coalesce(rounded_minor, 0)) FROM payment WHERE currency = $1 AND day > c.day AND day < $2), 0)::bigint
	- coalesce((SELECT sum(p.minor - coalesce(p.rounded_minor, 0)) FROM invoice i JOIN payment p ON p.docket_id = i.docket_id AND p.currency = $1 AND p.day IS NULL
		WHERE i.currency = $1 AND i.booked_on > c.day AND i.booked_on < $2
		AND NOT EXISTS (SELECT FROM invoice e WHERE e.docket_id = i.docket_id AND e.id < i.id)), 0)::bigint
	FROM ((SELECT day, owed_minor FROM till_close WHERE currency = $1 AND day < $2 AND owed_minor IS NOT NULL ORDER BY day DESC LIMIT 1)
		UNION ALL SELECT '-infinity', 0 ORDER BY day DESC LIMIT 1) c`

// queueBooked adds to a batch all that was booked on the days from the first to the last.
func queueBooked(batch *pgx.Batch, f *books.Facts, currency string, from, to time.Time) {
	batch.Queue(`SELECT i.booked_on, i.number, i.kind, coalesce(i.body->>'Treatment', ''), coalesce(a.kind = 'deposit-invoice', false), i.gross_minor, coalesce(i.body->'SetOffs', 'null'),
		coalesce((SELECT jsonb_agg(jsonb_build_object('TaxBasisPoints', r.tax_basis_points, 'NetMinor', r.net_minor, 'TaxMinor', r.tax_minor, 'GrossMinor', r.gross_minor)
			ORDER BY r.tax_basis_points) FROM invoice_rate r WHERE r.invoice_id = i.id), '[]')
		FROM invoice i LEFT JOIN invoice a ON a.id = i.answers_id WHERE i.currency = $1 AND i.booked_on BETWEEN $2 AND $3 ORDER BY i.booked_on, i.id`, currency, from, to).
		Query(func(rows pgx.Rows) (err error) {
			f.Invoices, err = pgx.CollectRows(rows, func(row pgx.CollectableRow) (books.Invoice, error) {
				var i books.Invoice
				var offs []invoice.SetOff
				err := row.Scan(&i.On, &i.Number, &i.Kind, &i.Treatment, &i.OfDeposit, &i.GrossMinor, &offs, &i.Rates)
				var sum estimate.Totals
				for _, s := range offs {
					sum = sum.Plus(s.Totals)
				}
				i.SetOffs = sum.ByRate
				return i, err
			})
			return err
		})
	// What was paid before days were kept is booked with the first document of its docket.
	batch.Queue(`SELECT p.day, d.number, p.method, p.minor, coalesce(p.rounded_minor, 0), false FROM payment p JOIN docket d ON d.id = p.docket_id
			WHERE p.currency = $1 AND p.day BETWEEN $2 AND $3
		UNION ALL SELECT i.booked_on, d.number, p.method, p.minor, coalesce(p.rounded_minor, 0), true FROM invoice i JOIN payment p ON p.docket_id = i.docket_id AND p.day IS NULL
			JOIN docket d ON d.id = i.docket_id WHERE i.currency = $1 AND i.booked_on BETWEEN $2 AND $3
			AND NOT EXISTS (SELECT FROM invoice e WHERE e.docket_id = i.docket_id AND e.id < i.id)
		ORDER BY 1, 2`, currency, from, to).Query(func(rows pgx.Rows) (err error) {
		f.Payments, err = pgx.CollectRows(rows, pgx.RowToStructByPos[books.Payment])
		return err
	})
	batch.Queue(`SELECT day, kind, minor, note FROM till_move WHERE currency = $1 AND day BETWEEN $2 AND $3 ORDER BY day, id`, currency, from, to).Query(func(rows pgx.Rows) (err error) {
		f.Moves, err = pgx.CollectRows(rows, pgx.RowToStructByPos[books.Move])
		return err
	})
	batch.Queue(`SELECT day, difference_minor FROM till_close WHERE currency = $1 AND day BETWEEN $2 AND $3 AND difference_minor <> 0 ORDER BY day`, currency, from, to).
		Query(func(rows pgx.Rows) (err error) {
			f.Counts, err = pgx.CollectRows(rows, pgx.RowToStructByPos[books.Count])
			return err
		})
}

func queueBookNames(batch *pgx.Batch, b *Books) {
	batch.Queue(`SELECT account, number, name FROM book_account ORDER BY account`).Query(func(rows pgx.Rows) (err error) {
		b.Names, err = pgx.CollectRows(rows, pgx.RowToStructByPos[books.Named])
		return err
	})
	// Each rate is the next on the index after the one before: not all rows are met.
	batch.Queue(`WITH RECURSIVE billed AS (SELECT min(tax_basis_points) AS rate FROM invoice_rate
			UNION ALL SELECT (SELECT min(tax_basis_points) FROM invoice_rate WHERE tax_basis_points > b.rate) FROM billed b WHERE b.rate IS NOT NULL)
		SELECT coalesce((SELECT max(version) FROM book_account), 0), ARRAY(SELECT tax_basis_points AS rate FROM shop UNION SELECT rate FROM billed
			WHERE rate IS NOT NULL ORDER BY rate)`).QueryRow(func(row pgx.Row) error { return row.Scan(&b.Version, &b.Rates) })
}

// BookAccounts reads how the accounts are named, and at which rates of tax was ever billed.
func (s *Store) BookAccounts(ctx context.Context) (Books, error) {
	var b Books
	var batch pgx.Batch
	queueBookNames(&batch, &b)
	if err := s.db.SendBatch(ctx, &batch).Close(); err != nil {
		return b, fmt.Errorf("accounts of the books: %w", Translate(err))
	}
	return b, nil
}

// accountFacts is what the shop's journal keeps of an account's name.
type accountFacts struct {
	Of     string `json:"account_of"`
	Number string `json:"account_number,omitempty"`
	Name   string `json:"account_name,omitempty"`
}

// NameAccounts keeps how accounts are named. version is that of the form. The error is a *domain.InvalidError (see
// books.NamedProblems), or domain.ErrChanged.
func (s *Store) NameAccounts(ctx context.Context, list []books.Named, version int64, by Actor, at time.Time) error {
	if err := domain.Invalid(books.NamedProblems(list)); err != nil {
		return err
	}
	n := note{kind: docket.AccountsNamed, by: by, at: at, summary: docket.AccountsNamedSummary}
	err := s.changeShop(ctx, &n, func(tx pgx.Tx) error {
		var newest int64
		if _, err := tx.Exec(ctx, `SELECT pg_advisory_xact_lock($1)`, tillLock+1); err != nil {
			return err
		}
		if err := tx.QueryRow(ctx, `SELECT coalesce(max(version), 0) FROM book_account`).Scan(&newest); err != nil {
			return err
		}
		if newest != version {
			return domain.ErrChanged
		}
		var facts []accountFacts
		var batch pgx.Batch
		for _, a := range list {
			batch.Queue(`INSERT INTO book_account (account, number, name, version, kept_by, kept_at) VALUES ($1, $2, $3, $4, $5, $6)
				ON CONFLICT (account) DO UPDATE SET number = excluded.number, name = excluded.name, version = excluded.version, kept_by = excluded.kept_by,
				kept_at = excluded.kept_at`, string(a.Account), a.Number, a.Name, version+1, by.StaffID, docket.Moment(at))
			facts = append(facts, accountFacts{a.Account.Words(), a.Number, a.Name})
		}
		n.facts = struct {
			Accounts []accountFacts `json:"accounts"`
		}{facts}
		return tx.SendBatch(ctx, &batch).Close()
	})
	if err != nil {
		return fmt.Errorf("name accounts of the books: %w", Translate(err))
	}
	return nil
}
