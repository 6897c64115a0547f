package store

import (
	"context"
	"fmt"
	"slices"
	"strconv"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/estimate"
	"ledgerwheel/domain/message"
	"ledgerwheel/domain/pricelist"
	"ledgerwheel/domain/shop"
	"ledgerwheel/domain/stock"
	"ledgerwheel/domain/tongue"
)

// RevisionRow is who did what to a revision, and what it comes to, in minor units.
type RevisionRow struct {
	Number        int
	MadeBy        string
	MadeAt        time.Time
	SentBy        string // "" until sent
	AnswerTakenBy string // who wrote the answer down at the counter; "" for an answer by the private link
	// Shop is the settings as they stood when it was sent, by which it is shown and printed; of a draft, today's.
	Shop shop.Shop
	// Tongue is the language in which it was sent; "" is English.
	Tongue tongue.Tongue
	// NetMinor, TaxMinor and GrossMinor leave out the lines that the customer left out.
	NetMinor, TaxMinor, GrossMinor int64
}

// EstimateSheet is everything the estimate sheet of a docket shows.
type EstimateSheet struct {
	Head     Head
	Estimate estimate.Estimate
	RevisionRows
	Link CustomerLink // the newest; zero ID when none was made
	// Findings and Parts are what lines are suggested from; struck findings are among them.
	Findings []FindingRow
	Parts    []PartRow
	Jobs     []JobRow // that the price list offers
}

// RevisionRows are those of an estimate, one for each revision and in the same order.
type RevisionRows []RevisionRow

// Row returns who did what to the revision of that number.
func (rows RevisionRows) Row(number int) RevisionRow {
	for _, r := range rows {
		if r.Number == number {
			return r
		}
	}
	return RevisionRow{}
}

const revisionSQL = `SELECT e.id, e.number, e.state, e.currency, e.prices_include_tax, e.note, e.valid_until, e.sent_at,
	e.decided_at, e.decided_name, e.decided_via, e.decided_note, m.name, e.made_at, coalesce(x.name, ''), coalesce(t.name, ''),
	e.net_minor, e.tax_minor, e.gross_minor, coalesce(e.sent_under, 0), coalesce(e.tongue, ''),
	e.agreed_at, coalesce(e.called_number, ''), coalesce(e.called_by, ''), coalesce(e.agreed_added, ''), coalesce(e.agreed_minor, 0)
	FROM estimate_revision e JOIN staff m ON m.id = e.made_by
	LEFT JOIN staff x ON x.id = e.sent_by LEFT JOIN staff t ON t.id = e.answer_taken_by `

func (er *estimateReader) scanRevision(row pgx.CollectableRow) (r estimate.Revision, who RevisionRow, err error) {
	var sentUnder int64
	var sent, decided, agreed *time.Time
	var a estimate.Answer
	var call estimate.Consent
	err = row.Scan(&r.ID, &r.Number, &r.State, &r.Currency, &r.Rule.PricesIncludeTax, &r.Note, &r.ValidUntil, &sent,
		&decided, &a.Name, &a.By, &a.Note, &who.MadeBy, &who.MadeAt, &who.SentBy, &who.AnswerTakenBy,
		&who.NetMinor, &who.TaxMinor, &who.GrossMinor, &sentUnder, &who.Tongue, &agreed, &call.Number, &call.CalledBy, &call.Added, &call.TotalMinor)
	who.Shop = er.stood[sentUnder]
	r.SentAt, who.MadeAt, who.Number = timeOr(sent), who.MadeAt.UTC(), r.Number
	if decided != nil {
		// Only what was approved is ever superseded after its answer.
		a.Revision, a.At, a.Approve = r.Number, decided.UTC(), r.State != estimate.Declined
		if agreed != nil {
			call.At = agreed.UTC()
			a.Consent = &call
		}
		r.Answer = &a
	}
	return r, who, err
}

const lineSQL = `SELECT l.revision_id, l.kind, l.description, l.quantity_milli, l.unit_minor, l.tax_basis_points, l.optional, l.declined, coalesce(l.part_id, 0)
	FROM estimate_line l JOIN estimate_revision e ON e.id = l.revision_id `

// estimateReader puts revisions and their lines together.
type estimateReader struct {
	estimate estimate.Estimate
	rows     []RevisionRow
	stood    stoodShops
}

// queue adds three queries to the batch; where names the revisions e that are read.
func (er *estimateReader) queue(batch *pgx.Batch, where string, args ...any) {
	er.stood = stoodShops{}
	queueShops(batch, er.stood, `SELECT e.sent_under FROM estimate_revision e `+where, args...)
	batch.Queue(revisionSQL+where+` ORDER BY e.number`, args...).Query(func(rows pgx.Rows) error {
		for rows.Next() {
			r, who, err := er.scanRevision(rows)
			if err != nil {
				return err
			}
			er.estimate.Revisions, er.rows = append(er.estimate.Revisions, r), append(er.rows, who)
		}
		return rows.Err()
	})
	batch.Queue(lineSQL+where+` ORDER BY l.revision_id, l.ordinal`, args...).Query(func(rows pgx.Rows) error {
		for rows.Next() {
			if err := er.scanLine(rows); err != nil {
				return err
			}
		}
		return rows.Err()
	})
}

// scanLine gives a line to its revision, and notes in an answer which lines it left out.
func (er *estimateReader) scanLine(rows pgx.Rows) error {
	var revision int64
	var l estimate.Line
	err := rows.Scan(&revision, &l.Kind, &l.Description, &l.QuantityMilli, &l.UnitMinor, &l.TaxBasisPoints, &l.Optional,
		&l.Declined, &l.PartID)
	if err != nil {
		return err
	}
	for i := range er.estimate.Revisions {
		r := &er.estimate.Revisions[i]
		if r.ID != revision {
			continue
		}
		if l.Declined && r.Answer != nil {
			r.Answer.DeclinedLines = append(r.Answer.DeclinedLines, len(r.Lines))
		}
		r.Lines = append(r.Lines, l)
	}
	return nil
}

const ofDocket = `WHERE e.docket_id = (SELECT id FROM docket WHERE number = $1)`

// EstimateSheet reads the sheet in one round trip; the error wraps domain.ErrNotFound.
func (s *Store) EstimateSheet(ctx context.Context, n docket.Number) (EstimateSheet, error) {
	var sheet EstimateSheet
	var found bool
	var reader estimateReader
	var batch pgx.Batch
	queueHead(&batch, n, &sheet.Head, &found)
	reader.queue(&batch, ofDocket, n.String())
	queueLink(&batch, n, &sheet.Link)
	queueFindings(&batch, n, &sheet.Findings)
	queueParts(&batch, n, &sheet.Parts)
	queueJobs(&batch, &sheet.Jobs, jobsOffered)
	if err := s.sendSheet(ctx, &batch, &found); err != nil {
		return EstimateSheet{}, fmt.Errorf("estimate of docket %s: %w", n, err)
	}
	sheet.Estimate, sheet.RevisionRows = reader.estimate, reader.rows
	return sheet, nil
}

// Offered are the jobs of the price list alone.
func (s EstimateSheet) Offered() []pricelist.Job {
	jobs := make([]pricelist.Job, len(s.Jobs))
	for i, j := range s.Jobs {
		jobs[i] = j.Job
	}
	return jobs
}

// PartLines are the docket's parts alone, for suggesting lines.
func (s EstimateSheet) PartLines() []stock.PartLine {
	lines := make([]stock.PartLine, len(s.Parts))
	for i, p := range s.Parts {
		lines[i] = p.PartLine
	}
	return lines
}

// lockEstimate reads the estimate of a locked docket.
func lockEstimate(ctx context.Context, tx pgx.Tx, docketID int64) (estimate.Estimate, error) {
	var reader estimateReader
	var batch pgx.Batch
	reader.queue(&batch, `WHERE e.docket_id = $1`, docketID)
	err := tx.SendBatch(ctx, &batch).Close()
	return reader.estimate, err
}

// SaveDraft gives the open draft the lines, note, tax rule and last day of content, or begins one with them under the
// next number, which it returns. The docket's currency stands above content's. A draft saved as it was leaves no
// trace. The error is a *domain.InvalidError (see estimate.Revision.Problems, and "valid_until"), or as of the other
// changes of a docket.
func (s *Store) SaveDraft(ctx context.Context, c Change, content estimate.Revision) (number int, err error) {
	err = s.change(ctx, c, func(tx pgx.Tx, d docket.Docket) ([]event, error) {
		saved, err := saveDraft(ctx, tx, d, c, content)
		number = saved.number
		return saved.events, err
	})
	return number, err
}

// SaveAndSend is SaveDraft followed by SendEstimate, both or neither.
func (s *Store) SaveAndSend(ctx context.Context, c Change, content estimate.Revision, today time.Time) (number int,
	err error) {
	err = s.change(ctx, c, func(tx pgx.Tx, d docket.Docket) ([]event, error) {
		saved, err := saveDraft(ctx, tx, d, c, content)
		if err != nil {
			return nil, err
		}
		number = saved.number
		sent, err := s.sendDraft(ctx, tx, d, c, saved.estimate, number, today)
		return append(saved.events, sent...), err
	})
	return number, err
}

// savedDraft is an estimate whose draft was saved, and what the journal is told of it.
type savedDraft struct {
	estimate estimate.Estimate
	number   int
	events   []event
}

func saveDraft(ctx context.Context, tx pgx.Tx, d docket.Docket, c Change, content estimate.Revision) (savedDraft,
	error) {
	content.Currency = d.Currency
	if err := domain.Invalid(content.DraftProblems()); err != nil {
		return savedDraft{}, err
	}
	e, err := lockEstimate(ctx, tx, d.ID)
	if err != nil {
		return savedDraft{}, err
	}
	saved := savedDraft{estimate: e}
	if draft, open := e.OpenDraft(); open {
		saved.number = draft.Number
		if sameContent(draft, content) {
			return saved, nil
		}
		saved.estimate, err = e.Edit(draft.Number, content)
	} else {
		saved.estimate, saved.number, err = e.Begin(content)
	}
	if err != nil {
		return savedDraft{}, err
	}
	r, _ := saved.estimate.Find(saved.number)
	saved.events = []event{revisionEvent(docket.EstimateDrafted, estimate.ToldDrafted, r, nil)}
	return saved, writeEstimate(ctx, tx, d.ID, c, e, saved.estimate)
}

func sameContent(a, b estimate.Revision) bool {
	return a.Rule == b.Rule && a.Note == b.Note && a.ValidUntil.Equal(b.ValidUntil) && slices.Equal(a.Lines, b.Lines)
}

// DiscardDraft throws the open draft away. The error wraps estimate.ErrNoRevision when there is none, or is as of the
// other changes of a docket.
func (s *Store) DiscardDraft(ctx context.Context, c Change) error {
	return s.change(ctx, c, func(tx pgx.Tx, d docket.Docket) ([]event, error) {
		e, err := lockEstimate(ctx, tx, d.ID)
		if err != nil {
			return nil, err
		}
		draft, _ := e.OpenDraft()
		next, err := e.Discard(draft.Number)
		if err != nil {
			return nil, err
		}
		return []event{revisionEvent(docket.EstimateDrafted, estimate.ToldDiscarded, draft, nil)},
			writeEstimate(ctx, tx, d.ID, c, e, next)
	})
}

// SendEstimate shows the draft of that number to the customer: it keeps the private link that serves, with its life
// begun anew, or makes one. today is the civil day in the shop, midnight UTC. The error wraps what
// estimate.Estimate.Send refuses with, or is as of the other changes of a docket.
func (s *Store) SendEstimate(ctx context.Context, c Change, number int, today time.Time) error {
	return s.change(ctx, c, func(tx pgx.Tx, d docket.Docket) ([]event, error) {
		e, err := lockEstimate(ctx, tx, d.ID)
		if err != nil {
			return nil, err
		}
		return s.sendDraft(ctx, tx, d, c, e, number, today)
	})
}

func (s *Store) sendDraft(ctx context.Context, tx pgx.Tx, d docket.Docket, c Change, e estimate.Estimate, number int,
	today time.Time) ([]event, error) {
	next, err := e.Send(number, docket.Moment(c.At), today)
	if err != nil {
		return nil, err
	}
	if err := writeEstimate(ctx, tx, d.ID, c, e, next); err != nil {
		return nil, err
	}
	links, err := keepLink(ctx, tx, d.ID, c)
	if err != nil {
		return nil, err
	}
	r, _ := next.Find(number)
	told, err := s.tell(ctx, tx, d, c, estimateWord(message.EstimateReady, d, r))
	return append(append([]event{revisionEvent(docket.EstimateWasSent, estimate.ToldSent, r, nil)}, links...), told...), err
}

// AnswerEstimate records the customer's answer at the counter, or on the telephone where it has a Consent. today is the civil day in the shop, midnight UTC. The
// error is a *domain.InvalidError for a faulty answer, wraps what estimate.Estimate.Decide refuses with, or is as of
// the other changes of a docket.
func (s *Store) AnswerEstimate(ctx context.Context, c Change, a estimate.Answer, today time.Time) error {
	a.By, a.At = estimate.AtCounter, docket.Moment(c.At)
	if a.Consent != nil {
		call := a.Consent.Tidied()
		call.At = docket.Moment(call.At)
		a.By, a.Consent = estimate.ByTelephone, &call
	}
	if err := domain.Invalid(a.Problems()); err != nil {
		return err
	}
	return s.change(ctx, c, func(tx pgx.Tx, d docket.Docket) ([]event, error) { return s.decide(ctx, tx, d, c, a, today) })
}

func (s *Store) decide(ctx context.Context, tx pgx.Tx, d docket.Docket, c Change, a estimate.Answer, today time.Time) ([]event,
	error) {
	e, err := lockEstimate(ctx, tx, d.ID)
	if err != nil {
		return nil, err
	}
	next, err := e.Decide(a, today)
	if err != nil {
		return nil, err
	}
	r, _ := next.Find(a.Revision)
	events := []event{revisionEvent(answerKind(a), a.Done(), r, &a)}
	if err := writeEstimate(ctx, tx, d.ID, c, e, next); err != nil || !a.Approve {
		return events, err
	}
	needed, err := needAgreed(ctx, tx, d, c, r.Lines)
	if err != nil {
		return nil, err
	}
	events = append(events, needed...)
	held, err := holdAgreed(ctx, tx, d, c)
	if err != nil {
		return nil, err
	}
	events = append(events, held...)
	if c.By.Customer {
		c.Tell.Way = ifMail // the page has thanked them; who is reached otherwise needs no call for it
	}
	told, err := s.tell(ctx, tx, d, c, estimateWord(message.Approved, d, r))
	return append(events, told...), err
}

func answerKind(a estimate.Answer) docket.Kind {
	if a.Approve {
		return docket.EstimateAccepted
	}
	return docket.EstimateRefused
}

// estimateWord tells of a revision, what it comes to without what was left out.
func estimateWord(topic message.Topic, d docket.Docket, r estimate.Revision) word {
	sum, _ := r.AgreedTotals() // what could not be summed was never kept
	return word{topic: topic, occasion: strconv.Itoa(r.Number), values: func(sp speech) message.Values {
		v := message.Values{message.PutTotal: sp.money(sum.GrossMinor, r.Currency)}
		if topic == message.EstimateReady {
			v[message.PutAnswerBy] = sp.day(r.ValidUntil)
		} else {
			v[message.PutPromised] = sp.day(d.PromisedOn)
		}
		return v
	}}
}
