package store

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"net/url"
	"path"
	"slices"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/estimate"
	"ledgerwheel/domain/invoice"
	"ledgerwheel/domain/link"
	"ledgerwheel/domain/record"
	"ledgerwheel/domain/shop"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/stock"
	"ledgerwheel/domain/warranty"
	"ledgerwheel/domain/watch"
)

// HandOverSheet is what the sheet of the hand-over, and the invoice, show.
type HandOverSheet struct {
	Head     Head
	Estimate estimate.Estimate
	Payments []PaymentRow
	Invoices []InvoiceRow // that were issued, oldest first
	Parts    []PartRow
	Photos   []Photo
	Tests    []FinalTest    // the newest final test, if there was one
	Left     docket.Leaving // how the watch left, or an earlier attempt would have; zero before
	// ChargedReason says why Head.ChargedMinor stands in place of the estimate.
	ChargedReason string
	ChargedWord   docket.Word // what lets it go above what the customer allowed
	Card          *CardRow    // the newest card, nil when none was issued
	// FirstKey is the key that signed the first card, which the invoice names: it stays whatever is reissued; "" for none.
	FirstKey warranty.KeyID
	// Shop is the settings as they stood when the docket was first billed, by which the invoice is printed: once the
	// watch was ready or had left, or money was charged or taken. Before that the invoice is a Draft, by today's.
	Shop  shop.Shop
	Draft bool
	// Beside are the other watches of its ticket, in the order of their numbers.
	Beside []Beside
	Seal   record.Seal // that the invoice bears; without a text there is none old enough
}

// Beside is another watch on the same ticket.
type Beside struct {
	Number docket.Number
	Watch  watch.Watch // maker and model alone
	Stage  docket.Stage
	Closed bool
}

// Leaves reports whether it may be handed over as it stands, as far as its stage tells.
func (b Beside) Leaves() bool {
	_, ok := docket.LeavingMove(b.Stage)
	return ok && !b.Closed
}

// OldParts lists the parts whose old ones are kept to go back with the watch.
func (h HandOverSheet) OldParts() []string {
	var list []string
	for _, p := range h.Parts {
		if p.OldPart == stock.OldPartToReturn {
			list = append(list, p.Description)
		}
	}
	return list
}

// Book puts the documents together that were issued.
func (h HandOverSheet) Book() invoice.Book { return BookOf(h.Invoices) }

// Billed is the revision that is charged for; ok is false where nothing was agreed.
func (h HandOverSheet) Billed() (r estimate.Revision, ok bool) {
	if h.Head.Docket.Stage.Exit() {
		return r, false
	}
	return h.Estimate.Billed(h.Head.Facts.Agreed())
}

// HandOverSheet reads the sheet in one round trip; the error wraps domain.ErrNotFound.
func (s *Store) HandOverSheet(ctx context.Context, n docket.Number) (HandOverSheet, error) {
	var r handOverReader
	var batch pgx.Batch
	r.queue(&batch, n)
	if err := s.sendSheet(ctx, &batch, &r.found); err != nil {
		return HandOverSheet{}, fmt.Errorf("hand-over of docket %s: %w", n, err)
	}
	return r.done(), nil
}

// handOverReader gathers a docket's sheet.
type handOverReader struct {
	sheet    HandOverSheet
	found    bool
	estimate estimateReader
	cards    []CardRow
}

// done is called once everything queued was read.
func (r *handOverReader) done() HandOverSheet {
	r.sheet.Estimate = r.estimate.estimate
	if len(r.cards) > 0 {
		r.sheet.Card = &r.cards[0]
	}
	return r.sheet
}

func (r *handOverReader) queue(batch *pgx.Batch, n docket.Number) {
	sheet := &r.sheet
	stood := stoodShops{}
	queueHead(batch, n, &sheet.Head, &r.found)
	queueShops(batch, stood, `SELECT billed_under FROM docket WHERE number = $1`, n.String())
	batch.Queue(`SELECT coalesce(billed_under, 0) FROM docket WHERE number = $1`, n.String()).Query(stood.give(&sheet.Shop))
	r.estimate.queue(batch, ofDocket, n.String())
	queuePayments(batch, n, &sheet.Payments)
	queueInvoices(batch, &sheet.Invoices, invoicesOfDocket, n.String())
	queueParts(batch, n, &sheet.Parts)
	queuePhotos(batch, n, &sheet.Photos)
	queueFinalTests(batch, n, 1, &sheet.Tests)
	batch.Queue(`SELECT collected_by, collected_proof, collected_identity, charged_reason, charged_word,
		charged_word_on, charged_word_by, billed_under IS NULL,
		coalesce((SELECT key_id FROM warranty_card w WHERE w.docket_id = docket.id ORDER BY w.id LIMIT 1), '')
		FROM docket WHERE number = $1`,
		n.String()).
		Query(func(rows pgx.Rows) error {
			l, word := &sheet.Left, &sheet.ChargedWord
			var on *time.Time
			_, err := pgx.ForEachRow(rows, []any{&l.CollectedBy, &l.Proof, &l.Identity, &sheet.ChargedReason, &word.How, &on,
				&word.By, &sheet.Draft, &sheet.FirstKey}, func() error { return nil })
			word.On = timeOr(on)
			return err
		})
	queueCards(batch, n, 1, &r.cards)
	queueBeside(batch, n, &sheet.Beside)
	queueSeal(batch, &sheet.Seal, docketSealSQL, n.String())
}

// queueBeside adds to a batch the other watches of a docket's ticket.
func queueBeside(batch *pgx.Batch, n docket.Number, list *[]Beside) {
	batch.Queue(`SELECT o.year, o.seq, o.stage, NOT o.open, w.maker, w.model FROM docket d JOIN docket o ON o.visit_id = d.visit_id AND o.id <> d.id
		JOIN watch w ON w.id = o.watch_id WHERE d.number = $1 ORDER BY o.id`, n.String()).Query(func(rows pgx.Rows) (err error) {
		*list, err = pgx.CollectRows(rows, func(row pgx.CollectableRow) (Beside, error) {
			var b Beside
			return b, row.Scan(&b.Number.Year, &b.Number.Seq, &b.Stage, &b.Closed, &b.Watch.Maker, &b.Watch.Model)
		})
		return err
	})
}

// HandOver takes what is given for what is due, records who collects the watch and what becomes of the old parts, lets the
// watch leave, a ready one handed over, a declined or withdrawn one handed back, and issues its warranty card where l asks
// for it. All is kept or nothing. reason is the owner's, where one must stand in for an unmet need. A ticket may also be
// shown by what its square code holds: an address that ends in the number, or the customer's private link.
//
// The error is a *domain.InvalidError (see docket.Leaving.Problems and docket.Tender.Settle; "card", and "" where the watch
// can't leave from its stage), a *docket.Refusal, or wraps domain.ErrNotFound, domain.ErrChanged or domain.ErrClosed.
func (s *Store) HandOver(ctx context.Context, c Change, l docket.Leaving, reason string) error {
	return s.change(ctx, c, func(tx pgx.Tx, d docket.Docket) ([]event, error) {
		m, ok := docket.LeavingMove(d.Stage)
		if !ok {
			return nil, domain.Invalid(map[string]string{"": docket.StayProblem(d.Stage)})
		}
		l, err := ofTicket(ctx, tx, d.Number, l.Tidied())
		if err != nil {
			return nil, err
		}
		paid, err := takeTender(ctx, tx, d, c, l, reason)
		if err != nil {
			return nil, err
		}
		events, err := recordLeaving(ctx, tx, d, l, nil)
		if err != nil {
			return nil, err
		}
		f, err := factsOf(ctx, tx, d)
		if err != nil {
			return nil, err
		}
		act := docket.Act{Role: c.By.Role, Reason: reason, Place: docket.PlaceAt(docket.PlaceCustomer, "")}
		if err := m.Check(f, act); err != nil {
			return nil, err
		}
		billed, err := saveMove(ctx, tx, c, d, d.Apply(m, f, act, c.At), 0)
		if err != nil {
			return nil, err
		}
		events = append(slices.Concat(paid, billed, events), moveEvents(m, f, act, "")...)
		if !l.IssueCard {
			return events, nil
		}
		card, err := s.issueAsSuggested(ctx, tx, d, c)
		return append(events, card), fieldsOnly(err, "card")
	})
}

// takeTender holds a leaving against the ticket, the rule of the house and what is due, and keeps what is paid.
func takeTender(ctx context.Context, tx pgx.Tx, d docket.Docket, c Change, l docket.Leaving, reason string) ([]event, error) {
	m, err := accountOf(ctx, tx, d)
	if err != nil {
		return nil, err
	}
	house := docket.House{Owner: staff.Can(c.By.Role, staff.Override)}
	var sh shop.Shop
	if err := tx.QueryRow(ctx, `SELECT c.name, coalesce(s.no_ticket_rule, '') FROM docket d JOIN customer c ON c.id = d.customer_id
		CROSS JOIN shop s WHERE d.id = $1`, d.ID).Scan(&house.Customer, &sh.NoTicketRule); err != nil {
		return nil, err
	}
	house.NoTicket = sh.NoTicketAsks()
	bad := l.Problems(d.Number, house)
	var s docket.Settlement
	// A leaving that says nothing of money is refused by the move itself, unless the owner writes a reason.
	if l.Pay.Way != "" || len(bad) > 0 && reason == "" {
		var unpaid map[string]string
		s, unpaid = l.Pay.Settle(m.due, d.Currency)
		maps.Copy(bad, unpaid)
	}
	if err := domain.Invalid(bad); err != nil || len(s.Payments) == 0 {
		return nil, err
	}
	return takePayments(ctx, tx, d, c, s.Payments, m.due, nil)
}

// TicketProblem says why a ticket, as it was scanned or typed, is not that of a docket; "" where it is. It changes nothing.
func (s *Store) TicketProblem(ctx context.Context, n docket.Number, typed string) (string, error) {
	l, err := ofTicket(ctx, s.db, n, docket.Leaving{Ticket: typed}.Tidied())
	var invalid *domain.InvalidError
	switch {
	case errors.As(err, &invalid):
		return invalid.Problems["ticket"], nil
	case err != nil:
		return "", fmt.Errorf("ticket at docket %s: %w", n, Translate(err))
	}
	return docket.TicketProblem(l.Ticket, n), nil
}

// ofTicket reads the ticket of a leaving, whatever of it was scanned, as a docket's number.
func ofTicket(ctx context.Context, db querier, n docket.Number, l docket.Leaving) (docket.Leaving, error) {
	l, err := ofVisit(ctx, db, n, l)
	if err != nil {
		return l, err
	}
	return readTicket(ctx, db, l)
}

// readTicket turns what a square code holds into the number of its docket: an address that ends in the number, as on
// tickets and labels, or the customer's private link.
func readTicket(ctx context.Context, db querier, l docket.Leaving) (docket.Leaving, error) {
	u, err := url.Parse(l.Ticket)
	if err != nil || u.Host == "" {
		return l, nil
	}
	end := path.Base(u.Path)
	if _, err := docket.ParseNumber(end); !errors.Is(err, docket.ErrNumberShape) {
		l.Ticket = end
		return l, nil
	}
	var secret []byte
	if err := db.QueryRow(ctx, `SELECT link_secret FROM shop`).Scan(&secret); err != nil {
		return l, err
	}
	id, ok := link.ID(secret, end)
	if !ok {
		return l, nil // no link of ours: refused as no docket number
	}
	var n docket.Number
	err = db.QueryRow(ctx, `SELECT d.year, d.seq FROM customer_link k JOIN docket d ON d.id = k.docket_id WHERE k.id = $1`,
		id).Scan(&n.Year, &n.Seq)
	if errors.Is(err, pgx.ErrNoRows) {
		return l, nil
	}
	l.Ticket = n.String()
	return l, err
}

// recordLeaving writes who collects and what becomes of the old parts. with are the dockets whose watches leave at once.
func recordLeaving(ctx context.Context, tx pgx.Tx, d docket.Docket, l docket.Leaving, with []string) ([]event, error) {
	if _, err := tx.Exec(ctx, `UPDATE docket SET collected_by = $2, collected_proof = $3, collected_identity = $4, old_parts = $5 WHERE id = $1`,
		d.ID, l.CollectedBy, string(l.Proof), l.CheckedWords(), l.OldParts.Words()); err != nil {
		return nil, err
	}
	parts, err := settleOldParts(ctx, tx, d, l.OldParts)
	if err != nil {
		return nil, err
	}
	return leavingEvents(l, with, parts), nil
}

// leavingEvents tell who collects, and what becomes of the old parts.
func leavingEvents(l docket.Leaving, with, parts []string) []event {
	checked := event{kind: docket.CollectorChecked, summary: l.CollectedSummary(), why: l.Identity, facts: checkedFacts(l, with)}
	return []event{checked, {kind: docket.OldPartsDecided, summary: l.OldParts.Summary(), facts: struct {
		OldParts string   `json:"old_parts"`
		Parts    []string `json:"parts,omitempty"`
	}{l.OldParts.Words(), parts}}}
}

// checkedFacts is what the journal keeps of how whoever collects was checked.
func checkedFacts(l docket.Leaving, with []string) any {
	facts := struct {
		CollectedBy string   `json:"collected_by"`
		Ticket      string   `json:"ticket,omitempty"`
		Identity    string   `json:"without_ticket_checked_by,omitempty"`
		Shown       string   `json:"shown,omitempty"`
		Done        []string `json:"asked_by_the_house_and_done,omitempty"`
		With        []string `json:"handed_over_with,omitempty"`
	}{CollectedBy: l.CollectedBy, Ticket: l.Ticket, Done: l.Done, With: with}
	if l.Proof == docket.ProofIdentity {
		facts.Identity = l.CheckedWords()
	}
	if l.Shown != "" {
		facts.Shown = l.Shown.Words()
	}
	return facts
}

// settleOldParts says of the parts kept to go back what became of them, and names them.
func settleOldParts(ctx context.Context, tx pgx.Tx, d docket.Docket, o docket.OldParts) ([]string, error) {
	rows, _ := tx.Query(ctx, `SELECT description FROM part_line WHERE docket_id = $1 AND old_part = $2 ORDER BY id`,
		d.ID, string(stock.OldPartToReturn))
	parts, err := pgx.CollectRows(rows, pgx.RowTo[string])
	if err != nil || len(parts) == 0 {
		return nil, err
	}
	if why := o.Problem(parts); why != "" {
		return nil, domain.Invalid(map[string]string{"old_parts": why})
	}
	fate := stock.OldPartReturned
	if o == docket.OldPartsLeft {
		fate = stock.OldPartLeft
	}
	if err := keepEarlierParts(ctx, tx, d, 0, stock.OldPartToReturn); err != nil {
		return nil, err
	}
	_, err = tx.Exec(ctx, `UPDATE part_line SET old_part = $2 WHERE docket_id = $1 AND old_part = $3`,
		d.ID, string(fate), string(stock.OldPartToReturn))
	return parts, err
}

// HasInvoice reports whether there is something to bill: agreed work, a charge, or money that passed.
func (h HandOverSheet) HasInvoice() bool {
	_, billed := h.Billed()
	return billed || h.Head.ChargedMinor != nil || len(h.Payments) > 0
}
