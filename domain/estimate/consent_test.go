package estimate_test

import (
	"errors"
	"slices"
	"testing"
	"time"

	"ledgerwheel/domain/estimate"
)

// An answer by telephone is kept with what a written record of oral consent has: 16 CCR 2722 (California, repair of
// appliances) asks for the date, the time, the name of who consents, the telephone number called, who called, the
// added parts and labour, and the total. Each is refused where it lacks, beside its own field.
func TestConsentByTelephoneHasWhatAWrittenRecordNeeds(t *testing.T) {
	t.Parallel()
	now := time.Date(2026, 11, 24, 15, 0, 0, 0, time.UTC)
	whole := func() estimate.Answer {
		return estimate.Answer{Revision: 1, Approve: true, Name: "Ines Marlow", By: estimate.ByTelephone, At: now,
			Consent: &estimate.Consent{At: now.Add(-20 * time.Minute), Number: "07700 900123", CalledBy: "Nuala Reed",
				Added: "A new mainspring", TotalMinor: 22740}}
	}
	if bad := whole().Problems(); len(bad) != 0 {
		t.Fatalf("a whole record: %v", bad)
	}
	for field, spoil := range map[string]func(*estimate.Answer){
		"name":      func(a *estimate.Answer) { a.Name = "" },
		"agreed_on": func(a *estimate.Answer) { a.Consent.At = time.Time{} },
		"number":    func(a *estimate.Answer) { a.Consent.Number = "" },
		"called_by": func(a *estimate.Answer) { a.Consent.CalledBy = "" },
		"added":     func(a *estimate.Answer) { a.Consent.Added = "" },
		"by":        func(a *estimate.Answer) { a.Consent = nil },
	} {
		a := whole()
		if spoil(&a); a.Problems()[field] == "" || len(a.Problems()) != 1 {
			t.Errorf("without %s: got %v", field, a.Problems())
		}
	}
	a := whole()
	a.Consent.At = now.Add(time.Minute)
	if a.Problems()["agreed_on"] == "" {
		t.Error("a call that is yet to be made is kept")
	}
	a = whole()
	a.By = estimate.AtCounter
	if a.Problems()["by"] == "" {
		t.Error("an answer at the counter has a call")
	}
	declined := whole()
	declined.Approve, declined.Consent.Added, declined.Consent.TotalMinor = false, "", 0
	if bad := declined.Problems(); len(bad) != 0 {
		t.Errorf("a call in which it was declined: %v", bad)
	}
}

// The total that was said must be that of the lines approved, so that nobody agrees to one sum and owes another.
func TestTotalSaidIsTheTotalOwed(t *testing.T) {
	t.Parallel()
	now := time.Date(2026, 11, 24, 15, 0, 0, 0, time.UTC)
	today := now.Truncate(24 * time.Hour)
	line := func(what string, minor int64, optional bool) estimate.Line {
		return estimate.Line{Kind: estimate.Labour, Description: what, QuantityMilli: 1000, UnitMinor: minor, Optional: optional}
	}
	e, n, err := estimate.Estimate{}.Begin(estimate.Revision{Currency: "GBP", ValidUntil: today.AddDate(0, 0, 30),
		Rule: estimate.TaxRule{PricesIncludeTax: true}, Lines: []estimate.Line{line("Service", 16000, false), line("Polish", 5000, true)}})
	if err == nil {
		e, err = e.Send(n, now, today)
	}
	if err != nil {
		t.Fatal(err)
	}
	if got := e.Added(n); !slices.Equal(got, []string{"Service", "Polish"}) {
		t.Errorf("a first estimate adds %v", got)
	}
	answer := func(total int64, leftOut ...int) error {
		next, err := e.Decide(estimate.Answer{Revision: n, Approve: true, Name: "Ines", By: estimate.ByTelephone, At: now, DeclinedLines: leftOut,
			Consent: &estimate.Consent{At: now, Number: "1", CalledBy: "Nuala", Added: "All", TotalMinor: total}}, today)
		if err == nil {
			if r, _ := next.Find(n); r.State != estimate.Approved || r.Answer.Consent == nil {
				t.Errorf("kept as %+v", r)
			}
		}
		return err
	}
	var wrong *estimate.TotalError
	if err := answer(21000, 1); !errors.As(err, &wrong) || wrong.ComesToMinor != 16000 || wrong.SaidMinor != 21000 {
		t.Errorf("a total with what was left out: got %v", err)
	}
	if err := errors.Join(answer(21000), answer(16000, 1)); err != nil {
		t.Error(err)
	}
	e, _ = e.Decide(estimate.Answer{Revision: n, Approve: true, Name: "Ines", By: estimate.AtCounter, At: now, DeclinedLines: []int{1}}, today)
	r, _ := e.Find(n)
	r.Lines = append(r.Lines, line("New crown", 3000, false))
	e, n, _ = e.Begin(r)
	if got := e.Added(n); !slices.Equal(got, []string{"Polish", "New crown"}) {
		t.Errorf("the new revision adds %v", got)
	}
}
