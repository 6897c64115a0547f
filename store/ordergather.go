package store

import (
	"cmp"
	"context"
	"fmt"
	"maps"
	"slices"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/ledger"
	"ledgerwheel/domain/purchase"
)

// Need is something that is to be ordered and is on no order: a docket's part, or a part of the catalogue that runs short.
type Need struct {
	PartLineID  int64 // of the docket, 0 for the drawer
	PartID      int64 // of the catalogue, 0 for one that never is stock
	Docket      docket.Number
	Stage       docket.Stage // of the docket
	PromisedOn  time.Time
	Description string
	Number      string // under which the supplier has it, as far as known
	Pieces      int
	CostMinor   *int64
	Currency    string
	SupplierID  int64  // the usual one, 0 for nobody said
	Supplier    string // as it was typed for a docket's part
	Free        int    // in the drawer
	docketID    int64
}

// Agreed reports whether the docket has come to where parts are ordered; what the drawers need always is.
func (n Need) Agreed() bool {
	return n.PartLineID == 0 || n.Stage != docket.StageIntake && n.Stage != docket.StageDiagnosis && n.Stage != docket.StageEstimate
}

// NeedsShown is how many needs of each kind a page lists.
const NeedsShown = 200

// Needs is what is to be ordered.
type Needs struct {
	Dockets   []Need // the longest known first
	Drawers   []Need // by their numbers
	More      bool   // there are more than NeedsShown of one kind
	Suppliers []SupplierRow
}

// docketNeedsSQL goes by the dockets that are in the shop, since what a watch needed that left again stays needed for ever.
const docketNeedsSQL = `SELECT p.id, coalesce(p.part_id, 0), d.id, d.year, d.seq, d.stage, d.promised_on, p.description, coalesce(src.number, p.reference), p.quantity,
		c.cost_minor, coalesce(c.currency, ''), coalesce(src.supplier_id, 0), p.supplier, coalesce(s.on_hand - s.reserved, 0)
	FROM docket d CROSS JOIN LATERAL (SELECT * FROM part_line WHERE docket_id = d.id AND state = 'needed' OFFSET 0) p
	LEFT JOIN LATERAL (SELECT * FROM part WHERE id = p.part_id OFFSET 0) c ON true LEFT JOIN LATERAL (SELECT * FROM stock WHERE part_id = p.part_id OFFSET 0) s ON true
	LEFT JOIN LATERAL (SELECT supplier_id, number FROM part_source o WHERE o.part_id = p.part_id ORDER BY ordinal LIMIT 1) src ON true
	WHERE d.open AND NOT EXISTS (SELECT FROM order_line_now n WHERE n.part_line_id = p.id AND n.to_come > 0)`

func scanDocketNeeds(rows pgx.Rows) ([]Need, error) {
	return pgx.CollectRows(rows, func(row pgx.CollectableRow) (n Need, err error) {
		var promised *time.Time
		err = row.Scan(&n.PartLineID, &n.PartID, &n.docketID, &n.Docket.Year, &n.Docket.Seq, &n.Stage, &promised, &n.Description, &n.Number, &n.Pieces,
			&n.CostMinor, &n.Currency, &n.SupplierID, &n.Supplier, &n.Free)
		n.PromisedOn = timeOr(promised)
		return n, err
	})
}

// drawerNeedsSQL meets the few parts that are short first, and looks each up by its id.
const drawerNeedsSQL = `SELECT p.id, p.number || ' ' || p.name, coalesce(src.number, ''), p.cost_minor, p.currency, coalesce(src.supplier_id, 0),
		h.free, p.reorder_at, p.reorder_to, n.coming
	FROM (SELECT part_id, on_hand - reserved AS free FROM stock WHERE on_hand - reserved <= reorder_at OFFSET 0) h
	CROSS JOIN LATERAL (SELECT * FROM part WHERE id = h.part_id OFFSET 0) p
	CROSS JOIN LATERAL (SELECT coalesce(sum(to_come), 0)::int AS coming FROM order_line_now WHERE part_id = h.part_id AND to_come > 0 AND part_line_id IS NULL) n
	LEFT JOIN LATERAL (SELECT supplier_id, number FROM part_source o WHERE o.part_id = h.part_id ORDER BY ordinal LIMIT 1) src ON true
	WHERE p.ended_at IS NULL AND h.free + n.coming <= p.reorder_at`

func scanDrawerNeeds(rows pgx.Rows) ([]Need, error) {
	return pgx.CollectRows(rows, func(row pgx.CollectableRow) (n Need, err error) {
		var p ledger.Part
		var coming int
		err = row.Scan(&n.PartID, &n.Description, &n.Number, &n.CostMinor, &n.Currency, &n.SupplierID, &n.Free, &p.ReorderAt, &p.ReorderTo, &coming)
		n.Pieces = p.ToOrder(n.Free, coming)
		return n, err
	})
}

// Needs lists what is to be ordered and is on no order, in one round trip. Who supplies a docket's part is found by the name
// that was typed for it, where the catalogue does not say.
func (s *Store) Needs(ctx context.Context) (Needs, error) {
	var list Needs
	var batch pgx.Batch
	batch.Queue(docketNeedsSQL+` ORDER BY p.id LIMIT $1`, NeedsShown+1).Query(func(rows pgx.Rows) (err error) {
		list.Dockets, err = scanDocketNeeds(rows)
		return err
	})
	batch.Queue(drawerNeedsSQL+` ORDER BY p.number LIMIT $1`, NeedsShown+1).Query(func(rows pgx.Rows) (err error) {
		list.Drawers, err = scanDrawerNeeds(rows)
		return err
	})
	batch.Queue(`SELECT ` + supplierFields + ` FROM supplier s WHERE s.ended_at IS NULL ORDER BY lower(s.name)`).Query(func(rows pgx.Rows) (err error) {
		list.Suppliers, err = pgx.CollectRows(rows, scanSupplier)
		return err
	})
	if err := s.db.SendBatch(ctx, &batch).Close(); err != nil {
		return Needs{}, fmt.Errorf("what is to be ordered: %w", Translate(err))
	}
	for i := range list.Dockets {
		n := &list.Dockets[i]
		for _, s := range list.Suppliers {
			if n.Supplier != "" && strings.EqualFold(s.Name, n.Supplier) {
				n.SupplierID = s.ID
			}
		}
	}
	list.More = len(list.Dockets) > NeedsShown || len(list.Drawers) > NeedsShown
	list.Dockets, list.Drawers = list.Dockets[:min(len(list.Dockets), NeedsShown)], list.Drawers[:min(len(list.Drawers), NeedsShown)]
	return list, nil
}

// Pick is a need that is to be put on an order.
type Pick struct {
	PartLineID int64 // of a docket, or else
	PartID     int64 // of the catalogue
	SupplierID int64
	Pieces     int // of a part of the catalogue
}

// Gathered is what became of picks.
type Gathered struct {
	Orders []int64 // drafts that something was put on, by supplier
	Put    int     // needs
	Passed int     // picks that nobody needs any more, or that are on an order by now
}

// gathering is held by whoever makes or finds drafts, so that one need is put on one order and a supplier has one draft.
const gathering = 0x6f72_6465_7273

// Gather puts needs on the draft of each supplier, which is made where there is none. What is on an order by now, or needed
// no more, is passed over. today is the civil day in the shop. The error is a *domain.InvalidError with "lines" where a draft
// would get too long.
func (s *Store) Gather(ctx context.Context, picks []Pick, today time.Time, by Actor, at time.Time) (g Gathered, err error) {
	n := note{kind: docket.OrderChanged, by: by, at: at}
	err = s.changeShop(ctx, &n, func(tx pgx.Tx) error {
		g = Gathered{}
		needs, err := stillNeeded(ctx, tx, picks)
		if err != nil {
			return err
		}
		bySupplier := map[int64][]Need{}
		for _, need := range needs {
			bySupplier[need.SupplierID] = append(bySupplier[need.SupplierID], need)
			g.Put++
		}
		g.Passed = len(picks) - g.Put
		var said []string
		var facts []orderFacts
		for _, id := range slices.Sorted(maps.Keys(bySupplier)) {
			o, err := draftOf(ctx, tx, id, today, by, at)
			if err == nil {
				o, err = putOn(ctx, tx, o, bySupplier[id])
			}
			if err != nil {
				return err
			}
			g.Orders = append(g.Orders, o.ID)
			added := o.Lines[len(o.Lines)-len(bySupplier[id]):]
			said = append(said, purchase.GatheredSummary(o.Number, o.Supplier.Name, added))
			f := o.facts()
			f.Lines = f.Lines[len(o.Lines)-len(added):]
			facts = append(facts, f)
		}
		n.summary, n.facts = strings.Join(said, " "), map[string]any{"orders": facts}
		return nil
	})
	if err != nil {
		return Gathered{}, fmt.Errorf("gather orders: %w", Translate(err))
	}
	return g, nil
}

// stillNeeded reads the needs that picks name and that are on no order, and holds them so to the end of the transaction.
func stillNeeded(ctx context.Context, tx pgx.Tx, picks []Pick) ([]Need, error) {
	chosen := map[[2]int64]Pick{}
	var lines, parts []int64
	for _, p := range picks {
		if p.PartLineID != 0 {
			p.PartID = 0
			lines = append(lines, p.PartLineID)
		} else {
			parts = append(parts, p.PartID)
		}
		chosen[[2]int64{p.PartLineID, p.PartID}] = p
	}
	if _, err := lockDocketsByID(ctx, tx, `SELECT docket_id FROM part_line WHERE id = ANY ($1)`, lines); err != nil {
		return nil, err
	}
	if _, err := tx.Exec(ctx, `SELECT pg_advisory_xact_lock($1)`, gathering); err != nil {
		return nil, err
	}
	var needs, drawers []Need
	var batch pgx.Batch
	batch.Queue(docketNeedsSQL+` AND p.id = ANY ($1) ORDER BY p.id`, lines).Query(func(rows pgx.Rows) (err error) {
		needs, err = scanDocketNeeds(rows)
		return err
	})
	batch.Queue(drawerNeedsSQL+` AND p.id = ANY ($1) ORDER BY p.number`, parts).Query(func(rows pgx.Rows) (err error) {
		drawers, err = scanDrawerNeeds(rows)
		return err
	})
	numbers := map[[2]int64]string{}
	batch.Queue(`SELECT o.part_id, o.supplier_id, o.number FROM part_source o WHERE o.part_id = ANY ($1)
		OR o.part_id IN (SELECT part_id FROM part_line WHERE id = ANY ($2)) ORDER BY o.ordinal DESC`, parts, lines).Query(func(rows pgx.Rows) error {
		var key [2]int64
		var number string
		_, err := pgx.ForEachRow(rows, []any{&key[0], &key[1], &number}, func() error {
			numbers[key] = number
			return nil
		})
		return err
	})
	if err := tx.SendBatch(ctx, &batch).Close(); err != nil {
		return nil, err
	}
	needs = append(needs, drawers...)
	for i := range needs {
		n := &needs[i]
		p := chosen[[2]int64{n.PartLineID, n.PartID}]
		if n.PartLineID != 0 {
			p = chosen[[2]int64{n.PartLineID, 0}]
		} else if p.Pieces > 0 {
			n.Pieces = p.Pieces
		}
		if p.SupplierID == 0 {
			return nil, domain.Invalid(map[string]string{"supplier": "Say from whom each is ordered."})
		}
		// The number of another supplier says nothing to this one; what was typed for the docket does.
		if n.SupplierID != p.SupplierID && n.PartID != 0 {
			n.Number = numbers[[2]int64{n.PartID, p.SupplierID}]
		}
		n.SupplierID = p.SupplierID
	}
	return needs, nil
}

// draftOf is the supplier's draft, made where there is none.
func draftOf(ctx context.Context, tx pgx.Tx, supplierID int64, today time.Time, by Actor, at time.Time) (Order, error) {
	var id int64
	err := tx.QueryRow(ctx, `SELECT coalesce((SELECT order_id FROM order_now WHERE supplier_id = $1 AND stage = 'drafted'), 0)
		FROM supplier WHERE id = $1 AND ended_at IS NULL`, supplierID).Scan(&id)
	if err != nil {
		return Order{}, err
	}
	if id != 0 {
		return lockOrder(ctx, tx, id)
	}
	year, n := today.Year(), 0
	if err := tx.QueryRow(ctx, `SELECT coalesce(max(n), 0) + 1 FROM purchase_order WHERE year = $1`, year).Scan(&n); err != nil {
		return Order{}, err
	}
	err = tx.QueryRow(ctx, `WITH made AS (INSERT INTO purchase_order (year, n, number, supplier_id, currency, kept_by, kept_at)
			VALUES ($1, $2, $3, $4, (SELECT currency FROM shop), $5, $6) RETURNING id)
		INSERT INTO order_now (order_id, supplier_id, stage) SELECT id, $4, 'drafted' FROM made RETURNING order_id`, year, n, purchase.Number(year, n), supplierID,
		by.StaffID, docket.Moment(at)).Scan(&id)
	if err != nil {
		return Order{}, err
	}
	return lockOrder(ctx, tx, id)
}

// putOn writes needs on a draft that is held.
func putOn(ctx context.Context, tx pgx.Tx, o Order, needs []Need) (Order, error) {
	for _, n := range needs {
		l := purchase.Line{PartID: n.PartID, PartLineID: n.PartLineID, Number: n.Number, Description: n.Description, Pieces: n.Pieces}
		if n.Currency == o.Currency {
			l.CostMinor = n.CostMinor
		}
		o.Lines = append(o.Lines, l)
		o.Parts[int64(-len(o.Lines))] = OrderPart{DocketID: n.docketID, Docket: n.Docket}
	}
	if why := o.Problems()["lines"]; why != "" {
		return o, domain.Invalid(map[string]string{"lines": cmp.Or(o.Supplier.Name+": ", "") + why})
	}
	return addLines(ctx, tx, o, len(o.Lines)-len(needs))
}

// addLines writes the lines of an order from that one on, whose dockets stand under the negative of their places, and what the
// order comes to.
func addLines(ctx context.Context, tx pgx.Tx, o Order, from int) (Order, error) {
	var batch pgx.Batch
	for i := from; i < len(o.Lines); i++ {
		l := &o.Lines[i]
		leads := o.Parts[int64(-i-1)]
		delete(o.Parts, int64(-i-1))
		batch.Queue(`INSERT INTO order_line (order_id, part_id, part_line_id, docket_id, number, description, pieces, cost_minor)
			VALUES ($1, $2, $3, $4, $5, $6, $7, $8) RETURNING id`, o.ID, nullID(l.PartID), nullID(l.PartLineID), nullID(leads.DocketID), l.Number, l.Description,
			l.Pieces, l.CostMinor).QueryRow(func(row pgx.Row) error {
			err := row.Scan(&l.ID)
			o.Parts[l.ID] = leads
			return err
		})
	}
	if err := tx.SendBatch(ctx, &batch).Close(); err != nil {
		return o, err
	}
	var after pgx.Batch
	queueHappened(&after, o.ID, nil, Actor{}, time.Time{})
	queueStanding(&after, o)
	return o, tx.SendBatch(ctx, &after).Close()
}
