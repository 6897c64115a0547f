package store

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/shop"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/stock"
	"ledgerwheel/domain/visit"
	"ledgerwheel/domain/warranty"
)

// Together is several watches of one ticket that leave at once, and what is said once for all of them.
type Together struct {
	Visit   visit.Number
	Going   []Going
	Leaving docket.Leaving // old parts are each watch's own
	Reason  string         // the owner's, where one must stand in for an unmet need of any of them
	// SeenDueMinor is what stood in the form as due for those ticked, in minor units; nil where it was not said.
	SeenDueMinor *int64
	By           Actor
	At           time.Time
}

// Going is one of the watches, as it was seen.
type Going struct {
	Number   docket.Number
	Version  int64
	OldParts docket.OldParts
}

// HandOverTogether lets several watches of one visit leave against their one ticket and one payment, which is laid onto their
// invoices by [docket.Spread] in the order of their numbers, and issues the card of each that gets one where that is asked
// for. Each docket's journal names the others. All is kept or nothing.
//
// The error is a *domain.InvalidError: the fields of docket.Leaving.Problems and docket.Tender.Settle, "go", "reason", and, with a
// docket's number behind it, "go-" and "old_parts-"; it also wraps domain.ErrChanged where one of the watches is no longer as
// it was seen, or has left. Else it wraps domain.ErrNotFound.
func (s *Store) HandOverTogether(ctx context.Context, t Together) error {
	t.Leaving = t.Leaving.Tidied()
	err := s.inTx(ctx, func(tx pgx.Tx) error {
		p, err := lockParty(ctx, tx, t)
		if err == nil {
			err = p.read(ctx, tx)
		}
		if err == nil {
			err = p.settle(ctx, tx)
		}
		for i := 0; i < len(p.watches) && err == nil; i++ {
			err = s.leaves(ctx, tx, p, i)
		}
		return err
	})
	if err != nil {
		return fmt.Errorf("hand over together, visit %s: %w", t.Visit, Translate(err))
	}
	return nil
}

// party is the watches of a visit that are about to leave together.
type party struct {
	Together
	of      []docket.Number // every docket of the visit
	watches []goingWatch    // in the order of their numbers
	house   docket.House
	byOrder bool // a standing order lets clerks issue cards
	paid    docket.Settlement
}

// goingWatch is one of them as the record has it.
type goingWatch struct {
	docket   docket.Docket
	oldParts docket.OldParts
	facts    docket.Facts
	kept     []string // old parts that are kept to go back with it
	fitted   bool     // a part was
	card     bool     // a card stands
	move     docket.Move
	payments []docket.Payment
}

// lockParty locks all dockets of the visit, in one order for everybody, and finds those that are to leave.
func lockParty(ctx context.Context, tx pgx.Tx, t Together) (*party, error) {
	rows, _ := tx.Query(ctx, `SELECT `+docketFields+` FROM docket d WHERE d.visit_id = $1 ORDER BY d.id FOR UPDATE`, int64(t.Visit))
	all, err := pgx.CollectRows(rows, func(row pgx.CollectableRow) (docket.Docket, error) {
		var d docket.Docket
		targets, finish := docketTargets(&d)
		err := row.Scan(targets...)
		finish()
		return d, err
	})
	if err == nil && len(all) == 0 {
		err = domain.ErrNotFound
	}
	if err != nil {
		return &party{}, err
	}
	p := &party{Together: t}
	going := map[docket.Number]Going{}
	for _, g := range t.Going {
		going[g.Number] = g
	}
	bad, clash := map[string]string{}, false
	for _, d := range all {
		p.of = append(p.of, d.Number)
		g, ticked := going[d.Number]
		if !ticked {
			continue
		}
		delete(going, d.Number)
		p.watches = append(p.watches, goingWatch{docket: d, oldParts: g.OldParts})
		why, err := asSeen(ctx, tx, d, g)
		if err != nil {
			return p, err
		}
		if why != "" {
			bad["go-"+d.Number.String()], clash = why, true
		}
	}
	for n := range going {
		bad["go"] = "Docket " + n.String() + " is not on this ticket."
	}
	if len(p.watches) == 0 && len(bad) == 0 {
		bad["go"] = visit.NoneProblem
	}
	if err := domain.Invalid(bad); err != nil && clash {
		return p, fmt.Errorf("%w: %w", domain.ErrChanged, err)
	} else if err != nil {
		return p, err
	}
	return p, nil
}

// asSeen says why a docket is no longer as it was seen; "" where it is.
func asSeen(ctx context.Context, tx pgx.Tx, d docket.Docket, g Going) (string, error) {
	if d.Closed() {
		var to string
		err := tx.QueryRow(ctx, `SELECT collected_by FROM docket WHERE id = $1`, d.ID).Scan(&to)
		return visit.GoneProblem(d.Number, to), err
	}
	if g.Version == d.Version {
		return "", nil
	}
	switch err := onlyPassive(ctx, tx, d, g.Version); {
	case errors.Is(err, domain.ErrChanged):
		return visit.ChangedProblem(d.Number), nil
	default:
		return "", err
	}
}

// read gathers, in one round trip, what the leaving of each depends on.
func (p *party) read(ctx context.Context, tx pgx.Tx) error {
	p.house.Owner = staff.Can(p.By.Role, staff.Override)
	var sh shop.Shop
	var batch pgx.Batch
	batch.Queue(`SELECT c.name, coalesce(s.no_ticket_rule, ''), coalesce(s.card_by_clerk, false) FROM customer c CROSS JOIN shop s WHERE c.id = $1`,
		p.watches[0].docket.CustomerID).QueryRow(func(row pgx.Row) error { return row.Scan(&p.house.Customer, &sh.NoTicketRule, &p.byOrder) })
	for i := range p.watches {
		w := &p.watches[i]
		batch.Queue(`SELECT `+factColumns+` FROM docket d WHERE d.id = $1`, w.docket.ID).QueryRow(func(row pgx.Row) error {
			var r factRow
			err := row.Scan(r.targets()...)
			w.facts = r.finish(w.docket)
			return err
		})
		batch.Queue(`SELECT ARRAY(SELECT description FROM part_line WHERE docket_id = $1 AND old_part = $2 ORDER BY id),
			EXISTS (SELECT FROM part_line WHERE docket_id = $1 AND state = $3),
			EXISTS (SELECT FROM warranty_card w WHERE docket_id = $1 AND voided_at IS NULL AND NOT EXISTS (SELECT FROM warranty_card n WHERE n.supersedes = w.id))`,
			w.docket.ID, string(stock.OldPartToReturn), string(stock.Fitted)).
			QueryRow(func(row pgx.Row) error { return row.Scan(&w.kept, &w.fitted, &w.card) })
	}
	err := tx.SendBatch(ctx, &batch).Close()
	p.house.NoTicket = sh.NoTicketAsks()
	return err
}

// settle holds all of them against ticket, house, money and what each still needs, before anything is written.
func (p *party) settle(ctx context.Context, tx pgx.Tx) error {
	bad := map[string]string{}
	l := &p.Leaving
	if l.Proof == docket.ProofTicket {
		read, err := readTicket(ctx, tx, *l)
		if err != nil {
			return err
		}
		if why := visit.TicketProblem(read.Ticket, p.Visit, p.of); why != "" {
			bad["ticket"] = why
		}
		l.Ticket = p.of[0].String()
	}
	l.OldParts = docket.OldPartsNone // asked of each
	for field, why := range l.Problems(p.of[0], p.house) {
		if bad[field] == "" {
			bad[field] = why
		}
	}
	dues := p.dues()
	sum, currency := docket.DueOf(dues), p.watches[0].docket.Currency
	if l.Pay.Way != "" || p.Reason == "" {
		var unpaid map[string]string
		p.paid, unpaid = l.Pay.Settle(sum, currency)
		maps.Copy(bad, unpaid)
		if p.SeenDueMinor != nil && *p.SeenDueMinor != sum && l.Pay.Way != "" && l.Pay.Way != docket.PayLater {
			bad["pay"] = docket.SumProblem(*p.SeenDueMinor, sum, currency)
		}
	}
	for i, payments := range docket.Spread(p.paid.Payments, dues) {
		p.watches[i].payments = payments
	}
	for i := range p.watches {
		p.watches[i].problems(bad, p)
	}
	return domain.Invalid(bad)
}

// dues are what is due for each, in minor units.
func (p *party) dues() []int64 {
	var dues []int64
	for _, w := range p.watches {
		dues = append(dues, w.facts.DueMinor)
	}
	return dues
}

// act is the move's, the same for all.
func (p *party) act() docket.Act {
	return docket.Act{Role: p.By.Role, Reason: p.Reason, Place: docket.PlaceAt(docket.PlaceCustomer, "")}
}

// problems adds what stops one watch, and works out what its facts are once all is written.
func (w *goingWatch) problems(bad map[string]string, p *party) {
	number := w.docket.Number.String()
	if w.docket.Currency != p.watches[0].docket.Currency {
		bad["go-"+number] = number + " is priced in another currency. Hand it over by itself."
		return
	}
	var ok bool
	if w.move, ok = docket.LeavingMove(w.docket.Stage); !ok {
		bad["go-"+number] = number + " stays: " + docket.StayProblem(w.docket.Stage)
		return
	}
	w.oldParts = docket.OldPartsOf(w.oldParts, w.fitted, w.kept)
	why := w.oldParts.Unanswered()
	if why == "" {
		why = w.oldParts.Problem(w.kept)
	}
	if why != "" {
		bad["old_parts-"+number] = number + ": " + why
	}
	w.facts.CollectedBy, w.facts.OldPartsSettled = p.Leaving.CollectedBy, true
	for _, paid := range w.payments {
		w.facts.DueMinor -= paid.Minor - paid.RoundedMinor
	}
	var refusal *docket.Refusal
	if !errors.As(w.move.Check(w.facts, p.act()), &refusal) {
		return
	}
	unpaid := func(n docket.Need) bool { return n.Key == docket.NeedPaid }
	if slices.ContainsFunc(refusal.Unmet, unpaid) {
		if bad["pay"] == "" && p.Leaving.Pay.Way == docket.PayLater {
			bad["reason"] = "Write why it is not paid now: the owner's reason goes into the journal."
		}
		refusal.Unmet = slices.DeleteFunc(slices.Clone(refusal.Unmet), unpaid)
	}
	if why := refusal.Problems["reason"]; why != "" {
		bad["reason"] = why
		delete(refusal.Problems, "reason")
	}
	if said := refusal.Sentences(); len(said) > 0 {
		bad["go-"+number] = number + " stays: " + strings.Join(said, " ")
	}
}

// leaves writes the leaving of one of them, and its journal.
func (s *Store) leaves(ctx context.Context, tx pgx.Tx, p *party, i int) error {
	w := &p.watches[i]
	c := Change{Number: w.docket.Number, Version: w.docket.Version, By: p.By, At: p.At}
	due := w.facts.DueMinor
	for _, paid := range w.payments {
		due += paid.Minor - paid.RoundedMinor
	}
	with := p.others(i)
	events, err := takePayments(ctx, tx, w.docket, c, w.payments, due, with)
	if err != nil {
		return err
	}
	l := p.Leaving
	l.OldParts = w.oldParts
	if l.Proof == docket.ProofTicket {
		l.Ticket = w.docket.Number.String()
	}
	left, err := recordLeaving(ctx, tx, w.docket, l, with)
	if err != nil {
		return err
	}
	billed, err := saveMove(ctx, tx, c, w.docket, w.docket.Apply(w.move, w.facts, p.act(), p.At), 0)
	if err != nil {
		return err
	}
	events = append(slices.Concat(events, billed, left), moveEvents(w.move, w.facts, p.act(), "")...)
	if l.IssueCard && w.getsCard(p) {
		card, err := s.issueAsSuggested(ctx, tx, w.docket, c)
		if err != nil {
			return fieldsOnly(err, "card")
		}
		events = append(events, card)
	}
	return s.appendEvents(ctx, tx, w.docket.ID, docket.Head{Seq: w.docket.Version, Hash: w.docket.Head}, c, events)
}

// getsCard reports whether the watch's card is issued with the others': it has none, and whoever hands over may issue it.
func (w *goingWatch) getsCard(p *party) bool {
	if w.card || w.docket.Stage != docket.StageReady {
		return false
	}
	return staff.Can(p.By.Role, staff.IssueCard) ||
		staff.Can(p.By.Role, staff.IssueByOrder) && warranty.OrderProblem(p.byOrder, w.facts) == ""
}

// others are the numbers of those that leave with watch i.
func (p *party) others(i int) []string {
	var list []string
	for k, w := range p.watches {
		if k != i {
			list = append(list, w.docket.Number.String())
		}
	}
	return list
}

// VisitLeaving is what the page shows on which several watches of one ticket leave.
type VisitLeaving struct {
	ID     visit.Number
	Sheets []HandOverSheet // as they were taken in; at least one
}

// VisitLeaving reads it in two round trips; the error wraps domain.ErrNotFound.
func (s *Store) VisitLeaving(ctx context.Context, n visit.Number) (VisitLeaving, error) {
	v := VisitLeaving{ID: n}
	rows, _ := s.db.Query(ctx, `SELECT year, seq FROM docket WHERE visit_id = $1 ORDER BY id`, int64(n))
	numbers, err := pgx.CollectRows(rows, func(row pgx.CollectableRow) (n docket.Number, err error) {
		return n, row.Scan(&n.Year, &n.Seq)
	})
	if err == nil && len(numbers) == 0 {
		err = domain.ErrNotFound
	}
	readers := make([]handOverReader, len(numbers))
	var batch pgx.Batch
	for i, n := range numbers {
		readers[i].queue(&batch, n)
	}
	if err == nil {
		err = s.db.SendBatch(ctx, &batch).Close()
	}
	if err != nil {
		return v, fmt.Errorf("hand-over of visit %s: %w", n, Translate(err))
	}
	for i := range readers {
		v.Sheets = append(v.Sheets, readers[i].done())
	}
	return v, nil
}

// VisitTicketProblem says why a ticket, as it was scanned or typed, is not that of these watches; "" where it is. It changes
// nothing.
func (s *Store) VisitTicketProblem(ctx context.Context, v VisitLeaving, typed string) (string, error) {
	l, err := readTicket(ctx, s.db, docket.Leaving{Ticket: typed}.Tidied())
	if err != nil {
		return "", fmt.Errorf("ticket at visit %s: %w", v.ID, Translate(err))
	}
	var of []docket.Number
	for _, sheet := range v.Sheets {
		of = append(of, sheet.Head.Docket.Number)
	}
	return visit.TicketProblem(l.Ticket, v.ID, of), nil
}
