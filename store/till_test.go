package store_test

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"ledgerwheel/domain"
	"ledgerwheel/domain/books"
	"ledgerwheel/domain/customer"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/loan"
	"ledgerwheel/domain/till"
	"ledgerwheel/store"
	"ledgerwheel/store/storetest"
)

// tills takes n watches in, for each of which money can be paid.
func (c *counter) tills(t *testing.T, n int) []docket.Number {
	t.Helper()
	var list []docket.Number
	for i := range n {
		in := c.takingIn()
		in.Customer = customer.Customer{Name: fmt.Sprintf("Customer %d", i), PreferredContact: customer.ContactPost, Address: fmt.Sprintf("%d Quay", i)}.Tidied("GB")
		in.Watch.Serial = fmt.Sprintf("T %d41", i*17)
		number, _ := c.mustTakeIn(t, in)
		list = append(list, number)
	}
	return list
}

func (c *counter) pay(ctx context.Context, n docket.Number, minor int64, how docket.Method, at time.Time) error {
	return c.TakePayment(ctx, store.Change{Number: n, By: c.clerk, At: at}, docket.Payment{Minor: minor, Method: how, Note: "x", Beyond: true})
}

func (c *counter) till(t *testing.T, today time.Time) store.Till {
	t.Helper()
	v, err := c.Till(t.Context(), "EUR", today, time.Time{})
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// counts closes the day at hand with so much more than the till should hold.
func (c *counter) counts(ctx context.Context, v store.Till, off int64, at time.Time) error {
	cl := store.TillClosing{Currency: "EUR", On: v.Day.On, SeenMinor: v.Day.HoldsMinor()}
	cl.CountedMinor = v.Day.HoldsMinor() + off
	if off != 0 {
		cl.Why = "nobody knows"
	}
	return c.CloseTill(ctx, cl, c.clerk, at)
}

func civil(at time.Time, zone *time.Location) time.Time {
	y, m, d := at.In(zone).Date()
	return time.Date(y, m, d, 0, 0, 0, 0, time.UTC)
}

// holdsUp works every closed day out again from the rows of payments and moves alone, one by one, and fails where a day
// says anything else, where a payment fell to no day or to a wrong one, or where a minor unit was made or lost. taken is what
// the takers say that they took.
func (c *counter) holdsUp(t *testing.T, taken int64) {
	t.Helper()
	type row struct {
		day   time.Time
		way   string
		minor int64
	}
	var rows []row
	read := func(sql string) {
		t.Helper()
		found, err := c.Pool().Query(t.Context(), sql)
		if err != nil {
			t.Fatal(err)
		}
		defer found.Close()
		for found.Next() {
			var r row
			if err := found.Scan(&r.day, &r.way, &r.minor); err != nil {
				t.Fatal(err)
			}
			rows = append(rows, r)
		}
	}
	read(`SELECT day, method, minor FROM payment`)
	all := int64(0)
	for _, r := range rows {
		all += r.minor
	}
	if all != taken {
		t.Fatalf("%d was taken, and the payments come to %d", taken, all)
	}
	read(`SELECT day, 'move', minor FROM till_move`)
	found, err := c.Pool().Query(t.Context(), `SELECT day FROM till_close ORDER BY day`)
	if err != nil {
		t.Fatal(err)
	}
	var closed []time.Time
	for found.Next() {
		var on time.Time
		if err := found.Scan(&on); err != nil {
			t.Fatal(err)
		}
		closed = append(closed, on)
	}
	end := int64(0)
	for i, on := range closed {
		day, err := c.ClosedDay(t.Context(), "EUR", on)
		if err != nil {
			t.Fatal(err)
		}
		if day.Day.OpenedMinor != end {
			t.Fatalf("%s began with %d, and the day before ended with %d", on.Format(time.DateOnly), day.Day.OpenedMinor, end)
		}
		cash, ways := end, map[till.Way]int64{}
		for _, r := range rows {
			if i > 0 && r.day.After(closed[i-1]) && r.day.Before(on) && (r.way == "cash" || r.way == "move") {
				t.Fatalf("cash fell to %s, which nobody counted", r.day.Format(time.DateOnly))
			}
			if !r.day.Equal(on) {
				continue
			}
			if r.way != "move" {
				ways[till.Way(r.way)] += r.minor
			}
			if r.way == "cash" || r.way == "move" {
				cash += r.minor
			}
		}
		if got := day.Day.BookMinor(); got != cash {
			t.Fatalf("%s: the book has %d, by hand %d", on.Format(time.DateOnly), got, cash)
		}
		end = day.Closing.CountedMinor - day.Day.SinceMinor
		if cash-end != -day.DiffMinor {
			t.Fatalf("%s: %d less %d is not %d turned", on.Format(time.DateOnly), cash, end, day.DiffMinor)
		}
		for _, w := range day.Day.Takings {
			if ways[w.Way] != w.Minor {
				t.Fatalf("%s: %s came to %d, by hand %d", on.Format(time.DateOnly), w.Way, w.Minor, ways[w.Way])
			}
			delete(ways, w.Way)
		}
		for way, minor := range ways {
			t.Fatalf("%s: the day says nothing of %d by %s", on.Format(time.DateOnly), minor, way)
		}
	}
}

// lendable keeps watches that can be lent, and returns their ids.
func (c *counter) lendable(t *testing.T, n int) (ids []int64) {
	t.Helper()
	for i := range n {
		w := loan.Watch{Maker: "Pellwarne", Serial: fmt.Sprintf("L %d", i), ValueMinor: 12000, Currency: "EUR", State: "no marks"}
		if err := c.KeepLoanWatch(t.Context(), w, c.clerk, c.at); err != nil {
			t.Fatal(err)
		}
	}
	list, err := c.LoanWatches(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	for _, w := range list {
		ids = append(ids, w.ID)
	}
	return ids
}

// depositsHoldUp adds up, loan by loan, what was taken in cash for watches that are still out: that much of the deposits that passed
// for loans lies in the till, and what was kept is the shop's own.
func (c *counter) depositsHoldUp(t *testing.T, kept int64) {
	t.Helper()
	list, err := c.LoanWatches(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	out := int64(0)
	for _, w := range list {
		if w.Out != nil {
			out += w.Out.Out.TillMinor()
			if w.Out.InTillMinor != w.Out.Out.TillMinor() {
				t.Errorf("%d of the %d that were taken for %s lies in the till", w.Out.InTillMinor, w.Out.Out.TillMinor(), w.Serial)
			}
		}
	}
	var held, own int64
	if err := c.Pool().QueryRow(t.Context(), `SELECT coalesce(sum(minor) FILTER (WHERE kind = 'deposits'), 0), coalesce(sum(minor) FILTER (WHERE kind = 'kept'), 0)
		FROM till_move WHERE loan_id IS NOT NULL`).Scan(&held, &own); err != nil || held != out || own != kept {
		t.Errorf("%d is held for what is lent, by hand %d; %d was kept, by hand %d: %v", held, out, own, kept, err)
	}
	b, err := c.Books(t.Context(), "EUR", c.at.AddDate(-1, 0, 0), c.at.AddDate(5, 0, 0))
	if err != nil {
		t.Fatal(err)
	}
	byHand, all := map[till.MoveKind]int64{}, map[books.Account]int64{}
	for _, m := range b.Moves {
		byHand[m.Kind] += m.Minor
	}
	for _, s := range books.Sums(books.Lines(b.Facts)) {
		all[s.Account] = s.CreditMinor - s.DebitMinor
	}
	if all[books.LoanDeposits] != byHand[till.Deposits] || all[books.Kept] != kept {
		t.Errorf("the books have deposits of %d, by hand %d, and %d kept, by hand %d", all[books.LoanDeposits], byHand[till.Deposits], all[books.Kept], kept)
	}
}

// Twenty take money and move cash while others count and close the same day, round after round: each payment falls to the day
// while it was open or to the next, and each closed day says what fell to it.
func TestADayIsClosedUnderManyHands(t *testing.T) {
	t.Parallel()
	const takers, rounds = 20, 12
	c := newCounter(t)
	numbers := c.tills(t, takers)
	var taken, closings atomic.Int64
	for round := range rounds {
		at := c.at.AddDate(0, 0, round).Add(time.Hour)
		today := civil(at, c.shop.Location())
		var wait sync.WaitGroup
		for i, n := range numbers {
			wait.Go(func() {
				r := rand.New(rand.NewPCG(uint64(round), uint64(i)))
				for k := range 3 {
					minor := int64(1 + r.IntN(20_000))
					how := []docket.Method{docket.Cash, docket.Cash, docket.Card, docket.Transfer}[r.IntN(4)]
					time.Sleep(time.Duration(r.IntN(120)) * time.Millisecond) // so that some come after the closing
					if err := c.pay(t.Context(), n, minor, how, at.Add(time.Duration(k)*time.Minute)); err != nil {
						t.Error(err)
						return
					}
					taken.Add(minor)
					if i%7 == 0 {
						if _, err := c.MoveTill(t.Context(), "EUR", till.Move{Kind: till.Float, Minor: 1 + minor%50}, c.clerk, at); err != nil {
							t.Error(err)
						}
					}
				}
			})
		}
		for range 2 {
			wait.Go(func() {
				for range 200 {
					v, err := c.Till(t.Context(), "EUR", today, time.Time{})
					if err == nil {
						err = c.counts(t.Context(), v, int64(round%3-1)*5, at)
					}
					switch {
					case err == nil:
						closings.Add(1)
						return
					case errors.Is(err, till.ErrClosed), errors.Is(err, till.ErrEarly):
						return
					case !errors.Is(err, domain.ErrChanged) && problemText(err) == "":
						t.Error(err)
						return
					}
				}
			})
		}
		wait.Wait()
	}
	c.holdsUp(t, taken.Load())
	var late int
	if err := c.Pool().QueryRow(t.Context(), `SELECT count(*) FROM payment WHERE day > (at AT TIME ZONE 'Europe/Zurich')::date`).Scan(&late); err != nil {
		t.Fatal(err)
	}
	t.Logf("%d payments, %d days closed, %d payments after closing fell to the next day", takers*rounds*3, closings.Load(), late)
	if closings.Load() < rounds/2 {
		t.Errorf("only %d days were closed in %d rounds", closings.Load(), rounds)
	}
	storetest.Whole(t, c.Store)
}

func problemText(err error) string {
	var invalid *domain.InvalidError
	if errors.As(err, &invalid) {
		return fmt.Sprint(invalid.Problems)
	}
	return ""
}

// A thousand acts in any order, some of them wrong, over weeks in which days are counted late, early or never: what the
// till says is what somebody with pencil and paper would have.
func TestRandomHistoriesOfTheTill(t *testing.T) {
	t.Parallel()
	c := newCounter(t)
	numbers := c.tills(t, 4)
	r := rand.New(rand.NewPCG(7, 20261201))
	at, taken, paid := c.at, int64(0), map[docket.Number]int64{}
	var moves []int64 // ids that may be taken back
	refused, lent, kept := 0, 0, int64(0)
	watches := c.lendable(t, 3)
	for range 1000 {
		today := civil(at, c.shop.Location())
		switch r.IntN(12) {
		case 9, 10:
			n, id := numbers[r.IntN(len(numbers))], watches[r.IntN(len(watches))]
			sheet, err := c.LoanSheet(t.Context(), n)
			if err != nil {
				t.Fatal(err)
			}
			change := store.Change{Number: n, By: c.clerk, At: at}
			if l := sheet.Current(); l != nil {
				back := loan.Back{State: "no marks", DepositBack: "for the crystal"}
				if l.InTillMinor > 0 {
					some := r.Int64N(l.InTillMinor + 1)
					if r.IntN(2) == 0 {
						some = l.InTillMinor
					}
					back.ReturnedMinor = &some
				}
				err = c.TakeLoanBack(t.Context(), change, back)
				if err == nil && back.ReturnedMinor != nil {
					kept += l.InTillMinor - *back.ReturnedMinor
				}
			} else {
				deposit := int64(1 + r.IntN(9000))
				err = c.HandOutLoan(t.Context(), change, loan.Out{WatchID: id, State: "no marks", DepositMinor: &deposit,
					DepositHow: loan.Ways[r.IntN(2)]}, today)
			}
			if problemText(err) != "" {
				refused++
			} else if err != nil {
				t.Fatal(err)
			} else {
				lent++
			}
		case 0, 1, 2, 3:
			n, minor := numbers[r.IntN(len(numbers))], int64(1+r.IntN(30_000))
			if r.IntN(4) == 0 && paid[n] > 0 {
				minor = -1 - r.Int64N(paid[n])
			}
			how := []docket.Method{docket.Cash, docket.Card, docket.Transfer, docket.OtherWay}[r.IntN(4)]
			if err := c.pay(t.Context(), n, minor, how, at); err != nil {
				t.Fatal(err)
			}
			taken, paid[n] = taken+minor, paid[n]+minor
		case 4, 5:
			act := till.Acts[r.IntN(len(till.Acts))]
			if _, err := c.MoveTill(t.Context(), "EUR", act.Move(int64(1+r.IntN(20_000)), "paper 4"), c.clerk, at); problemText(err) != "" {
				refused++
			} else if err != nil {
				t.Fatal(err)
			}
			for _, m := range c.till(t, today).Moves {
				if !m.Taken && !m.Lent && m.TakesBack == 0 {
					moves = append(moves, m.ID)
				}
			}
		case 6:
			if len(moves) == 0 {
				break
			}
			id := moves[r.IntN(len(moves))]
			if _, err := c.MoveTill(t.Context(), "EUR", till.Move{TakesBack: id}, c.clerk, at); problemText(err) != "" || errors.Is(err, domain.ErrChanged) {
				refused++
			} else if err != nil {
				t.Fatal(err)
			}
		case 7, 8:
			v := c.till(t, today)
			if v.Day.HoldsMinor() < 100 {
				break
			}
			err := c.counts(t.Context(), v, []int64{0, 0, 0, 250, -100}[r.IntN(5)], at)
			if errors.Is(err, till.ErrEarly) {
				refused++
			} else if err != nil {
				t.Fatal(err)
			}
		default:
			at = at.Add(time.Duration(r.IntN(40)) * time.Hour)
		}
	}
	c.holdsUp(t, taken)
	c.depositsHoldUp(t, kept)
	if lent < 40 {
		t.Errorf("only %d loans out and back", lent)
	}
	var closed int
	if err := c.Pool().QueryRow(t.Context(), `SELECT count(*) FROM till_close`).Scan(&closed); err != nil || closed < 20 || refused < 20 {
		t.Errorf("%d days closed, %d acts refused: %v", closed, refused, err)
	}
	storetest.Whole(t, c.Store)
}

// A till that was not counted in the evening is counted later: what came since is no part of the day.
func TestADayIsCountedLate(t *testing.T) {
	t.Parallel()
	c := newCounter(t)
	n := c.tills(t, 1)[0]
	today := civil(c.at, c.shop.Location())
	must := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	must(c.pay(t.Context(), n, 5000, docket.Cash, c.at))
	tomorrow := c.at.AddDate(0, 0, 1)
	must(c.pay(t.Context(), n, 700, docket.Cash, tomorrow))
	v := c.till(t, today.AddDate(0, 0, 1))
	if !v.Day.On.Equal(today) || v.Day.BookMinor() != 5000 || v.Day.SinceMinor != 700 || !v.Day.Late(today.AddDate(0, 0, 1)) {
		t.Fatalf("at hand is %+v", v.Day)
	}
	closing := store.TillClosing{Currency: "EUR", On: today.AddDate(0, 0, 1), SeenMinor: 5700, Closing: till.Closing{CountedMinor: 5700}}
	if err := c.CloseTill(t.Context(), closing, c.clerk, tomorrow); !errors.Is(err, till.ErrEarly) {
		t.Errorf("today is closed before yesterday: %v", err)
	}
	closing.On, closing.SeenMinor = today, 5000
	if err := c.CloseTill(t.Context(), closing, c.clerk, tomorrow); !errors.Is(err, domain.ErrChanged) {
		t.Errorf("closed by what was seen before more came in: %v", err)
	}
	closing.SeenMinor, closing.CountedMinor = 5700, 5690
	if err := c.CloseTill(t.Context(), closing, c.clerk, tomorrow); problemsOf(t, err)["why"] == "" {
		t.Errorf("a difference without a reason: %v", err)
	}
	closing.Why = "a coin was wrong"
	must(c.CloseTill(t.Context(), closing, c.clerk, tomorrow))
	if err := c.CloseTill(t.Context(), closing, c.clerk, tomorrow); !errors.Is(err, till.ErrClosed) {
		t.Errorf("closed twice: %v", err)
	}
	v = c.till(t, today.AddDate(0, 0, 1))
	if v.Day.OpenedMinor != 4990 || v.Day.BookMinor() != 5690 || len(v.Closed) != 1 || v.Closed[0].DiffMinor != -10 {
		t.Errorf("the next day is %+v after %+v", v.Day, v.Closed)
	}
	// In Zurich it is the next day already.
	must(c.pay(t.Context(), n, 1, docket.Card, time.Date(2026, 11, 29, 23, 30, 0, 0, time.UTC)))
	if day, err := c.ClosedDay(t.Context(), "EUR", today); err != nil || len(day.PaymentRows) != 1 || day.Closing.Why != closing.Why {
		t.Errorf("the closed day is %+v: %v", day, err)
	}
	var on time.Time
	must(c.Pool().QueryRow(t.Context(), `SELECT day FROM payment WHERE minor = 1`).Scan(&on))
	if on.Day() != 30 {
		t.Errorf("half past midnight in the shop falls to %s", on)
	}
	c.holdsUp(t, 5701)
	// Nor can another program write into it.
	for _, sql := range []string{`UPDATE payment SET day = '2026-11-24' WHERE minor = 700`, `UPDATE payment SET minor = 4000 WHERE minor = 5000`,
		`INSERT INTO till_move (day, currency, kind, minor, by_id, at) SELECT '2026-11-24', 'EUR', 'banked', -1, min(id), now() FROM staff`,
		`UPDATE till_close SET why = 'better'`, `DELETE FROM till_close`} {
		if _, err := c.Pool().Exec(t.Context(), sql); err == nil || !strings.Contains(err.Error(), "closed") && !strings.Contains(err.Error(), "stays") {
			t.Errorf("%s: %v", sql, err)
		}
	}
	oneRoundTrip(t, func(ctx context.Context) error { return second(c.Till(ctx, "EUR", today, time.Time{})) })
	oneRoundTrip(t, func(ctx context.Context) error { return second(c.ClosedDay(ctx, "EUR", today)) })
}
