package train_test

import (
	"encoding/json"
	"math"
	"math/big"
	"os"
	"strings"
	"testing"

	"ledgerwheel/domain/train"
)

// checkRow is a published check value of wheel trains and motion work. The file holds each row's source, how far it can
// be trusted (read, derived, memory) and its note.
type checkRow struct {
	ID, Source, Note string
	Inputs, Expected json.RawMessage
}

func checkRows(t *testing.T) map[string]checkRow {
	t.Helper()
	text, err := os.ReadFile("testdata/check-trains.json")
	if err != nil {
		t.Fatal(err)
	}
	var list []checkRow
	if err := json.Unmarshal(text, &list); err != nil {
		t.Fatal(err)
	}
	rows := map[string]checkRow{}
	for _, r := range list {
		rows[r.ID] = r
	}
	if len(rows) != 26 {
		t.Fatalf("%d rows", len(rows))
	}
	return rows
}

func (r checkRow) read(t *testing.T, inputs, expected any) {
	t.Helper()
	for text, into := range map[*json.RawMessage]any{&r.Inputs: inputs, &r.Expected: expected} {
		if err := json.Unmarshal(*text, into); err != nil {
			t.Fatalf("%s: %v", r.ID, err)
		}
	}
}

// TestPublishedTrains: every row with a whole train. The sources' own words are in the rows; TR-PUB-5's source prints
// 3600 where its own product gives 7200, which is what the row expects.
func TestPublishedTrains(t *testing.T) {
	t.Parallel()
	tested := 0
	for id, row := range checkRows(t) {
		if !strings.HasPrefix(id, "TR-") || strings.HasPrefix(id, "TR-MISS") || id == "TR-PUB-6" {
			continue // their own tests are below
		}
		tested++
		var in struct {
			W3     []int `json:"wheels_centre_third_fourth"`
			W2     []int `json:"wheels_centre_third"`
			W      []int `json:"wheels"`
			P3     []int `json:"pinions_third_fourth_escape"`
			P2     []int `json:"pinions_third_escape"`
			P      []int `json:"pinions"`
			Escape int   `json:"escape_teeth"`
		}
		var want struct {
			VPH       float64 `json:"vph"`
			Beats     float64 `json:"beats_per_hour"`
			PerSecond float64 `json:"per_second"`
			Hz        float64
			Fourth    float64 `json:"fourth_wheel_rev_per_h"`
		}
		row.read(t, &in, &want)
		wheels, pinions := append(append(in.W3, in.W2...), in.W...), append(append(in.P3, in.P2...), in.P...)
		tr := train.Train{EscapeTeeth: in.Escape}
		for i := range wheels {
			tr.Stages = append(tr.Stages, train.Stage{Wheel: wheels[i], Pinion: pinions[i]})
		}
		if bad := tr.Problems(); len(bad) > 0 {
			t.Errorf("%s: %v", id, bad)
		}
		exactly := func(what string, got *big.Rat, want float64) {
			if want != 0 && got.Cmp(new(big.Rat).SetFloat64(want)) != 0 { // halves and quarters: floats hold them exactly
				t.Errorf("%s (%s): %s %v, want %v", id, row.Source, what, got, want)
			}
		}
		exactly("beats", tr.Beats(), want.VPH+want.Beats)
		exactly("hertz", tr.Hertz(), want.Hz)
		exactly("beats per second", new(big.Rat).Quo(tr.Beats(), big.NewRat(3600, 1)), want.PerSecond)
		if want.Fourth != 0 {
			exactly("fourth", tr.Arbors()[2].TurnsPerHour, want.Fourth)
			warned := strings.Contains(strings.Join(tr.Remarks(), " "), "can’t carry a seconds hand")
			if warned != (want.Fourth != 60) {
				t.Errorf("%s: remarks %v", id, tr.Remarks())
			}
		}
	}
	if tested != 17 {
		t.Errorf("%d rows tested", tested)
	}
}

// The note of TR-PUB-2: read with wheel and pinion of one arbor as if they meshed, the counts of the answer give
// nonsense, and the remarks say so.
func TestMispairedCountsAreRemarkedOn(t *testing.T) {
	t.Parallel()
	says := strings.Join(mustParse(t, "80:12,60:10,60:8,15").Remarks(), " ")
	if !strings.Contains(says, "9000 beats per hour is none of the usual") || !strings.Contains(says, "turns 40 times an hour") {
		t.Error(says)
	}
}

func TestPublishedTimeOfTeeth(t *testing.T) {
	t.Parallel()
	var in struct {
		Centre int `json:"centre_teeth"`
		Teeth  int `json:"tooth_count"`
	}
	var want struct{ Minutes float64 }
	row := checkRows(t)["TR-PUB-6"]
	row.read(t, &in, &want)
	tr := train.Train{Stages: []train.Stage{{Wheel: in.Centre, Pinion: 7}}, EscapeTeeth: 15}
	minutes, ok := tr.MinutesOfTeeth(2, in.Teeth)
	if got, _ := minutes.Float64(); !ok || math.Abs(got-want.Minutes) > 0.000001 { // the row prints six places
		t.Errorf("%v, want %v (%s)", got, want.Minutes, row.Source)
	}
}

// TestPublishedMissingCounts: the beat is in proportion to each wheel, so that a count of 1 in its place gives the
// exact answer. (The search among practical counts is tested with the search.)
func TestPublishedMissingCounts(t *testing.T) {
	t.Parallel()
	solve := func(notation string, vph int64) *big.Rat {
		return new(big.Rat).Quo(big.NewRat(vph, 1), mustParse(t, notation).Beats())
	}
	rows := checkRows(t)
	var whole int64
	for id, got := range map[string]*big.Rat{
		"TR-MISS-1": solve("64:8,60:8,1:6,15", 18000),
		"TR-MISS-3": solve("80:10,75:10,84:7,1", 28800),
	} {
		rows[id].read(t, &struct{}{}, &whole)
		is(t, id, got, whole, 1)
	}
	var want struct {
		Value   float64
		Integer bool
	}
	rows["TR-MISS-4"].read(t, &struct{}{}, &want)
	got := solve("64:8,61:8,1:7,15", 18000)
	if f, _ := got.Float64(); math.Abs(f-want.Value) > 0.0001 || got.IsInt() != want.Integer { // the row's tolerance
		t.Errorf("TR-MISS-4: %v, want %+v", got, want)
	}
}

// TestPublishedMotionWorks: MW-BAD's source asks with 42 teeth and works with 48; the row expects the answer for 42.
func TestPublishedMotionWorks(t *testing.T) {
	t.Parallel()
	rows := checkRows(t)
	for id, tt := range map[string]struct {
		notation string
		field    string // missing; "" none
	}{
		"MW-1": {"?:48,12:36", "cannon"}, "MW-3": {"12:36,10:40", ""}, "MW-4": {"10:30,8:32", ""}, "MW-6": {"11:33,9:36", ""},
		"MW-BAD": {"16:42,?:64", "minute_pinion"},
	} {
		m := parseMotion(t, tt.notation)
		var want map[string]float64
		rows[id].read(t, &struct{}{}, &want)
		if tt.field != "" {
			field, exact, ok := m.Missing(12)
			if !ok || field != tt.field || !exact.IsInt() {
				t.Fatalf("%s: %s %v %t", id, field, exact, ok)
			}
			is(t, id, exact, int64(want[tt.field]), 1)
			m = m.With(field, int(exact.Num().Int64()))
		}
		ratio, ok := m.Ratio()
		if !ok || m.DialHours() != 12 {
			t.Errorf("%s: %v", id, ratio)
		}
		is(t, id, ratio, 12, 1)
	}
	// The source's own working, with 48 teeth.
	_, exact, _ := parseMotion(t, "16:48,?:64").Missing(12)
	is(t, "MW-BAD as worked", exact, 16, 1)
}
