package purchase_test

import (
	"errors"
	"testing"
	"time"

	"pgregory.net/rapid"

	"ledgerwheel/domain/purchase"
	"ledgerwheel/domain/stock"
)

func day(d int) time.Time { return time.Date(2027, 3, d, 0, 0, 0, 0, time.UTC) }

// Every piece ordered came, was called off or is still to come; what came beyond is surplus and nothing else.
func TestEveryPieceIsAccountedFor(t *testing.T) {
	t.Parallel()
	taken, refused := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		o := purchase.Order{Currency: "EUR"}
		for i := range rapid.IntRange(1, 3).Draw(t, "lines") {
			o.Lines = append(o.Lines, purchase.Line{ID: int64(i + 1), Description: "crown", Pieces: rapid.IntRange(1, 5).Draw(t, "pieces")})
		}
		came, off, wrong := map[int64]int{}, map[int64]int{}, map[int64]int{}
		sent := false
		for range rapid.IntRange(1, 25).Draw(t, "events") {
			e := purchase.Event{Kind: rapid.SampledFrom(purchase.EventKinds).Draw(t, "kind"), LineID: rapid.Int64Range(0, 4).Draw(t, "line"),
				Pieces: rapid.IntRange(0, 6).Draw(t, "pieces"), Note: rapid.SampledFrom([]string{"", "a stem"}).Draw(t, "note"), Fate: rapid.SampledFrom([]purchase.Fate{"", purchase.KeptAside, purchase.IntoStock}).Draw(t, "fate")}
			if e.Kind == purchase.Dropped && rapid.IntRange(0, 9).Draw(t, "dropped") > 0 {
				continue
			}
			next, err := o.After(e)
			if err != nil {
				refused++
				continue
			}
			taken++
			if !sent && e.Kind != purchase.Sent && e.Kind != purchase.Dropped {
				t.Fatalf("%s before it was sent", e.Kind)
			}
			sent = sent || e.Kind == purchase.Sent
			switch e.Kind {
			case purchase.Came:
				came[e.LineID] += e.Pieces
			case purchase.Miscounted:
				if came[e.LineID] -= e.Pieces; came[e.LineID] < 0 {
					t.Fatalf("%d came of line %d", came[e.LineID], e.LineID)
				}
			case purchase.CameWrong:
				wrong[e.LineID] += e.Pieces
			case purchase.Cancelled:
				off[e.LineID] += e.Pieces
			case purchase.Dropped:
				for _, l := range o.Lines {
					off[l.ID] = l.Pieces
				}
			}
			o = next
			for _, l := range o.Lines {
				s := o.Standing(l.ID)
				if s.Came != came[l.ID] || s.Cancelled != off[l.ID] || s.Wrong != wrong[l.ID] ||
					l.Pieces+s.Surplus != s.Came+s.Cancelled+s.ToCome || s.Surplus > 0 && s.ToCome > 0 {
					t.Fatalf("of %d: %+v", l.Pieces, s)
				}
			}
		}
	})
	t.Logf("%d events taken, %d refused", taken, refused)
}

// A delivery with a wrong part, a back order and a surplus is written down as what it was.
func TestADeliveryIsWhatItIs(t *testing.T) {
	t.Parallel()
	o := purchase.Order{Currency: "EUR", Lines: []purchase.Line{{ID: 1, Description: "mainspring", Pieces: 2}, {ID: 2, Description: "crown", Pieces: 1}}}
	if _, err := o.After(purchase.Event{Kind: purchase.Came, LineID: 1, Pieces: 1}); !errors.Is(err, purchase.ErrNotSent) {
		t.Errorf("before it was sent: %v", err)
	}
	for _, e := range []purchase.Event{{Kind: purchase.Sent}, {Kind: purchase.Confirmed, DueOn: day(10)}, {Kind: purchase.Came, LineID: 1, Pieces: 3},
		{Kind: purchase.CameWrong, LineID: 2, Pieces: 1, Note: "a crown of 5.0 mm", Fate: purchase.SentBack}} {
		next, err := o.After(e)
		if err != nil {
			t.Fatalf("%s: %v", e.Kind, err)
		}
		o = next
	}
	if s := o.Standing(1); s.Surplus != 1 || s.ToCome != 0 {
		t.Errorf("mainspring: %+v", s)
	}
	s := o.Standing(2)
	if s.ToCome != 1 || s.Wrong != 1 || s.Late(day(10)) || !s.Late(day(11)) || o.Stage() != purchase.InPart {
		t.Errorf("crown: %+v, %s", s, o.Stage())
	}
	o, err := o.After(purchase.Event{Kind: purchase.BackOrdered, LineID: 2, DueOn: day(20)})
	if s := o.Standing(2); err != nil || !s.BackOrder || s.Late(day(20)) || !s.Late(day(21)) {
		t.Errorf("on back order: %+v, %v", s, err)
	}
	if _, err := o.After(purchase.Event{Kind: purchase.Cancelled, LineID: 2, Pieces: 2}); !errors.Is(err, purchase.ErrNothing) {
		t.Errorf("more called off than is to come: %v", err)
	}
	if _, err := o.After(purchase.Event{Kind: purchase.CameWrong, LineID: 2, Pieces: 1}); !errors.Is(err, purchase.ErrNote) {
		t.Errorf("wrong, without a word: %v", err)
	}
	o, err = o.After(purchase.Event{Kind: purchase.Cancelled, LineID: 2, Pieces: 1})
	if err != nil || o.Stage() != purchase.Complete {
		t.Errorf("%s, %v", o.Stage(), err)
	}
}

// A day that is confirmed for one line leaves the others where they were; where nobody named one, the supplier's usual time
// says when a line is late.
func TestDaysAreOfALine(t *testing.T) {
	t.Parallel()
	o := purchase.Order{Currency: "EUR", Lines: []purchase.Line{{ID: 1, Description: "glass", Pieces: 1}, {ID: 2, Description: "crown", Pieces: 1}}}
	for _, e := range []purchase.Event{{Kind: purchase.Sent, DueOn: day(5)}, {Kind: purchase.Confirmed, LineID: 2, DueOn: day(12)}} {
		next, err := o.After(e)
		if err != nil {
			t.Fatalf("%s: %v", e.Kind, err)
		}
		o = next
	}
	if s := o.Standing(1); s.Named || s.DaysLate(day(5)) != 0 || s.DaysLate(day(8)) != 3 {
		t.Errorf("glass: %+v", s)
	}
	if s := o.Standing(2); !s.Named || s.Late(day(12)) || s.DaysLate(day(13)) != 1 {
		t.Errorf("crown: %+v", s)
	}
	if sum, known := o.TotalMinor(); sum != 0 || known {
		t.Errorf("a total of %d of lines without a price", sum)
	}
}

func TestDraftsThatAreGivenUp(t *testing.T) {
	t.Parallel()
	o := purchase.Order{Currency: "EUR", Lines: []purchase.Line{{ID: 1, Description: "glass", Pieces: 2}}}
	o, err := o.After(purchase.Event{Kind: purchase.Dropped})
	if err != nil || o.Stage() != purchase.CalledOff || o.Standing(1).ToCome != 0 {
		t.Fatalf("%s, %+v, %v", o.Stage(), o.Standing(1), err)
	}
	if _, err := o.After(purchase.Event{Kind: purchase.Sent}); err == nil {
		t.Error("a draft that was given up is sent")
	}
}

// A delivery that was miscounted has the docket wait for what lacks, in whichever parts it lies; none is made or lost by it.
func TestMiscountedPiecesAreOrderedAgain(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		part := func(label string) stock.PartLine {
			return stock.PartLine{Quantity: rapid.IntRange(1, 5).Draw(t, label), State: rapid.SampledFrom(stock.States).Draw(t, label+" stands")}
		}
		own := part("own")
		others := []stock.PartLine{part("other"), part("older")}
		pieces := rapid.IntRange(1, 9).Draw(t, "pieces")
		a := purchase.OrderedAgain(own, others, pieces)
		arrived, waiting := 0, 0
		for _, p := range append(others, own) {
			if p.State == stock.Arrived {
				arrived += p.Quantity
			}
		}
		if own.State == stock.Ordered {
			waiting = own.Quantity
		}
		want := min(pieces, arrived)
		if own.State != stock.Arrived && own.State != stock.Ordered {
			want = 0
		}
		left := a.Kept
		for _, p := range a.Others {
			if p.State == stock.Arrived && p.Quantity < 1 {
				t.Fatalf("a part of no pieces: %+v", p)
			}
		}
		if own.State != stock.Arrived && left > 0 {
			t.Fatalf("%d of a part that had not arrived stay: %+v", left, a)
		}
		if a.Released != want || want > 0 && a.Own.Quantity != waiting+want || own.State == stock.Arrived && left != max(0, own.Quantity-pieces) {
			t.Fatalf("own %+v, others %+v, %d pieces: %+v", own, others, pieces, a)
		}
	})
}

// A watch is proposed to be ready a week after its last part; who promised a later day keeps it.
func TestProposedDays(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		part, promised time.Time
		want           bool
	}{{day(10), time.Time{}, true}, {day(10), day(9), true}, {day(10), day(16), true}, {day(10), day(17), false}} {
		if got, ok := purchase.Propose(c.part, c.promised); ok != c.want || !got.Equal(day(17)) {
			t.Errorf("part on %s, promised %s: %s, %t", c.part, c.promised, got, ok)
		}
	}
}
