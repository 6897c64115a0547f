package store

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain/diagnosis"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/estimate"
	"ledgerwheel/domain/link"
	"ledgerwheel/domain/message"
	"ledgerwheel/domain/photo"
	"ledgerwheel/domain/timing"
	"ledgerwheel/domain/tongue"
	"ledgerwheel/domain/watch"
)

// LinkPage is what a private link shows of its docket, and nothing else.
type LinkPage struct {
	Link     link.Link
	Number   docket.Number
	Stage    docket.Stage
	Closed   bool
	LeftAt   time.Time             // UTC; zero before the watch left
	Promised time.Time             // civil day; zero when nothing was promised
	Moves    []docket.PromiseMoved // of that day, oldest first
	Watch    watch.Watch
	Calibre  LinkCalibre
	Customer string        // name on record, who a question is said to come from
	Tongue   tongue.Tongue // that the customer is spoken to in, or of the docket's papers; "" where nobody chose
	Photos   []Photo       // those chosen for the customer
	// Findings have a photograph that was chosen for the customer; struck ones are left out.
	Findings []diagnosis.Finding
	// Estimate holds every revision that the customer was ever sent.
	Estimate estimate.Estimate
	RevisionRows
	Account   LinkAccount
	Questions []link.Question // oldest first
	Card      *CardRow        // the newest; nil where none was issued
	// ServiceYears is after how many years the shop advises a service, where one was done; 0 is never.
	ServiceYears int
	Tests        []FinalTest // the newest final test, if there was one
	Sent         LinkParcel  // in which the watch went back; zero where it did not go by post
	AsReceived   *RunRecord  // the first run as received
	AfterWork    *RunRecord  // the newest final run since work began
	// ComebackOf is the docket on whose warranty the watch came back, zero where it did not; Comeback what was said of that, and
	// Free that the warranty covers it and nothing is priced.
	ComebackOf docket.Number
	Comeback   Comeback
	Free       bool
}

// LinkCalibre is what the customer's page draws of the movement.
type LinkCalibre struct {
	Name, Train string // "" where the watch's calibre is not in the shop's list, or has no train there
}

// LinkParcel is how a watch went back by post.
type LinkParcel struct {
	Carrier, Number string
	At              time.Time // UTC
}

// queueLinkParcel adds to a batch in which parcel the watch went back.
func queueLinkParcel(batch *pgx.Batch, linkID int64, p *LinkParcel) {
	batch.Queue(`SELECT c.name, p.number, p.settled_at FROM parcel_out p JOIN carrier c ON c.id = p.carrier_id
		WHERE p.docket_id = `+linkedDocket+` AND p.state = 'given' ORDER BY p.id DESC LIMIT 1`, linkID).Query(func(rows pgx.Rows) error {
		for rows.Next() {
			if err := rows.Scan(&p.Carrier, &p.Number, &p.At); err != nil {
				return err
			}
		}
		return rows.Err()
	})
}

// LinkAccount is what the docket comes to, in minor units of its currency.
type LinkAccount struct {
	Currency          string
	OwedMinor         int64
	PaidMinor         int64
	DueMinor          int64
	Billed            bool // an invoice that is no draft can be made
	Passed            bool // money passed, so that there is a receipt
	Agreed, AnyAmount bool // something was agreed; something was agreed, charged or paid
}

const linkedDocket = `(SELECT docket_id FROM customer_link WHERE id = $1)`

// LinkPage reads what the link of that id leads to, in one round trip. Whether the link serves is for the caller
// to check. The error wraps domain.ErrNotFound.
func (s *Store) LinkPage(ctx context.Context, linkID int64) (LinkPage, error) {
	var page LinkPage
	var reader estimateReader
	var cards []CardRow
	var runs linkRuns
	var batch pgx.Batch
	batch.Queue(linkSQL+`WHERE l.id = $1`, linkID).Query(func(rows pgx.Rows) error {
		l, err := pgx.CollectExactlyOneRow(rows, scanLink)
		page.Link = l.Link
		return err
	})
	queueLinkDocket(&batch, linkID, &page)
	queuePromiseMoves(&batch, linkID, &page.Moves)
	queueLinkParcel(&batch, linkID, &page.Sent)
	batch.Queue(finalTestSQL+`WHERE d.id = `+linkedDocket+` ORDER BY f.id DESC LIMIT 1`, linkID).Query(func(rows pgx.Rows) (err error) {
		page.Tests, err = pgx.CollectRows(rows, scanFinalTest)
		return err
	})
	queueLinkPictures(&batch, linkID, &page)
	reader.queue(&batch, `WHERE e.docket_id = `+linkedDocket+` AND e.state <> 'draft'`, linkID)
	queueCardRows(&batch, `w.docket_id = `+linkedDocket, ` ORDER BY w.id DESC LIMIT 1`, &cards, linkID)
	runs.queue(&batch, linkID)
	queueQuestions(&batch, linkedDocket, linkID, &page.Questions)
	queueComeback(&batch, linkedDocket, linkID, &page.Comeback)
	batch.Queue(`SELECT year, seq FROM docket WHERE id = (SELECT comeback_of FROM docket WHERE id = `+linkedDocket+`)`, linkID).Query(func(rows pgx.Rows) error {
		_, err := pgx.ForEachRow(rows, []any{&page.ComebackOf.Year, &page.ComebackOf.Seq}, func() error { return nil })
		return err
	})
	if err := s.db.SendBatch(ctx, &batch).Close(); err != nil {
		return LinkPage{}, fmt.Errorf("page of link %d: %w", linkID, Translate(err))
	}
	page.Estimate, page.RevisionRows = reader.estimate, reader.rows
	if len(cards) > 0 {
		page.Card = &cards[0]
	}
	runs.give(&page)
	return page, nil
}

// queueLinkDocket reads the docket itself, its watch and what it comes to.
func queueLinkDocket(batch *pgx.Batch, linkID int64, page *LinkPage) {
	batch.Queue(`SELECT `+docketFields+`, `+factColumns+`, d.billed_under IS NOT NULL,
		EXISTS (SELECT FROM payment WHERE docket_id = d.id), c.name, coalesce(c.tongue, d.tongue, ''), coalesce(k.name, ''), coalesce(k.train, ''),
		(SELECT service_years FROM message_reminders ORDER BY id DESC LIMIT 1), `+watchFields+`
		FROM docket d JOIN customer c ON c.id = d.customer_id JOIN watch w ON w.id = d.watch_id
		LEFT JOIN calibre k ON k.id = w.calibre_id WHERE d.id = `+linkedDocket, linkID).QueryRow(func(row pgx.Row) error {
		var d docket.Docket
		var facts factRow
		var billed, passed bool
		var years *int
		own, finish := docketTargets(&d)
		targets := append(append(own, facts.targets()...), &billed, &passed, &page.Customer, &page.Tongue, &page.Calibre.Name, &page.Calibre.Train,
			&years)
		if err := row.Scan(append(targets, watchTargets(&page.Watch)...)...); err != nil {
			return err
		}
		finish()
		f := facts.finish(d)
		page.Number, page.Stage, page.Closed, page.Promised, page.LeftAt = d.Number, d.Stage, d.Closed(), d.PromisedOn, d.HandedBackAt
		if page.ServiceYears = message.UsualReminders().ServiceYears; years != nil {
			page.ServiceYears = *years
		}
		if f.ServiceSteps == 0 {
			page.ServiceYears = 0
		}
		page.Free = f.Free()
		agreed := docket.AgreedMinor(d.Stage, f) > 0
		page.Account = LinkAccount{Currency: d.Currency, OwedMinor: facts.OwedMinor(d.Stage, f), PaidMinor: facts.PaidMinor,
			DueMinor: f.DueMinor, Agreed: agreed, AnyAmount: agreed || facts.Charged != nil || passed, Passed: passed}
		page.Account.Billed = billed && page.Account.AnyAmount
		return nil
	})
}

// queuePromiseMoves adds to a batch how the promised day was moved, as the journal has it.
func queuePromiseMoves(batch *pgx.Batch, linkID int64, moves *[]docket.PromiseMoved) {
	batch.Queue(`SELECT convert_from(facts, 'UTF8')::json ->> 'from', convert_from(facts, 'UTF8')::json ->> 'to', at FROM journal
		WHERE docket_id = `+linkedDocket+` AND kind = $2 AND facts IS NOT NULL ORDER BY seq`, linkID, string(docket.Promised)).
		Query(func(rows pgx.Rows) error {
			var from, to *string
			var at time.Time
			_, err := pgx.ForEachRow(rows, []any{&from, &to, &at}, func() error {
				if from == nil || to == nil {
					return nil
				}
				if m, ok := docket.PromiseMovedOf(*from, *to, at); ok {
					*moves = append(*moves, m)
				}
				return nil
			})
			*moves = docket.PromiseMoves(*moves)
			return err
		})
}

// queueLinkPictures reads the photographs chosen for the customer, and the findings that have one.
func queueLinkPictures(batch *pgx.Batch, linkID int64, page *LinkPage) {
	batch.Queue(photoSQL+`WHERE p.docket_id = `+linkedDocket+` AND p.customer_sees ORDER BY p.id LIMIT $2`, linkID,
		photo.MaxPerDocket).Query(func(rows pgx.Rows) (err error) {
		page.Photos, err = pgx.CollectRows(rows, scanPhoto)
		return err
	})
	batch.Queue(`SELECT f.id, f.component, f.fault, f.severity, f.photo_id FROM finding f JOIN photo p ON p.id = f.photo_id
		WHERE f.docket_id = `+linkedDocket+` AND f.struck_at IS NULL AND p.customer_sees AND p.removed_at IS NULL ORDER BY f.id`,
		linkID).Query(func(rows pgx.Rows) (err error) {
		page.Findings, err = pgx.CollectRows(rows, func(row pgx.CollectableRow) (f diagnosis.Finding, err error) {
			return f, row.Scan(&f.ID, &f.Component, &f.Fault, &f.Severity, &f.PhotoID)
		})
		return err
	})
}

// linkRuns are the runs that the customer's page compares.
type linkRuns struct {
	runs     []RunRecord
	readings []keptReading
	clocks   recorderClocks
}

// linkedRuns selects the first run as received and the newest final run since work began.
const linkedRuns = `(SELECT id FROM run WHERE id = (SELECT min(id) FROM run WHERE docket_id = ` + linkedDocket + ` AND kind = 'as received')
	OR id = (SELECT max(r.id) FROM run r JOIN docket d ON d.id = r.docket_id WHERE d.id = ` + linkedDocket + `
		AND r.kind = 'final' AND r.taken_at >= d.work_since))`

func (l *linkRuns) queue(batch *pgx.Batch, linkID int64) {
	queueClocks(batch, &l.clocks)
	batch.Queue(`SELECT `+runFields+runFrom+`WHERE r.id IN `+linkedRuns+` ORDER BY r.id`, linkID).Query(func(rows pgx.Rows) (err error) {
		l.runs, err = pgx.CollectRows(rows, scanRun)
		return err
	})
	batch.Queue(`SELECT `+readingFields+readingFrom+`WHERE g.run_id IN `+linkedRuns, linkID).Query(func(rows pgx.Rows) (err error) {
		l.readings, err = pgx.CollectRows(rows, scanReading)
		return err
	})
}

func (l *linkRuns) give(page *LinkPage) {
	gather(l.runs, l.readings, page.Watch.CrownAt, l.clocks)
	for i := range l.runs {
		if l.runs[i].Sheet.Run.Kind == timing.Final {
			page.AfterWork = &l.runs[i]
		} else {
			page.AsReceived = &l.runs[i]
		}
	}
}
