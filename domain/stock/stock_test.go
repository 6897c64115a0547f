package stock_test

import (
	"errors"
	"maps"
	"slices"
	"strings"
	"testing"

	"ledgerwheel/domain/stock"

	"pgregory.net/rapid"
)

func fields(problems map[string]string) []string { return slices.Sorted(maps.Keys(problems)) }

func TestFormCheck(t *testing.T) {
	t.Parallel()
	good := stock.Form{Description: "Mainspring", Reference: "R12-771", Supplier: "Saltby Materials", Quantity: "1",
		State: "ordered", OldPart: "to-return"}
	for _, tt := range []struct {
		name   string
		change func(*stock.Form)
		want   []string
	}{
		{"good", func(*stock.Form) {}, nil},
		{"description alone", func(f *stock.Form) { *f = stock.Form{Description: "Crown gasket"} }, nil},
		{"nothing", func(f *stock.Form) { *f = stock.Form{} }, []string{"description"}},
		{"ordered from nobody", func(f *stock.Form) { f.Supplier = "" }, []string{"supplier"}},
		{"half a part", func(f *stock.Form) { f.Quantity = "0.5" }, []string{"quantity"}},
		{"no parts", func(f *stock.Form) { f.Quantity = "0" }, []string{"quantity"}},
		{"too many", func(f *stock.Form) { f.Quantity = "1001" }, []string{"quantity"}},
		{"not listed", func(f *stock.Form) { f.State, f.OldPart = "lost", "melted" }, []string{"old_part", "state"}},
		{"long", func(f *stock.Form) {
			f.Reference, f.Note = strings.Repeat("x", stock.MaxText+1), strings.Repeat("x", stock.MaxNote+1)
		}, []string{"note", "reference"}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			f := good
			tt.change(&f)
			if _, bad := f.Check(); !slices.Equal(fields(bad), tt.want) {
				t.Errorf("problems with %v, want %v", fields(bad), tt.want)
			}
		})
	}
	p, _ := good.Check()
	if p.Form() != good {
		t.Errorf("typed again it is %+v, want %+v", p.Form(), good)
	}
}

func TestMoves(t *testing.T) {
	t.Parallel()
	allowed := map[string]bool{
		"needed ordered": true, "needed arrived": true, "needed cancelled": true,
		"ordered arrived": true, "ordered needed": true, "ordered cancelled": true,
		"arrived fitted": true, "arrived needed": true, "arrived cancelled": true,
		"fitted arrived": true, "fitted needed": true, "cancelled needed": true,
	}
	for _, from := range stock.States {
		for _, to := range stock.States {
			got, err := stock.PartLine{State: from}.Move(to)
			if want := allowed[string(from)+" "+string(to)]; want != (err == nil) {
				t.Errorf("%s to %s: %v, want allowed %v", from, to, err, want)
			}
			switch {
			case err == nil && got.State != to:
				t.Errorf("%s to %s ends %s", from, to, got.State)
			case err != nil && (!errors.Is(err, stock.ErrMove) || got.State != from):
				t.Errorf("%s to %s: %v, ends %s", from, to, err, got.State)
			}
		}
	}
	if _, err := (stock.PartLine{State: "lost"}).Move(stock.Needed); !errors.Is(err, stock.ErrMove) {
		t.Errorf("from nowhere: %v, want ErrMove", err)
	}
}

func TestCounts(t *testing.T) {
	t.Parallel()
	lines := []stock.PartLine{
		{State: stock.Needed}, {State: stock.Ordered, OldPart: stock.OldPartToReturn}, {State: stock.Arrived},
		{State: stock.Fitted, OldPart: stock.OldPartReturned}, {State: stock.Cancelled},
	}
	if got := stock.Outstanding(lines); got != 2 {
		t.Errorf("outstanding %d, want 2: needed and ordered", got)
	}
	if got := stock.ToFit(lines); got != 1 {
		t.Errorf("to fit %d, want 1: arrived", got)
	}
	if got := stock.ToReturn(lines); !slices.Equal(got, lines[1:2]) {
		t.Errorf("to return %v, want the ordered line's", got)
	}
}

func TestEveryPartCanBeFinished(t *testing.T) {
	t.Parallel()
	// However a part has wandered, it can still be fitted or cancelled.
	rapid.Check(t, func(t *rapid.T) {
		p := stock.PartLine{State: stock.Needed}
		for range rapid.IntRange(0, 12).Draw(t, "moves") {
			p, _ = p.Move(rapid.SampledFrom(p.State.Moves()).Draw(t, "to"))
		}
		reached := map[stock.State]bool{p.State: true}
		for queue := []stock.State{p.State}; len(queue) > 0; queue = queue[1:] {
			for _, next := range queue[0].Moves() {
				if !reached[next] {
					reached[next] = true
					queue = append(queue, next)
				}
			}
		}
		if !reached[stock.Fitted] || !reached[stock.Cancelled] {
			t.Fatalf("from %s only %v can be reached", p.State, reached)
		}
	})
}

func TestOldPartWords(t *testing.T) {
	t.Parallel()
	words := map[string]bool{}
	for _, o := range stock.OldParts {
		words[o.Words()] = true
	}
	if len(words) != len(stock.OldParts) {
		t.Errorf("%d fates share %d wordings", len(stock.OldParts), len(words))
	}
}

func TestAfterLeaving(t *testing.T) {
	t.Parallel()
	for _, from := range stock.States {
		for _, to := range stock.States {
			want := (from == stock.Needed || from == stock.Ordered) && (to == stock.Arrived || to == stock.Cancelled)
			if got := stock.AfterLeaving(from, to); got != want {
				t.Errorf("%s to %s: got %v, want %v", from, to, got, want)
			}
		}
	}
}
