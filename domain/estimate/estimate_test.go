package estimate_test

import (
	"errors"
	"maps"
	"slices"
	"strings"
	"testing"
	"time"

	"ledgerwheel/domain/estimate"
	"ledgerwheel/domain/money"

	"pgregory.net/rapid"
)

var (
	today = time.Date(2031, 5, 6, 0, 0, 0, 0, time.UTC)
	noon  = today.Add(12 * time.Hour)
)

func fields(problems map[string]string) []string { return slices.Sorted(maps.Keys(problems)) }

func content(minor int64) estimate.Revision {
	return estimate.Revision{Currency: "EUR", ValidUntil: today.AddDate(0, 0, 30), Lines: []estimate.Line{
		priced(minor, 2000),
		{Kind: estimate.Labour, Description: "polish the case", QuantityMilli: 1500, UnitMinor: 6000, TaxBasisPoints: 2000,
			Optional: true},
	}}
}

func yes(number int) estimate.Answer {
	return estimate.Answer{Revision: number, Approve: true, Name: "Ada Quill", By: estimate.AtCounter, At: noon}
}

// do begins and sends a revision of that price.
func do(t *testing.T, e estimate.Estimate, minor int64) estimate.Estimate {
	t.Helper()
	e, n, err := e.Begin(content(minor))
	if err != nil {
		t.Fatal(err)
	}
	if e, err = e.Send(n, noon, today); err != nil {
		t.Fatal(err)
	}
	return e
}

func states(e estimate.Estimate) string {
	var s []string
	for _, r := range e.Revisions {
		s = append(s, string(r.State))
	}
	return strings.Join(s, " ")
}

func TestLineFormCheck(t *testing.T) {
	t.Parallel()
	good := estimate.LineForm{Kind: "labour", Description: "Full service", Quantity: "1,5", UnitPrice: "120.50",
		TaxRate: "8,1 %"}
	for _, tt := range []struct {
		name   string
		change func(*estimate.LineForm)
		want   []string
	}{
		{"good", func(*estimate.LineForm) {}, nil},
		{"quantity and tax left out", func(f *estimate.LineForm) { f.Quantity, f.TaxRate = "", "" }, nil},
		{"nothing", func(f *estimate.LineForm) { *f = estimate.LineForm{} }, []string{"description", "kind", "unit_price"}},
		{"below nought", func(f *estimate.LineForm) { f.UnitPrice = "-1" }, []string{"unit_price"}},
		{"discount below nought", func(f *estimate.LineForm) { f.Kind, f.UnitPrice = "discount", "-10" }, nil},
		{"discount without its minus", func(f *estimate.LineForm) { f.Kind, f.UnitPrice = "discount", "10" }, nil},
		{"optional discount", func(f *estimate.LineForm) { f.Kind, f.Optional = "discount", true }, []string{"optional"}},
		{"no quantity", func(f *estimate.LineForm) { f.Quantity = "0" }, []string{"quantity"}},
		{"quantity below nought", func(f *estimate.LineForm) { f.Quantity = "-1" }, []string{"quantity"}},
		{"four decimals", func(f *estimate.LineForm) { f.Quantity = "1.2345" }, []string{"quantity"}},
		{"tax over 100", func(f *estimate.LineForm) { f.TaxRate = "100.01" }, []string{"tax_rate"}},
		{"tax in words", func(f *estimate.LineForm) { f.TaxRate = "some" }, []string{"tax_rate"}},
		{"too dear", func(f *estimate.LineForm) { f.Quantity, f.UnitPrice = "100000", "999999999" }, []string{"unit_price"}},
		{"long", func(f *estimate.LineForm) { f.Description = strings.Repeat("x", estimate.MaxDescription+1) },
			[]string{"description"}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			f := good
			tt.change(&f)
			if _, bad := f.Check("EUR", "en-GB"); !slices.Equal(fields(bad), tt.want) {
				t.Errorf("problems %v, want with %v", bad, tt.want)
			}
		})
	}
	l, _ := good.Check("EUR", "en-GB")
	if l.QuantityMilli != 1500 || l.UnitMinor != 12050 || l.TaxBasisPoints != 810 {
		t.Errorf("read %+v", l)
	}
	if again, bad := l.Form("EUR").Check("EUR", "en-GB"); again != l || len(bad) != 0 {
		t.Errorf("typed again it reads %+v with problems %v", again, bad)
	}
	if !(estimate.LineForm{Kind: "labour", Quantity: "1"}).Blank() || good.Blank() {
		t.Error("a row with neither description nor price is blank, another is not")
	}
}

func TestQuantitiesAndPercentsReadBack(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		milli := rapid.Int64Range(0, estimate.MaxQuantityMilli).Draw(t, "milli")
		if got, err := estimate.ParseQuantity(estimate.FormatQuantity(milli)); err != nil || got != milli {
			t.Fatalf("%d is written %q, which reads %d, %v", milli, estimate.FormatQuantity(milli), got, err)
		}
		points := rapid.IntRange(0, estimate.MaxTaxBasisPoints).Draw(t, "points")
		if got, err := estimate.ParsePercent(estimate.FormatPercent(points)); err != nil || got != points {
			t.Fatalf("%d is written %q, which reads %d, %v", points, estimate.FormatPercent(points), got, err)
		}
	})
	for _, typed := range []string{"", ".", "1.2.3", "1,2,3", "NaN", "0x1", "1e2", "½"} {
		if got, err := estimate.ParseQuantity(typed); err == nil {
			t.Errorf("%q read as %d thousandths", typed, got)
		}
	}
}

func TestRevisionProblems(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		name   string
		change func(*estimate.Revision)
		want   []string
	}{
		{"good", func(*estimate.Revision) {}, nil},
		{"no lines", func(r *estimate.Revision) { r.Lines = nil }, []string{"lines"}},
		{"too many lines", func(r *estimate.Revision) { r.Lines = slices.Repeat(r.Lines, 101) }, []string{"lines"}},
		{"no currency", func(r *estimate.Revision) { r.Currency = "" }, []string{"currency"}},
		{"bad line", func(r *estimate.Revision) { r.Lines[1].Description = "" }, []string{"lines.1.description"}},
		{"long note", func(r *estimate.Revision) { r.Note = strings.Repeat("x", estimate.MaxNote+1) }, []string{"note"}},
		{"too dear together", func(r *estimate.Revision) { r.Lines[0].UnitMinor = money.Max }, []string{"lines"}},
		{"discount above what can't be left out", func(r *estimate.Revision) {
			r.Lines = append(r.Lines, estimate.Line{Kind: estimate.Discount, Description: "goodwill", QuantityMilli: 1000,
				UnitMinor: -10001, TaxBasisPoints: 2000})
		}, []string{"lines"}},
		{"discount of just that", func(r *estimate.Revision) {
			r.Lines = append(r.Lines, estimate.Line{Kind: estimate.Discount, Description: "goodwill", QuantityMilli: 1000,
				UnitMinor: -10000, TaxBasisPoints: 2000})
		}, nil},
	} {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			r := content(10000)
			tt.change(&r)
			if bad := r.Problems(); !slices.Equal(fields(bad), tt.want) {
				t.Errorf("problems %v, want with %v", bad, tt.want)
			}
		})
	}
}

func TestApproval(t *testing.T) {
	t.Parallel()
	e := do(t, estimate.Estimate{}, 10000)
	a := yes(1)
	a.DeclinedLines = []int{1}
	got, err := e.Decide(a, today)
	if err != nil {
		t.Fatal(err)
	}
	r, ok := got.InForce()
	if !ok || r.Number != 1 || r.Answer == nil || r.Answer.Name != "Ada Quill" || !r.Lines[1].Declined {
		t.Errorf("in force: %+v, %v", r, ok)
	}
	// 100.00 and 20 % tax; the polish, 90.00 and its tax, was left out.
	offered, _ := r.Totals()
	agreed, _ := r.AgreedTotals()
	if offered.GrossMinor != 22800 || agreed.GrossMinor != 12000 {
		t.Errorf("offered %d, agreed %d; want 22800 and 12000", offered.GrossMinor, agreed.GrossMinor)
	}
	if states(e) != "sent" || e.Revisions[0].Lines[1].Declined {
		t.Error("deciding changed the estimate it was asked of")
	}
}

func TestRefusals(t *testing.T) {
	t.Parallel()
	sent := do(t, estimate.Estimate{}, 10000)
	twice := do(t, sent, 20000)
	approved, err := sent.Decide(yes(1), today)
	if err != nil {
		t.Fatal(err)
	}
	drafted, n, err := approved.Begin(content(30000))
	if err != nil || n != 2 {
		t.Fatalf("revision %d, %v", n, err)
	}
	empty, _, _ := estimate.Estimate{}.Begin(estimate.Revision{Currency: "EUR"})
	decide := func(e estimate.Estimate, a estimate.Answer, on time.Time) func() (estimate.Estimate, error) {
		return func() (estimate.Estimate, error) { return e.Decide(a, on) }
	}
	nameless, required := yes(1), yes(1)
	nameless.Name, required.DeclinedLines = "", []int{0}
	for name, tt := range map[string]struct {
		do   func() (estimate.Estimate, error)
		want error
	}{
		"older one approved":     {decide(twice, yes(1), today), estimate.ErrSuperseded},
		"draft approved":         {decide(drafted, yes(2), today), estimate.ErrNotWaiting},
		"approved twice":         {decide(approved, yes(1), today), estimate.ErrNotWaiting},
		"no such one":            {decide(sent, yes(9), today), estimate.ErrNoRevision},
		"too late":               {decide(sent, yes(1), today.AddDate(0, 0, 31)), estimate.ErrExpired},
		"nameless":               {decide(sent, nameless, today), estimate.ErrAnswerFaulty},
		"required line left out": {decide(sent, required, today), estimate.ErrNotOptional},
		"approved one edited": {func() (estimate.Estimate, error) { return approved.Edit(1, content(1)) },
			estimate.ErrNotDraft},
		"sent one edited": {func() (estimate.Estimate, error) { return sent.Edit(1, content(1)) },
			estimate.ErrNotDraft},
		"sent twice": {func() (estimate.Estimate, error) { return sent.Send(1, noon, today) },
			estimate.ErrNotDraft},
		"empty one sent": {func() (estimate.Estimate, error) { return empty.Send(1, noon, today) },
			estimate.ErrNotSaveable},
		"sent after its last day": {func() (estimate.Estimate, error) {
			return drafted.Send(2, noon,
				today.AddDate(0, 2, 0))
		}, estimate.ErrNotSaveable},
		"second draft": {func() (estimate.Estimate, error) {
			e, _, err := drafted.Begin(content(1))
			return e, err
		}, estimate.ErrDraftOpen},
	} {
		if _, err := tt.do(); !errors.Is(err, tt.want) {
			t.Errorf("%s: %v, want %v", name, err, tt.want)
		}
	}
	if _, err := sent.Decide(yes(1), today.AddDate(0, 0, 30)); err != nil {
		t.Errorf("on its last day: %v", err)
	}
	no := yes(1)
	no.Approve = false
	if _, err := sent.Decide(no, today.AddDate(0, 0, 31)); err != nil {
		t.Errorf("declined after its last day: %v", err)
	}
}

func TestNewRevisionSupersedes(t *testing.T) {
	t.Parallel()
	e := do(t, estimate.Estimate{}, 10000)
	e, err := e.Decide(yes(1), today)
	if err != nil {
		t.Fatal(err)
	}
	e = do(t, e, 20000)
	if got := states(e); got != "approved sent" {
		t.Fatalf("while the second waits: %s", got)
	}
	no := yes(2)
	no.Approve, no.By = false, estimate.AtCounter
	declined, err := e.Decide(no, today)
	if err != nil {
		t.Fatal(err)
	}
	if r, ok := declined.InForce(); !ok || r.Number != 1 || states(declined) != "approved declined" {
		t.Errorf("after the second is declined: %s", states(declined))
	}
	approved, err := e.Decide(yes(2), today)
	if err != nil {
		t.Fatal(err)
	}
	if r, ok := approved.InForce(); !ok || r.Number != 2 || states(approved) != "superseded approved" {
		t.Errorf("after the second is approved: %s", states(approved))
	}
	edited, n, _ := approved.Begin(content(1))
	if edited, err = edited.Edit(n, content(7)); err != nil || edited.Revisions[2].Lines[0].UnitMinor != 7 {
		t.Errorf("editing the draft: %+v, %v", edited.Revisions[2], err)
	}
	like := approved.Revisions[1]
	like.Lines = slices.Clone(like.Lines)
	like.Lines[1].Declined = true
	again, _, _ := approved.Begin(like)
	if r, _ := again.OpenDraft(); r.Answer != nil || r.Lines[1].Declined || !r.SentAt.IsZero() || r.Number != 3 {
		t.Errorf("a draft from an approved revision keeps its answer: %+v", r)
	}
}

// Whatever is tried in whatever order, at most one revision is open, waits or
// is in force, numbers rise by one, and what was sent never changes its lines.
func TestEstimateInvariants(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		var e estimate.Estimate
		shown := map[int]int64{}
		for range rapid.IntRange(1, 30).Draw(t, "steps") {
			n := rapid.IntRange(0, len(e.Revisions)+1).Draw(t, "number")
			switch rapid.SampledFrom([]string{"begin", "edit", "send", "approve", "decline"}).Draw(t, "step") {
			case "begin":
				e, _, _ = e.Begin(content(rapid.Int64Range(1, 9999).Draw(t, "price")))
			case "edit":
				e, _ = e.Edit(n, content(rapid.Int64Range(1, 9999).Draw(t, "price")))
			case "send":
				e, _ = e.Send(n, noon, today)
			case "approve":
				e, _ = e.Decide(yes(n), today)
			case "decline":
				a := yes(n)
				a.Approve = false
				e, _ = e.Decide(a, today)
			}
			count := map[estimate.State]int{}
			for i, r := range e.Revisions {
				count[r.State]++
				if r.Number != i+1 {
					t.Fatalf("revision %d stands at %d", r.Number, i+1)
				}
				if price, ok := shown[r.Number]; ok && price != r.Lines[0].UnitMinor {
					t.Fatalf("revision %d was shown at %d and is now %d", r.Number, price, r.Lines[0].UnitMinor)
				}
				if r.State != estimate.Draft {
					shown[r.Number] = r.Lines[0].UnitMinor
				}
				if (r.State == estimate.Approved || r.State == estimate.Declined) && r.Answer == nil {
					t.Fatalf("revision %d is %s without an answer", r.Number, r.State)
				}
			}
			if count[estimate.Draft] > 1 || count[estimate.Sent] > 1 || count[estimate.Approved] > 1 {
				t.Fatalf("%v", count)
			}
		}
	})
}

func TestAnswerProblems(t *testing.T) {
	t.Parallel()
	if bad := yes(1).Problems(); len(bad) != 0 {
		t.Errorf("a good answer has problems %v", bad)
	}
	a := estimate.Answer{By: "pigeon", Note: strings.Repeat("x", estimate.MaxNote+1)}
	if got, want := fields(a.Problems()), []string{"by", "name", "note"}; !slices.Equal(got, want) {
		t.Errorf("problems with %v, want %v", got, want)
	}
}

func TestWithinLimit(t *testing.T) {
	t.Parallel()
	limit := int64(5000)
	for _, tt := range []struct {
		gross int64
		limit *int64
		want  bool
	}{{5000, &limit, true}, {5001, &limit, false}, {0, nil, false}} {
		if got := estimate.WithinLimit(tt.gross, tt.limit); got != tt.want {
			t.Errorf("%d: %v, want %v", tt.gross, got, tt.want)
		}
	}
}
