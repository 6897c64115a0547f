package store_test

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/estimate"
	"ledgerwheel/domain/stock"
	"ledgerwheel/store"
	"ledgerwheel/store/storetest"
)

var mainspring = stock.PartLine{Description: "Mainspring", Reference: "1.50 × 0.105", Quantity: 2, State: stock.Needed,
	OldPart: stock.OldPartToReturn}

func (b *bench) parts(t *testing.T) store.PartsSheet {
	t.Helper()
	sheet, err := b.PartsSheet(t.Context(), b.n)
	if err != nil {
		t.Fatal(err)
	}
	return sheet
}

func (b *bench) mustAddPart(t *testing.T, p stock.PartLine) int64 {
	t.Helper()
	id, err := b.AddPart(t.Context(), b.by(b.watchmaker), p)
	if err != nil {
		t.Fatal(err)
	}
	return id
}

func TestPartsWay(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	begun := len(b.kinds(t, b.n))
	id := b.mustAddPart(t, mainspring)
	if open := b.parts(t).Head.Facts.PartsOutstanding; open != 1 {
		t.Errorf("%d outstanding, want 1", open)
	}
	for _, m := range []store.PartMove{{To: stock.Ordered, Supplier: "Gannet Springs", Reference: "GS-9"},
		{To: stock.Arrived}, {To: stock.Fitted, Money: stock.Money{Payer: stock.PayerShop, Why: "a gift"}}} {
		b.at = b.at.Add(time.Hour)
		if err := b.MovePart(t.Context(), b.seen(t, b.watchmaker), id, m); err != nil {
			t.Fatalf("to %s: %v", m.To, err)
		}
	}
	if err := b.SetOldPart(t.Context(), b.seen(t, b.watchmaker), id, stock.OldPartReturned); err != nil {
		t.Fatal(err)
	}
	facts := factsIn(t, b.newestEntry(t))
	for name, want := range map[string]any{"part": mainspring.Description, "reference": "GS-9",
		"supplier": "Gannet Springs",
		"quantity": float64(mainspring.Quantity), "state": "fitted", "old_part": "old part returned with the watch"} {
		if facts[name] != want {
			t.Errorf("the journal's %s is %v, want %v", name, facts[name], want)
		}
	}
	p := b.parts(t).Parts[0]
	if p.State != stock.Fitted || p.Supplier != "Gannet Springs" || p.Reference != "GS-9" ||
		p.OldPart != stock.OldPartReturned || !p.Since.Equal(b.at) {
		t.Errorf("kept as %+v", p)
	}
	more := p.PartLine
	more.Quantity, more.State = 3, stock.Cancelled // where it stands is not corrected
	b.at = b.at.Add(time.Hour)
	if err := b.CorrectPart(t.Context(), b.seen(t, b.watchmaker), id, more); err != nil {
		t.Fatal(err)
	}
	if got := b.parts(t).Parts[0]; got.Quantity != 3 || got.State != stock.Fitted || !got.Since.Equal(p.Since) {
		t.Errorf("corrected to %+v", got)
	}
	b.wantKinds(t, begun, docket.PartNeeded, docket.PartOrdered, docket.PartArrived, docket.PartFitted,
		docket.PartReturned, docket.PartFitted)
}

func TestPartRefusals(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	if _, err := b.AddPart(t.Context(), b.by(b.watchmaker), stock.PartLine{State: stock.Needed}); problemsOf(t,
		err)["description"] == "" {
		t.Error("a part without a name was taken")
	}
	id := b.mustAddPart(t, mainspring)
	if err := b.MovePart(t.Context(), b.by(b.watchmaker), id, store.PartMove{To: stock.Fitted}); !errors.Is(err,
		stock.ErrMove) {
		t.Errorf("fitted before it came: %v", err)
	}
	if bad := problemsOf(t, b.MovePart(t.Context(), b.by(b.watchmaker), id,
		store.PartMove{To: stock.Ordered})); bad["supplier"] == "" {
		t.Errorf("ordered from nobody: %v", bad)
	}
	if err := b.MovePart(t.Context(), b.by(b.watchmaker), id+1, store.PartMove{To: stock.Arrived}); !errors.Is(err,
		domain.ErrNotFound) {
		t.Errorf("no such part: %v", err)
	}
	b.close(t, b.n, docket.StageWithdrawn, b.at)
	if err := b.MovePart(t.Context(), b.by(b.clerk), id, store.PartMove{To: stock.Ordered,
		Supplier: "Gannet"}); !errors.Is(err, domain.ErrClosed) {
		t.Errorf("ordered for a watch that left: %v", err)
	}
	if err := b.SetOldPart(t.Context(), b.by(b.clerk), id, stock.OldPartLeft); !errors.Is(err, domain.ErrClosed) {
		t.Errorf("old part of a watch that left: %v", err)
	}
	// What was on its way still arrives.
	if err := b.MovePart(t.Context(), b.by(b.clerk), id, store.PartMove{To: stock.Arrived}); err != nil {
		t.Errorf("arrived after the watch left: %v", err)
	}
	b.kinds(t, b.n)
}

func TestOutstandingPartsAcrossDockets(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	in := b.takingIn()
	in.NewCustomer, in.Watch.Serial, in.Customer.Name = true, "another", "Mrs D'Arcy"
	second, _ := b.mustTakeIn(t, in)
	ordered := mainspring
	ordered.State, ordered.Supplier = stock.Ordered, "Gannet Springs"
	var keys []store.PartKey
	for i := range store.OutstandingPage + 3 {
		n := b.n
		if i%2 == 1 {
			n = second
		}
		id, err := b.AddPart(t.Context(), store.Change{Number: n, By: b.watchmaker, At: b.at}, ordered)
		if err != nil {
			t.Fatal(err)
		}
		keys = append(keys, store.PartKey{Number: n, ID: id})
	}
	other := ordered
	other.Supplier = "Petrel & Sons"
	b.mustAddPart(t, other)
	b.mustAddPart(t, mainspring)

	ctx, counter := storetest.CountRoundTrips(t.Context())
	list, err := b.OutstandingParts(ctx, store.OutstandingFilter{State: stock.Ordered, Supplier: "Gannet Springs"})
	if err != nil || counter.Trips() != 1 {
		t.Fatalf("%v, %d round trips", err, counter.Trips())
	}
	if len(list.Parts) != store.OutstandingPage || !list.More || list.Parts[1].Customer != "Mrs D'Arcy" ||
		list.Parts[1].Number != second {
		t.Errorf("%d parts, more %t, second %+v", len(list.Parts), list.More, list.Parts[1])
	}
	if len(list.Suppliers) != 2 || list.Suppliers[0] != (store.SupplierCount{Supplier: "Gannet Springs",
		Parts: store.OutstandingPage + 3}) {
		t.Errorf("suppliers %+v", list.Suppliers)
	}
	rest, err := b.OutstandingParts(t.Context(), store.OutstandingFilter{State: stock.Ordered, Supplier: "Gannet Springs",
		After: list.Parts[len(list.Parts)-1].ID})
	if err != nil || len(rest.Parts) != 3 || rest.More {
		t.Errorf("the rest is %d, more %t, %v", len(rest.Parts), rest.More, err)
	}
	if needed, err := b.OutstandingParts(t.Context(), store.OutstandingFilter{State: stock.Needed}); err != nil ||
		len(needed.Parts) != 1 {
		t.Errorf("needed %+v, %v", needed.Parts, err)
	}
	if _, err := b.OutstandingParts(t.Context(), store.OutstandingFilter{State: stock.Fitted}); err == nil {
		t.Error("fitted parts were listed as outstanding")
	}

	// One was cancelled meanwhile and one is not there: the others are booked in all the same.
	if err := b.MovePart(t.Context(), store.Change{Number: keys[0].Number, By: b.watchmaker, At: b.at}, keys[0].ID,
		store.PartMove{To: stock.Cancelled}); err != nil {
		t.Fatal(err)
	}
	n, err := b.ArriveParts(t.Context(), b.clerk, b.at, append(keys[:3:3], store.PartKey{Number: second, ID: 9999}))
	if err != nil || n != 2 {
		t.Errorf("%d arrived, %v; want 2", n, err)
	}
	if open := b.head(t).Facts.PartsOutstanding; open != store.OutstandingPage/2+2-2+2 {
		t.Errorf("%d outstanding on the first docket", open)
	}
}

// TestOutstandingPartsRideOnIndexes reads the plans with many parts long dealt with.
func TestOutstandingPartsRideOnIndexes(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	b.record(t, `INSERT INTO part_line (docket_id, description, supplier, state, state_at)
		SELECT {d}, 'Part ' || i, 'Supplier ' || i % 40, CASE WHEN i % 200 = 0 THEN 'ordered' ELSE 'fitted' END, now() FROM generate_series(1, 40000) i`)
	b.record(t, `ANALYZE part_line`)
	for where, index := range map[string]string{
		`state = 'ordered' AND id > 100`:                             "part_line_waiting_idx",
		`state = 'ordered' AND id > 100 AND supplier = 'Supplier 0'`: "part_line_supplier_idx",
	} {
		rows, _ := b.Pool().Query(t.Context(), `EXPLAIN SELECT * FROM part_line WHERE `+where+` ORDER BY id LIMIT 51`)
		lines, err := pgx.CollectRows(rows, pgx.RowTo[string])
		if err != nil {
			t.Fatal(err)
		}
		if plan := strings.Join(lines, "\n"); !strings.Contains(plan, index) || strings.Contains(plan, "Seq Scan") {
			t.Errorf("%s: want %s in the plan\n%s", where, index, plan)
		}
	}
}

// TestTwoBookInAtOnce has the same parcel booked in twice: each part arrives once.
func TestTwoBookInAtOnce(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	ordered := mainspring
	ordered.State, ordered.Supplier = stock.Ordered, "Gannet Springs"
	keys := []store.PartKey{{Number: b.n, ID: b.mustAddPart(t, ordered)}, {Number: b.n, ID: b.mustAddPart(t, ordered)}}
	begun := len(b.kinds(t, b.n))
	type outcome struct {
		n   int
		err error
	}
	results := make(chan outcome, 2)
	for range 2 {
		go func(ctx context.Context) {
			n, err := b.ArriveParts(ctx, b.clerk, b.at, keys)
			results <- outcome{n, err}
		}(t.Context())
	}
	first, second := <-results, <-results
	if first.err != nil || second.err != nil || first.n+second.n != 2 {
		t.Errorf("booked in %+v and %+v", first, second)
	}
	if got := b.since(t, begun); fmt.Sprint(got) != fmt.Sprint([]docket.Kind{docket.PartArrived, docket.PartArrived}) {
		t.Errorf("journal %v", got)
	}
}

// A part that no agreed estimate holds is fitted only with a word on who pays, which the journal keeps; one that it
// holds is fitted without, as often as it was priced.
func TestPartOutsideTheEstimate(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	b.approves(t, estimate.Line{Kind: estimate.Part, Description: "mainspring, GS-9", QuantityMilli: 1000, UnitMinor: 2400},
		estimate.Line{Kind: estimate.Labour, Description: "Fit a crown", QuantityMilli: 1000, UnitMinor: 3000})
	arrived := func(name string) int64 {
		return b.mustAddPart(t, stock.PartLine{Description: name, Quantity: 1, State: stock.Arrived})
	}
	fit := func(id int64, m stock.Money) error {
		b.at = b.at.Add(time.Minute)
		return b.MovePart(t.Context(), b.seen(t, b.watchmaker), id, store.PartMove{To: stock.Fitted, Money: m})
	}
	spring, second, crown := arrived("Mainspring"), arrived("Mainspring"), arrived("Crown")
	if err := fit(spring, stock.Money{Payer: stock.PayerShop}); err != nil {
		t.Errorf("held by the estimate: %v", err)
	}
	if bad := problemsOf(t, fit(second, stock.Money{})); !strings.Contains(bad["payer"], "No agreed estimate holds") {
		t.Errorf("a second of one that was priced once: %v", bad)
	}
	if bad := problemsOf(t, fit(crown, stock.Money{Payer: stock.PayerShop})); bad["payer_why"] == "" {
		t.Errorf("on the house without a reason: %v", bad)
	}
	if err := fit(crown, stock.Money{Payer: stock.PayerCustomer}); err != nil {
		t.Fatal(err)
	}
	if got := factsIn(t, b.newestEntry(t))["who_pays"]; got != stock.PayerCustomer.Words() {
		t.Errorf("journal says %v", got)
	}
	if err := b.SetPartPayer(t.Context(), b.seen(t, b.watchmaker), crown,
		stock.Money{Payer: stock.PayerShop, Why: "she declined"}); err != nil {
		t.Fatal(err)
	}
	if e := b.newestEntry(t); e.Kind != docket.PartPayer || e.Why != "she declined" {
		t.Errorf("journal says %+v", e)
	}
	if err := b.SetPartPayer(t.Context(), b.seen(t, b.watchmaker), second, stock.Money{Payer: stock.PayerCustomer}); !errors.Is(err, stock.ErrMove) {
		t.Errorf("of a part that is not fitted: %v", err)
	}
	for _, p := range b.parts(t).Parts {
		if held := b.parts(t).Held(p.PartLine); held != (p.ID == spring) {
			t.Errorf("%s is held: %v", p.Description, held)
		}
	}
}

// approves has the customer approve an estimate.
func (b *bench) approves(t *testing.T, lines ...estimate.Line) {
	t.Helper()
	number, err := b.SaveAndSend(t.Context(), b.seen(t, b.owner), estimate.Revision{Lines: lines,
		ValidUntil: b.at.Truncate(24*time.Hour).AddDate(0, 1, 0)}, b.at)
	if err != nil {
		t.Fatal(err)
	}
	if err := b.AnswerEstimate(t.Context(), b.seen(t, b.owner), estimate.Answer{Revision: number, Approve: true, Name: "Ada", By: estimate.AtCounter, At: b.at}, b.at); err != nil {
		t.Fatal(err)
	}
}
