package morning_test

import (
	"math/rand/v2"
	"testing"
	"time"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/morning"
)

var today = time.Date(2026, 11, 24, 0, 0, 0, 0, time.UTC)

// randomShop is a shop of open dockets: promised or not, at every stage, on benches or none.
func randomShop(rng *rand.Rand, n int) []morning.Open {
	stages := docket.Stages()
	names := []string{"", "Emrys Vale", "Ottilie Brandt", "Nuala Reed"}
	covers := []docket.Cover{docket.NoComeback, docket.NoComeback, docket.NoComeback, docket.CoverOpen, docket.Covered, docket.NotCovered}
	var open []morning.Open
	for i := range n {
		o := morning.Open{Docket: docket.Docket{ID: int64(i + 1), Stage: stages[rng.IntN(len(stages))]}, Watch: "Gannet",
			MovedAt: today.Add(-time.Duration(rng.IntN(60*24)) * time.Hour), BenchID: int64(rng.IntN(len(names)))}
		if o.Stage == docket.StageHandedOver {
			continue
		}
		o.Bench = names[o.BenchID]
		if rng.IntN(5) > 0 {
			o.PromisedOn = today.AddDate(0, 0, rng.IntN(60)-30)
		}
		o.Facts.Cover = covers[rng.IntN(len(covers))]
		open = append(open, o)
	}
	return open
}

// TestFiguresAreAsCountedSlowly works each figure out again, docket by docket and by its own words: late is promised for a day
// before today and neither ready nor going back; this week is today and the six days after it.
func TestFiguresAreAsCountedSlowly(t *testing.T) {
	t.Parallel()
	now := today.Add(9 * time.Hour)
	for seed := range uint64(200) {
		open := randomShop(rand.New(rand.NewPCG(seed, 7)), int(seed))
		f := morning.Of(open, now, today)
		late, most, week, comebacks, undecided, longest := 0, 0, 0, 0, 0, 0
		benches := map[int64]int{}
		for _, o := range open {
			done := o.Stage == docket.StageReady || o.Stage == docket.StageDeclined || o.Stage == docket.StageWithdrawn
			if !o.PromisedOn.IsZero() {
				day := 0
				for d := o.PromisedOn; d.Before(today); d = d.AddDate(0, 0, 1) {
					day++
				}
				if day > 0 && !done {
					late++
					most = max(most, day)
				}
				for i := range 7 {
					if o.PromisedOn.Equal(today.AddDate(0, 0, i)) && !done {
						week++
					}
				}
			}
			waited := 0
			for at := o.MovedAt.Add(24 * time.Hour); !at.After(now); at = at.Add(24 * time.Hour) {
				waited++
			}
			longest = max(longest, waited)
			if o.Facts.Cover != "" {
				comebacks++
			}
			if o.Facts.Cover == "open" && o.Stage != docket.StageIntake && o.Stage != docket.StageDeclined && o.Stage != docket.StageWithdrawn {
				undecided++
			}
			benches[o.BenchID]++
		}
		if len(f.Late) != late || f.ThisWeek != week || f.Comebacks != comebacks || f.Undecided != undecided || len(f.Waiting) != len(open) || len(f.Benches) != len(benches) {
			t.Fatalf("seed %d: %d late, %d this week, %d comebacks, %d undecided; counted %d, %d, %d, %d", seed, len(f.Late), f.ThisWeek, f.Comebacks, f.Undecided,
				late, week, comebacks, undecided)
		}
		if late > 0 && f.Late[0].Days != most || len(open) > 0 && f.Waiting[0].Days != longest {
			t.Fatalf("seed %d: the latest by %d days, counted %d; the longest waits %d, counted %d", seed, f.Late[0].Days, most, f.Waiting[0].Days, longest)
		}
		for i, b := range f.Benches {
			if b.N != benches[b.ID] || b.ID == 0 && i != len(f.Benches)-1 {
				t.Fatalf("seed %d: bench %+v at %d, counted %d", seed, b, i, benches[b.ID])
			}
		}
		for i := range f.Late[min(1, len(f.Late)):] {
			if f.Late[i].Days < f.Late[i+1].Days {
				t.Fatalf("seed %d: late ones are out of order", seed)
			}
		}
	}
}

func TestEveryOpenDocketWaitsForSomething(t *testing.T) {
	t.Parallel()
	for _, w := range morning.Of(randomShop(rand.New(rand.NewPCG(1, 2)), 300), today, today).Waiting {
		if w.For == "" || w.For == "nothing" || w.For == "nothing known" {
			t.Errorf("at %s it waits for %q", w.Stage, w.For)
		}
	}
}
