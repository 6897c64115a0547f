package store

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/estimate"
	"ledgerwheel/domain/finaltest"
	"ledgerwheel/domain/service"
	"ledgerwheel/domain/shop"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/text"
	"ledgerwheel/domain/tongue"
	"ledgerwheel/domain/warranty"
)

// CardRow is a warranty card as kept, with what became of it.
type CardRow struct {
	ID         int64
	DocketID   int64
	Code       warranty.Code
	Signed     warranty.Signed
	Key        *warranty.PublicKey // nil where the key's name does not fit it
	IssuedAt   time.Time
	IssuedBy   string
	Supersedes warranty.Code
	Fate       warranty.Fate
	VoidedBy   string
	Proof      []byte // what its code states, see warranty.Proof; nil for a card from before codes stated anything
	// Shop is the settings as they stood when it was issued: its faces print address, telephone and language by them.
	Shop shop.Shop
	// Tongue is the language that it is printed in; "" is English.
	Tongue tongue.Tongue
}

// Live reports whether the card stands: neither void nor replaced.
func (c CardRow) Live() bool { return c.Fate.VoidedAt.IsZero() && c.Fate.SupersededBy == "" }

// Card returns what the card says once its signature holds; the error is as of warranty.KeySet.Verify.
func (c CardRow) Card() (warranty.Card, error) {
	card, err := c.keys().Verify(c.Signed)
	if err == nil && card.Code != c.Code {
		err = warranty.ErrSignature
	}
	return card, err
}

func (c CardRow) keys() warranty.KeySet {
	if c.Key == nil {
		return nil
	}
	return warranty.KeySet{c.Key.ID: *c.Key}
}

const cardSQL = `SELECT w.id, w.docket_id, w.code, w.payload, w.key_id, w.signature, w.issued_at, m.name, coalesce(o.code, ''), coalesce(n.code, ''),
	w.voided_at, w.void_reason, coalesce(v.name, ''), k.public, k.retired_at, coalesce(w.issued_under, 0), w.proof, n.issued_at, coalesce(w.tongue, '')
	FROM warranty_card w JOIN staff m ON m.id = w.issued_by JOIN signing_key k ON k.id = w.key_id
	LEFT JOIN warranty_card o ON o.id = w.supersedes LEFT JOIN warranty_card n ON n.supersedes = w.id
	LEFT JOIN staff v ON v.id = w.voided_by `

func (stood stoodShops) scanCard(row pgx.CollectableRow) (CardRow, error) {
	var c CardRow
	var issuedUnder int64
	var voided, retired, replaced *time.Time
	var public []byte
	err := row.Scan(&c.ID, &c.DocketID, &c.Code, &c.Signed.Payload, &c.Signed.KeyID, &c.Signed.Signature, &c.IssuedAt, &c.IssuedBy,
		&c.Supersedes,
		&c.Fate.SupersededBy, &voided, &c.Fate.VoidReason, &c.VoidedBy, &public, &retired, &issuedUnder, &c.Proof, &replaced,
		&c.Tongue)
	if err != nil {
		return CardRow{}, err
	}
	c.Fate.SupersededAt = timeOr(replaced)
	c.IssuedAt, c.Fate.VoidedAt, c.Shop = c.IssuedAt.UTC(), timeOr(voided), stood[issuedUnder]
	key := warranty.PublicKey{ID: c.Signed.KeyID, Public: public, RetiredAt: timeOr(retired)}
	if _, err := warranty.NewKeySet(key); err == nil {
		c.Key = &key
	}
	return c, nil
}

// CardsShown is how many cards of one docket its page shows.
const CardsShown = 20

// queueCards adds the newest cards of a docket to a batch, newest first.
func queueCards(batch *pgx.Batch, n docket.Number, limit int, list *[]CardRow) {
	const ofDocket = `w.docket_id = (SELECT id FROM docket WHERE number = $1)`
	queueCardRows(batch, ofDocket, ` ORDER BY w.id DESC LIMIT $2`, list, n.String(), limit)
}

// queueCardRows adds to a batch the reading of the cards w that where selects, and of what they were issued under.
func queueCardRows(batch *pgx.Batch, where, order string, list *[]CardRow, args ...any) {
	stood := stoodShops{}
	queueShops(batch, stood, `SELECT w.issued_under FROM warranty_card w WHERE `+where+order, args...)
	batch.Queue(cardSQL+`WHERE `+where+order, args...).Query(func(rows pgx.Rows) (err error) {
		*list, err = pgx.CollectRows(rows, stood.scanCard)
		return err
	})
}

// CardSheet is what the page of a docket's warranty cards shows.
type CardSheet struct {
	Head  Head
	Basis warranty.Basis
	// Suggested is the wording that the record suggests: the agreed work, the shop's terms, no day yet.
	Suggested warranty.Wording
	Cards     []CardRow // newest first
	More      bool      // there are older ones
}

// Newest is the card issued last, if any was.
func (s CardSheet) Newest() (CardRow, bool) {
	if len(s.Cards) == 0 {
		return CardRow{}, false
	}
	return s.Cards[0], true
}

// CardSheet reads the sheet in one round trip; the error wraps domain.ErrNotFound.
func (s *Store) CardSheet(ctx context.Context, n docket.Number) (CardSheet, error) {
	var r cardReader
	var sheet CardSheet
	var batch pgx.Batch
	r.queue(&batch, n)
	queueCards(&batch, n, CardsShown+1, &sheet.Cards)
	if err := s.sendSheet(ctx, &batch, &r.found); err != nil {
		return CardSheet{}, fmt.Errorf("card of docket %s: %w", n, err)
	}
	if sheet.More = len(sheet.Cards) > CardsShown; sheet.More {
		sheet.Cards = sheet.Cards[:CardsShown]
	}
	sheet.Head, sheet.Basis, sheet.Suggested = r.head, r.basis(), r.suggested()
	return sheet, nil
}

// cardReader gathers what a card takes from the record.
type cardReader struct {
	found    bool
	head     Head
	shop     shop.Shop // today's
	left     shop.Shop // as it stood when the watch left; today's before
	runs     []RunRecord
	readings []keptReading
	clocks   recorderClocks
	limits   []LimitsVersion
	estimate estimateReader
	works    []service.Work
	tests    []FinalTest
}

// finalRun selects the final run that a docket numbered $1 goes out on.
const finalRun = `(SELECT r.id FROM run r JOIN docket d ON d.id = r.docket_id
	WHERE d.number = $1 AND r.kind = 'final' AND r.taken_at >= d.work_since ORDER BY r.id DESC LIMIT 1)`

func (r *cardReader) queue(batch *pgx.Batch, n docket.Number) {
	number := n.String()
	queueHead(batch, n, &r.head, &r.found)
	queueClocks(batch, &r.clocks)
	queueFinalTests(batch, n, 1, &r.tests)
	batch.Queue(`SELECT ` + shopFields + ` FROM shop s`).QueryRow(func(row pgx.Row) error {
		return row.Scan(shopTargets(&r.shop)...)
	})
	stood := stoodShops{}
	queueShops(batch, stood, `SELECT left_under FROM docket WHERE number = $1`, number)
	batch.Queue(`SELECT coalesce(left_under, 0) FROM docket WHERE number = $1`, number).Query(stood.give(&r.left))
	batch.Queue(`SELECT `+runFields+runFrom+`WHERE r.id = `+finalRun, number).Query(func(rows pgx.Rows) (err error) {
		r.runs, err = pgx.CollectRows(rows, scanRun)
		return err
	})
	batch.Queue(`SELECT `+readingFields+readingFrom+`WHERE g.run_id = `+finalRun,
		number).Query(func(rows pgx.Rows) (err error) {
		r.readings, err = pgx.CollectRows(rows, scanReading)
		return err
	})
	batch.Queue(`SELECT `+limitsFields+limitsFrom+`WHERE l.id = (SELECT rate_limits_id FROM run WHERE id = `+finalRun+`)`,
		number).
		Query(func(rows pgx.Rows) (err error) {
			r.limits, err = pgx.CollectRows(rows, scanLimits)
			return err
		})
	r.estimate.queue(batch, ofDocket, number)
	queueWorks(batch, `(SELECT id FROM docket WHERE number = $1)`, number, &r.works)
}

// basis is called once everything queued was read.
func (r *cardReader) basis() warranty.Basis {
	d, w := r.head.Docket, r.head.Watch
	b := warranty.Basis{Docket: d.Number, Stage: d.Stage, Shop: warranty.Shop{Name: text.Line(r.shop.Name),
		Place: townOf(r.shop.Address)},
		Watch: warranty.Watch{Maker: text.Line(w.Maker), Model: text.Line(w.Model), Reference: text.Line(w.Reference),
			Calibre: text.Line(w.CalibreName), CaseSerial: text.Line(w.Serial), MovementSerial: text.Line(w.MovementSerial)}}
	if r.head.Calibre.Name != "" {
		b.Watch.Calibre = text.Line(r.head.Calibre.Name)
	}
	if !d.HandedBackAt.IsZero() {
		b.HandedOverOn = civilDay(d.HandedBackAt, r.left.Location())
	}
	gather(r.runs, r.readings, w.CrownAt, r.clocks)
	for _, run := range r.runs {
		b.Final = warranty.FinalOf(run.Sheet.Run, run.Sheet.Instruments(), r.verdict(run))
	}
	return b
}

// verdict says how the final run was judged, for the card.
func (r *cardReader) verdict(run RunRecord) string {
	if run.Outcome == docket.NotYet || len(r.limits) == 0 {
		return run.Outcome.JudgedWords("")
	}
	return run.Outcome.JudgedWords(r.limits[0].Limits.Title())
}

// townOf is the last line of an address.
func townOf(address string) string {
	lines := strings.Split(strings.TrimSpace(address), "\n")
	return text.Line(lines[len(lines)-1])
}

// suggested words the work as the customer agreed to it or, where nothing was priced, as the bench recorded it.
func (r *cardReader) suggested() warranty.Wording {
	w := warranty.Wording{Months: r.shop.WarrantyMonths, Covers: r.shop.CoversFor(r.head.Docket.Tongue)}
	if billed, ok := r.estimate.estimate.Billed(r.head.Facts.Agreed()); ok {
		for _, l := range billed.AgreedLines() {
			if l.Kind != estimate.Discount {
				w.WorkDone = append(w.WorkDone, l.Description)
			}
		}
	}
	if len(w.WorkDone) == 0 {
		for _, work := range r.works {
			for _, step := range work.Steps {
				if words := step.Words(); !slices.Contains(w.WorkDone, words) {
					w.WorkDone = append(w.WorkDone, words)
				}
			}
		}
	}
	// A test that was passed is among what was done, with its day: the card promises nothing of it.
	if len(r.tests) > 0 && r.tests[0].Sheet.Result(finaltest.WaterResistance).Outcome == finaltest.OutcomePass {
		if said := strings.TrimSuffix(TestedSaid(r.tests, r.head.Docket.Tongue, r.shop), "."); said != "" {
			w = w.And(said)
		}
	}
	return w.Tidied()
}

// newestCard reads the card issued last for a locked docket, and what a card would take from the record.
func newestCard(ctx context.Context, tx pgx.Tx, n docket.Number) (newest *CardRow, r *cardReader, err error) {
	r = &cardReader{}
	var cards []CardRow
	var batch pgx.Batch
	r.queue(&batch, n)
	queueCards(&batch, n, 1, &cards)
	if err := tx.SendBatch(ctx, &batch).Close(); err != nil {
		return nil, nil, err
	}
	if len(cards) > 0 {
		newest = &cards[0]
	}
	return newest, r, nil
}

// IssueCard issues a docket's warranty card and returns its code. There may be no other that stands. The first card
// ever makes the first signing key. Who issues it under the owner's standing order words nothing: it says what the record
// suggests, from today on where the watch is still here. The error is a *domain.InvalidError (see warranty.Basis.Problems; ""
// also where the key in use can't be used on this machine, or no order stands), or wraps domain.ErrNotFound or
// domain.ErrChanged.
func (s *Store) IssueCard(ctx context.Context, c Change, w warranty.Wording) (warranty.Code, error) {
	var code warranty.Code
	w = w.Tidied()
	err := s.changeAny(ctx, c, func(tx pgx.Tx, d docket.Docket) ([]event, error) {
		before, r, err := newestCard(ctx, tx, c.Number)
		if err != nil {
			return nil, err
		}
		if before != nil && before.Live() {
			return nil, domain.Invalid(map[string]string{"": warranty.StandsAlready})
		}
		var ev event
		if staff.Can(c.By.Role, staff.IssueCard) {
			code, ev, err = s.issue(ctx, tx, d, c, r, w)
			return []event{ev}, err
		}
		w = r.suggested()
		w.StartsOn = civilDay(c.At, r.shop.Location())
		code, ev, err = s.issue(ctx, tx, d, c, r, w)
		return []event{ev}, problemUnder("", err)
	})
	return code, err
}

// ReissueCard issues a card in place of the one that stands, under the same term, with what the record and w now
// say. The error is a *domain.InvalidError ("reason", "work_done", "covers", ""), wraps warranty.ErrSpent where no
// card stands, or domain.ErrNotFound, domain.ErrChanged, or what warranty.KeySet.Verify says of a card that was
// altered.
func (s *Store) ReissueCard(ctx context.Context, c Change, w warranty.Wording, reason string) (warranty.Code, error) {
	var code warranty.Code
	w, reason = w.Tidied(), text.Lines(reason)
	err := s.changeAny(ctx, c, func(tx pgx.Tx, d docket.Docket) ([]event, error) {
		before, r, err := newestCard(ctx, tx, c.Number)
		if err != nil {
			return nil, err
		}
		if before == nil || !before.Live() {
			return nil, warranty.ErrSpent
		}
		old, err := before.Card()
		if err != nil {
			return nil, err
		}
		if code, err = warranty.NewCode(rand.Reader); err != nil {
			return nil, err
		}
		next, err := r.basis().Corrected(old, w, code, c.At)
		if err != nil {
			return nil, fieldsOnly(err, "work_done", "covers")
		}
		if err := domain.Invalid(warranty.ReasonProblems(reason)); err != nil {
			return nil, err
		}
		if err := s.insertCard(ctx, tx, d.ID, c, next, &before.ID); err != nil {
			return nil, err
		}
		statement, err := s.stateIn(ctx, tx, warranty.Statement{Card: old.Code, Shop: old.Shop.Name, Standing: warranty.Superseded,
			Since: next.IssuedAt, ReplacedBy: code, AsOf: next.IssuedAt})
		return []event{cardEvent(docket.CardReissued, warranty.IssuedSummary(code, old.Code), reason, next, statement)}, err
	})
	return code, err
}

// VoidCard declares the card that stands void. The error is a *domain.InvalidError (field "reason"), or wraps
// warranty.ErrSpent where no card stands, domain.ErrNotFound or domain.ErrChanged.
func (s *Store) VoidCard(ctx context.Context, c Change, reason string) error {
	reason = text.Lines(reason)
	return s.changeAny(ctx, c, func(tx pgx.Tx, d docket.Docket) ([]event, error) {
		before, _, err := newestCard(ctx, tx, c.Number)
		if err != nil {
			return nil, err
		}
		if before == nil {
			return nil, warranty.ErrSpent
		}
		fate, err := before.Fate.Voided(reason, c.At)
		if errors.Is(err, warranty.ErrVoidReason) {
			return nil, domain.Invalid(warranty.ReasonProblems(""))
		}
		if err != nil {
			return nil, err
		}
		if err := domain.Invalid(warranty.ReasonProblems(reason)); err != nil {
			return nil, err
		}
		// A card is voided on a machine without the key too, and then nobody signs for it.
		statement, err := s.stateIn(ctx, tx, warranty.Statement{Card: before.Code, Shop: before.Shop.Name, Standing: warranty.Void,
			Since: fate.VoidedAt, AsOf: fate.VoidedAt})
		if err != nil {
			return nil, err
		}
		_, err = tx.Exec(ctx, `UPDATE warranty_card SET voided_at = $2, voided_by = $3, void_reason = $4 WHERE id = $1`,
			before.ID, fate.VoidedAt, c.By.StaffID, fate.VoidReason)
		return []event{{kind: docket.CardVoided, summary: warranty.VoidedSummary(before.Code), why: reason,
			facts: struct {
				Code      string `json:"card"`
				Statement string `json:"signed_statement,omitempty"`
			}{before.Code.Grouped(), statement}}}, err
	})
}
