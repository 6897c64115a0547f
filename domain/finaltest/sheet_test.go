package finaltest_test

import (
	"strings"
	"testing"
	"time"

	"ledgerwheel/domain/finaltest"
)

func TestSheetProblems(t *testing.T) {
	t.Parallel()
	stated := finaltest.Stated{PowerReserveHours: 42, OverpressureBar: 5}
	part := finaltest.Sheet{Results: []finaltest.Result{{Test: finaltest.CaseAndStrap, Outcome: finaltest.OutcomePass}}}
	if bad := part.Problems(stated, finaltest.Before{}, ""); len(bad) != 0 {
		t.Errorf("one of six recorded: %v", bad)
	}
	if bad := (finaltest.Sheet{}).Problems(stated, finaltest.Before{}, ""); bad[""] == "" {
		t.Errorf("nothing recorded: %v", bad)
	}
	if bad := part.Problems(stated, finaltest.Before{}, strings.Repeat("x", finaltest.MaxNote+1)); bad["note"] == "" {
		t.Errorf("a long note: %v", bad)
	}
	wrong := part.With(finaltest.Result{Test: finaltest.PowerReserve, Outcome: finaltest.OutcomePass, Figure: 30,
		HasFigure: true}).
		With(finaltest.Result{Test: finaltest.DateChange, Outcome: finaltest.OutcomeNotApplicable})
	bad := wrong.Problems(stated, finaltest.Before{}, "")
	if len(bad) != 2 || bad["power-reserve-figure"] == "" || bad["date-change-note"] == "" {
		t.Errorf("problems %v", bad)
	}
}

// A result keeps who found it as long as it reads the same.
func TestSigned(t *testing.T) {
	t.Parallel()
	monday, thursday := time.Date(2026, 11, 23, 10, 0, 0, 0, time.UTC), time.Date(2026, 11, 26, 10, 0, 0, 0, time.UTC)
	first := finaltest.Sheet{Results: []finaltest.Result{
		{Test: finaltest.CaseAndStrap, Outcome: finaltest.OutcomePass},
		{Test: finaltest.HandsClearance, Outcome: finaltest.OutcomeFail, Note: "minute hand touches"},
	}}.Signed(finaltest.Sheet{}, finaltest.Result{By: "Emrys Vale", ByID: 2, At: monday})
	next := first.With(finaltest.Result{Test: finaltest.HandsClearance, Outcome: finaltest.OutcomePass}).
		Signed(first, finaltest.Result{By: "Ottilie Brandt", ByID: 1, At: thursday})
	if r := next.Result(finaltest.CaseAndStrap); r.ByID != 2 || !r.At.Equal(monday) {
		t.Errorf("unchanged: %+v", r)
	}
	if r := next.Result(finaltest.HandsClearance); r.ByID != 1 || !r.At.Equal(thursday) {
		t.Errorf("changed: %+v", r)
	}
	if r := first.Result(finaltest.HandsClearance); r.ByID != 2 {
		t.Errorf("the sheet before was altered: %+v", r)
	}
}
