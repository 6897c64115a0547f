package store

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/message"
	"ledgerwheel/domain/purchase"
	"ledgerwheel/domain/shop"
	"ledgerwheel/domain/stock"
)

// OrderHead is an order as a list names it.
type OrderHead struct {
	ID       int64
	Number   string
	Supplier SupplierRow // as it is today
	Stands   purchase.Stage
	Version  int64
	Note     string // to the supplier
	// Of an order that went out.
	Way    purchase.Way
	SentOn time.Time         // civil day
	To     purchase.Supplier // as it was then
}

// OrderPart is what a line of an order leads to.
type OrderPart struct {
	DocketID   int64 // 0 for the drawer
	Docket     docket.Number
	State      stock.State // of the docket's part
	PartNumber string      // the shop's own, of the catalogue
	Ages       bool
}

// OrderEvent is what happened to an order, with who wrote it down.
type OrderEvent struct {
	purchase.Event
	By string
	At time.Time
}

// Order is one order with all that happened to it.
type Order struct {
	OrderHead
	purchase.Order
	Parts    map[int64]OrderPart // by the lines' ids
	Happened []OrderEvent        // the oldest first
	Mail     *OrderMail          // nil where it did not go by mail
	Shop     shop.Shop           // as it stood when the order went out, today's for a draft
	Waiting  []WaitingDocket     // open dockets that it has parts for
}

// WaitingDocket is a docket that an order has parts for.
type WaitingDocket struct {
	docket.Docket
	Watch   string
	Reach   message.Reach
	ToCome  int       // parts of it that are still needed or ordered, from whomever
	DueOn   time.Time // the last civil day on which one of them is expected; zero for none
	Unknown bool      // one of them has no such day
}

const orderFields = `o.id, o.number, o.version, o.note, o.currency, coalesce(o.way, ''), o.sent_on, coalesce(o.to_name, ''), coalesce(o.to_email, ''),
	coalesce(o.to_address, ''), coalesce(o.to_account, ''), n.stage, ` + supplierFields

func scanOrder(row pgx.CollectableRow) (o Order, err error) {
	var sent *time.Time
	s := &o.Supplier
	err = row.Scan(&o.ID, &o.Number, &o.Version, &o.Note, &o.Currency, &o.Way, &sent, &o.To.Name, &o.To.Email, &o.To.Address, &o.To.Account, &o.Stands,
		&s.ID, &s.Name, &s.Email, &s.Phone, &s.Address, &s.Account, &s.LeadDays, &s.Note, &s.Version)
	o.SentOn = timeOr(sent)
	return o, err
}

const fromOrder = ` FROM purchase_order o JOIN order_now n ON n.order_id = o.id JOIN supplier s ON s.id = o.supplier_id`

// queueOrder adds an order to a batch with its lines and what happened to it. found is set where there is one.
func queueOrder(batch *pgx.Batch, id int64, o *Order, found *bool, lock string) {
	batch.Queue(`SELECT `+orderFields+fromOrder+` WHERE o.id = $1`+lock, id).Query(func(rows pgx.Rows) error {
		list, err := pgx.CollectRows(rows, scanOrder)
		if *found = len(list) > 0; *found {
			*o = list[0]
		}
		o.Parts = map[int64]OrderPart{}
		return err
	})
	batch.Queue(`SELECT l.id, coalesce(l.part_id, 0), coalesce(l.part_line_id, 0), l.number, l.description, l.pieces, l.cost_minor, coalesce(l.docket_id, 0),
			coalesce(d.year, 0), coalesce(d.seq, 0), coalesce(w.state, ''), coalesce(p.number, ''), coalesce(p.ages, false)
		FROM order_line l LEFT JOIN docket d ON d.id = l.docket_id LEFT JOIN part_line w ON w.id = l.part_line_id LEFT JOIN part p ON p.id = l.part_id
		WHERE l.order_id = $1 ORDER BY l.id`, id).Query(func(rows pgx.Rows) error {
		var l purchase.Line
		var p OrderPart
		_, err := pgx.ForEachRow(rows, []any{&l.ID, &l.PartID, &l.PartLineID, &l.Number, &l.Description, &l.Pieces, &l.CostMinor, &p.DocketID, &p.Docket.Year,
			&p.Docket.Seq, &p.State, &p.PartNumber, &p.Ages}, func() error {
			o.Lines, o.Parts[l.ID] = append(o.Lines, l), p
			l.CostMinor = nil
			return nil
		})
		return err
	})
	batch.Queue(`SELECT e.id, coalesce(e.of_id, 0), e.kind, coalesce(e.line_id, 0), e.pieces, e.due_on, e.note, coalesce(e.fate, ''), coalesce(e.part_id, 0), f.name, e.at
		FROM order_event e JOIN staff f ON f.id = e.by_id WHERE e.order_id = $1 ORDER BY e.id`, id).Query(func(rows pgx.Rows) error {
		var e OrderEvent
		var due *time.Time
		_, err := pgx.ForEachRow(rows, []any{&e.ID, &e.OfID, &e.Kind, &e.LineID, &e.Pieces, &due, &e.Note, &e.Fate, &e.PartID, &e.By, &e.At}, func() error {
			e.DueOn, e.At = timeOr(due), e.At.UTC()
			o.Events, o.Happened = append(o.Events, e.Event), append(o.Happened, e)
			return nil
		})
		return err
	})
}

// lockOrder reads an order and holds it to the end of the transaction. Dockets that it leads to are locked before.
func lockOrder(ctx context.Context, tx pgx.Tx, id int64) (o Order, err error) {
	var found bool
	// The row is held before the rest is read, so that nothing older is seen.
	if err := tx.QueryRow(ctx, `SELECT id FROM purchase_order WHERE id = $1 FOR UPDATE`, id).Scan(&id); err != nil {
		return o, err
	}
	var batch pgx.Batch
	queueOrder(&batch, id, &o, &found, "")
	if err := tx.SendBatch(ctx, &batch).Close(); err != nil {
		return o, err
	}
	if !found {
		return o, domain.ErrNotFound
	}
	return o, nil
}

// Order reads an order's own page in one round trip. The error wraps domain.ErrNotFound.
func (s *Store) Order(ctx context.Context, id int64) (Order, error) {
	var o Order
	var found bool
	stood := stoodShops{}
	var batch pgx.Batch
	queueShops(&batch, stood, `SELECT sent_under FROM purchase_order WHERE id = $1`, id)
	queueOrder(&batch, id, &o, &found, "")
	batch.Queue(`SELECT coalesce(sent_under, 0) FROM purchase_order WHERE id = $1`, id).Query(stood.give(&o.Shop))
	queueOrderMail(&batch, id, &o.Mail)
	queueWaiting(&batch, id, &o.Waiting)
	err := s.db.SendBatch(ctx, &batch).Close()
	if err == nil && !found {
		err = domain.ErrNotFound
	}
	if err != nil {
		return Order{}, fmt.Errorf("order %d: %w", id, Translate(err))
	}
	return o, nil
}

// queueWaiting reads the open dockets that an order has parts for, and what else each waits for.
func queueWaiting(batch *pgx.Batch, id int64, list *[]WaitingDocket) {
	batch.Queue(`SELECT `+docketFields+`, w.maker || CASE WHEN w.model = '' THEN '' ELSE ' ' || w.model END, t.waits, t.due_on, t.unknown, `+customerFields+`
		FROM docket d JOIN watch w ON w.id = d.watch_id JOIN customer c ON c.id = d.customer_id
		CROSS JOIN LATERAL (SELECT count(*), max(o.due_on), bool_or(o.due_on IS NULL) FROM part_line p
			LEFT JOIN order_line_now o ON o.part_line_id = p.id AND o.to_come > 0 AND o.sent
			WHERE p.docket_id = d.id AND p.state IN ('needed', 'ordered')) t (waits, due_on, unknown)
		WHERE d.open AND d.id IN (SELECT docket_id FROM order_line WHERE order_id = $1) ORDER BY d.id`, id).Query(func(rows pgx.Rows) (err error) {
		*list, err = pgx.CollectRows(rows, func(row pgx.CollectableRow) (d WaitingDocket, err error) {
			targets, finish := docketTargets(&d.Docket)
			var due *time.Time
			var unknown *bool
			err = row.Scan(append(append(targets, &d.Watch, &d.ToCome, &due, &unknown), customerTargets(&d.Reach.Customer)...)...)
			finish()
			d.DueOn, d.Unknown = timeOr(due), unknown != nil && *unknown
			return d, err
		})
		return err
	})
}

// queueStanding writes what happened to an order comes to.
func queueStanding(batch *pgx.Batch, o Order) {
	batch.Queue(`INSERT INTO order_now (order_id, supplier_id, stage) VALUES ($1, $2, $3) ON CONFLICT (order_id) DO UPDATE SET stage = excluded.stage`,
		o.ID, o.Supplier.ID, string(o.Order.Stage()))
	batch.Queue(`DELETE FROM order_line_now WHERE order_id = $1`, o.ID)
	for _, l := range o.Lines {
		st := o.Standing(l.ID)
		batch.Queue(`INSERT INTO order_line_now (line_id, order_id, part_id, part_line_id, sent, to_come, due_on) VALUES ($1, $2, $3, $4, $5, $6, $7)`,
			l.ID, o.ID, nullID(l.PartID), nullID(l.PartLineID), o.IsSent(), st.ToCome, nullTime(st.DueOn))
	}
}

// queueHappened writes events of an order, and its next version.
func queueHappened(batch *pgx.Batch, orderID int64, events []purchase.Event, by Actor, at time.Time) {
	for _, e := range events {
		batch.Queue(`INSERT INTO order_event (order_id, line_id, kind, pieces, due_on, note, fate, part_id, by_id, at, of_id) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11)`,
			orderID, nullID(e.LineID), string(e.Kind), e.Pieces, nullTime(e.DueOn), e.Note, nullText(string(e.Fate)), nullID(e.PartID), by.StaffID, docket.Moment(at),
			nullID(e.OfID))
	}
	batch.Queue(`UPDATE purchase_order SET version = version + 1 WHERE id = $1`, orderID)
}

// orderFacts is what the shop's journal keeps of an order.
type orderFacts struct {
	Order    string           `json:"purchase_order"`
	Supplier string           `json:"supplier"`
	Way      string           `json:"way,omitempty"`
	SentTo   string           `json:"sent_to,omitempty"`
	Currency string           `json:"currency,omitempty"`
	Lines    []orderLineFacts `json:"ordered_lines,omitempty"`
	Happened []happenedFacts  `json:"events,omitempty"`
}

type orderLineFacts struct {
	Number      string `json:"part_number,omitempty"`
	Description string `json:"part,omitempty"`
	Pieces      int    `json:"pieces"`
	Cost        *int64 `json:"cost_minor,omitempty"`
	Docket      string `json:"docket,omitempty"`
}

type happenedFacts struct {
	What   string `json:"happened"`
	Part   string `json:"part,omitempty"`
	Pieces int    `json:"pieces,omitempty"`
	Due    string `json:"due,omitempty"`
	Note   string `json:"note,omitempty"`
	Fate   string `json:"fate,omitempty"`
}

func (o Order) facts() orderFacts {
	f := orderFacts{Order: o.Number, Supplier: o.Supplier.Name, Currency: o.Currency}
	for _, l := range o.Lines {
		line := orderLineFacts{Number: l.Number, Description: l.Description, Pieces: l.Pieces, Cost: l.CostMinor}
		if p := o.Parts[l.ID]; p.DocketID != 0 {
			line.Docket = p.Docket.String()
		}
		f.Lines = append(f.Lines, line)
	}
	return f
}

func (o Order) happenedFacts(events []purchase.Event) orderFacts {
	f := orderFacts{Order: o.Number, Supplier: o.Supplier.Name}
	for _, e := range events {
		h := happenedFacts{What: e.Kind.Words(), Pieces: e.Pieces, Note: e.Note, Fate: e.Fate.Words()}
		if !e.DueOn.IsZero() {
			h.Due = docket.DayWords(e.DueOn)
		}
		for _, l := range o.Lines {
			if l.ID == e.LineID {
				h.Part = l.Name()
			}
		}
		f.Happened = append(f.Happened, h)
	}
	return f
}

// lockDocketsByID holds dockets in the order of their ids, as everybody does who holds several.
func lockDocketsByID(ctx context.Context, tx pgx.Tx, ids string, args ...any) (map[int64]docket.Docket, error) {
	rows, _ := tx.Query(ctx, `SELECT `+docketFields+` FROM docket d WHERE d.id IN (`+ids+`) ORDER BY d.id FOR UPDATE`, args...)
	list, err := pgx.CollectRows(rows, func(row pgx.CollectableRow) (d docket.Docket, err error) {
		targets, finish := docketTargets(&d)
		err = row.Scan(targets...)
		finish()
		return d, err
	})
	held := map[int64]docket.Docket{}
	for _, d := range list {
		held[d.ID] = d
	}
	return held, err
}
