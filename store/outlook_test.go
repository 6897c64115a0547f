package store_test

import (
	"fmt"
	"testing"
	"time"

	"ledgerwheel/domain/customer"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/promise"
	"ledgerwheel/domain/shop"
	"ledgerwheel/store/storetest"
)

// TestPromisedDays: what the record has of past watches reaches the rules, what they propose is kept with the docket, and a watch
// that stands too long is seen to slip.
func TestPromisedDays(t *testing.T) {
	t.Parallel()
	c := newCounter(t)
	start := c.at
	// Thirty watches, a week apart, each ready after ten days.
	for i := range 30 {
		in := c.takingIn()
		in.At = start.AddDate(0, 0, 7*i)
		in.Customer = customer.Customer{Name: fmt.Sprintf("Wren Abara %d", i), Phone: fmt.Sprintf("01632 9602%02d", i)}.Tidied("GB")
		in.Watch.Serial, in.NewCustomer = fmt.Sprintf("88110%d", i), true
		in.Intake.PromisedOn = time.Time{}
		n, _ := c.mustTakeIn(t, in)
		exec(t, c, `UPDATE docket SET stage = 'service', moved_at = $2 WHERE number = $1`, n.String(), in.At.AddDate(0, 0, 1))
		exec(t, c, `UPDATE docket SET stage = 'ready', moved_at = $2 WHERE number = $1`, n.String(), in.At.AddDate(0, 0, 10))
	}
	now := start.AddDate(0, 0, 7*30)
	ctx, trips := storetest.CountRoundTrips(t.Context())
	p, err := c.Promises(ctx, c.shop, now)
	if err != nil || trips.Trips() != 1 {
		t.Fatalf("%d round trips, %v", trips.Trips(), err)
	}
	if len(p.Tries) != 30 {
		t.Fatalf("%d were tried, want 30", len(p.Tries))
	}
	in := c.takingIn()
	in.At, in.Watch.Serial, in.NewCustomer = now, "7741", true
	in.Customer = customer.Customer{Name: "Ada Finch", Phone: "01632 960311"}.Tidied("GB")
	f := p.Propose(in.Intake.Wanted, false)
	today := civil(now, c.shop.Location())
	if days := f.Day(promise.Level).Sub(today).Hours() / 24; days < 9 || days > 16 || f.Watches != 29 { // the last of them is not ready yet
		t.Errorf("after watches of ten days each, %v days are proposed, from %d watches", days, f.Watches)
	}
	in.Intake.PromisedOn = f.Day(promise.Level)
	proposed := f.Proposed(in.Intake.PromisedOn)
	in.Proposed = &proposed
	n, _ := c.mustTakeIn(t, in)
	var day time.Time
	var chance, promised int
	scan(t, c, `SELECT day, chance_percent, promised_percent FROM promise_proposed`, []any{&day, &chance, &promised})
	if !day.Equal(proposed.Day) || chance != 80 || promised < 80 {
		t.Errorf("kept is %s, %d %%, %d %% of the promised day", day, chance, promised)
	}
	var said string
	scan(t, c, `SELECT convert_from(facts, 'UTF8')::jsonb ->> 'day proposed' FROM journal j JOIN docket d ON d.id = j.docket_id WHERE d.number = $1 AND j.seq = 1`,
		[]any{&said}, n.String())
	if said != docket.DayWords(day)+": kept 8 times in 10" {
		t.Errorf("the journal says %q", said)
	}

	chanceOf := func(at time.Time) (chance int) {
		t.Helper()
		if _, err := c.RefreshOutlooks(t.Context(), at); err != nil {
			t.Fatal(err)
		}
		scan(t, c, `SELECT p.chance_percent FROM promise_now p JOIN docket d ON d.id = p.docket_id WHERE d.number = $1`, []any{&chance}, n.String())
		return chance
	}
	if got := chanceOf(now.Add(time.Hour)); promise.Slips(got) {
		t.Errorf("an hour after taking in the promise is kept with %d %%", got)
	}
	if changed, err := c.RefreshOutlooks(t.Context(), now.Add(time.Hour)); changed != 0 || err != nil {
		t.Errorf("nothing happened, and %d changed, %v", changed, err)
	}
	if got := chanceOf(in.Intake.PromisedOn.Add(6 * time.Hour)); !promise.Slips(got) {
		t.Errorf("still at the counter on the promised day, it is kept with %d %%", got)
	}
	exec(t, c, `UPDATE docket SET stage = 'ready', moved_at = $2 WHERE number = $1`, n.String(), now.AddDate(0, 0, 5))
	if _, err := c.RefreshOutlooks(t.Context(), now.AddDate(0, 0, 6)); err != nil {
		t.Fatal(err)
	}
	var left int
	scan(t, c, `SELECT count(*) FROM promise_now`, []any{&left})
	if left != 0 {
		t.Errorf("%d watches that are ready have an outlook", left)
	}
}

func TestHolidays(t *testing.T) {
	t.Parallel()
	c := newCounter(t)
	day := civil(c.at, c.shop.Location()).AddDate(0, 0, 10)
	h := shop.Holiday{Name: " Harbour fair ", From: day, To: day.AddDate(0, 0, 2), Yearly: true}
	if err := c.AddHoliday(t.Context(), h, c.clerk, c.at); err != nil {
		t.Fatal(err)
	}
	if bad := problemsOf(t, c.AddHoliday(t.Context(), h, c.clerk, c.at)); bad["from"] == "" {
		t.Errorf("the same holiday twice: %v", bad)
	}
	if bad := problemsOf(t, c.AddHoliday(t.Context(), shop.Holiday{}, c.clerk, c.at)); bad["name"] == "" || bad["from"] == "" {
		t.Errorf("a holiday of nothing: %v", bad)
	}
	list, err := c.Holidays(t.Context())
	if err != nil || len(list) != 1 || list[0].Name != "Harbour fair" || !list[0].From.Equal(h.From) || !list[0].To.Equal(h.To) || !list[0].Yearly {
		t.Fatalf("%+v, %v", list, err)
	}
	if err := c.RemoveHoliday(t.Context(), list[0].ID, c.clerk, c.at); err != nil {
		t.Fatal(err)
	}
	if err := c.RemoveHoliday(t.Context(), list[0].ID, c.clerk, c.at); err == nil {
		t.Error("a holiday is removed twice")
	}
	if list, err := c.Holidays(t.Context()); err != nil || len(list) != 0 {
		t.Errorf("%+v, %v", list, err)
	}
}

func exec(t *testing.T, c *counter, sql string, args ...any) {
	t.Helper()
	if _, err := c.Pool().Exec(t.Context(), sql, args...); err != nil {
		t.Fatal(err)
	}
}

func scan(t *testing.T, c *counter, sql string, into []any, args ...any) {
	t.Helper()
	if err := c.Pool().QueryRow(t.Context(), sql, args...).Scan(into...); err != nil {
		t.Fatal(err)
	}
}
