package store

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/customer"
	"ledgerwheel/domain/diagnosis"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/promise"
	"ledgerwheel/domain/shop"
	"ledgerwheel/domain/tongue"
	"ledgerwheel/domain/visit"
	"ledgerwheel/domain/watch"
)

// TakingIn is everything the counter says when it takes in a watch.
type TakingIn struct {
	Shop shop.Shop // gives currency and time zone

	// CustomerID is the customer in the record; 0 adds Customer, which must be Tidied.
	CustomerID int64
	Customer   customer.Customer
	// NewCustomer says that somebody looked at the customers like Customer, and it is none of them.
	NewCustomer bool

	// WatchID is the watch seen before; its particulars are brought up to date by Watch. 0 adds Watch. Watch must be
	// Tidied.
	WatchID int64
	Watch   watch.Watch
	// NewWatch says that somebody looked at the watches with such serials, and it is none of them.
	NewWatch bool

	// Intake needs neither ids, currency nor the day received: they follow from the above and At.
	Intake docket.Intake
	// Condition may be wholly empty, to be noted later; begun, it must speak of every part.
	Condition watch.Condition
	Place     docket.Place

	// With is a docket of the same visit: a watch that the same customer brought at once. Zero begins a visit.
	With docket.Number
	// ParcelID is the parcel in which the watch came by post, 0 for one that was brought.
	ParcelID int64
	// Warned is what whoever takes it in was warned of, of the limits of the insurer, and went on; "" for nothing.
	Warned string
	// Proposed is the day that was proposed, nil where none was.
	Proposed *promise.Proposed

	By Actor
	At time.Time
}

// ReceivedOn is the civil day in the shop on which the watch comes in.
func (in TakingIn) ReceivedOn() time.Time { return civilDay(in.At, in.Shop.Location()) }

func civilDay(t time.Time, zone *time.Location) time.Time {
	y, m, d := t.In(zone).Date()
	return time.Date(y, m, d, 0, 0, 0, 0, time.UTC)
}

// Problems says, by form field, what stops the watch being taken in, as far as the form alone can tell.
func (in TakingIn) Problems() map[string]string {
	bad := map[string]string{}
	if in.CustomerID == 0 {
		maps.Copy(bad, in.Customer.Problems())
	}
	if in.WatchID == 0 {
		maps.Copy(bad, in.Watch.Problems())
	}
	maps.Copy(bad, in.intake(1, 1).Problems())
	if len(in.Condition.Marks)+len(in.Condition.NoMarksSeen) > 0 {
		maps.Copy(bad, in.Condition.Problems())
	}
	maps.Copy(bad, in.Place.TakeInProblems())
	return bad
}

// intake is what the docket keeps, for the customer and watch with these ids. Customer is by then the one of the record.
func (in TakingIn) intake(customerID, watchID int64) docket.Intake {
	i := in.Intake
	i.CustomerID, i.WatchID = customerID, watchID
	i.Currency, i.ReceivedOn = in.Shop.Currency, in.ReceivedOn()
	i.Tongue = in.Customer.Tongue.Or(tongue.Of(in.Shop.Locale))
	return i
}

// AlikeError reports that the customer or the watch may be in the record already, and that nobody has said which it
// is. Nothing was saved; see IntakeHelp for whom and what to offer.
type AlikeError struct{ Customer, Watch bool }

func (e *AlikeError) Error() string { return "there is something like it in the record" }

// TakeIn opens a docket: in one transaction it finds or adds customer and watch, draws the next number of the year in
// which the shop's clock stands, notes condition and hazards, and begins the journal. Numbers have no gaps. The error
// is a *domain.InvalidError or an *AlikeError when nothing could be saved, or wraps domain.ErrNotFound when the
// customer or watch chosen is not there.
func (s *Store) TakeIn(ctx context.Context, in TakingIn) (docket.Number, error) {
	if err := domain.Invalid(in.Problems()); err != nil {
		return docket.Number{}, err
	}
	t := taking{TakingIn: in, store: s}
	if err := s.inTx(ctx, func(tx pgx.Tx) error { return t.run(ctx, tx) }); err != nil {
		return docket.Number{}, fmt.Errorf("take in: %w", Translate(err))
	}
	return t.number, nil
}

// taking is a TakeIn under way.
type taking struct {
	TakingIn
	store      *Store
	number     docket.Number
	docketID   int64
	customerID int64
	watchID    int64
	visitID    int64       // that it joins; 0 begins one
	parcel     ParcelIn    // that it came in
	watch      watch.Watch // as kept
	broughtBy  string      // who brought it before, when that was somebody else
	listed     []WatchListMatch
	earlier    docket.Docket // the docket this one comes back from; zero ID when it is no comeback
}

func (t *taking) run(ctx context.Context, tx pgx.Tx) error {
	// The year's row is held from here to the end, so everyone who takes in stands in line: of two clerks with the
	// same new customer, the second is shown the first one's.
	if err := t.drawNumber(ctx, tx); err != nil {
		return err
	}
	for _, step := range []func(context.Context, pgx.Tx) error{
		t.lookForAlike, t.joinVisit, t.openParcel, t.keepCustomer, t.keepWatch, t.lockEarlier, t.insertDocket, t.writeSheets, t.tellEarlier,
	} {
		if err := step(ctx, tx); err != nil {
			return err
		}
	}
	return nil
}

func (t *taking) drawNumber(ctx context.Context, tx pgx.Tx) error {
	t.number.Year = t.ReceivedOn().Year()
	err := tx.QueryRow(ctx, `INSERT INTO docket_sequence AS q (year, last) VALUES ($1, 1)
		ON CONFLICT (year) DO UPDATE SET last = q.last + 1 RETURNING last`, t.number.Year).Scan(&t.number.Seq)
	if err == nil && t.number.Problem() != "" {
		err = fmt.Errorf("docket number %d of %d: %s", t.number.Seq, t.number.Year, t.number.Problem())
	}
	return err
}

// lookForAlike refuses to make a duplicate that nobody has looked at.
func (t *taking) lookForAlike(ctx context.Context, tx pgx.Tx) error {
	var batch pgx.Batch
	var customers []CustomerMatch
	var watches []WatchRow
	if t.CustomerID == 0 && !t.NewCustomer {
		queueAlikeCustomers(&batch, t.Customer, &customers)
	}
	if t.WatchID == 0 && !t.NewWatch {
		queueSeenWatches(&batch, t.Watch, &watches)
	}
	if batch.Len() == 0 {
		return nil
	}
	if err := tx.SendBatch(ctx, &batch).Close(); err != nil {
		return err
	}
	if len(customers)+len(watches) > 0 {
		return &AlikeError{Customer: len(customers) > 0, Watch: len(watches) > 0}
	}
	return nil
}

func (t *taking) keepCustomer(ctx context.Context, tx pgx.Tx) (err error) {
	if t.CustomerID == 0 {
		t.Customer = t.Customer.Named()
		t.customerID, err = insertCustomer(ctx, tx, t.Customer, t.At)
		return err
	}
	t.customerID = t.CustomerID
	err = tx.QueryRow(ctx, `SELECT `+customerFields+` FROM customer c WHERE c.id = $1
		AND c.merged_into IS NULL AND c.erased_at IS NULL FOR SHARE`, t.CustomerID).
		Scan(customerTargets(&t.Customer)...)
	if errors.Is(err, pgx.ErrNoRows) {
		return domain.Invalid(map[string]string{"customer_choice": docket.CustomerGone})
	}
	return err
}

// keepWatch adds the watch, or brings the one seen before up to date and makes it the present customer's.
func (t *taking) keepWatch(ctx context.Context, tx pgx.Tx) (err error) {
	t.watch = t.Watch
	if t.WatchID == 0 {
		t.watchID, err = insertWatch(ctx, tx, t.customerID, t.Watch, t.At)
	} else {
		err = t.keepSeenWatch(ctx, tx)
	}
	if err != nil {
		return err
	}
	var batch pgx.Batch
	queueListed(&batch, t.watch, &t.listed)
	if batch.Len() == 0 {
		return nil
	}
	return tx.SendBatch(ctx, &batch).Close()
}

func (t *taking) keepSeenWatch(ctx context.Context, tx pgx.Tx) error {
	old, owner, _, err := lockWatch(ctx, tx, t.WatchID)
	if errors.Is(err, pgx.ErrNoRows) {
		return domain.Invalid(map[string]string{"watch_choice": docket.WatchGone})
	}
	if err != nil {
		return err
	}
	switch open, err := lockOpenDocket(ctx, tx, t.WatchID); {
	case err == nil:
		return domain.Invalid(map[string]string{"watch_choice": docket.InShopProblem(open.Number)})
	case !errors.Is(err, pgx.ErrNoRows):
		return err
	}
	t.watchID, t.watch = t.WatchID, old.With(t.Watch)
	if owner != t.customerID {
		if err := tx.QueryRow(ctx, `SELECT name FROM customer WHERE id = $1`, owner).Scan(&t.broughtBy); err != nil {
			return err
		}
	}
	if len(docket.WatchCorrections(old, t.watch)) == 0 && owner == t.customerID {
		return nil
	}
	return updateWatch(ctx, tx, t.customerID, t.watch)
}

// lockEarlier holds the docket that the watch comes back from, once it is certain that its warranty runs.
func (t *taking) lockEarlier(ctx context.Context, tx pgx.Tx) error {
	if t.Intake.WarrantyOf == 0 {
		return nil
	}
	targets, finish := docketTargets(&t.earlier)
	err := tx.QueryRow(ctx, `SELECT `+docketFields+` FROM docket d WHERE d.id = $1 AND d.watch_id = $2 FOR UPDATE`,
		t.Intake.WarrantyOf, t.watchID).Scan(targets...)
	finish()
	switch {
	case errors.Is(err, pgx.ErrNoRows):
		return domain.Invalid(map[string]string{"warranty_of": docket.OtherWatch})
	case err != nil:
		return err
	}
	promise, err := promiseOf(ctx, tx, t.earlier)
	if err == nil && !promise.MayComeBack(t.ReceivedOn()) {
		err = domain.Invalid(map[string]string{"warranty_of": docket.NoWarrantyProblem(t.earlier.Number)})
	}
	return err
}

func (t *taking) insertDocket(ctx context.Context, tx pgx.Tx) error {
	i := t.intake(t.customerID, t.watchID)
	at := docket.Moment(t.At)
	return tx.QueryRow(ctx, `WITH begun AS (INSERT INTO visit (began_at, began_by) SELECT $16, $17 WHERE $20::bigint = 0 RETURNING id)
		INSERT INTO docket (year, seq, number, stage, place, place_detail, customer_id, watch_id, complaint,
		wanted, currency, declared_minor, approval_limit_minor, received_on, promised_on, received_at, received_by, comeback_of,
		condition_clear, moved_at, visit_id, tongue, parcel_id, order_number, taken_in_under)
		VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15, $16, $17, $18, $19, $16, coalesce((SELECT id FROM begun), $20), $21, $22, $23, `+newestShop+`) RETURNING id`,
		t.number.Year, t.number.Seq, t.number.String(), string(docket.StageIntake), string(t.Place.Kind), t.Place.Detail,
		t.customerID, t.watchID, i.Complaint, string(i.Wanted), i.Currency, i.DeclaredValueMinor, i.ApprovalLimitMinor,
		i.ReceivedOn, nullTime(i.PromisedOn), at, t.By.StaffID, nullID(i.WarrantyOf), partWords(t.Condition.NoMarksSeen), t.visitID,
		nullText(string(i.Tongue)), nullID(t.ParcelID), nullText(i.OrderNumber)).
		Scan(&t.docketID)
}

// writeSheets notes condition and hazards and begins the journal.
func (t *taking) writeSheets(ctx context.Context, tx pgx.Tx) error {
	if err := insertMarks(ctx, tx, t.docketID, t.Condition.Marks); err != nil {
		return err
	}
	hazards, err := insertHazards(ctx, tx, t.docketID, diagnosis.HazardsFor(diagnosis.FactsOf(t.watch)),
		docket.Moment(t.At))
	if err != nil {
		return err
	}
	if err := t.keepProposed(ctx, tx); err != nil {
		return err
	}
	return t.store.appendEvents(ctx, tx, t.docketID, docket.Head{}, Change{By: t.By, At: t.At}, append(t.events(), hazards...))
}

func (t *taking) keepProposed(ctx context.Context, tx pgx.Tx) error {
	p := t.Proposed
	if p == nil {
		return nil
	}
	_, err := tx.Exec(ctx, `INSERT INTO promise_proposed (docket_id, day, chance_percent, watches, start_percent, promised_percent)
		VALUES ($1, $2, $3, $4, $5, $6)`, t.docketID, p.Day, p.ChancePercent, p.Watches, p.StartPercent, p.PromisedPercent)
	return err
}

// receivedFacts are what the journal keeps of the taking in, with the day that was proposed.
func (t *taking) receivedFacts() map[string]string {
	facts := docket.ReceivedFacts(t.Customer.Name, t.broughtBy, t.watch, t.intake(t.customerID, t.watchID), t.Place)
	if p := t.Proposed; p != nil {
		facts["day proposed"] = docket.DayWords(p.Day) + ": kept " + promise.InTen(p.ChancePercent)
		facts["proposed from"] = p.From()
		if p.PromisedPercent != nil {
			facts["chance of the promised day"] = promise.InTen(*p.PromisedPercent)
		}
	}
	return facts
}

func (t *taking) events() []event {
	events := []event{{kind: docket.Received, summary: docket.ReceivedSummary(t.watch.Title(), t.Customer.Name,
		t.broughtBy),
		facts: t.receivedFacts()}}
	if t.With != (docket.Number{}) {
		events = append(events, event{kind: docket.VisitJoined, summary: docket.TogetherSummary(t.With),
			facts: map[string]string{"visit": visit.Number(t.visitID).String(), "taken in with": t.With.String()}})
	}
	if t.ParcelID != 0 {
		events = append(events, event{kind: docket.ParcelOpened, summary: t.parcel.TakenOutSummary(),
			facts: map[string]any{"parcel": t.ParcelID, "contents": t.parcel.Contents}})
	}
	if t.Warned != "" {
		events = append(events, event{kind: docket.LimitPassed, summary: docket.LimitPassedSummary(t.Warned), facts: map[string]string{"place": t.Place.String()}})
	}
	if t.earlier.ID != 0 {
		events = append(events, event{kind: docket.ComebackOpened, facts: docket.ComebackFacts(t.earlier.Number),
			summary: docket.ComebackSummary(t.earlier.Number)})
	}
	if len(t.Condition.Marks)+len(t.Condition.NoMarksSeen) > 0 {
		events = append(events, conditionEvent(t.Condition))
	}
	return append(events, listedEvents(t.listed)...)
}

func listedEvents(listed []WatchListMatch) []event {
	var events []event
	for _, m := range listed {
		events = append(events, event{kind: docket.WatchListMatched, summary: docket.ListedSummary(m.Entry, m.Match),
			facts: map[string]any{"note": m.Entry.ID, "agreement": m.Match.Words()}})
	}
	return events
}

// tellEarlier adds to the closed docket that its watch came back.
func (t *taking) tellEarlier(ctx context.Context, tx pgx.Tx) error {
	if t.earlier.ID == 0 {
		return nil
	}
	return t.store.appendEvents(ctx, tx, t.earlier.ID, docket.Head{Seq: t.earlier.Version, Hash: t.earlier.Head},
		Change{Number: t.earlier.Number, By: t.By, At: t.At},
		[]event{{kind: docket.ComebackOpened, summary: docket.CameBackSummary(t.number),
			facts: docket.CameBackFacts(t.number)}})
}
