package store

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain/docket"
)

// Morning is what the owner sees first.
type Morning struct {
	Standing
	// Open are as of [Today].
	Open  []DocketRow
	More  bool
	Taken []Taken // a line a currency in which the shop ever took money
	Owed  []Owed  // a line a currency in which something is owed
}

// Taken is what was taken, less what was given back, in minor units of a currency.
type Taken struct {
	Currency                   string
	YesterdayMinor, MonthMinor int64
}

// Owed is what is billed and not paid, in minor units of a currency, and on how many dockets.
type Owed struct {
	Currency string
	Minor    int64
	Dockets  int
}

// takenSQL adds up the payments booked from the first day of a month ($1) to a day ($2), and those of the day before that. Every
// currency of the shop's was one of its settings.
const takenSQL = `SELECT c.currency, coalesce(t.yesterday, 0), coalesce(t.month, 0)
	FROM (SELECT currency FROM shop UNION SELECT currency FROM shop_version) c,
	LATERAL (SELECT sum(minor) FILTER (WHERE day = $2::date - 1)::bigint AS yesterday, sum(minor) FILTER (WHERE day >= $1)::bigint AS month
		FROM payment WHERE currency = c.currency AND day BETWEEN least($1::date, $2::date - 1) AND $2) t ORDER BY c.currency`

// Morning reads what the owner sees first on the civil day today, midnight UTC, in one round trip. What it reads does not grow with
// what is past: open dockets, the payments of a month, who owes, and what is due.
func (s *Store) Morning(ctx context.Context, today time.Time) (Morning, error) {
	var m Morning
	var batch pgx.Batch
	queueShopStanding(&batch, &m.Standing)
	queueOpen(&batch, &m.Open)
	month := time.Date(today.Year(), today.Month(), 1, 0, 0, 0, 0, time.UTC)
	batch.Queue(takenSQL, month, today).Query(func(rows pgx.Rows) (err error) {
		m.Taken, err = pgx.CollectRows(rows, pgx.RowToStructByPos[Taken])
		return err
	})
	batch.Queue(`SELECT currency, sum(owed_minor)::bigint, count(*) FROM docket_owed GROUP BY currency ORDER BY currency`).Query(func(rows pgx.Rows) (err error) {
		m.Owed, err = pgx.CollectRows(rows, pgx.RowToStructByPos[Owed])
		return err
	})
	if err := s.db.SendBatch(ctx, &batch).Close(); err != nil {
		return Morning{}, fmt.Errorf("the morning: %w", Translate(err))
	}
	m.More = len(m.Open) > openRead
	m.Open = m.Open[:min(len(m.Open), openRead)]
	return m, nil
}

// queueOpen adds to a batch the open dockets, one more than openRead at most, those promised soonest first.
func queueOpen(batch *pgx.Batch, open *[]DocketRow) {
	batch.Queue(`SELECT `+rowColumns+` FROM docket d WHERE d.open ORDER BY d.promised_on, d.id LIMIT $1`, openRead+1).
		Query(func(rows pgx.Rows) (err error) {
			*open, err = pgx.CollectRows(rows, scanDocketRow)
			return err
		})
}

// Debt is a docket of which something is billed and not paid.
type Debt struct {
	ID                         int64
	Number                     docket.Number
	Customer, Phone, PhoneE164 string
	Open                       bool // the watch is still here
	Currency                   string
	Minor                      int64
	Since                      time.Time // civil day of its first document
}

// DebtsPage is how many debts a page shows.
const DebtsPage = 50

// Debts reads a page of what is billed and not paid, newest dockets first, before the docket of that id; 0 begins at the newest. more
// says that there are older ones.
func (s *Store) Debts(ctx context.Context, before int64) (list []Debt, more bool, err error) {
	rows, _ := s.db.Query(ctx, `SELECT d.id, d.year, d.seq, c.name, c.phone, coalesce(c.phone_e164, ''), d.open, o.currency, o.owed_minor, o.since
		FROM docket_owed o JOIN docket d ON d.id = o.docket_id JOIN customer c ON c.id = d.customer_id
		WHERE $1::bigint = 0 OR o.docket_id < $1 ORDER BY o.docket_id DESC LIMIT $2`, before, DebtsPage+1)
	list, err = pgx.CollectRows(rows, func(row pgx.CollectableRow) (Debt, error) {
		var d Debt
		return d, row.Scan(&d.ID, &d.Number.Year, &d.Number.Seq, &d.Customer, &d.Phone, &d.PhoneE164, &d.Open, &d.Currency, &d.Minor, &d.Since)
	})
	if err != nil {
		return nil, false, fmt.Errorf("what is owed: %w", Translate(err))
	}
	return list[:min(len(list), DebtsPage)], len(list) > DebtsPage, nil
}
