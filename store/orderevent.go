package store

import (
	"cmp"
	"context"
	"errors"
	"maps"
	"slices"
	"strconv"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/ledger"
	"ledgerwheel/domain/purchase"
	"ledgerwheel/domain/stock"
)

// Happening is something that happened to an order. Lot is of what goes into the drawer as a part that ages.
type Happening struct {
	purchase.Event
	Lot ledger.Lot
}

// field is the form field of a happening: of one line, the line's id stands behind a point.
func (h Happening) field(name string) string {
	if h.LineID == 0 || name == "" {
		return name
	}
	return name + "." + strconv.FormatInt(h.LineID, 10)
}

// WriteDown writes down what happened to an order that went out, all or nothing: pieces that came go to their dockets, and
// through the ledger into the drawers. The error is a *domain.InvalidError (see purchase.Refusal and ledger.Lot.Problems; of a
// line, its id stands behind a point), or as of the other changes of an order.
func (s *Store) WriteDown(ctx context.Context, c OrderChange, list []Happening) error {
	n := note{kind: docket.OrderChanged}
	return s.changeOrder(ctx, c, &n, func(tx pgx.Tx, o Order, dockets map[int64]docket.Docket) error {
		w := written{store: s, tx: tx, change: c, order: o, dockets: dockets}
		for _, h := range list {
			if err := w.take(h); err != nil {
				return err
			}
		}
		if err := w.read(ctx); err != nil {
			return err
		}
		w.plan()
		if err := w.receive(ctx); err != nil {
			return err
		}
		if err := w.reachDockets(ctx); err != nil {
			return err
		}
		var batch pgx.Batch
		queueHappened(&batch, o.ID, w.events, c.By, c.At)
		queueStanding(&batch, w.order)
		n.summary, n.facts = purchase.HappenedSummary(o.Number, o.Supplier.Name, w.order.Order, w.events), o.happenedFacts(w.events)
		return tx.SendBatch(ctx, &batch).Close()
	})
}

// written is what happened to an order while it is written down.
type written struct {
	store   *Store
	tx      pgx.Tx
	change  OrderChange
	order   Order
	dockets map[int64]docket.Docket
	list    []Happening
	events  []purchase.Event
	lines   map[int64]PartRow // of dockets, by their ids
	ages    map[int64]bool    // parts of the catalogue
	told    map[int64][]event // what each docket's journal is told
	reaches []purchase.Reach  // of each of list
}

// take has the rules say whether h can have happened.
func (w *written) take(h Happening) error {
	next, err := w.order.After(h.Event)
	if err != nil {
		bad := map[string]string{}
		for field, why := range purchase.Refusal(err) {
			bad[h.field(field)] = why
		}
		if len(bad) == 0 {
			return err
		}
		return domain.Invalid(bad)
	}
	w.order.Order = next
	w.list, w.events = append(w.list, h), append(w.events, next.Events[len(next.Events)-1])
	return nil
}

// line is the order's line that h is about.
func (w *written) line(h Happening) purchase.Line {
	for _, l := range w.order.Lines {
		if l.ID == h.LineID {
			return l
		}
	}
	return purchase.Line{}
}

// partOf is the part of the catalogue that pieces of h go into the drawer as; 0 for none.
func (w *written) partOf(h Happening) int64 {
	switch h.Kind {
	case purchase.Came:
		return w.line(h).PartID
	case purchase.CameWrong, purchase.Unordered, purchase.Settled:
		return h.PartID
	}
	return 0
}

// read reads the docket's parts that the lines were made for, and which parts of the catalogue age.
func (w *written) read(ctx context.Context) error {
	var lines, parts []int64
	for _, h := range w.list {
		lines, parts = append(lines, w.line(h).PartLineID), append(parts, w.partOf(h))
	}
	w.lines, w.ages, w.told = map[int64]PartRow{}, map[int64]bool{}, map[int64][]event{}
	var batch pgx.Batch
	batch.Queue(`SELECT `+partFields+` FROM part_line p WHERE p.id = ANY ($1)`, lines).Query(func(rows pgx.Rows) error {
		list, err := pgx.CollectRows(rows, scanPart)
		for _, p := range list {
			w.lines[p.ID] = p
		}
		return err
	})
	batch.Queue(`SELECT id, ages FROM part WHERE id = ANY ($1)`, parts).Query(func(rows pgx.Rows) error {
		var id int64
		var ages bool
		_, err := pgx.ForEachRow(rows, []any{&id, &ages}, func() error {
			w.ages[id] = ages
			return nil
		})
		return err
	})
	return w.tx.SendBatch(ctx, &batch).Close()
}

// gone reports whether the watch of a docket has left.
func (w *written) gone(docketID int64) bool {
	d, ok := w.dockets[docketID]
	return !ok || d.Closed()
}

// plan works out how the dockets' parts take part in what happened, one after the other.
func (w *written) plan() {
	lines := map[int64]stock.PartLine{}
	for id, row := range w.lines {
		lines[id] = row.PartLine
	}
	for _, h := range w.list {
		l := w.line(h)
		p, ok := lines[l.PartLineID]
		toCome, gone := w.order.Standing(l.ID).ToCome, w.gone(w.order.Parts[l.ID].DocketID)
		var r purchase.Reach
		switch {
		case ok && h.Kind == purchase.Came:
			r = purchase.Arriving(p, h.Pieces, toCome, gone)
		case ok && h.Kind == purchase.Cancelled:
			r = purchase.Missing(p, h.Pieces, toCome, gone)
		}
		w.reaches = append(w.reaches, r)
		if r.Pieces > 0 {
			lines[l.PartLineID] = r.After(p)
		}
	}
}

// receive takes what came into the drawers, parts in the order of their ids.
func (w *written) receive(ctx context.Context) error {
	var order []int
	for i, h := range w.list {
		if w.partOf(h) != 0 {
			order = append(order, i)
		}
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(w.partOf(w.list[a]), w.partOf(w.list[b])) })
	for _, i := range order {
		if err := w.receiveOne(ctx, w.list[i], w.reaches[i]); err != nil {
			return err
		}
	}
	return nil
}

func (w *written) receiveOne(ctx context.Context, h Happening, r purchase.Reach) error {
	part, c := w.partOf(h), w.change
	m := ledger.Move{Kind: ledger.Received, Pieces: h.Pieces}
	if w.ages[part] {
		lot := h.Lot.Tidied()
		bad := map[string]string{}
		for field, why := range lot.Problems(c.Today) {
			bad[h.field(field)] = why
		}
		err := domain.Invalid(bad)
		if err == nil {
			m.Lot, err = keepLot(ctx, w.tx, part, lot, c.By, c.At)
		}
		if err != nil {
			return err
		}
	}
	moves := []StockMove{{Move: m}}
	if r.Pieces > 0 {
		l := w.line(h)
		p := w.lines[l.PartLineID]
		// It is in the drawer by now: held back for its docket as whatever else comes from there.
		for _, held := range ledger.OfLine(p.Split(r.Pieces, stock.Needed), p.Split(r.Pieces, r.To)) {
			held.DocketID = w.order.Parts[l.ID].DocketID
			moves = append(moves, StockMove{Move: held, PartLineID: p.ID})
		}
	}
	_, err := moveStock(ctx, w.tx, part, moves, c.By, c.At)
	if errors.Is(err, ledger.ErrTooMany) {
		return domain.Invalid(map[string]string{h.field("pieces"): "That is more than is kept of one part."})
	}
	return err
}

// reachDockets takes the dockets' parts where what happened takes them, and tells their journals, dockets in the order of
// their ids.
func (w *written) reachDockets(ctx context.Context) error {
	for i, h := range w.list {
		r, l := w.reaches[i], w.line(h)
		d := w.dockets[w.order.Parts[l.ID].DocketID]
		w.tellNews(h)
		p, ok := w.lines[l.PartLineID]
		if !ok {
			continue
		}
		now, events, err := divertPart(ctx, w.tx, d, p, r, w.change.At)
		if err != nil {
			return err
		}
		w.lines[l.PartLineID] = now
		if len(events) > 0 {
			w.told[d.ID] = append(w.told[d.ID], events...)
		}
	}
	return tellDockets(ctx, w.tx, w.store, w.dockets, w.told, w.change)
}

// tellNews tells the dockets that wait for it what the supplier says of an order, and what came wrong.
func (w *written) tellNews(h Happening) {
	for _, l := range w.order.Lines {
		leads := w.order.Parts[l.ID]
		about := h.LineID == l.ID || h.LineID == 0 && h.Kind == purchase.Confirmed && w.order.Standing(l.ID).ToCome > 0
		if _, ok := w.dockets[leads.DocketID]; !ok || !about {
			continue
		}
		if said := l.NewsSummary(w.order.Number, h.Event); said != "" {
			f := w.order.happenedFacts([]purchase.Event{h.Event})
			w.told[leads.DocketID] = append(w.told[leads.DocketID], event{kind: docket.PartNews, summary: said, facts: f})
		}
	}
}

// tellDockets enters in each docket's journal what it is told.
func tellDockets(ctx context.Context, tx pgx.Tx, s *Store, dockets map[int64]docket.Docket, told map[int64][]event, c OrderChange) error {
	for _, id := range slices.Sorted(maps.Keys(told)) {
		d := dockets[id]
		err := s.appendEvents(ctx, tx, id, docket.Head{Seq: d.Version, Hash: d.Head}, Change{Number: d.Number, By: c.By, At: c.At}, told[id])
		if err != nil {
			return err
		}
	}
	return nil
}

// cameByHand writes on the order what a docket's own page says to have come of it, so that it is not received twice. The
// docket is locked by then.
func cameByHand(ctx context.Context, tx pgx.Tx, partLineID int64, by Actor, at time.Time) error {
	var orderID, lineID int64
	err := tx.QueryRow(ctx, `SELECT order_id, line_id FROM order_line_now WHERE part_line_id = $1 AND to_come > 0 AND sent`, partLineID).Scan(&orderID, &lineID)
	if errors.Is(err, pgx.ErrNoRows) || err == nil && by.StaffID == 0 {
		return nil
	}
	if err != nil {
		return err
	}
	o, err := lockOrder(ctx, tx, orderID)
	if err != nil {
		return err
	}
	e := purchase.Event{Kind: purchase.Came, LineID: lineID, Pieces: o.Standing(lineID).ToCome}
	if e.Pieces == 0 {
		return nil
	}
	next, err := o.After(e)
	if err != nil {
		return err
	}
	o.Order = next
	var batch pgx.Batch
	queueHappened(&batch, o.ID, []purchase.Event{e}, by, at)
	queueStanding(&batch, o)
	return tx.SendBatch(ctx, &batch).Close()
}
