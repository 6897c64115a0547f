package store

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/customer"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/shop"
	"ledgerwheel/domain/watch"
)

// IntakeQuestion is what the counter has typed so far, by which help is sought.
type IntakeQuestion struct {
	CustomerID int64             // chosen; 0 for none
	Customer   customer.Customer // Tidied
	Offered    []int64           // customers whose watches are to be offered with them

	WatchID int64       // chosen; 0 for none
	Watch   watch.Watch // Tidied
	// OwnerToo asks for whose watch the chosen one is, where no customer is chosen.
	OwnerToo bool
}

// IntakeHelp is what the record knows of a customer and a watch being typed.
type IntakeHelp struct {
	Chosen  *customer.Customer // the customer chosen, or the owner asked for; nil when none is, or it is not there
	Alike   []CustomerMatch    // customers like the one typed
	Watches []SeenWatch        // watches with such serials, the one chosen, those of the customer chosen and of those offered
	Listed  []WatchListMatch
	// Calibres are the names of the shop's calibres.
	Calibres []string
}

// SeenWatch is a watch that was in the shop before.
type SeenWatch struct {
	WatchRow
	Match   watch.SerialMatch // of its serials with those typed
	Dockets []PastDocket      // newest first
}

// seenLimit bounds how many watches are offered, and seenDockets how many dockets of theirs.
const (
	seenLimit   = 12
	seenDockets = 60
)

// seenSQL finds watches by serial keys $1, the watch $2, and the watches of each customer $3. Each part rides on an index.
const seenSQL = `WITH h AS MATERIALIZED ((SELECT id FROM watch WHERE serial_key <> '' AND serial_key = ANY($1) ORDER BY id DESC LIMIT $4)
	UNION (SELECT id FROM watch WHERE movement_serial_key <> '' AND movement_serial_key = ANY($1) ORDER BY id DESC LIMIT $4)
	UNION (SELECT id FROM watch WHERE id = $2)
	UNION (SELECT x.id FROM unnest($3::bigint[]) AS c (id) CROSS JOIN LATERAL
		(SELECT id FROM watch WHERE customer_id = c.id ORDER BY id DESC LIMIT $4) x)) `

// queueSeenWatches adds to a batch the search for watches with w's serials.
func queueSeenWatches(batch *pgx.Batch, w watch.Watch, found *[]WatchRow) {
	keys := w.SerialLikeKeys()
	if len(keys) == 0 {
		return
	}
	batch.Queue(seenSQL+watchRowSQL+`JOIN h ON h.id = w.id ORDER BY w.id DESC`, keys, 0, []int64{},
		seenLimit).Query(func(rows pgx.Rows) (err error) {
		*found, err = pgx.CollectRows(rows, scanWatchRow)
		return err
	})
}

// IntakeHelp looks up, in one round trip, whatever the record knows of q.
func (s *Store) IntakeHelp(ctx context.Context, q IntakeQuestion) (IntakeHelp, error) {
	var help IntakeHelp
	var batch pgx.Batch
	var chosen customer.Customer
	var version int64
	var found bool
	switch {
	case q.CustomerID != 0:
		queueCustomer(&batch, q.CustomerID, &chosen, &version, &found)
	case q.OwnerToo && q.WatchID != 0:
		queueOwner(&batch, q.WatchID, &chosen, &found)
	}
	queueAlikeCustomers(&batch, q.Customer, &help.Alike)
	var rows []WatchRow
	var dockets []PastDocket
	queueHistoryOf(&batch, q, &rows, &dockets)
	queueListed(&batch, q.Watch, &help.Listed)
	queueCalibreNames(&batch, &help.Calibres)
	if err := s.db.SendBatch(ctx, &batch).Close(); err != nil {
		return IntakeHelp{}, fmt.Errorf("help at intake: %w", Translate(err))
	}
	if found {
		help.Chosen = &chosen
	}
	for _, r := range rows {
		seen := SeenWatch{WatchRow: r, Match: r.Watch.SerialAgreement(q.Watch)}
		for _, d := range dockets {
			if d.WatchID == r.Watch.ID {
				seen.Dockets = append(seen.Dockets, d)
			}
		}
		help.Watches = append(help.Watches, seen)
	}
	return help, nil
}

// queueOwner reads whose a watch is.
func queueOwner(batch *pgx.Batch, watchID int64, c *customer.Customer, found *bool) {
	batch.Queue(`SELECT `+customerFields+` FROM watch w JOIN customer c ON c.id = w.customer_id WHERE w.id = $1`, watchID).
		QueryRow(func(row pgx.Row) error {
			err := row.Scan(customerTargets(c)...)
			*found = err == nil
			return ignoreNone(err)
		})
}

func queueHistoryOf(batch *pgx.Batch, q IntakeQuestion, watches *[]WatchRow, dockets *[]PastDocket) {
	keys := q.Watch.SerialLikeKeys()
	owners := q.Offered
	if q.CustomerID != 0 {
		owners = []int64{q.CustomerID}
	}
	if len(keys)+len(owners) == 0 && q.WatchID == 0 {
		return
	}
	batch.Queue(seenSQL+watchRowSQL+`JOIN h ON h.id = w.id ORDER BY w.id DESC`, keys, q.WatchID, owners, seenLimit).
		Query(func(rows pgx.Rows) (err error) {
			*watches, err = pgx.CollectRows(rows, scanWatchRow)
			return err
		})
	give := queuePromises(batch, seenSQL+`SELECT d.id FROM docket d JOIN h ON h.id = d.watch_id ORDER BY d.id DESC LIMIT $5`,
		keys, q.WatchID, owners, seenLimit, seenDockets)
	batch.Queue(seenSQL+pastDocketSQL+`JOIN h ON h.id = d.watch_id ORDER BY d.id DESC LIMIT $5`,
		keys, q.WatchID, owners, seenLimit, seenDockets).Query(func(rows pgx.Rows) (err error) {
		*dockets, err = pgx.CollectRows(rows, scanPastDocket)
		for i := range *dockets {
			give(&(*dockets)[i])
		}
		return err
	})
}

// IntakeSheet is everything the intake sheet of a docket shows.
type IntakeSheet struct {
	Head      Head
	Condition watch.Condition
	Photos    []Photo
	Listed    []WatchListMatch
	Hazards   []string // slugs of the hazards found
	// Shop is the settings as they stood when the watch came in, which ticket and label are printed by.
	Shop shop.Shop
}

// IntakeSheet reads the sheet in one round trip; the error wraps domain.ErrNotFound.
func (s *Store) IntakeSheet(ctx context.Context, n docket.Number) (IntakeSheet, error) {
	var sheet IntakeSheet
	var batch pgx.Batch
	var found bool
	var entries []watch.WatchListEntry
	stood := stoodShops{}
	queueShops(&batch, stood, `SELECT taken_in_under FROM docket WHERE number = $1`, n.String())
	queueHead(&batch, n, &sheet.Head, &found)
	batch.Queue(`SELECT coalesce(taken_in_under, 0) FROM docket WHERE number = $1`, n.String()).Query(stood.give(&sheet.Shop))
	queueCondition(&batch, n, &sheet.Condition)
	queuePhotos(&batch, n, &sheet.Photos)
	queueListedOf(&batch, n.String(), &entries)
	queueHazardSlugs(&batch, n, &sheet.Hazards)
	err := s.db.SendBatch(ctx, &batch).Close()
	if err == nil && !found {
		err = domain.ErrNotFound
	}
	if err != nil {
		return IntakeSheet{}, fmt.Errorf("intake of docket %s: %w", n, Translate(err))
	}
	sheet.Listed = concerning(entries, sheet.Head.Watch)
	return sheet, nil
}

func queueHazardSlugs(batch *pgx.Batch, n docket.Number, hazards *[]string) {
	batch.Queue(`SELECT hazard FROM hazard WHERE docket_id = (SELECT id FROM docket WHERE number = $1) ORDER BY found_at, hazard`,
		n.String()).Query(func(rows pgx.Rows) (err error) {
		*hazards, err = pgx.CollectRows(rows, pgx.RowTo[string])
		return err
	})
}

// CorrectIntake replaces what was said at the counter: complaint, service wanted, declared value, approval limit, language
// of the papers and promised day of said; the rest of it is ignored. A correction that changes nothing leaves no trace. The error is a
// *domain.InvalidError or as of the other changes of a docket.
func (s *Store) CorrectIntake(ctx context.Context, c Change, said docket.Intake) error {
	return s.change(ctx, c, func(tx pgx.Tx, d docket.Docket) ([]event, error) {
		now := d.Intake
		now.Complaint, now.Wanted, now.PromisedOn, now.OrderNumber = said.Complaint, said.Wanted, said.PromisedOn, said.OrderNumber
		now.DeclaredValueMinor, now.ApprovalLimitMinor = said.DeclaredValueMinor, said.ApprovalLimitMinor
		now.Tongue = said.Tongue.Or(now.Tongue)
		return s.correctIntake(ctx, tx, d, c, now)
	})
}

// correctIntake writes what is said at the counter of a docket that is locked.
func (s *Store) correctIntake(ctx context.Context, tx pgx.Tx, d docket.Docket, c Change, now docket.Intake) ([]event, error) {
	if err := domain.Invalid(now.Problems()); err != nil {
		return nil, err
	}
	if err := tongueStays(ctx, tx, d, now); err != nil {
		return nil, err
	}
	events := intakeEvents(d.Intake, now)
	if len(events) == 0 {
		return nil, nil
	}
	_, err := tx.Exec(ctx, `UPDATE docket SET complaint = $2, wanted = $3, declared_minor = $4, approval_limit_minor = $5,
		promised_on = $6, tongue = $7, order_number = $8 WHERE id = $1`, d.ID, now.Complaint, string(now.Wanted), now.DeclaredValueMinor,
		now.ApprovalLimitMinor, nullTime(now.PromisedOn), nullText(string(now.Tongue)), nullText(now.OrderNumber))
	if err != nil || !d.Delayed(now.PromisedOn) {
		return events, err
	}
	told, err := s.tell(ctx, tx, d, c, delayWord(d.PromisedOn, now.PromisedOn))
	return append(events, told...), err
}

// Promise says another day for which a watch is promised; all else that was said at the counter stays. The error is as of
// CorrectIntake.
func (s *Store) Promise(ctx context.Context, c Change, day time.Time) error {
	return s.change(ctx, c, func(tx pgx.Tx, d docket.Docket) ([]event, error) {
		now := d.Intake
		now.PromisedOn = day
		return s.correctIntake(ctx, tx, d, c, now)
	})
}

// tongueStays refuses another language once the docket was billed: an invoice is not made twice in two languages.
func tongueStays(ctx context.Context, tx pgx.Tx, d docket.Docket, now docket.Intake) error {
	if now.Tongue == d.Tongue {
		return nil
	}
	var billed bool
	err := tx.QueryRow(ctx, `SELECT billed_under IS NOT NULL FROM docket WHERE id = $1`, d.ID).Scan(&billed)
	if err == nil && billed {
		err = domain.Invalid(map[string]string{"tongue": d.TongueBilled()})
	}
	return err
}

func intakeEvents(old, now docket.Intake) []event {
	var events []event
	if changes := old.Corrections(now); len(changes) > 0 {
		events = append(events, event{kind: docket.IntakeCorrected, summary: docket.IntakeCorrectedSummary(changes),
			facts: changes})
	}
	if !old.PromisedOn.Equal(now.PromisedOn) {
		events = append(events, event{kind: docket.Promised, summary: now.PromisedSummary(),
			facts: map[string]string{"from": docket.DayWords(old.PromisedOn), "to": docket.DayWords(now.PromisedOn)}})
	}
	return events
}
