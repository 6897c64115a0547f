package store_test

import (
	"errors"
	"sync"
	"testing"
	"time"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/estimate"
	"ledgerwheel/domain/stock"
	"ledgerwheel/store"
	"ledgerwheel/store/storetest"
)

var (
	estimateDay = time.Date(2026, 11, 24, 0, 0, 0, 0, time.UTC)
	lastDay     = estimateDay.AddDate(0, 0, 30)
)

// priced is a revision of a service, a part and a polish that may be left out, without tax in the prices:
// 165.00 + 24.50 + 1.5 h at 40.00 = 249.50 net; at 20 % the tax is 49.90 and the whole 299.40. Without the
// polish it is 189.50 + 37.90 = 227.40.
func priced() estimate.Revision {
	return estimate.Revision{ValidUntil: lastDay, Note: "The crystal stays.", Lines: []estimate.Line{
		{Kind: estimate.Labour, Description: "Full service", QuantityMilli: 1000, UnitMinor: 16500, TaxBasisPoints: 2000},
		{Kind: estimate.Part, Description: "Mainspring", QuantityMilli: 1000, UnitMinor: 2450, TaxBasisPoints: 2000},
		{Kind: estimate.Labour, Description: "Polish the case", QuantityMilli: 1500, UnitMinor: 4000, TaxBasisPoints: 2000,
			Optional: true},
	}}
}

func (b *bench) estimate(t *testing.T) store.EstimateSheet {
	t.Helper()
	sheet, err := b.EstimateSheet(t.Context(), b.n)
	if err != nil {
		t.Fatal(err)
	}
	return sheet
}

func (b *bench) mustDraft(t *testing.T, r estimate.Revision) int {
	t.Helper()
	n, err := b.SaveDraft(t.Context(), b.seen(t, b.watchmaker), r)
	if err != nil {
		t.Fatal(err)
	}
	return n
}

func (b *bench) mustSend(t *testing.T, r estimate.Revision) int {
	t.Helper()
	n := b.mustDraft(t, r)
	if err := b.SendEstimate(t.Context(), b.seen(t, b.clerk), n, estimateDay); err != nil {
		t.Fatal(err)
	}
	return n
}

func TestEstimateToTheMinorUnit(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	begun := len(b.kinds(t, b.n))
	n := b.mustSend(t, priced())
	sheet := b.estimate(t)
	r, ok := sheet.Estimate.Find(n)
	row := sheet.Row(n)
	if !ok || r.State != estimate.Sent || r.Currency != "EUR" || len(r.Lines) != 3 || !r.Lines[2].Optional ||
		!r.ValidUntil.Equal(lastDay) {
		t.Fatalf("kept as %+v", r)
	}
	if row.NetMinor != 24950 || row.TaxMinor != 4990 || row.GrossMinor != 29940 {
		t.Errorf("comes to %d + %d = %d", row.NetMinor, row.TaxMinor, row.GrossMinor)
	}
	if row.MadeBy != "Emrys Vale" || row.SentBy != "Nuala Reed" || !r.SentAt.Equal(b.at) {
		t.Errorf("made and sent by %+v at %v", row, r.SentAt)
	}
	if f := sheet.Head.Facts; f.Estimate != docket.EstimateSent || f.TotalMinor != 29940 || f.Agreed() {
		t.Errorf("facts %+v", f)
	}
	b.at = b.at.Add(time.Hour)
	a := estimate.Answer{Revision: n, Approve: true, Name: "O’Brien, Séamus", Note: "No polish.", DeclinedLines: []int{2}}
	if err := b.AnswerEstimate(t.Context(), b.seen(t, b.clerk), a, estimateDay); err != nil {
		t.Fatal(err)
	}
	sheet = b.estimate(t)
	r, _ = sheet.Estimate.Find(n)
	row = sheet.Row(n)
	if row.NetMinor != 18950 || row.TaxMinor != 3790 || row.GrossMinor != 22740 || row.AnswerTakenBy != "Nuala Reed" {
		t.Errorf("agreed as %+v", row)
	}
	if r.State != estimate.Approved || r.Answer == nil || !r.Answer.Approve || r.Answer.Name != "O’Brien, Séamus" ||
		r.Answer.By != estimate.AtCounter ||
		!r.Answer.At.Equal(b.at) || len(r.Answer.DeclinedLines) != 1 || r.Answer.DeclinedLines[0] != 2 ||
		!r.Lines[2].Declined {
		t.Errorf("answer kept as %+v of %+v", r.Answer, r)
	}
	if f := sheet.Head.Facts; !f.Agreed() || f.TotalMinor != 22740 {
		t.Errorf("facts %+v", f)
	}
	b.wantKinds(t, begun, docket.EstimateDrafted, docket.EstimateWasSent, docket.LinkMade, docket.EstimateAccepted)
}

func TestDraftIsEditedAndDiscarded(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	begun := len(b.kinds(t, b.n))
	n := b.mustDraft(t, priced())
	comesTo := func(net, tax, gross int64) {
		t.Helper()
		if r := b.estimate(t).Row(n); r.NetMinor != net || r.TaxMinor != tax || r.GrossMinor != gross {
			t.Errorf("the draft comes to %d + %d = %d, want %d + %d = %d", r.NetMinor, r.TaxMinor, r.GrossMinor, net, tax, gross)
		}
	}
	comesTo(24950, 4990, 29940)
	changed := priced()
	changed.Lines = changed.Lines[:1]
	if again := b.mustDraft(t, changed); again != n {
		t.Errorf("the open draft %d was not edited but %d begun", n, again)
	}
	comesTo(16500, 3300, 19800)
	b.mustDraft(t, changed) // as it was: leaves no trace
	sheet := b.estimate(t)
	if r, _ := sheet.Estimate.OpenDraft(); len(r.Lines) != 1 || sheet.Row(n).GrossMinor != 19800 {
		t.Errorf("draft kept as %+v, %+v", r, sheet.Row(n))
	}
	if err := b.DiscardDraft(t.Context(), b.seen(t, b.watchmaker)); err != nil {
		t.Fatal(err)
	}
	if err := b.DiscardDraft(t.Context(), b.seen(t, b.watchmaker)); !errors.Is(err, estimate.ErrNoRevision) {
		t.Errorf("thrown away twice: %v", err)
	}
	if sheet := b.estimate(t); len(sheet.Estimate.Revisions) != 0 || sheet.Head.Facts.Estimate != docket.EstimateNone {
		t.Errorf("left over: %+v", sheet.Estimate)
	}
	b.wantKinds(t, begun, docket.EstimateDrafted, docket.EstimateDrafted, docket.EstimateDrafted)
}

func TestNewRevisionSupersedes(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	first := b.mustSend(t, priced())
	link := b.estimate(t).Link
	b.at = b.at.Add(24 * time.Hour)
	second := b.mustSend(t, priced())
	sheet := b.estimate(t)
	if r, _ := sheet.Estimate.Find(first); r.State != estimate.Superseded || second != first+1 {
		t.Errorf("revision %d is %s, then came %d", first, r.State, second)
	}
	if sheet.Link.ID != link.ID || !sheet.Link.ExpiresAt.Equal(link.ExpiresAt.Add(24*time.Hour)) {
		t.Errorf("the link %+v was not kept: %+v", link, sheet.Link)
	}
	yes := estimate.Answer{Revision: first, Approve: true, Name: "Ada"}
	if err := b.AnswerEstimate(t.Context(), b.seen(t, b.clerk), yes, estimateDay); !errors.Is(err,
		estimate.ErrSuperseded) {
		t.Errorf("an answer to the old one: %v", err)
	}
	yes.Revision = second
	if err := b.AnswerEstimate(t.Context(), b.seen(t, b.clerk), yes, estimateDay); err != nil {
		t.Fatal(err)
	}
	// A third is approved too: only one stays in force.
	yes.Revision = b.mustSend(t, priced())
	if err := b.AnswerEstimate(t.Context(), b.seen(t, b.clerk), yes, estimateDay); err != nil {
		t.Fatal(err)
	}
	sheet = b.estimate(t)
	if r, _ := sheet.Estimate.Find(second); r.State != estimate.Superseded || r.Answer == nil || !r.Answer.Approve {
		t.Errorf("the second is now %+v", r)
	}
	if r, _ := sheet.Estimate.InForce(); r.Number != yes.Revision {
		t.Errorf("in force is %d", r.Number)
	}
}

func TestEstimateRefusals(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	_, err := b.SaveDraft(t.Context(), b.seen(t, b.watchmaker),
		estimate.Revision{Lines: []estimate.Line{{Kind: "gift", QuantityMilli: 1}}})
	if bad := problemsOf(t, err); bad["valid_until"] == "" || bad["lines.0.kind"] == "" ||
		bad["lines.0.description"] == "" {
		t.Errorf("problems %v", bad)
	}
	n := b.mustDraft(t, priced())
	change := b.seen(t, b.clerk)
	if err := b.SendEstimate(t.Context(), change, n, lastDay.AddDate(0, 0, 1)); !errors.Is(err, estimate.ErrNotSaveable) {
		t.Errorf("sent after its last day: %v", err)
	}
	if err := b.SendEstimate(t.Context(), change, n+1, estimateDay); !errors.Is(err, estimate.ErrNoRevision) {
		t.Errorf("sent what is not there: %v", err)
	}
	if err := b.SendEstimate(t.Context(), change, n, estimateDay); err != nil {
		t.Fatal(err)
	}
	if err := b.SendEstimate(t.Context(), change, n, estimateDay); !errors.Is(err, domain.ErrChanged) {
		t.Errorf("sent on an old version: %v", err)
	}
	if err := b.SendEstimate(t.Context(), b.seen(t, b.clerk), n, estimateDay); !errors.Is(err, estimate.ErrNotDraft) {
		t.Errorf("sent twice: %v", err)
	}
	change = b.seen(t, b.clerk)
	for _, tt := range []struct {
		name  string
		a     estimate.Answer
		today time.Time
		want  error
	}{
		{"too late", estimate.Answer{Revision: n, Approve: true, Name: "Ada"}, lastDay.AddDate(0, 0, 1), estimate.ErrExpired},
		{"not optional", estimate.Answer{Revision: n, Approve: true, Name: "Ada", DeclinedLines: []int{0}}, estimateDay,
			estimate.ErrNotOptional},
		{"no such line", estimate.Answer{Revision: n, Approve: true, Name: "Ada", DeclinedLines: []int{-1}}, estimateDay,
			estimate.ErrNotOptional},
	} {
		if err := b.AnswerEstimate(t.Context(), change, tt.a, tt.today); !errors.Is(err, tt.want) {
			t.Errorf("%s: %v, want %v", tt.name, err, tt.want)
		}
	}
	if bad := problemsOf(t, b.AnswerEstimate(t.Context(), change, estimate.Answer{Revision: n},
		estimateDay)); bad["name"] == "" {
		t.Errorf("problems %v", bad)
	}
	if err := b.AnswerEstimate(t.Context(), change, estimate.Answer{Revision: n, Name: "Ada"}, estimateDay); err != nil {
		t.Fatal(err)
	}
	if err := b.AnswerEstimate(t.Context(), b.seen(t, b.clerk), estimate.Answer{Revision: n, Name: "Ada"},
		estimateDay); !errors.Is(err, estimate.ErrNotWaiting) {
		t.Errorf("answered twice: %v", err)
	}
}

// TestTwoPriceAtOnce has two people save drafts from the same version: one is kept, the other told.
func TestTwoPriceAtOnce(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	change := b.seen(t, b.watchmaker)
	var wg sync.WaitGroup
	errs := make([]error, 2)
	for i := range errs {
		wg.Go(func() {
			r := priced()
			r.Lines[0].UnitMinor += int64(i)
			_, errs[i] = b.SaveDraft(t.Context(), change, r)
		})
	}
	wg.Wait()
	if (errs[0] == nil) == (errs[1] == nil) || !errors.Is(errors.Join(errs...), domain.ErrChanged) {
		t.Errorf("outcomes %v", errs)
	}
	if e := b.estimate(t).Estimate; len(e.Revisions) != 1 {
		t.Errorf("%d revisions", len(e.Revisions))
	}
}

func TestEstimateSuggestsFromTheSheet(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	if _, err := b.AddFinding(t.Context(), b.by(b.watchmaker), brokenSpring); err != nil {
		t.Fatal(err)
	}
	if _, err := b.AddPart(t.Context(), b.by(b.watchmaker), stock.PartLine{Description: "Mainspring", Quantity: 1,
		State: stock.Needed}); err != nil {
		t.Fatal(err)
	}
	sheet := b.estimate(t)
	if len(sheet.Findings) != 1 || len(sheet.PartLines()) != 1 || sheet.PartLines()[0].Description != "Mainspring" {
		t.Errorf("read %+v and %+v", sheet.Findings, sheet.Parts)
	}
	ctx, counter := storetest.CountRoundTrips(t.Context())
	if _, err := b.EstimateSheet(ctx, b.n); err != nil || counter.Trips() != 1 {
		t.Errorf("%d round trips, %v", counter.Trips(), err)
	}
}

func TestSaveAndSendIsBothOrNeither(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	begun := len(b.kinds(t, b.n))
	if _, err := b.SaveAndSend(t.Context(), b.seen(t, b.watchmaker), priced(), lastDay.AddDate(0, 0, 1)); !errors.Is(err,
		estimate.ErrNotSaveable) {
		t.Errorf("after its last day: %v", err)
	}
	if e := b.estimate(t).Estimate; len(e.Revisions) != 0 {
		t.Errorf("half of it was kept: %+v", e)
	}
	n, err := b.SaveAndSend(t.Context(), b.seen(t, b.watchmaker), priced(), estimateDay)
	if err != nil {
		t.Fatal(err)
	}
	sheet := b.estimate(t)
	if r, _ := sheet.Estimate.Waiting(); r.Number != n || sheet.Row(n).SentBy != "Emrys Vale" || !sheet.Link.Serves(b.at) {
		t.Errorf("sent as %+v, %+v", r, sheet.Row(n))
	}
	b.wantKinds(t, begun, docket.EstimateDrafted, docket.EstimateWasSent, docket.LinkMade)
}
