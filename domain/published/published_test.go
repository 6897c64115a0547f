package published

import (
	"encoding/json"
	"slices"
	"testing"
)

// careful compares all that its rows expect.
func careful(t T, r Row) {
	var in struct{ Side float64 }
	var want struct {
		Area  float64
		Sides []float64
		Name  string
		Right bool
		Most  *float64
		Fails []string
	}
	r.Read(t, &in, &want)
	Near(t, "area", in.Side*in.Side, want.Area, 0.005)
	for _, side := range want.Sides {
		Near(t, "side", in.Side, side, 0)
	}
	if want.Name != "square" || !want.Right || want.Most != nil || len(want.Fails) > 0 {
		t.Fatalf("%s: %+v", r.ID, want)
	}
}

// careless reads its rows and holds them to nothing that they could break.
func careless(t T, r Row) {
	var want map[string]any
	r.Read(t, nil, &want)
	if _, there := want["area"]; !there {
		t.Error("no area")
	}
}

// oneSided sees only what is too small.
func oneSided(t T, r Row) {
	var want struct{ Area float64 }
	r.Read(t, nil, &want)
	if want.Area < 2.24 {
		t.Errorf("%s: %v", r.ID, want.Area)
	}
}

func row(id, expected string) Row {
	return Row{ID: id, Inputs: json.RawMessage(`{"side": 1.5}`), Expected: json.RawMessage(expected)}
}

const good = `{"area": 2.25, "sides": [1.5, 1.5], "name": "square", "right": true, "most": null, "fails": []}`

// A row that nothing reads, a figure that nothing compares, and a pattern without a row are each said; what is in
// order is not.
func TestProblems(t *testing.T) {
	t.Parallel()
	for name, tt := range map[string]struct {
		rows   []Row
		checks map[string]Check
		na     map[string]string
		want   []string
	}{
		"all compared": {rows: []Row{row("SQ-1", good)}, checks: map[string]Check{"SQ-*": careful}},
		"a bogus row": {rows: []Row{row("SQ-1", good), row("BOGUS", `1`)}, checks: map[string]Check{"SQ-*": careful},
			want: []string{"BOGUS: no check reads this row"}},
		"a bogus figure": {rows: []Row{row("SQ-1", good[:len(good)-1]+`, "bogus": 1}`)},
			checks: map[string]Check{"SQ-1": careful}, want: []string{"SQ-1: bogus may be 2, and no check notices",
				"SQ-1: bogus may be 0, and no check notices"}},
		"nothing compared": {rows: []Row{row("SQ-1", `{"area": 2}`)}, checks: map[string]Check{"*": careless},
			want: []string{"SQ-1: area may be 3, and no check notices", "SQ-1: area may be 1, and no check notices"}},
		"one side only": {rows: []Row{row("SQ-1", `{"area": 2.25}`)}, checks: map[string]Check{"*": oneSided},
			want: []string{"SQ-1: area may be 2.8125, and no check notices"}},
		"two checks help": {rows: []Row{row("SQ-1", good)}, checks: map[string]Check{"*": careless, "SQ-*": careful}},
		"row excused": {rows: []Row{row("SQ-1", good), row("ODD", `1`)}, checks: map[string]Check{"SQ-*": careful},
			na: map[string]string{"ODD": "an oddity"}},
		"figure excused": {rows: []Row{row("SQ-1", `{"area": 2}`)}, checks: map[string]Check{"*": careless},
			na: map[string]string{"SQ-? area": "an oddity"}},
		"no reason": {rows: []Row{row("ODD", `1`)}, na: map[string]string{"ODD": ""},
			want: []string{"ODD: no reason is given why it does not apply"}},
		"both": {rows: []Row{row("SQ-1", good)}, checks: map[string]Check{"SQ-*": careful},
			na: map[string]string{"SQ-1": "an oddity"}, want: []string{"SQ-1: has a check, and is said not to apply"}},
		"no such rows": {checks: map[string]Check{"SQ-*": careful}, na: map[string]string{"ODD": "an oddity"},
			want: []string{"ODD: matches nothing", "SQ-*: matches nothing"}},
	} {
		if got := problems(tt.rows, tt.checks, tt.na); !slices.Equal(got, tt.want) {
			t.Errorf("%s: got %q, want %q", name, got, tt.want)
		}
	}
}

// Every kind of figure is spoilt, wherever it lies, and a row that is in order pleases a careful check.
func TestSpoilt(t *testing.T) {
	t.Parallel()
	var figures []string
	for _, s := range spoilt(row("SQ-1", good)) {
		figures = append(figures, s.figure)
		if !fails(careful, s.row) {
			t.Errorf("%s = %s is not noticed", s.figure, s.value)
		}
	}
	if want := []string{"area", "area", "fails", "most", "name", "right", "sides.0", "sides.0", "sides.1",
		"sides.1"}; !slices.Equal(figures, want) {
		t.Errorf("spoilt %v, want %v", figures, want)
	}
	if fails(careful, row("SQ-1", good)) {
		t.Error("a careful check does not like what is in order")
	}
	if fails(func(T, Row) {}, row("SQ-1", good)) || !fails(func(T, Row) { panic("no") }, row("SQ-1", good)) {
		t.Error("a check that panics has noticed, one that does nothing has not")
	}
	if s := spoilt(row("N", `0`)); len(s) != 2 || s[0].figure != "expected" || s[0].value != "1" || s[1].value != "-1" {
		t.Errorf("nought is spoilt as %+v", s)
	}
}

// Of a hundred draws at 0.8 the spread is four, so that two spreads reach over 72 to 88.
func TestShare(t *testing.T) {
	t.Parallel()
	for held, want := range map[int]bool{71: true, 73: false, 80: false, 87: false, 89: true, 100: true} {
		heard := &ear{}
		if Share(heard, "draws", held, 100, 0.8, 2); heard.failed != want {
			t.Errorf("%d of 100: failed %t, want %t", held, heard.failed, want)
		}
	}
	heard := &ear{}
	if Share(heard, "nothing drawn", 0, 0, 0.8, 2); !heard.failed {
		t.Error("a share of nothing is held")
	}
}
