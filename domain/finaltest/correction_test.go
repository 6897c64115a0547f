package finaltest_test

import (
	"testing"
	"time"

	"ledgerwheel/domain/finaltest"
)

// reserve is a power reserve as it came out.
func reserve(o finaltest.Outcome, hours float64, note, corrects string) finaltest.Result {
	return finaltest.Result{Test: finaltest.PowerReserve, Outcome: o, Figure: hours, HasFigure: hours > 0, Note: note,
		Corrects: corrects}
}

// A fail stays a fail until the watch was worked on, and a figure as it was typed, unless a slip is corrected with its
// reason.
func TestFailStays(t *testing.T) {
	t.Parallel()
	const pass, fail, open, na = finaltest.OutcomePass, finaltest.OutcomeFail, finaltest.OutcomeOpen,
		finaltest.OutcomeNotApplicable
	failed, none := reserve(fail, 20, "stops at 20 h", ""), finaltest.Result{Test: finaltest.PowerReserve}
	for _, c := range []struct {
		name             string
		standing, worked finaltest.Result // what counts, and the newest since the work
		now              finaltest.Result
		field            string // where the problem is, "" for none
	}{
		{"fail to pass", failed, failed, reserve(pass, 40, "", ""), "corrects"},
		{"fail to not applicable", failed, failed, reserve(na, 0, "no reserve", ""), "corrects"},
		{"fail to open, so that it may pass next", failed, failed, none, "corrects"},
		{"fail to pass, a slip", failed, failed, reserve(pass, 40, "", "typed 20 for 40"), ""},
		{"the fail's own note beside the pass", failed, failed, reserve(pass, 20, "stops at 20 h", "x"), "note"},
		{"another figure of the fail", failed, failed, reserve(fail, 22, "stops at 20 h", ""), "corrects"},
		{"another figure with its reason", failed, failed, reserve(fail, 22, "stops at 22 h", "misread"), ""},
		{"a longer note", failed, failed, reserve(fail, 20, "stops at 20 h, twice", ""), ""},
		{"nothing new", failed, failed, failed, ""},
		{"a reason for nothing", failed, failed, reserve(fail, 20, "stops at 20 h", "misread"), "corrects"},
		{"another figure of a pass", reserve(pass, 40, "", ""), reserve(pass, 40, "", ""), reserve(pass, 44, "", ""),
			"corrects"},
		{"pass to fail", reserve(pass, 40, "", ""), reserve(pass, 40, "", ""), failed, ""},
		{"hours so far", reserve(open, 10, "", ""), none, reserve(open, 20, "", ""), ""},
		{"tested again without work", none, failed, reserve(pass, 40, "", ""), "corrects"},
		{"still to be tested again", none, failed, none, ""},
		{"after work", none, none, reserve(pass, 40, "", ""), ""},
	} {
		sheet := func(r finaltest.Result) finaltest.Sheet { return finaltest.Sheet{Results: []finaltest.Result{r}} }
		before := finaltest.Before{Standing: sheet(c.standing), SinceWork: sheet(c.worked)}
		bad := sheet(c.now).Problems(finaltest.Stated{PowerReserveHours: 36}, before, "")
		delete(bad, "") // only one of six tests is looked at
		if got := bad["power-reserve-"+c.field]; c.field == "" && len(bad) > 0 || c.field != "" && (got == "" || len(bad) > 1) {
			t.Errorf("%s: %v, want a problem with %q", c.name, bad, c.field)
		}
	}
}

// A correction stays marked whatever is recorded after it, and what was is kept newest first.
func TestWhatWas(t *testing.T) {
	t.Parallel()
	at := func(hour int) finaltest.Result {
		return finaltest.Result{By: "Emrys Vale", ByID: 2, At: time.Date(2026, 11, 24, hour, 2, 0, 0, time.UTC)}
	}
	sheet := func(r finaltest.Result) finaltest.Sheet { return finaltest.Sheet{Results: []finaltest.Result{r}} }
	first := sheet(reserve(finaltest.OutcomeFail, 20, "", "")).Signed(finaltest.Sheet{}, at(11))
	second := sheet(reserve(finaltest.OutcomePass, 40, "", "typed 20 for 40")).Signed(first, at(12))
	third := sheet(reserve(finaltest.OutcomePass, 40, "dial up", "")).Signed(second, at(13))
	now := third.Result(finaltest.PowerReserve)
	if now.Corrects != "typed 20 for 40" || now.At.Hour() != 13 {
		t.Errorf("the mark is gone: %+v", now)
	}
	earlier := finaltest.Earlier([]finaltest.Sheet{second, first}, now)
	if len(earlier) != 2 || earlier[1].WasWords() != "fail, 20\u00a0h" || earlier[1].At.Hour() != 11 {
		t.Errorf("earlier %+v", earlier)
	}
	if got := finaltest.Earlier([]finaltest.Sheet{third, third}, now); len(got) != 0 {
		t.Errorf("it was what it is: %+v", got)
	}
	open := finaltest.Sheet{Results: []finaltest.Result{{Test: finaltest.PowerReserve}}}
	if r := finaltest.Newest([]finaltest.Sheet{open, first}).Result(finaltest.PowerReserve); r.Figure != 20 {
		t.Errorf("an open line hides the fail: %+v", r)
	}
}
