package store

import (
	"context"
	"fmt"
	"slices"
	"strconv"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain/comeback"
	"ledgerwheel/domain/docket"
)

// ComebackRow is a comeback in the list.
type ComebackRow struct {
	DocketRow
	Said     Comeback
	Of       docket.Number // the docket that it returns from
	Currency string
	Spent    comeback.Spent
}

// ComebackList is a page of comebacks, newest first.
type ComebackList struct {
	Rows         []ComebackRow
	Newer, Older bool // there are more on that side
}

// ComebackFilter narrows the list: to those whose watch the shop keeps, and to where a further page begins. At most one of
// Before and After, ids of dockets, is set.
type ComebackFilter struct {
	Open          bool
	Before, After int64
}

// ComebacksPage is how many comebacks a page of the list shows.
const ComebacksPage = 25

// Comebacks reads a page of the list of comebacks in one round trip.
func (s *Store) Comebacks(ctx context.Context, f ComebackFilter) (ComebackList, error) {
	var list ComebackList
	var said []Comeback
	var spent []comebackSpent
	var batch pgx.Batch
	page, args := f.query()
	order := "DESC"
	if f.After != 0 {
		order = "ASC"
	}
	batch.Queue(`WITH page AS MATERIALIZED (`+page+`) SELECT `+rowColumns+`, (SELECT number FROM docket WHERE id = d.comeback_of), d.currency
		FROM page JOIN docket d USING (id) ORDER BY d.id `+order, args...).Query(func(rows pgx.Rows) (err error) {
		list.Rows, err = pgx.CollectRows(rows, scanComebackRow)
		return err
	})
	batch.Queue(comebackSQL+`WHERE k.docket_id IN (`+page+`)`, args...).Query(func(rows pgx.Rows) (err error) {
		said, err = pgx.CollectRows(rows, scanComeback)
		return err
	})
	queueSpent(&batch, `d.id IN (`+page+`)`, &spent, args...)
	if err := s.db.SendBatch(ctx, &batch).Close(); err != nil {
		return ComebackList{}, fmt.Errorf("list of comebacks: %w", Translate(err))
	}
	more := len(list.Rows) > ComebacksPage
	list.Rows = list.Rows[:min(len(list.Rows), ComebacksPage)]
	list.Newer, list.Older = f.Before != 0, more
	if f.After != 0 {
		slices.Reverse(list.Rows)
		list.Newer, list.Older = more, true
	}
	for i := range list.Rows {
		list.Rows[i].take(said, spent)
	}
	return list, nil
}

// query picks the dockets of a page, one more than it shows.
func (f ComebackFilter) query() (string, []any) {
	var w where
	w.add("comeback_of IS NOT NULL")
	if f.Open {
		w.add("open")
	}
	order := "DESC"
	switch {
	case f.Before != 0:
		w.add("id < ?", f.Before)
	case f.After != 0:
		w.add("id > ?", f.After)
		order = "ASC"
	}
	return `SELECT id FROM docket ` + w.sql() + ` ORDER BY id ` + order + ` LIMIT ` + strconv.Itoa(ComebacksPage+1), w.args
}

// take gives the row what was said of its docket, and what that took.
func (r *ComebackRow) take(said []Comeback, spent []comebackSpent) {
	for _, k := range said {
		if k.docketID == r.Docket.ID {
			r.Said = k
		}
	}
	for _, s := range spent {
		if s.docketID == r.Docket.ID {
			r.Spent = s.Spent
		}
	}
}

// scanComebackRow reads rowColumns and what follows them in the list of comebacks.
func scanComebackRow(row pgx.CollectableRow) (ComebackRow, error) {
	var r ComebackRow
	var of string
	var err error
	r.DocketRow, err = scanRowAnd(row, &of, &r.Currency)
	if err == nil {
		r.Of, err = docket.ParseNumber(of)
	}
	return r, err
}
