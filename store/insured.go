package store

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/insured"
)

// AtRisk is what lies in the shop's keeping, and what its insurer covers.
type AtRisk struct {
	Limits insured.Limits // without a currency where nobody wrote any down
	Held   []insured.Held
}

// limitColumns are the columns of the limits, in the order in which they are read and written.
var limitColumns = []struct {
	name string
	of   insured.Limit
}{{"safe_minor", insured.Safe}, {"bench_minor", insured.Bench}, {"counter_minor", insured.Counter}, {"sent_out_minor", insured.SentOut},
	{"unlocked_minor", insured.Unlocked}, {"in_all_minor", insured.InAll}, {"item_minor", insured.Item}}

const limitsSQL = `SELECT currency, safe_minor, bench_minor, counter_minor, sent_out_minor, unlocked_minor, in_all_minor, item_minor,
	coalesce((SELECT name FROM staff WHERE id = kept_by), ''), kept_at FROM insurer_limit ORDER BY id DESC LIMIT 1`

// heldSQL adds up declared values by place and currency, and the worth of loan watches that are in, under the place "".
const heldSQL = `SELECT place, currency, count(*)::int, count(*) FILTER (WHERE declared_minor IS NULL)::int, coalesce(sum(declared_minor), 0)::bigint
	FROM docket WHERE open GROUP BY place, currency
	UNION ALL SELECT '', currency, count(*)::int, 0, sum(value_minor)::bigint FROM loan_watch w
	WHERE ended_at IS NULL AND NOT EXISTS (SELECT FROM loan l WHERE l.loan_watch_id = w.id AND l.back_at IS NULL) GROUP BY currency`

// queueAtRisk adds the reading of values and limits to a page's batch.
func queueAtRisk(batch *pgx.Batch, risk *AtRisk) {
	queueLimits(batch, &risk.Limits, new(string), new(time.Time))
	batch.Queue(heldSQL).Query(func(rows pgx.Rows) (err error) {
		risk.Held, err = pgx.CollectRows(rows, pgx.RowToStructByPos[insured.Held])
		return err
	})
}

func queueLimits(batch *pgx.Batch, l *insured.Limits, by *string, at *time.Time) {
	batch.Queue(limitsSQL).Query(func(rows pgx.Rows) error {
		l.Minor = map[insured.Limit]int64{}
		values := make([]*int64, len(limitColumns))
		into := []any{&l.Currency}
		for i := range values {
			into = append(into, &values[i])
		}
		_, err := pgx.ForEachRow(rows, append(into, by, at), func() error {
			for i, c := range limitColumns {
				if values[i] != nil {
					l.Minor[c.of] = *values[i]
				}
			}
			return nil
		})
		return err
	})
}

// AtRisk reads them in one round trip.
func (s *Store) AtRisk(ctx context.Context) (risk AtRisk, err error) {
	var batch pgx.Batch
	queueAtRisk(&batch, &risk)
	if err := s.db.SendBatch(ctx, &batch).Close(); err != nil {
		return risk, fmt.Errorf("value at risk: %w", Translate(err))
	}
	return risk, nil
}

// RiskSheet is what the page of the value at risk shows.
type RiskSheet struct {
	AtRisk
	KeptBy     string // the limits; "" where nobody wrote any down
	KeptAt     time.Time
	Dearest    []insured.Piece // in the limits' currency, or the shop's
	Undeclared []insured.Piece // the oldest of those without a declared value
}

const piecesShown = 20

const pieceSQL = `SELECT d.number, concat_ws(' ', nullif(w.maker, ''), nullif(w.model, '')), d.place, d.place_detail, coalesce(d.declared_minor, 0), d.currency
	FROM docket d JOIN watch w ON w.id = d.watch_id WHERE d.open AND d.declared_minor IS `

// RiskSheet reads the page in one round trip; currency is the shop's.
func (s *Store) RiskSheet(ctx context.Context, currency string) (sheet RiskSheet, err error) {
	var batch pgx.Batch
	queueAtRisk(&batch, &sheet.AtRisk)
	queueLimits(&batch, &sheet.Limits, &sheet.KeptBy, &sheet.KeptAt)
	pieces := func(list *[]insured.Piece) func(pgx.Rows) error {
		return func(rows pgx.Rows) (err error) {
			*list, err = pgx.CollectRows(rows, func(row pgx.CollectableRow) (p insured.Piece, err error) {
				err = row.Scan(&p.Number, &p.Watch, &p.Place.Kind, &p.Place.Detail, &p.Minor, &p.Currency)
				return p, err
			})
			return err
		}
	}
	batch.Queue(pieceSQL+`NOT NULL AND d.currency = coalesce((SELECT currency FROM insurer_limit ORDER BY id DESC LIMIT 1), $1)
		ORDER BY d.declared_minor DESC, d.id LIMIT $2`, currency, piecesShown).Query(pieces(&sheet.Dearest))
	batch.Queue(pieceSQL+`NULL ORDER BY d.id LIMIT $1`, piecesShown).Query(pieces(&sheet.Undeclared))
	if err := s.db.SendBatch(ctx, &batch).Close(); err != nil {
		return sheet, fmt.Errorf("value at risk: %w", Translate(err))
	}
	return sheet, nil
}

// SaveLimits writes down what the insurer covers from now on; what was written before stays in the record. The error is a *domain.InvalidError (see insured.Limits.Problems).
func (s *Store) SaveLimits(ctx context.Context, l insured.Limits, by Actor, at time.Time) error {
	if err := domain.Invalid(l.Problems()); err != nil {
		return err
	}
	n := note{kind: docket.InsurerLimitsSaved, by: by, at: at, summary: l.KeptSummary()}
	err := s.changeShop(ctx, &n, func(tx pgx.Tx) error {
		values := []any{l.Currency}
		for _, c := range limitColumns {
			if minor, ok := l.Minor[c.of]; ok {
				values = append(values, minor)
			} else {
				values = append(values, nil)
			}
		}
		_, err := tx.Exec(ctx, `INSERT INTO insurer_limit (currency, safe_minor, bench_minor, counter_minor, sent_out_minor, unlocked_minor, in_all_minor,
			item_minor, kept_by, kept_at) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10)`, append(values, by.StaffID, docket.Moment(at))...)
		return err
	})
	if err != nil {
		return fmt.Errorf("save the insurer's limits: %w", Translate(err))
	}
	return nil
}
