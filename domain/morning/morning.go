// Package morning says what the owner of a shop sees first: what is late and by how much, what is promised, what waits longest
// and for what, and how much lies on each bench.
package morning

import (
	"cmp"
	"slices"
	"time"

	"ledgerwheel/domain/docket"
)

// Open is a docket whose watch the shop keeps.
type Open struct {
	docket.Docket
	Facts   docket.Facts
	Watch   string
	MovedAt time.Time // when it came to its stage
	BenchID int64     // who has it in hand, 0 for nobody
	Bench   string
}

// Late is a docket that is overdue by whole days.
type Late struct {
	Open
	Days int
}

// Waiting is a docket with how many whole days it has stood at its stage, and what it waits for.
type Waiting struct {
	Open
	Days int
	For  string
}

// Bench is how many watches someone has in hand; of ID 0 are those that nobody has.
type Bench struct {
	ID   int64
	Name string
	N    int
}

// Figures are the morning's of the open dockets.
type Figures struct {
	Late      []Late    // the latest first
	ThisWeek  int       // promised for one of the seven days that begin today
	Waiting   []Waiting // all, the longest first
	Benches   []Bench   // most in hand first, nobody's last
	Comebacks int
	Undecided int // comebacks that were looked at, whose cover is still to be decided
}

// Of works out the figures of the dockets at the time now, which is in the civil day today of the shop.
func Of(open []Open, now, today time.Time) Figures {
	var f Figures
	benches := map[int64]*Bench{}
	for _, o := range open {
		if o.Overdue(today) {
			f.Late = append(f.Late, Late{o, int(today.Sub(o.PromisedOn).Hours() / 24)})
		}
		if o.PromisedSoon(today) {
			f.ThisWeek++
		}
		f.Waiting = append(f.Waiting, Waiting{o, max(0, int(now.Sub(o.MovedAt).Hours()/24)), docket.WaitsFor(o.Stage, o.Facts)})
		if o.Facts.Cover != docket.NoComeback {
			f.Comebacks++
			if o.Facts.Cover == docket.CoverOpen && o.Stage != docket.StageIntake && !o.Stage.Exit() {
				f.Undecided++
			}
		}
		b := benches[o.BenchID]
		if b == nil {
			b = &Bench{ID: o.BenchID, Name: o.Bench}
			benches[o.BenchID] = b
		}
		b.N++
	}
	slices.SortStableFunc(f.Late, func(a, b Late) int { return cmp.Or(cmp.Compare(b.Days, a.Days), cmp.Compare(a.ID, b.ID)) })
	slices.SortStableFunc(f.Waiting, func(a, b Waiting) int { return cmp.Or(a.MovedAt.Compare(b.MovedAt), cmp.Compare(a.ID, b.ID)) })
	for _, b := range benches {
		f.Benches = append(f.Benches, *b)
	}
	slices.SortFunc(f.Benches, func(a, b Bench) int {
		if (a.ID == 0) != (b.ID == 0) {
			return cmp.Compare(b.ID, a.ID)
		}
		return cmp.Or(cmp.Compare(b.N, a.N), cmp.Compare(a.Name, b.Name), cmp.Compare(a.ID, b.ID))
	})
	return f
}
