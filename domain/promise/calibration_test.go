package promise_test

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/promise"
)

// shopsOfAKind is how many shops of each of the ten kinds are made up: two hundred together.
const shopsOfAKind = 20

// count is how many of so many were kept.
type count struct{ kept, of int }

func (c *count) add(kept bool) {
	c.of++
	if kept {
		c.kept++
	}
}

func (c count) percent() float64 { return 100 * float64(c.kept) / float64(max(c.of, 1)) }

// found is what became of the promises of all shops of a kind.
type found struct {
	watches             int
	all, second         count // of all proposals; of those of the second half of the time
	levels              [len(promise.Levels)]count
	outside             int // shops whose own share lies more than five points away
	ours, plain         float64
	asked, askedKept    [5]float64 // chances that were said of watches in work, by fifths, and what became of them
	askedOf             [5]int
	worstShop, bestShop float64
}

// TestCalibrated goes through the past of two hundred made-up shops day by day. Of the days that are proposed as kept 8 times in
// 10, so many must be kept, within five points for each kind of shop, also in the second half of shops that changed half-way.
// The seeds are not those on which the package's constants were chosen.
func TestCalibrated(t *testing.T) {
	t.Parallel()
	var table strings.Builder
	fmt.Fprintf(&table, "Of the days proposed as kept 8 times in 10, so many were kept (%d shops of each kind)\n", shopsOfAKind)
	fmt.Fprintf(&table, "%-33s %7s %9s %7s %12s %14s %14s %9s\n", "kind of shop", "watches", "proposals", "kept", "second half",
		"single shops", "5 points off", "loss")
	var total found
	for k, kind := range kinds() {
		f := tryKind(kind, k)
		fmt.Fprintf(&table, "%-33s %7d %9d %6.1f%% %11.1f%% %6.0f to %3.0f%% %8d of %2d %8.2f\n", kind.kind, f.watches, f.all.of, f.all.percent(),
			f.second.percent(), f.worstShop, f.bestShop, f.outside, shopsOfAKind, f.ours/f.plain)
		if off := math.Abs(f.all.percent() - 80); off > 5 {
			t.Errorf("%s: %.1f%% were kept of those proposed as kept 8 times in 10", kind.kind, f.all.percent())
		}
		if off := math.Abs(f.second.percent() - 80); off > 5 {
			t.Errorf("%s: %.1f%% were kept in the second half", kind.kind, f.second.percent())
		}
		total.join(f)
	}
	fmt.Fprintf(&table, "loss: of the 80 %% quantile, over that of one number of days for every watch, corrected the same way\n\n")
	for k, level := range promise.Levels {
		fmt.Fprintf(&table, "said %2.0f%%: kept %.1f%% of %d\n", 100*level, total.levels[k].percent(), total.levels[k].of)
		if off := math.Abs(total.levels[k].percent() - 100*level); off > 6 {
			t.Errorf("of the days said at %.0f%%, %.1f%% were kept", 100*level, total.levels[k].percent())
		}
	}
	fmt.Fprintln(&table, "\nOf watches in work, every fourth week, the chance of the day proposed at taking in:")
	for k := range total.asked {
		said, was := 100*total.asked[k]/float64(total.askedOf[k]), 100*total.askedKept[k]/float64(total.askedOf[k])
		fmt.Fprintf(&table, "said %2d to %3d%%: on average %.0f%%, kept %.0f%% of %d\n", 20*k, 20*k+20, said, was, total.askedOf[k])
		if math.Abs(said-was) > 12 {
			t.Errorf("of chances said at %.0f%% on average, %.0f%% were kept", said, was)
		}
	}
	t.Log("\n" + table.String())
	if total.ours >= total.plain {
		t.Errorf("looking at queue, kind and stages loses %.0f, one number of days for all %.0f", total.ours, total.plain)
	}
}

func tryKind(kind madeUp, k int) (f found) {
	f.worstShop = 100
	for n := range shopsOfAKind {
		cal, list, end := kind.run(uint64(1000*k + n + 700))
		s := promise.NewShop(cal, promise.UsualStart(), list, end)
		tries, _ := s.Backtest()
		half := date(2023, 1, 2).AddDate(0, 0, kind.days/2)
		var shop count
		for _, try := range tries {
			for l, said := range try.At {
				if said.Decided {
					f.levels[l].add(said.Kept)
				}
			}
			if !try.Decided {
				continue
			}
			shop.add(try.Kept)
			if try.On.After(half) {
				f.second.add(try.Kept)
			}
		}
		f.watches += len(list)
		f.all.kept, f.all.of = f.all.kept+shop.kept, f.all.of+shop.of
		f.worstShop, f.bestShop = min(f.worstShop, shop.percent()), max(f.bestShop, shop.percent())
		if math.Abs(shop.percent()-80) > 5 {
			f.outside++
		}
		f.lose(list, tries)
		if n < 4 {
			f.ask(cal, list, tries, half)
		}
	}
	return f
}

func (f *found) join(g found) {
	f.ours, f.plain = f.ours+g.ours, f.plain+g.plain
	for k := range f.levels {
		f.levels[k].kept, f.levels[k].of = f.levels[k].kept+g.levels[k].kept, f.levels[k].of+g.levels[k].of
	}
	for k := range f.asked {
		f.asked[k], f.askedKept[k], f.askedOf[k] = f.asked[k]+g.asked[k], f.askedKept[k]+g.askedKept[k], f.askedOf[k]+g.askedOf[k]
	}
}

// readyOf is when a watch was ready; zero if it never was.
func readyOf(w promise.Watch) time.Time {
	if last := w.Stays[len(w.Stays)-1]; last.Stage == docket.StageReady {
		return last.Since
	}
	return time.Time{}
}

// lose adds up the pinball loss of the proposals, and of a rule that says one number of days for every watch, which it moves up
// and down by what was kept: what is gained by looking at more.
func (f *found) lose(list []promise.Watch, tries []promise.Try) {
	plain := 33.0
	type due struct {
		at   time.Time
		kept bool
	}
	var open []due
	for i, try := range tries {
		slices.SortFunc(open, func(a, b due) int { return a.at.Compare(b.at) })
		for len(open) > 0 && open[0].at.Before(list[i].Received) {
			if open[0].kept {
				plain *= math.Exp(-0.06 * 0.2)
			} else {
				plain *= math.Exp(0.06 * 0.8)
			}
			open = open[1:]
		}
		ready := readyOf(list[i])
		at := try.On.Add(time.Duration(plain * 24 * float64(time.Hour)))
		open = append(open, due{at, !ready.IsZero() && !ready.After(at)})
		if ready.IsZero() || i < 30 {
			continue
		}
		took := ready.Sub(try.On).Hours() / 24
		f.ours += pinball(took, try.Day.Sub(try.On).Hours()/24+1)
		f.plain += pinball(took, plain+1)
	}
}

// pinball is the loss of a quantile at 0.8 (R. Koenker and G. Bassett, "Regression quantiles", 1978; from memory).
func pinball(took, said float64) float64 {
	if took > said {
		return 0.8 * (took - said)
	}
	return 0.2 * (said - took)
}

// ask asks every fourth week of the second half how likely each watch in work keeps its day.
func (f *found) ask(cal *promise.Calendar, list []promise.Watch, tries []promise.Try, from time.Time) {
	end := list[len(list)-1].Received.AddDate(0, 0, -28)
	for now := from.Add(12 * time.Hour); now.Before(end); now = now.AddDate(0, 0, 28) {
		s := promise.NewShop(cal, promise.UsualStart(), until(list, now), now)
		_, stretch := s.Backtest()
		for i, w := range list {
			if w.Received.After(now) || !tries[i].Decided {
				continue
			}
			o, ok := s.Outlook(w.ID, now, stretch)
			if !ok {
				continue
			}
			chance := o.Chance(tries[i].Day)
			k := min(4, int(5*chance))
			f.asked[k] += chance
			f.askedOf[k]++
			if tries[i].Kept {
				f.askedKept[k]++
			}
		}
	}
}

// until is a record as it stood at a moment.
func until(list []promise.Watch, now time.Time) (known []promise.Watch) {
	for _, w := range list {
		if w.Received.After(now) {
			continue
		}
		var stays []promise.Stay
		for _, stay := range w.Stays {
			if stay.Since.After(now) {
				break
			}
			if stay.Until.After(now) {
				stay.Until = time.Time{}
			}
			stays = append(stays, stay)
		}
		w.Stays = stays
		known = append(known, w)
	}
	return known
}

// TestNothingOfTheFuture: what is proposed in the past is the same whatever came after.
func TestNothingOfTheFuture(t *testing.T) {
	t.Parallel()
	for k, kind := range kinds() {
		cal, list, end := kind.run(uint64(77 + k))
		whole, _ := promise.NewShop(cal, promise.UsualStart(), list, end).Backtest()
		for _, days := range []int{60, 150, 200} {
			now := date(2023, 1, 2).AddDate(0, 0, days).Add(11 * time.Hour)
			then, _ := promise.NewShop(cal, promise.UsualStart(), until(list, now), now).Backtest()
			if len(then) == 0 {
				t.Fatalf("%s: nothing was tried in %d days", kind.kind, days)
			}
			for i := range then {
				if !then[i].Day.Equal(whole[i].Day) {
					t.Fatalf("%s: watch %d was proposed %s, and %s by who knows what came after", kind.kind, i, then[i].Day, whole[i].Day)
				}
			}
		}
	}
}

func BenchmarkPropose(b *testing.B) {
	m := kinds()[2]
	m.days = 230
	cal, list, end := m.run(5)
	list = list[max(0, len(list)-450):]
	for b.Loop() {
		s := promise.NewShop(cal, promise.UsualStart(), list, end)
		s.Propose(promise.Watch{ID: 9999, Kind: "repair"}, end, 1).Day(promise.Level)
	}
}

func BenchmarkBacktest(b *testing.B) {
	m := kinds()[2]
	m.days = 230
	cal, list, end := m.run(5)
	list = list[max(0, len(list)-450):]
	for b.Loop() {
		promise.NewShop(cal, promise.UsualStart(), list, end).Backtest()
	}
}
