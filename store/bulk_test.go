package store_test

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/customer"
	"ledgerwheel/domain/diagnosis"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/estimate"
	"ledgerwheel/domain/finaltest"
	"ledgerwheel/domain/record"
	"ledgerwheel/domain/service"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/timing"
	"ledgerwheel/domain/watch"
	"ledgerwheel/store"
	"ledgerwheel/store/storetest"
)

// lived is a docket whose history is lived, change by change or in bulk.
type lived interface {
	Move(store.Change, docket.Stage, docket.Act, int64) error
	AddFinding(store.Change, diagnosis.Finding) error
	ReadCautions(store.Change) error
	RecordRun(store.Change, store.RunEntry) error
	SaveDraft(store.Change, estimate.Revision) (int, error)
	SendEstimate(store.Change, int, time.Time) error
	AnswerEstimate(store.Change, estimate.Answer, time.Time) error
	AddWork(store.Change, service.Work) error
	RecordFinalTest(store.Change, finaltest.Sheet, string) (finaltest.Outcome, error)
	HandOver(store.Change, docket.Leaving, string) error
}

// singly lives a docket by the store's usual methods.
type singly struct {
	*store.Store
	ctx context.Context
	n   docket.Number
}

func (s singly) of(c store.Change) store.Change {
	c.Number = s.n
	return c
}

func (s singly) Move(c store.Change, to docket.Stage, a docket.Act, bench int64) error {
	return s.Store.Move(s.ctx, s.of(c), to, a, bench)
}

func (s singly) AddFinding(c store.Change, f diagnosis.Finding) error {
	_, err := s.Store.AddFinding(s.ctx, s.of(c), f)
	return err
}

func (s singly) ReadCautions(c store.Change) error {
	sheet, err := s.DiagnosisSheet(s.ctx, s.n)
	for _, h := range sheet.Hazards {
		err = errors.Join(err, s.AcknowledgeHazard(s.ctx, s.of(c), h.Hazard))
	}
	return err
}

func (s singly) RecordRun(c store.Change, in store.RunEntry) error {
	_, err := s.Store.RecordRun(s.ctx, s.of(c), in)
	return err
}

func (s singly) SaveDraft(c store.Change, r estimate.Revision) (int, error) {
	return s.Store.SaveDraft(s.ctx, s.of(c), r)
}

func (s singly) SendEstimate(c store.Change, n int, today time.Time) error {
	return s.Store.SendEstimate(s.ctx, s.of(c), n, today)
}

func (s singly) AnswerEstimate(c store.Change, a estimate.Answer, today time.Time) error {
	return s.Store.AnswerEstimate(s.ctx, s.of(c), a, today)
}

func (s singly) AddWork(c store.Change, w service.Work) error {
	_, err := s.Store.AddWork(s.ctx, s.of(c), w)
	return err
}

func (s singly) RecordFinalTest(c store.Change, sheet finaltest.Sheet, note string) (finaltest.Outcome, error) {
	return s.Store.RecordFinalTest(s.ctx, s.of(c), sheet, note)
}

func (s singly) HandOver(c store.Change, l docket.Leaving, reason string) error {
	return s.Store.HandOver(s.ctx, s.of(c), l, reason)
}

// past is a shop whose history is told, with who works there.
type past struct {
	*testing.T
	*counter
	owner, clerk, maker store.Actor
	takeIn              func(store.TakingIn) (lived, docket.Number)
	ids                 func(docket.Number) (docketID, customerID, watchID int64)
}

func newPast(t *testing.T) *past {
	t.Helper()
	p := &past{T: t, counter: newCounter(t)}
	p.owner = p.counter.clerk
	for _, m := range []struct {
		actor *store.Actor
		name  string
		role  staff.Role
	}{{&p.maker, "Emrys Vale", staff.Watchmaker}, {&p.clerk, "Wenna Lisle", staff.Clerk}} {
		id, err := p.AddMember(t.Context(), staff.Member{Name: m.name, Email: string(m.role) + "@example.org", Role: m.role}, "", p.at)
		if err != nil {
			t.Fatal(err)
		}
		*m.actor = store.Actor{StaffID: id, Name: m.name, Role: m.role}
	}
	if err := p.EnsureRateLimits(t.Context(), p.at); err != nil {
		t.Fatal(err)
	}
	if _, err := p.AddCalibre(t.Context(), store.CalibreChange{By: p.maker, At: p.at}, watch.Calibre{Name: "VM 8", Maker: "Vintermoor", BeatsPerHour: 18000,
		LiftAngleDeg: 44, LiftAngleU95Deg: 1, LiftAngleHow: "by the drops of ten watches", PowerReserveHours: 38, GradeKey: timing.GradeVintage}); err != nil {
		t.Fatal(err)
	}
	return p
}

// next is what somebody does a quarter of an hour later.
func (p *past) next(by store.Actor) store.Change {
	p.at = p.at.Add(15 * time.Minute)
	return store.Change{By: by, At: p.at}
}

func (p *past) must(err error) {
	p.Helper()
	var invalid *domain.InvalidError
	if errors.As(err, &invalid) {
		p.Fatal(err, invalid.Problems)
	}
	if err != nil {
		p.Fatal(err)
	}
}

func (p *past) today() time.Time { return store.TakingIn{At: p.at, Shop: p.shop}.ReceivedOn() }

func (p *past) move(d lived, by store.Actor, to docket.Stage, place docket.Place, why string) {
	p.Helper()
	var hand int64
	if place.Kind == docket.PlaceBench {
		hand = p.maker.StaffID
	}
	p.must(d.Move(p.next(by), to, docket.Act{Place: place, Reason: why}, hand))
}

func (p *past) offer(d lived, gross int64, approve bool, leaveOut ...int) {
	p.Helper()
	lines := []estimate.Line{{Kind: estimate.Labour, Description: "Full service", QuantityMilli: 1000, UnitMinor: gross, TaxBasisPoints: 810},
		{Kind: estimate.Part, Description: "Mainspring", QuantityMilli: 2000, UnitMinor: gross / 20, TaxBasisPoints: 260, Optional: true}}
	n, err := d.SaveDraft(p.next(p.maker), estimate.Revision{Rule: estimate.TaxRule{PricesIncludeTax: true}, Lines: lines, ValidUntil: p.today().AddDate(0, 0, 30), Note: "Or as it is."})
	p.must(err)
	p.must(d.SendEstimate(p.next(p.clerk), n, p.today()))
	p.must(d.AnswerEstimate(p.next(p.clerk), estimate.Answer{Revision: n, Approve: approve, Name: "Ada Quillmarsh", DeclinedLines: leaveOut}, p.today()))
}

func (p *past) test(d lived, sheet finaltest.Sheet, note string, want finaltest.Outcome) {
	p.Helper()
	verdict, err := d.RecordFinalTest(p.next(p.maker), sheet, note)
	p.must(err)
	if verdict != want {
		p.Fatalf("final test: %s", verdict)
	}
}

var (
	inSafe  = docket.PlaceAt(docket.PlaceSafe, "")
	atBench = docket.PlaceAt(docket.PlaceBench, "1")
)

// told tells the histories: a full service, the second watch of its visit declined, one withdrawn, one in parts, one just taken in,
// and a comeback.
func (p *past) told() {
	radium := watch.Watch{Maker: "Vintermoor", Model: "Consul", Serial: "VM 38215", CalibreName: "VM 8", Lume: watch.LumeRadium, Winding: watch.WindingHand,
		WaterResistanceMarked: "3 bar", OverpressureBar: 3, CrownAt: watch.CrownAtThree}
	limit := int64(20000)
	in := store.TakingIn{Shop: p.shop, Customer: ada.Tidied("GB"), NewCustomer: true, Watch: radium.Tidied(), NewWatch: true, Condition: noMarks, Place: inSafe,
		Intake: docket.Intake{Complaint: "Stops at night", Wanted: docket.WantedService, DeclaredValueMinor: &limit, PromisedOn: p.today().AddDate(0, 0, 30)}}
	taken := func(in store.TakingIn) (lived, docket.Number) {
		c := p.next(p.clerk)
		in.By, in.At = c.By, c.At
		return p.takeIn(in)
	}
	d, first := taken(in)
	firstID, adaID, consulID := p.ids(first)
	with := in
	with.CustomerID, with.Customer, with.With = adaID, in.Customer.Named(), first
	with.Customer.ID = adaID
	with.Watch = harbour.Tidied()
	with.Condition.Marks = []watch.ConditionMark{{Part: watch.Parts[0], Kind: watch.MarkKinds[0], Placed: true, X: 0.25, Y: 0.5, Note: "deep"}}
	with.Condition.NoMarksSeen = watch.Parts[1:]
	second, _ := taken(with)

	p.move(d, p.clerk, docket.StageDiagnosis, atBench, "")
	p.must(d.AddFinding(p.next(p.maker), diagnosis.Finding{Component: diagnosis.Train, Fault: "dirty", Severity: diagnosis.Require, Note: "Gone to gum."}))
	p.must(d.ReadCautions(p.next(p.maker)))
	p.must(d.RecordRun(p.next(p.maker), store.RunEntry{Sheet: runSheet(timing.AsReceived, -30)}))
	p.move(d, p.maker, docket.StageEstimate, inSafe, "")
	p.offer(d, 18000, true)
	p.offer(d, 21000, true, 1) // agreed again, without the mainspring
	p.move(d, p.maker, docket.StageService, atBench, "")
	p.must(d.AddWork(p.next(p.maker), service.Work{Steps: []service.Step{service.StepDismantle, service.StepClean}, Minutes: 70}))
	p.must(d.AddWork(p.next(p.maker), service.Work{Steps: []service.Step{service.StepLubricate}, StepMinutes: map[service.Step]int{service.StepLubricate: 25},
		Lubricants: []service.Lubricant{{Place: service.Places[0], Kind: service.UsualLubricant(service.Places[0], false)}}}))
	p.move(d, p.maker, docket.StageRegulation, atBench, "")
	p.must(d.RecordRun(p.next(p.maker), store.RunEntry{Sheet: runSheet(timing.Adjustment, 9)}))
	p.must(d.RecordRun(p.next(p.maker), store.RunEntry{Sheet: runSheet(timing.Final, 3)}))
	p.move(d, p.maker, docket.StageFinalTest, atBench, "hand set by eye")
	failed := passed()
	failed.Results[0].Outcome = finaltest.OutcomeFail
	failed.Results[0].Note = "stops after 30 hours"
	p.test(d, failed, "a rattle", finaltest.OutcomeFail)
	p.move(d, p.maker, docket.StageService, atBench, "")
	p.must(d.AddWork(p.next(p.maker), service.Work{Steps: []service.Step{service.StepMainspring}, Minutes: 20}))
	p.move(d, p.maker, docket.StageRegulation, atBench, "")
	p.must(d.RecordRun(p.next(p.maker), store.RunEntry{Sheet: runSheet(timing.Final, 2)}))
	p.move(d, p.maker, docket.StageFinalTest, atBench, "hand set by eye")
	p.test(d, passed(), "", finaltest.OutcomePass)
	p.move(d, p.maker, docket.StageReady, inSafe, "")
	p.must(d.HandOver(p.next(p.clerk), docket.Leaving{CollectedBy: "Ada Quillmarsh", Ticket: first.String(), OldParts: docket.OldPartsNone,
		Pay: docket.Tender{Way: docket.PayCash, Given: 22000}}, ""))

	p.move(second, p.clerk, docket.StageDiagnosis, atBench, "")
	p.must(second.AddFinding(p.next(p.maker), diagnosis.Finding{Component: diagnosis.Mainspring, Fault: "broken", Severity: diagnosis.Require}))
	p.must(second.ReadCautions(p.next(p.maker)))
	p.move(second, p.maker, docket.StageEstimate, inSafe, "It does not go.")
	p.offer(second, 14000, false)
	p.move(second, p.clerk, docket.StageDeclined, inSafe, "")
	p.must(second.HandOver(p.next(p.clerk), docket.Leaving{CollectedBy: "Tobias Ellerby", Shown: docket.ShownAuthority, Identity: "Her letter.", Done: p.shop.NoTicketAsks(),
		OldParts: docket.OldPartsNone}, ""))

	firm := in
	firm.Customer = customer.Customer{Name: "Saltby Harbour Trustees", Phone: "01632 960 900", Firm: true, Address: "Quay Street\nSaltby"}.Tidied("GB")
	firm.Watch.Serial, firm.Watch.Lume, firm.Watch.CalibreName = "D 01937", watch.LumeNone, ""
	firm.Intake.OrderNumber, firm.Intake.ApprovalLimitMinor = "PO 17", &limit
	third, number := taken(firm)
	p.move(third, p.owner, docket.StageWithdrawn, inSafe, "Sold it.")
	p.must(third.HandOver(p.next(p.clerk), docket.Leaving{CollectedBy: "Saltby Harbour Trustees", Ticket: number.String(), OldParts: docket.OldPartsNone}, ""))

	firm.Watch.Serial = "D 01938"
	_, firm.CustomerID, _ = p.ids(number)
	firm.Customer.ID = firm.CustomerID
	fourth, _ := taken(firm)
	p.move(fourth, p.clerk, docket.StageDiagnosis, atBench, "")
	p.must(fourth.AddFinding(p.next(p.maker), diagnosis.Finding{Component: diagnosis.Train, Fault: "dirty", Severity: diagnosis.Require}))
	p.must(fourth.ReadCautions(p.next(p.maker)))
	p.must(fourth.RecordRun(p.next(p.maker), store.RunEntry{Sheet: runSheet(timing.AsReceived, -30), Grade: timing.GradeModern}))
	p.move(fourth, p.maker, docket.StageEstimate, inSafe, "")
	_, err := fourth.SaveDraft(p.next(p.maker), estimate.Revision{Lines: []estimate.Line{{Kind: estimate.Labour, Description: "Clean", QuantityMilli: 1000, UnitMinor: 9000,
		TaxBasisPoints: 810}}, ValidUntil: p.today().AddDate(0, 0, 30)})
	p.must(err)
	p.move(fourth, p.clerk, docket.StageParts, inSafe, "") // within the approval limit

	back := with
	back.With, back.WatchID, back.Watch = docket.Number{}, consulID, radium.Tidied()
	back.Watch.ID = consulID
	back.Intake.Wanted, back.Intake.WarrantyOf, back.Intake.ApprovalLimitMinor = docket.WantedWarranty, firstID, new(int64)
	taken(back)
}

// liveSingly tells the histories by the store's usual methods.
func (p *past) liveSingly() {
	ctx := p.Context()
	p.takeIn = func(in store.TakingIn) (lived, docket.Number) {
		p.Helper()
		n, err := p.TakeIn(ctx, in)
		p.must(err)
		return singly{p.Store, ctx, n}, n
	}
	p.ids = func(n docket.Number) (int64, int64, int64) {
		h, err := p.Head(ctx, n)
		p.must(err)
		return h.Docket.ID, h.Customer.ID, h.Watch.ID
	}
	p.told()
}

// liveInBulk tells them in bulk.
func (p *past) liveInBulk() {
	p.must(p.InBulk(p.Context(), func(b *store.Bulk) error {
		known := map[docket.Number]*store.BulkDocket{}
		p.takeIn = func(in store.TakingIn) (lived, docket.Number) {
			p.Helper()
			d, err := b.TakeIn(in)
			p.must(err)
			known[d.Number] = d
			return d, d.Number
		}
		p.ids = func(n docket.Number) (int64, int64, int64) { return known[n].ID, known[n].CustomerID, known[n].WatchID }
		p.told()
		return nil
	}))
}

// otherwise are the columns that may differ: ids that nothing names, and what hangs on the rows that each entry declares.
var otherwise = map[string]string{"shop": "created_at", "journal": "hash,prev_hash,mark,rows", "docket": "head_hash", "hazard": "id", "condition_mark": "id", "finding": "id",
	"service_step": "id", "lubricant_use": "id", "final_test": "id", "payment": "id"}

// apart are the tables that are not compared, and why.
var apart = map[string]string{"log_leaf": "in another order", "log_hash": "of the leaves", "log_pending": "taken into the log", "goose_db_version": "when it was migrated",
	"shop_head": "the hash of the shop's journal", "shop_journal": "marks and digests of other moments", "river_migration": "when it was migrated", "rate_limits": "the same",
	"signing_key": "each shop has its own", "staff": "the same"}

// rows are the rows of a table as text, in their own order.
func (p *past) rows(table string) []string {
	p.Helper()
	rows, _ := p.Pool().Query(p.Context(), `SELECT (to_jsonb(compared) - string_to_array($1, ','))::text FROM `+table+` compared ORDER BY 1`, otherwise[table])
	list, err := pgx.CollectRows(rows, pgx.RowTo[string])
	p.must(err)
	return list
}

func (p *past) tables() []string {
	p.Helper()
	rows, _ := p.Pool().Query(p.Context(), `SELECT relname FROM pg_class WHERE relkind = 'r' AND relnamespace = 'public'::regnamespace ORDER BY 1`)
	list, err := pgx.CollectRows(rows, pgx.RowTo[string])
	p.must(err)
	return list
}

// TestBulkIsTheSame: the same histories, told change by change and in bulk, leave the same rows in every table, and both
// records are whole.
func TestBulkIsTheSame(t *testing.T) {
	t.Parallel()
	single, bulk := newPast(t), newPast(t)
	single.liveSingly()
	bulk.liveInBulk()
	for _, p := range []*past{single, bulk} {
		if _, err := p.Integrate(t.Context()); err != nil {
			t.Fatal(err)
		}
		if _, err := p.RefreshOutcomes(t.Context()); err != nil {
			t.Fatal(err)
		}
		if c := storetest.Whole(t, p.Store); c.Dockets != 5 || c.Entries < 60 {
			t.Errorf("looked at %+v", c)
		}
	}
	compared := 0
	for _, table := range single.tables() {
		if apart[table] != "" {
			continue
		}
		want, got := single.rows(table), bulk.rows(table)
		compared += len(want)
		if diff := cmp.Diff(want, got); diff != "" {
			t.Errorf("%s: change by change −, in bulk +:\n%s", table, diff)
		}
	}
	t.Logf("%d rows compared", compared)
	if compared < 300 {
		t.Errorf("%d rows compared", compared)
	}
}

// TestBulkGoesOn: what one transaction wrote another goes on from, by either way, and a transaction that fails leaves nothing.
func TestBulkGoesOn(t *testing.T) {
	t.Parallel()
	p := newPast(t)
	p.liveInBulk()
	in := p.takingIn()
	in.Customer.Name, in.NewCustomer, in.NewWatch, in.Watch.Serial, in.By, in.At = "Orla Quiggin", true, true, "77", p.clerk, p.at.Add(time.Hour)
	n, err := p.TakeIn(t.Context(), in)
	if err != nil || n.Seq != 6 {
		t.Errorf("the next intake is %s, %v", n, err)
	}
	count := func() (n int) {
		p.must(p.Pool().QueryRow(t.Context(), `SELECT (SELECT count(*) FROM docket) + (SELECT count(*) FROM journal) + (SELECT count(*) FROM customer) + (SELECT max(last) FROM docket_sequence)`).Scan(&n))
		return n
	}
	before := count()
	broken := errors.New("broken")
	err = p.InBulk(t.Context(), func(b *store.Bulk) error {
		in.Watch.Serial, in.At = "78", in.At.Add(time.Hour)
		if _, err := b.TakeIn(in); err != nil {
			return err
		}
		return broken
	})
	if !errors.Is(err, broken) || count() != before {
		t.Errorf("%v, %d rows after %d", err, count(), before)
	}
	first, err := p.Head(t.Context(), docket.Number{Year: 2026, Seq: 1})
	if err != nil {
		t.Fatal(err)
	}
	open, err := p.Head(t.Context(), docket.Number{Year: 2026, Seq: 5})
	if err != nil {
		t.Fatal(err)
	}
	err = p.InBulk(t.Context(), func(b *store.Bulk) error { // of a docket that another transaction wrote
		in.CustomerID, in.Customer, in.WatchID, in.Watch = first.Customer.ID, first.Customer, first.Watch.ID, first.Watch
		in.Intake.WarrantyOf = first.Docket.ID
		_, err := b.TakeIn(in)
		return err
	})
	if err != nil {
		t.Errorf("it came back before, as %s: %v", open.Docket.Number, err)
	}
	entries, err := p.Journal(t.Context(), first.Docket.ID, 0)
	if err != nil || entries[0].Kind != docket.ComebackOpened || entries[0].Seq != first.Docket.Version+1 {
		t.Errorf("the journal of the earlier docket ends in %+v, %v", entries[0], err)
	}
	storetest.Whole(t, p.Store)
}

// TestBulkRefuses: what the store refuses is refused in bulk, and rows that are changed afterwards are found.
func TestBulkRefuses(t *testing.T) {
	t.Parallel()
	p := newPast(t)
	err := p.InBulk(t.Context(), func(b *store.Bulk) error {
		in := p.takingIn()
		in.By, in.At = p.clerk, p.at
		if _, err := b.TakeIn(store.TakingIn{By: p.clerk, At: p.at}); err == nil {
			t.Error("a watch of nobody is taken in")
		}
		d, err := b.TakeIn(in)
		if err != nil {
			return err
		}
		var refusal *docket.Refusal
		if err := d.Move(p.next(p.clerk), docket.StageDiagnosis, docket.Act{Place: atBench}, p.maker.StaffID); !errors.As(err, &refusal) {
			t.Errorf("to the bench without its condition: %v", err)
		}
		if err := d.RecordRun(p.next(p.maker), store.RunEntry{Sheet: runSheet(timing.Final, 3)}); err == nil {
			t.Error("a final run before any work")
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := p.Pool().Exec(t.Context(), `UPDATE docket SET complaint = 'Nothing'`); err != nil {
		t.Fatal(err)
	}
	var found []string
	if _, err := p.CheckRecord(t.Context(), store.RecordCheck{}, func(f record.Finding) { found = append(found, f.Sentence) }); err != nil || !strings.Contains(fmt.Sprint(found), "docket's own row") {
		t.Errorf("found %q, %v", found, err)
	}
}
