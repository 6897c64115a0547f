package store

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/message"
	"ledgerwheel/domain/purchase"
)

// OrderRow is an order in a list.
type OrderRow struct {
	ID         int64
	Number     string
	SupplierID int64
	Supplier   string
	Stands     purchase.Stage
	SentOn     time.Time
	Lines      int
	ToCome     int       // lines of which pieces are still to come
	DueOn      time.Time // the first day on which some of them are expected; zero for none
	MailState  message.State
	Note       string // to the supplier
}

// OrdersFilter narrows the list of orders. After is the id of the last order of the page before, 0 for the first page.
type OrdersFilter struct {
	Stages []purchase.Stage
	After  int64
}

// OrdersPage is how many orders a page of the list shows.
const OrdersPage = 50

// OrderList is a page of orders, the newest first.
type OrderList struct {
	Orders    []OrderRow
	More      bool
	Drafts    int // of all suppliers
	Late      int // lines, of all suppliers
	Refused   int // open orders whose mail was refused and that nobody sent otherwise since
	Suppliers []SupplierRow
}

// orderRowSQL lists at most $3 orders at stage $1 before order $2, the newest first; what else is shown of each is looked up by its id.
const orderRowSQL = `SELECT o.id, o.number, o.supplier_id, s.name, n.stage, o.sent_on, l.lines, l.to_come, l.due_on, coalesce(m.state, ''), o.note
	FROM (SELECT order_id, stage FROM order_now WHERE stage = $1 AND order_id < $2 ORDER BY order_id DESC LIMIT $3) n
	CROSS JOIN LATERAL (SELECT * FROM purchase_order WHERE id = n.order_id OFFSET 0) o JOIN supplier s ON s.id = o.supplier_id
	LEFT JOIN LATERAL (SELECT state FROM order_mail WHERE order_id = n.order_id OFFSET 0) m ON true
	CROSS JOIN LATERAL (SELECT count(*), count(*) FILTER (WHERE to_come > 0), min(due_on) FILTER (WHERE to_come > 0) FROM order_line_now
		WHERE order_id = n.order_id) l (lines, to_come, due_on) ORDER BY o.id DESC`

func scanOrderRow(row pgx.CollectableRow) (o OrderRow, err error) {
	var sent, due *time.Time
	err = row.Scan(&o.ID, &o.Number, &o.SupplierID, &o.Supplier, &o.Stands, &sent, &o.Lines, &o.ToCome, &due, &o.MailState, &o.Note)
	o.SentOn, o.DueOn = timeOr(sent), timeOr(due)
	return o, err
}

// Orders is a page of orders at some stages, in one round trip. today is the civil day in the shop.
func (s *Store) Orders(ctx context.Context, f OrdersFilter, today time.Time) (OrderList, error) {
	var list OrderList
	var batch pgx.Batch
	before := f.After
	if before == 0 {
		before = math.MaxInt64
	}
	for _, stage := range f.Stages { // each stage by its own index, the newest first
		batch.Queue(orderRowSQL, string(stage), before, OrdersPage+1).
			Query(func(rows pgx.Rows) error {
				some, err := pgx.CollectRows(rows, scanOrderRow)
				list.Orders = append(list.Orders, some...)
				return err
			})
	}
	batch.Queue(`SELECT (SELECT count(*) FROM order_now WHERE stage = 'drafted'), (SELECT count(*) FROM order_mail m
		CROSS JOIN LATERAL (SELECT stage FROM order_now WHERE order_id = m.order_id OFFSET 0) n WHERE m.state = 'refused' AND n.stage IN ('under way', 'came in part'))`).QueryRow(func(row pgx.Row) error {
		return row.Scan(&list.Drafts, &list.Refused)
	})
	queueLateCount(&batch, today, &list.Late)
	batch.Queue(`SELECT ` + supplierFields + ` FROM supplier s WHERE s.ended_at IS NULL ORDER BY lower(s.name)`).Query(func(rows pgx.Rows) (err error) {
		list.Suppliers, err = pgx.CollectRows(rows, scanSupplier)
		return err
	})
	if err := s.db.SendBatch(ctx, &batch).Close(); err != nil {
		return OrderList{}, fmt.Errorf("orders: %w", Translate(err))
	}
	slices.SortFunc(list.Orders, func(a, b OrderRow) int { return cmp.Compare(b.ID, a.ID) })
	if list.More = len(list.Orders) > OrdersPage; list.More {
		list.Orders = list.Orders[:OrdersPage]
	}
	return list, nil
}

// queueLateCount counts the lines that are late on a civil day.
func queueLateCount(batch *pgx.Batch, today time.Time, n *int) {
	batch.Queue(`SELECT count(*) FROM order_line_now WHERE to_come > 0 AND sent AND due_on < $1`, today).QueryRow(func(row pgx.Row) error { return row.Scan(n) })
}

// LateLine is a line of an order of which pieces should have come by now.
type LateLine struct {
	purchase.Line
	OrderID    int64
	Order      string
	Supplier   SupplierRow
	ToCome     int
	DueOn      time.Time
	Docket     docket.Number // zero for the drawer
	PromisedOn time.Time     // of the docket
	Customer   string
}

// LateShown is how many late lines a page lists.
const LateShown = 300

// LateLines lists what is late on a civil day, the longest late first, in one round trip.
func (s *Store) LateLines(ctx context.Context, today time.Time) (list []LateLine, more bool, err error) {
	rows, _ := s.db.Query(ctx, `SELECT l.id, l.number, l.description, l.pieces, l.cost_minor, o.id, o.number, n.to_come, n.due_on, coalesce(d.year, 0), coalesce(d.seq, 0),
			d.promised_on, coalesce(c.name, ''), `+supplierFields+`
		FROM (SELECT * FROM order_line_now WHERE to_come > 0 AND sent AND due_on < $1 ORDER BY due_on, line_id LIMIT $2) n
		CROSS JOIN LATERAL (SELECT * FROM order_line WHERE id = n.line_id OFFSET 0) l CROSS JOIN LATERAL (SELECT * FROM purchase_order WHERE id = n.order_id OFFSET 0) o
		JOIN supplier s ON s.id = o.supplier_id LEFT JOIN LATERAL (SELECT * FROM docket WHERE id = l.docket_id OFFSET 0) d ON true
		LEFT JOIN LATERAL (SELECT name FROM customer WHERE id = d.customer_id OFFSET 0) c ON true ORDER BY n.due_on, n.line_id`, today, LateShown+1)
	list, err = pgx.CollectRows(rows, func(row pgx.CollectableRow) (l LateLine, err error) {
		var promised *time.Time
		p := &l.Supplier
		err = row.Scan(&l.ID, &l.Number, &l.Description, &l.Pieces, &l.CostMinor, &l.OrderID, &l.Order, &l.ToCome, &l.DueOn, &l.Docket.Year, &l.Docket.Seq,
			&promised, &l.Customer, &p.ID, &p.Name, &p.Email, &p.Phone, &p.Address, &p.Account, &p.LeadDays, &p.Note, &p.Version)
		l.DueOn, l.PromisedOn = l.DueOn.UTC(), timeOr(promised)
		return l, err
	})
	if err != nil {
		return nil, false, fmt.Errorf("what is late: %w", Translate(err))
	}
	return list[:min(len(list), LateShown)], len(list) > LateShown, nil
}

// LineOfPart is the order, and its line, on which a docket's part is still to come. The error wraps
// domain.ErrNotFound where it is on none.
func (s *Store) LineOfPart(ctx context.Context, partLineID int64) (orderID, lineID int64, err error) {
	err = s.db.QueryRow(ctx, `SELECT order_id, line_id FROM order_line_now WHERE part_line_id = $1 AND to_come > 0`, partLineID).Scan(&orderID, &lineID)
	if errors.Is(err, pgx.ErrNoRows) {
		err = domain.ErrNotFound
	}
	if err != nil {
		return 0, 0, fmt.Errorf("order of part %d: %w", partLineID, Translate(err))
	}
	return orderID, lineID, nil
}

// OrderNumbered is the id of the order of that number. The error wraps domain.ErrNotFound.
func (s *Store) OrderNumbered(ctx context.Context, number string) (id int64, err error) {
	err = s.db.QueryRow(ctx, `SELECT id FROM purchase_order WHERE number = $1`, number).Scan(&id)
	if errors.Is(err, pgx.ErrNoRows) {
		err = domain.ErrNotFound
	}
	if err != nil {
		return 0, fmt.Errorf("order %s: %w", number, Translate(err))
	}
	return id, nil
}
