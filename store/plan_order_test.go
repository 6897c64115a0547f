package store_test

import (
	"context"
	"fmt"
	"strings"
	"testing"
	"time"

	"ledgerwheel/domain/purchase"
	"ledgerwheel/store"
)

// orderGrowth adds the orders of the dockets from $1 to $2: five lines each, one of them for the docket's part. All but the
// newest hundred came; of those, ten are drafts and twenty are late. One watch of ten left with its part still needed.
var orderGrowth = []string{
	`UPDATE part_line p SET state = CASE WHEN d.open AND p.docket_id % 2 = 0 OR NOT d.open AND p.docket_id % 10 = 0 THEN 'needed' WHEN d.open THEN 'ordered' ELSE 'fitted' END
		FROM docket d WHERE d.id = p.docket_id`,
	`UPDATE order_now SET stage = CASE WHEN order_id % 30 = 0 THEN 'called off' ELSE 'complete' END`,
	`UPDATE order_line_now SET to_come = 0, sent = true`,
	`UPDATE order_mail SET state = 'sent'`,
	`INSERT INTO purchase_order (year, n, number, supplier_id, currency, kept_by, kept_at, way, sent_on)
		SELECT 2001 + i / 1000, i % 1000, (2001 + i / 1000) || '-' || lpad((i % 1000)::text, 3, '0'), 1 + i % 20, 'EUR', 1, '2001-01-01', 'mail', date '2001-01-02' + i / 4
		FROM generate_series($1::int + 1, $2::int) i ORDER BY i`,
	`INSERT INTO order_line (order_id, part_id, part_line_id, docket_id, description, pieces)
		SELECT i, CASE WHEN k > 0 THEN 1 + (i * 5 + k) % 2000 END, CASE WHEN k = 0 THEN i END, CASE WHEN k = 0 THEN i END, 'mainspring', 2
		FROM generate_series($1::int + 1, $2::int) i, generate_series(0, 4) k ORDER BY i, k`,
	`INSERT INTO order_event (order_id, line_id, kind, pieces, by_id, at)
		SELECT order_id, id, 'came', 2, 1, '2001-01-02' FROM order_line WHERE order_id > $1::int AND order_id <= $2::int - 100`,
	`INSERT INTO order_now (order_id, supplier_id, stage) SELECT id, 1 + id % 20, CASE WHEN id > $2::int - 10 THEN 'drafted' WHEN id > $2::int - 100 THEN 'under way'
			WHEN id % 30 = 0 THEN 'called off' ELSE 'complete' END FROM purchase_order WHERE id > $1`,
	`INSERT INTO order_line_now (line_id, order_id, part_id, part_line_id, sent, to_come, due_on)
		SELECT l.id, l.order_id, l.part_id, CASE WHEN l.order_id % 2 = 1 THEN l.part_line_id END, n.stage <> 'drafted', CASE WHEN n.stage IN ('drafted', 'under way') THEN 2 ELSE 0 END,
			CASE WHEN l.order_id <= $2::int - 80 THEN date '2026-11-01' ELSE date '2026-12-20' END
		FROM order_line l JOIN order_now n ON n.order_id = l.order_id WHERE l.order_id > $1`,
	`INSERT INTO order_mail (order_id, sent_to, subject, body, name, mail_id, state, queued_at)
		SELECT id, 'a@b.example', '', '', '', 'm' || id, CASE WHEN id > $2::int - 15 THEN 'refused' ELSE 'sent' END, '2001-01-02' FROM purchase_order WHERE id > $1`,
}

// growOrders has a shop of that many dockets, each with an order.
func (o *oldShop) growOrders(t *testing.T, dockets int) {
	t.Helper()
	from := o.size
	o.growTo(t, dockets)
	if _, err := o.conn.Exec(t.Context(), `SET session_replication_role = replica`); err != nil {
		t.Fatal(err)
	}
	for _, sql := range orderGrowth {
		var args []any
		if strings.Contains(sql, "$2") {
			args = []any{from, dockets}
		} else if strings.Contains(sql, "$1") {
			args = []any{from}
		}
		if _, err := o.conn.Exec(t.Context(), sql, args...); err != nil {
			t.Fatalf("%v\n%s", err, sql)
		}
	}
	for _, sql := range []string{`RESET session_replication_role`, `VACUUM ANALYZE`} {
		if _, err := o.conn.Exec(t.Context(), sql); err != nil {
			t.Fatal(err)
		}
	}
}

// At 100 000 lines of orders what is to be ordered, what runs short, what is late, the lists of orders and one order meet as many
// rows as at a tenth of them: old orders, and what old dockets still need, cost nothing.
func TestPlansAtAHundredThousandOrderLines(t *testing.T) {
	t.Parallel()
	o := newOldShop(t)
	for _, sql := range []string{`SET session_replication_role = replica`,
		`INSERT INTO supplier (name, kept_by, kept_at) SELECT 'Gannet Materials ' || i, 1, '2001-01-01' FROM generate_series(1, 20) i`,
		`INSERT INTO part (number, name, unit, currency, includes_tax, tax_basis_points, reorder_at, reorder_to, kept_by, kept_at)
			SELECT 'P-' || lpad(i::text, 6, '0'), 'Mainspring ' || i, 'piece', 'EUR', true, 2000, 2, 6, 1, '2001-01-01' FROM generate_series(1, 20000) i`,
		`INSERT INTO part_source (part_id, ordinal, supplier_id, number) SELECT id, 1, 1 + id % 20, 'G' || id FROM part`,
		`INSERT INTO stock (part_id, seq, on_hand, reserved, reorder_at) SELECT id, 1, CASE WHEN id % 400 = 0 THEN 1 ELSE 10 END, 0, reorder_at FROM part`,
		`RESET session_replication_role`} {
		if _, err := o.conn.Exec(t.Context(), sql); err != nil {
			t.Fatalf("%v\n%s", err, sql)
		}
	}
	today := time.Date(2026, 11, 24, 0, 0, 0, 0, time.UTC)
	orders := func(after int64, want int, stages ...purchase.Stage) func(context.Context) error {
		return func(ctx context.Context) error {
			list, err := o.Orders(ctx, store.OrdersFilter{Stages: stages, After: after}, today)
			if err == nil && (len(list.Orders) != want || list.Late != 100 || list.Refused != 5 || list.Drafts != 10) {
				err = fmt.Errorf("%d orders, %d late, %d refused, %d drafts", len(list.Orders), list.Late, list.Refused, list.Drafts)
			}
			return err
		}
	}
	questions := []struct {
		what string
		rows float64 // at most
		ask  func(context.Context) error
	}{
		{"to be ordered", 4000, func(ctx context.Context) error {
			n, err := o.Needs(ctx)
			if err == nil && (len(n.Dockets) < 190 || len(n.Drawers) < 20) {
				err = fmt.Errorf("%d dockets need, %d drawers", len(n.Dockets), len(n.Drawers))
			}
			return err
		}},
		{"open orders", 4000, orders(0, 50, purchase.Drafted, purchase.Underway, purchase.InPart)},
		{"done with", 4000, orders(0, 50, purchase.Complete, purchase.CalledOff)},
		{"done with, a later page", 4000, orders(1000, 50, purchase.Complete, purchase.CalledOff)},
		{"late", 4000, func(ctx context.Context) error {
			list, more, err := o.LateLines(ctx, today)
			if err == nil && (len(list) != 100 || more) {
				err = fmt.Errorf("%d late lines", len(list))
			}
			return err
		}},
		{"an order", 600, func(ctx context.Context) error { _, err := o.Order(ctx, 1000); return err }},
		{"its line", 5, func(ctx context.Context) error {
			_, _, err := o.LineOfPart(ctx, int64(o.size-51))
			return err
		}},
	}
	met := make([]float64, len(questions))
	for _, dockets := range []int{2_000, 20_000} {
		o.growOrders(t, dockets)
		for i, q := range questions {
			o.watch.take()
			if err := q.ask(t.Context()); err != nil {
				t.Errorf("%s: %v", q.what, err)
				continue
			}
			var sum cost
			for _, asked := range o.watch.take() {
				c := explain(t, o.conn, asked, q.what, false)
				sum.rows, sum.pages = sum.rows+c.rows, sum.pages+c.pages
			}
			t.Logf("%6d lines: %-24s rows %6.0f   pages %6d", dockets*5, q.what, sum.rows, sum.pages)
			if sum.rows > q.rows || met[i] > 0 && sum.rows > 1.3*met[i]+50 {
				t.Errorf("at %d lines %s meets %.0f rows, before %.0f; at most %.0f are right", dockets*5, q.what, sum.rows, met[i], q.rows)
			}
			met[i] = sum.rows
		}
	}
}
