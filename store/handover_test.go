package store_test

import (
	"context"
	"encoding/json"
	"errors"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/finaltest"
	"ledgerwheel/domain/link"
	"ledgerwheel/domain/staff"
	"ledgerwheel/store"
)

// ready is a bench whose docket may be collected; 90 euros are due.
func ready(t *testing.T) *bench {
	t.Helper()
	b := newBench(t)
	b.toFinalTest(t)
	b.mustTest(t, passed(), finaltest.OutcomePass)
	b.mustMove(t, b.watchmaker, docket.StageReady, docket.PlaceSafe, "", "")
	return b
}

func (b *bench) leaving() docket.Leaving {
	return docket.Leaving{CollectedBy: "Ada Quillmarsh", Proof: docket.ProofTicket, Ticket: b.n.Compact(),
		OldParts: docket.OldPartsReturned}
}

func (b *bench) handOverSheet(t *testing.T) store.HandOverSheet {
	t.Helper()
	sheet, err := b.HandOverSheet(t.Context(), b.n)
	if err != nil {
		t.Fatal(err)
	}
	return sheet
}

func (b *bench) mustPay(t *testing.T, minor int64) {
	t.Helper()
	if err := b.TakePayment(t.Context(), b.change(t, b.clerk), docket.Payment{Minor: minor, Method: docket.Card, Note: "x",
		Beyond: true}); err != nil {
		t.Fatal(err)
	}
}

func (b *bench) mustHandOver(t *testing.T) {
	t.Helper()
	b.mustPay(t, b.head(t).Facts.DueMinor)
	if err := b.HandOver(t.Context(), b.change(t, b.clerk), b.leaving(), ""); err != nil {
		t.Fatal(err)
	}
}

func TestHandOverInOneGo(t *testing.T) {
	t.Parallel()
	b := ready(t)
	b.record(t, `INSERT INTO part_line (docket_id, description, state, old_part, state_at) VALUES ({d}, 'mainspring', 'fitted', 'to-return', $1)`, b.at)
	b.mustPay(t, 9000)
	before := len(b.kinds(t, b.n))
	if err := b.HandOver(t.Context(), b.change(t, b.clerk), b.leaving(), ""); err != nil {
		t.Fatal(err)
	}
	got := b.kinds(t, b.n)[before:]
	if want := []docket.Kind{docket.InvoiceIssued, docket.CollectorChecked, docket.OldPartsDecided, docket.Moved,
		docket.HandedOver}; !slices.Equal(got, want) {
		t.Errorf("journal %v, want %v", got, want)
	}
	sheet := b.handOverSheet(t)
	d := sheet.Head.Docket
	if !d.Closed() || d.Stage != docket.StageHandedOver || !d.HandedBackAt.Equal(b.at) ||
		d.Place.Kind != docket.PlaceCustomer {
		t.Errorf("docket %+v", d)
	}
	if sheet.Left.CollectedBy != "Ada Quillmarsh" || sheet.Left.Proof != docket.ProofTicket ||
		sheet.Head.OldParts != docket.OldPartsReturned.Words() {
		t.Errorf("left as %+v, old parts %q", sheet.Left, sheet.Head.OldParts)
	}
	if p := sheet.Parts[0]; p.OldPart != "returned" || len(sheet.OldParts()) != 0 {
		t.Errorf("old part %q", p.OldPart)
	}
	if err := b.HandOver(t.Context(), b.change(t, b.clerk), b.leaving(), ""); !errors.Is(err, domain.ErrClosed) {
		t.Errorf("handed over again: %v", err)
	}
}

// Nothing of a refused hand-over is kept: neither who collects nor the old parts.
func TestHandOverRefused(t *testing.T) {
	t.Parallel()
	b := ready(t)
	b.record(t, `INSERT INTO part_line (docket_id, description, state, old_part, state_at) VALUES ({d}, 'mainspring', 'fitted', 'to-return', $1)`, b.at)
	try := func(by store.Actor, change func(*docket.Leaving), reason string) error {
		l := b.leaving()
		change(&l)
		return b.HandOver(t.Context(), b.change(t, by), l, reason)
	}
	asIs := func(*docket.Leaving) {}
	var refusal *docket.Refusal
	if err := try(b.clerk, asIs, ""); !errors.As(err, &refusal) || !strings.Contains(refusal.Error(), "due must be paid") {
		t.Errorf("unpaid: %v", err)
	}
	if err := try(b.clerk, asIs, "he promised"); !errors.As(err, &refusal) {
		t.Errorf("unpaid with a clerk's reason: %v", err)
	}
	b.mustPay(t, 9000)
	if err := try(b.watchmaker, asIs, ""); !errors.As(err, &refusal) || !refusal.Forbidden {
		t.Errorf("by the watchmaker: %v", err)
	}
	other := docket.Number{Year: 2026, Seq: 8}
	for field, change := range map[string]func(*docket.Leaving){
		"collected_by": func(l *docket.Leaving) { l.CollectedBy = "  " },
		"ticket":       func(l *docket.Leaving) { l.Ticket = other.String() },
		"shown":        func(l *docket.Leaving) { l.Proof = docket.ProofIdentity },
		"old_parts":    func(l *docket.Leaving) { l.OldParts = docket.OldPartsNone },
	} {
		if bad := problemsOf(t, try(b.clerk, change, "")); bad[field] == "" {
			t.Errorf("%s: problems %v", field, bad)
		}
	}
	stale := b.change(t, b.clerk)
	stale.Version--
	if err := b.HandOver(t.Context(), stale, b.leaving(), ""); !errors.Is(err, domain.ErrChanged) {
		t.Errorf("on a docket that changed: %v", err)
	}
	if sheet := b.handOverSheet(t); sheet.Left.CollectedBy != "" || sheet.Head.OldParts != "" ||
		sheet.Head.Docket.Closed() || len(sheet.OldParts()) != 1 {
		t.Errorf("something was kept: %+v", sheet.Left)
	}
}

// The owner's written reason stands in for a final test that was not passed, and for money.
func TestHandOverOnTheOwnersReason(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	b.toFinalTest(t)
	b.mustMove(t, b.owner, docket.StageReady, docket.PlaceSafe, "", "the customer sails tonight")
	if err := b.HandOver(t.Context(), b.change(t, b.owner), b.leaving(), "pays by the end of the month"); err != nil {
		t.Fatal(err)
	}
	if kinds := b.kinds(t, b.n); !slices.Contains(kinds, docket.OwnerAllowed) {
		t.Errorf("journal %v", kinds)
	}
	if due := b.head(t).Facts.DueMinor; due != 9000 {
		t.Errorf("due %d after leaving unpaid", due)
	}
	b.mustPay(t, 9000) // what is owed is paid later
	if due := b.head(t).Facts.DueMinor; due != 0 {
		t.Errorf("due %d after paying later", due)
	}
}

// A square code holds an address that ends in the docket's number, or the customer's private link.
func TestHandOverByTheSquareCode(t *testing.T) {
	t.Parallel()
	b := ready(t)
	b.mustPay(t, 9000)
	var id int64
	if err := b.Pool().QueryRow(t.Context(), `INSERT INTO customer_link (docket_id, made_by, made_at, expires_at)
		SELECT id, $2, $3, $3 FROM docket WHERE number = $1 RETURNING id`, b.n.String(), b.clerk.StaffID, b.at).Scan(&id); err != nil {
		t.Fatal(err)
	}
	l := b.leaving()
	other := docket.Number{Year: 2026, Seq: 77}
	for _, token := range []string{"nonsense", other.Compact(), "26000770", link.Token([]byte("another shop's secret"),
		id), link.Token(b.shop.LinkSecret, id+1)} {
		l.Ticket = "https://ledger.example/c/" + token
		if bad := problemsOf(t, b.HandOver(t.Context(), b.change(t, b.clerk), l, "")); bad["ticket"] == "" {
			t.Errorf("%s: %v", token, bad)
		}
	}
	l.Ticket, l.CollectedBy = "https://ledger.example/d/"+b.n.Compact(), ""
	if bad := problemsOf(t, b.HandOver(t.Context(), b.change(t, b.clerk), l, "")); bad["ticket"] != "" {
		t.Errorf("the code of the ticket: %v", bad)
	}
	l.CollectedBy = "Ada Quillmarsh"
	l.Ticket = "https://ledger.example/c/" + link.Token(b.shop.LinkSecret, id)
	if err := b.HandOver(t.Context(), b.change(t, b.clerk), l, ""); err != nil {
		t.Error(err)
	}
}

// A declined or withdrawn watch goes back unrepaired and owes nothing, unless something was charged.
func TestHandBack(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	if bad := problemsOf(t, b.HandOver(t.Context(), b.change(t, b.clerk), b.leaving(), "")); bad[""] == "" {
		t.Errorf("from intake: %v", bad)
	}
	b.mustMove(t, b.clerk, docket.StageWithdrawn, docket.PlaceSafe, "", "sells it as it is")
	fee := int64(2500)
	if bad := problemsOf(t, b.Charge(t.Context(), b.change(t, b.clerk), docket.Charge{Minor: &fee,
		Reason: "diagnosis"})); bad["word"] == "" {
		t.Errorf("a fee that nobody agreed to: %v", bad)
	}
	if err := b.Charge(t.Context(), b.change(t, b.clerk), docket.Charge{Minor: &fee, Reason: "diagnosis",
		Word: docket.Word{How: docket.SaidInPerson, On: b.at, By: b.clerk.Name}}); err != nil {
		t.Fatal(err)
	}
	l := b.leaving()
	l.OldParts = docket.OldPartsNone
	var refusal *docket.Refusal
	if err := b.HandOver(t.Context(), b.change(t, b.clerk), l, ""); !errors.As(err, &refusal) {
		t.Errorf("the fee is not paid: %v", err)
	}
	b.mustPay(t, fee)
	if err := b.HandOver(t.Context(), b.change(t, b.clerk), l, ""); err != nil {
		t.Fatal(err)
	}
	if h := b.head(t); h.Docket.Stage != docket.StageWithdrawn || !h.Docket.Closed() {
		t.Errorf("stage %s, closed %v", h.Docket.Stage, h.Docket.Closed())
	}
	if kinds := b.kinds(t, b.n); kinds[len(kinds)-1] != docket.HandedBack {
		t.Errorf("journal ends in %v", kinds)
	}
}

// Two clerks hand over the same watch at once: one does, the other is told.
func TestTwoHandOverAtOnce(t *testing.T) {
	t.Parallel()
	b := ready(t)
	b.mustPay(t, 9000)
	c := b.change(t, b.clerk)
	errs := make([]error, 2)
	var wg sync.WaitGroup
	for i := range errs {
		wg.Go(func() { errs[i] = b.HandOver(t.Context(), c, b.leaving(), "") })
	}
	wg.Wait()
	if (errs[0] == nil) == (errs[1] == nil) {
		t.Fatalf("got %v and %v", errs[0], errs[1])
	}
	for _, err := range errs {
		if err != nil && !errors.Is(err, domain.ErrChanged) { // both saw the same version
			t.Error(err)
		}
	}
	b.kinds(t, b.n) // and the journal holds together
}

func TestPayments(t *testing.T) {
	t.Parallel()
	b := ready(t)
	pay := func(p docket.Payment) error { return b.TakePayment(t.Context(), b.change(t, b.clerk), p) }
	for field, p := range map[string]docket.Payment{
		"amount": {Method: docket.Cash},
		"method": {Minor: 100},
		"beyond": {Minor: 9001, Method: docket.Cash},
		"note":   {Minor: 100, Method: docket.OtherWay, Note: " "},
	} {
		if bad := problemsOf(t, pay(p)); bad[field] == "" {
			t.Errorf("%s: problems %v", field, bad)
		}
	}
	if bad := problemsOf(t, pay(docket.Payment{Minor: -1, Method: docket.Cash, Note: "x"})); bad["amount"] == "" {
		t.Errorf("money back that was never paid: %v", bad)
	}
	for _, p := range []docket.Payment{{Minor: 4000, Method: docket.Cash}, {Minor: 5000, Method: docket.Transfer},
		{Minor: -1500, Method: docket.Cash, Note: "crown not fitted"}} {
		if err := pay(p); err != nil {
			t.Fatal(err)
		}
	}
	sheet := b.handOverSheet(t)
	if len(sheet.Payments) != 3 || sheet.Payments[2].Minor != -1500 || sheet.Payments[2].Note != "crown not fitted" ||
		sheet.Payments[0].By != "Nuala Reed" {
		t.Errorf("payments %+v", sheet.Payments)
	}
	if sheet.Head.PaidMinor != 7500 || sheet.Head.Facts.DueMinor != 1500 {
		t.Errorf("paid %d, due %d", sheet.Head.PaidMinor, sheet.Head.Facts.DueMinor)
	}
	kinds := b.kinds(t, b.n)
	if got := kinds[len(kinds)-3:]; !slices.Equal(got, []docket.Kind{docket.Paid, docket.Paid, docket.Refunded}) {
		t.Errorf("journal %v", got)
	}
}

// wantFacts holds figures of the newest entry of the journal to what they must be, minor units.
func (b *bench) wantFacts(t *testing.T, want map[string]float64) {
	t.Helper()
	var facts map[string]any
	if err := json.Unmarshal([]byte(b.newestEntry(t).Facts), &facts); err != nil {
		t.Fatal(err)
	}
	for name, minor := range want {
		if facts[name] != minor {
			t.Errorf("%s is %v in the journal, want %v", name, facts[name], minor)
		}
	}
}

// What is still owed is what was owed less what was paid: it bounds the next payment and stands in the journal.
func TestPaymentsLeaveTheRestOwed(t *testing.T) {
	t.Parallel()
	b := ready(t)
	b.mustPay(t, 4000)
	b.wantFacts(t, map[string]float64{"minor": 4000, "still_due_minor": 5000})
	pay := func(minor int64) error {
		return b.TakePayment(t.Context(), b.change(t, b.clerk), docket.Payment{Minor: minor, Method: docket.Cash, Note: "x"})
	}
	if bad := problemsOf(t, pay(5001)); bad["beyond"] == "" {
		t.Errorf("a cent more than is owed: %v", bad)
	}
	if err := pay(5000); err != nil {
		t.Errorf("what is owed: %v", err)
	}
	b.wantFacts(t, map[string]float64{"minor": 5000, "still_due_minor": 0})
	if err := pay(-1500); err != nil {
		t.Fatal(err)
	}
	b.wantFacts(t, map[string]float64{"minor": -1500, "still_due_minor": 1500})
	if e := b.newestEntry(t); e.Summary != "15.00 EUR given back, cash." || e.Why != "x" {
		t.Errorf("the journal says %q, because %q", e.Summary, e.Why)
	}
	charged := int64(8000)
	if err := b.Charge(t.Context(), b.change(t, b.owner), docket.Charge{Minor: &charged,
		Reason: "late by a month"}); err != nil {
		t.Fatal(err)
	}
	b.wantFacts(t, map[string]float64{"was_minor": 9000, "now_minor": 8000, "still_due_minor": 500})
	if err := b.Charge(t.Context(), b.change(t, b.owner), docket.Charge{Reason: "was a mistake"}); err != nil {
		t.Fatal(err)
	}
	b.wantFacts(t, map[string]float64{"was_minor": 8000, "now_minor": 9000, "still_due_minor": 1500})
}

// The same form sent twice at once takes the money once.
func TestPaymentSentTwice(t *testing.T) {
	t.Parallel()
	b := ready(t)
	c := b.change(t, b.clerk)
	var wg sync.WaitGroup
	errs := make([]error, 2)
	for i := range errs {
		wg.Go(func() { errs[i] = b.TakePayment(t.Context(), c, docket.Payment{Minor: 4500, Method: docket.Card}) })
	}
	wg.Wait()
	if (errs[0] == nil) == (errs[1] == nil) || !errors.Is(errors.Join(errs...), domain.ErrChanged) {
		t.Errorf("got %v and %v", errs[0], errs[1])
	}
	if paid := b.head(t).PaidMinor; paid != 4500 {
		t.Errorf("paid %d", paid)
	}
}

func TestCharge(t *testing.T) {
	t.Parallel()
	b := ready(t)
	amount := func(n int64) *int64 { return &n }
	if bad := problemsOf(t, b.Charge(t.Context(), b.change(t, b.clerk), docket.Charge{Minor: amount(8999),
		Reason: "a friend"})); bad["charged"] == "" {
		t.Errorf("a clerk charges less: %v", bad)
	}
	if bad := problemsOf(t, b.Charge(t.Context(), b.change(t, b.owner),
		docket.Charge{Minor: amount(8000)})); bad["reason"] == "" {
		t.Errorf("without a reason: %v", bad)
	}
	if err := b.Charge(t.Context(), b.change(t, b.owner), docket.Charge{Minor: amount(8000),
		Reason: "late by a month"}); err != nil {
		t.Fatal(err)
	}
	sheet := b.handOverSheet(t)
	if *sheet.Head.ChargedMinor != 8000 || sheet.ChargedReason != "late by a month" || sheet.Head.Facts.DueMinor != 8000 {
		t.Errorf("charged %d, because %q, due %d", *sheet.Head.ChargedMinor, sheet.ChargedReason, sheet.Head.Facts.DueMinor)
	}
	before := b.head(t).Docket.Version
	if err := b.Charge(t.Context(), b.change(t, b.owner), docket.Charge{Minor: amount(8000),
		Reason: "again"}); err != nil || b.head(t).Docket.Version != before {
		t.Errorf("charging what stands left a trace: %v", err)
	}
	if err := b.Charge(t.Context(), b.change(t, b.clerk), docket.Charge{Reason: "was a mistake"}); err != nil {
		t.Fatal(err)
	}
	if sheet := b.handOverSheet(t); sheet.Head.ChargedMinor != nil || sheet.ChargedReason != "" ||
		sheet.Head.Facts.DueMinor != 9000 {
		t.Errorf("back to the estimate: %v, due %d", sheet.Head.ChargedMinor, sheet.Head.Facts.DueMinor)
	}
}

// What is above what the customer agreed to takes the customer's word, which stays with the charge and in the journal,
// or the owner's decision; any other text is not enough.
func TestChargeAboveWhatWasAgreed(t *testing.T) {
	t.Parallel()
	b := ready(t)
	more := int64(15000)
	ch := docket.Charge{Minor: &more, Reason: "She will surely agree."}
	if bad := problemsOf(t, b.Charge(t.Context(), b.change(t, b.clerk), ch)); bad["word"] == "" {
		t.Errorf("on any text: %v", bad)
	}
	ch.Word.How = docket.OwnerDecided
	clerk := b.change(t, b.clerk)
	clerk.By.Role = staff.Clerk
	if bad := problemsOf(t, b.Charge(t.Context(), clerk, ch)); bad["word"] == "" {
		t.Errorf("a clerk for the owner: %v", bad)
	}
	day := time.Date(b.at.Year(), b.at.Month(), b.at.Day(), 0, 0, 0, 0, time.UTC)
	ch.Word = docket.Word{How: docket.SaidByPhone, On: day, By: " Nuala  Reed "}
	if err := b.Charge(t.Context(), b.change(t, b.clerk), ch); err != nil {
		t.Fatal(err)
	}
	want := docket.Word{How: docket.SaidByPhone, On: day, By: "Nuala Reed"}
	if got := b.handOverSheet(t).ChargedWord; got != want {
		t.Errorf("kept %+v", got)
	}
	if e := b.newestEntry(t); !strings.Contains(e.Summary, want.Sentence()) || e.Why != ch.Reason {
		t.Errorf("journalled as %q, because %q", e.Summary, e.Why)
	}
	ch.Word = docket.Word{How: docket.OwnerDecided, On: day, By: "somebody"}
	if err := b.Charge(t.Context(), b.change(t, b.owner), ch); err != nil {
		t.Fatal(err)
	}
	if got := b.handOverSheet(t).ChargedWord; got != (docket.Word{How: docket.OwnerDecided, By: b.owner.Name}) {
		t.Errorf("the owner's decision is kept as %+v", got)
	}
	agreed := int64(9000)
	if err := b.Charge(t.Context(), b.change(t, b.owner), docket.Charge{Minor: &agreed, Reason: "after all",
		Word: ch.Word}); err != nil {
		t.Fatal(err)
	}
	if got := b.handOverSheet(t).ChargedWord; got != (docket.Word{}) {
		t.Errorf("a charge as agreed needs no word, and keeps %+v", got)
	}
}

// Another revision, drafted or declined after the approval, does not make the work free.
func TestApprovedWorkStaysOwed(t *testing.T) {
	t.Parallel()
	b := ready(t)
	for _, state := range []string{"draft", "declined"} {
		b.record(t, `INSERT INTO estimate_revision (docket_id, number, state, currency, prices_include_tax, valid_until, net_minor, tax_minor, gross_minor, made_by, made_at)
			VALUES ({d}, (SELECT max(number) + 1 FROM estimate_revision WHERE docket_id = {d}), $3, 'EUR', true, '2027-01-01', 30000, 0, 30000, $1, $2)`,
			b.watchmaker.StaffID, b.at, state)
		sheet := b.handOverSheet(t)
		if billed, ok := sheet.Billed(); sheet.Head.Facts.DueMinor != 9000 || !ok || billed.Number != 1 {
			t.Errorf("%s: due %d, billed revision %d", state, sheet.Head.Facts.DueMinor, billed.Number)
		}
	}
}

func TestHandOverSheetIsOneRoundTrip(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	oneRoundTrip(t, func(ctx context.Context) error { return second(b.HandOverSheet(ctx, b.n)) })
	if err := second(b.HandOverSheet(t.Context(), docket.Number{Year: 2026, Seq: 77})); !errors.Is(err,
		domain.ErrNotFound) {
		t.Errorf("no docket: %v", err)
	}
}
