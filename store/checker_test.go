package store_test

import (
	"errors"
	"log/slog"
	"strings"
	"testing"
	"time"

	"ledgerwheel/domain/record"
	"ledgerwheel/store"
	"ledgerwheel/store/storetest"
)

// checkerOf makes a checker over a shop, whose clock the test sets.
func checkerOf(t *testing.T, s *store.Store, clock *time.Time, gather func() (store.RecordCheck, error)) *store.Checker {
	t.Helper()
	c := store.NewChecker(s, gather, func() time.Time { return *clock }, slog.New(slog.DiscardHandler))
	t.Cleanup(func() { c.Close() })
	return c
}

func ended(t *testing.T, c *store.Checker) {
	t.Helper()
	for until := time.Now().Add(30 * time.Second); time.Now().Before(until); time.Sleep(5 * time.Millisecond) {
		if _, _, running := c.Progress(); !running {
			return
		}
	}
	t.Fatal("the check does not end")
}

// TestChecker: a check is made once at a time, what it finds is kept with who asked, and one that can't be made says why
// and does not hide the one before.
func TestChecker(t *testing.T) {
	t.Parallel()
	k := newCounter(t)
	clock := time.Date(2026, 11, 30, 20, 0, 0, 0, time.UTC)
	held, why := make(chan struct{}), error(nil)
	c := checkerOf(t, k.Store, &clock, func() (store.RecordCheck, error) { <-held; return store.RecordCheck{}, why })
	if !c.Begin(k.clerk.StaffID) {
		t.Fatal("no check is begun")
	}
	if c.Begin(0) {
		t.Error("a second is begun beside it")
	}
	if _, _, running := c.Progress(); !running {
		t.Error("it is not said to be under way")
	}
	close(held)
	ended(t, c)
	st, err := k.Store.RecordStanding(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	if l := st.Last; l.Findings != 0 || l.ByID != k.clerk.StaffID || l.ByName == "" || !l.EndedAt.Equal(clock) || len(l.Words) == 0 ||
		!strings.HasPrefix(l.Words[0], "Nothing differs in what was looked at") {
		t.Errorf("kept: %+v", l)
	}

	if _, err := k.Store.Pool().Exec(t.Context(), `UPDATE staff SET name = 'Somebody Else' WHERE id = $1`, k.clerk.StaffID); err != nil {
		t.Fatal(err)
	}
	clock = clock.Add(time.Hour)
	c.Begin(0)
	ended(t, c)
	if st, err = k.Store.RecordStanding(t.Context()); err != nil {
		t.Fatal(err)
	}
	if l := st.Last; l.Findings != 1 || len(l.Said) != 1 || !strings.Contains(l.Said[0], "A person of the shop") || l.ByID != 0 {
		t.Errorf("after somebody changed a name: %+v", l)
	}

	clock, why = clock.Add(time.Hour), errors.New("the folder of seals\ncan't be read")
	c.Begin(0)
	ended(t, c)
	if st, err = k.Store.RecordStanding(t.Context()); err != nil {
		t.Fatal(err)
	}
	if st.Newest.Failed != "The folder of seals can't be read." || st.Last.Findings != 1 || len(st.Earlier) != 3 {
		t.Errorf("newest %+v, last %+v, %d in all", st.Newest, st.Last, len(st.Earlier))
	}
	clock = clock.AddDate(0, 0, 401)
	why = nil
	c.Begin(0)
	ended(t, c)
	if st, err = k.Store.RecordStanding(t.Context()); err != nil || len(st.Earlier) != 1 {
		t.Errorf("after 401 days %d are kept, %v", len(st.Earlier), err)
	}
	if err := c.Close(); err != nil || c.Begin(0) {
		t.Errorf("one that was closed begins another, %v", err)
	}
}

// TestManyFindings: fifty are kept as sentences, and all are counted.
func TestManyFindings(t *testing.T) {
	t.Parallel()
	k := newCounter(t)
	if _, err := k.Store.Pool().Exec(t.Context(), `INSERT INTO watch_list (serial, serial_key, added_by)
		SELECT n, n, $1 FROM generate_series(1, 60) n`, k.clerk.StaffID); err != nil {
		t.Fatal(err)
	}
	clock := time.Date(2026, 11, 30, 20, 0, 0, 0, time.UTC)
	c := checkerOf(t, k.Store, &clock, func() (store.RecordCheck, error) { return store.RecordCheck{}, nil })
	c.Begin(0)
	ended(t, c)
	st, err := k.Store.RecordStanding(t.Context())
	if err != nil || st.Last.Findings != 60 || len(st.Last.Said) != record.FindingsShown {
		t.Errorf("%d findings, %d said, %v", st.Last.Findings, len(st.Last.Said), err)
	}
}

// TestCheckIsDue by the shop's clock: at 03:30 in Zurich, and once for a night that was missed.
func TestCheckIsDue(t *testing.T) {
	t.Parallel()
	empty := storetest.New(t)
	clock := time.Date(2026, 11, 30, 20, 0, 0, 0, time.UTC)
	none := func() (store.RecordCheck, error) { return store.RecordCheck{}, nil }
	if due, err := checkerOf(t, empty, &clock, none).IsDue(t.Context(), 210); due || err != nil {
		t.Errorf("a shop that was not founded is checked: %v", err)
	}
	k := newCounter(t)
	c := checkerOf(t, k.Store, &clock, none)
	is := func(want bool, at time.Time) {
		t.Helper()
		clock = at
		if due, err := c.IsDue(t.Context(), 210); err != nil || due != want {
			t.Errorf("at %s a check is due: %t, %v", at.Format(time.RFC3339), due, err)
		}
	}
	is(true, clock)
	c.Begin(0)
	ended(t, c)
	is(false, clock.Add(time.Minute))
	sh, err := k.Store.Shop(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	night := time.Date(2026, 12, 1, 3, 30, 0, 0, sh.Location())
	is(false, night.Add(-time.Second))
	is(true, night)
	is(true, night.Add(60*time.Hour)) // the machine was off
	c.Begin(0)
	ended(t, c)
	is(false, clock.Add(time.Minute))
}
