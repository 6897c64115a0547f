package watch_test

import (
	"errors"
	"maps"
	"math"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"ledgerwheel/domain/watch"

	"pgregory.net/rapid"
)

func fields(problems map[string]string) []string { return slices.Sorted(maps.Keys(problems)) }

func TestWatchProblems(t *testing.T) {
	t.Parallel()
	good := watch.Watch{Maker: "Fenwick & Rooke", Model: "Harbour", Serial: "A 1047", WaterResistanceMarked: "5 bar",
		Lume: watch.LumeRadium}
	for _, tt := range []struct {
		name   string
		change func(*watch.Watch)
		want   []string
	}{
		{"good", func(*watch.Watch) {}, nil},
		{"no maker", func(w *watch.Watch) { w.Maker = " " }, []string{"maker"}},
		{"long", func(w *watch.Watch) { w.Model = strings.Repeat("x", watch.MaxText+1) }, []string{"model"}},
		{"long notes", func(w *watch.Watch) { w.Notes = strings.Repeat("x", watch.MaxNote+1) }, []string{"notes"}},
		{"lume not listed", func(w *watch.Watch) { w.Lume = "fireflies" }, []string{"lume"}},
		{"winding not listed", func(w *watch.Watch) { w.Winding = "steam" }, []string{"winding"}},
		{"mark unreadable", func(w *watch.Watch) { w.WaterResistanceMarked = "five" }, []string{"water_resistance"}},
		{"crown at 13", func(w *watch.Watch) { w.CrownAt = 13 }, []string{"crown_at"}},
		{"crown at -1", func(w *watch.Watch) { w.CrownAt = -1 }, []string{"crown_at"}},
		{"pocket watch", func(w *watch.Watch) { w.CrownAt = watch.CrownAtTwelve }, nil},
	} {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			w := good
			tt.change(&w)
			if got := fields(w.Tidied().Problems()); !slices.Equal(got, tt.want) {
				t.Errorf("problems with %v, want %v", got, tt.want)
			}
		})
	}
	tidy := good.Tidied()
	if tidy.CrownAt != watch.CrownAtThree || tidy.OverpressureBar != 5 {
		t.Errorf("crown at %d, %g bar; want 3 and 5", tidy.CrownAt, tidy.OverpressureBar)
	}
	if got := good.Title(); got != "Fenwick & Rooke Harbour" {
		t.Errorf("title %q", got)
	}
}

func TestEveryChoiceHasItsWords(t *testing.T) {
	t.Parallel()
	words := map[string]int{}
	for _, l := range watch.Lumes {
		words["lume "+l.Words()]++
	}
	for _, w := range watch.Windings {
		words["winding "+w.Words()]++
	}
	for _, p := range watch.Parts {
		words["part "+p.Words()]++
	}
	for _, k := range watch.MarkKinds {
		words["kind "+k.Words()]++
	}
	for word, n := range words {
		if n > 1 || strings.HasSuffix(word, " ") {
			t.Errorf("%q stands for %d choices", word, n)
		}
	}
}

// The conversions: 10 m is marked for 1 bar and 1 atm for 1 bar (makers'
// convention; common practice); a foot is 0.3048 m (exact by definition); a
// watch without a rating is tested at 2 bar (ISO 2281:1990, list of its tests).
func TestParseWaterMark(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		mark string
		want float64
	}{
		{"", 0}, {"none", 0}, {"Not water resistant", 0},
		{"5 bar", 5}, {"5BAR", 5}, {"WR 50 m", 5}, {"Water Resistant 100m", 10}, {"3 ATM", 3},
		{"330 ft", 330 * 0.03048}, {"660 feet", 660 * 0.03048},
		{"water resistant", 2}, {"WR", 2},
		{"20 bar / 200 m", 20}, {"200 m / 660 ft", 20}, {"2,5 bar", 2.5}, {"１０ bar", 10},
		{"Waterproof 30 metres", 3},
	} {
		got, err := watch.ParseWaterMark(tt.mark)
		// Tolerance: one rounding of a product near 20.
		if err != nil || math.Abs(got-tt.want) > 1e-12 {
			t.Errorf("%q: %g bar, %v; want %g", tt.mark, got, err, tt.want)
		}
	}
	for _, mark := range []string{"five bar", "5", "5 psi", "-5 bar", "5 bar or so", "99999 bar", "0 m", "bar"} {
		if got, err := watch.ParseWaterMark(mark); !errors.Is(err, watch.ErrWaterMark) || got != 0 {
			t.Errorf("%q: %g bar, %v; want ErrWaterMark", mark, got, err)
		}
	}
}

func FuzzParseWaterMark(f *testing.F) {
	for _, seed := range []string{"5 bar", "WR 100 m/330 ft", "water resistant", "1e9 bar", "٥ bar"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, mark string) {
		bar, err := watch.ParseWaterMark(mark)
		if err == nil && !(bar >= 0 && bar <= 1500) || err != nil && bar != 0 {
			t.Errorf("%q: %g bar, %v", mark, bar, err)
		}
	})
}

func TestMatchSerials(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		a, b string
		want watch.SerialMatch
	}{
		{"A 10.47-3", "a10473", watch.SerialSame},
		{"1O47", "1047", watch.SerialLikely},
		{"IO47", "1047", watch.SerialLikely},
		{"1048", "1047", watch.SerialDiffers},
		{"B8", "88", watch.SerialDiffers},
		{"", "", watch.SerialDiffers},
		{"--", "..", watch.SerialDiffers},
		{"№ 12", "no12", watch.SerialSame},
	} {
		if got := watch.MatchSerials(tt.a, tt.b); got != tt.want {
			t.Errorf("%q and %q: %s, want %s", tt.a, tt.b, got.Words(), tt.want.Words())
		}
		if got := watch.MatchSerials(tt.b, tt.a); got != tt.want {
			t.Errorf("%q and %q: %s, want %s", tt.b, tt.a, got.Words(), tt.want.Words())
		}
	}
}

func TestSerialKeysAgree(t *testing.T) {
	t.Parallel()
	serials := rapid.StringMatching(`[A-Za-z0-9OI01 .\-]{0,12}`)
	rapid.Check(t, func(t *rapid.T) {
		a, b := serials.Draw(t, "a"), serials.Draw(t, "b")
		if watch.SerialKey(watch.SerialKey(a)) != watch.SerialKey(a) {
			t.Fatalf("the key of %q has another key", a)
		}
		// The store finds candidates by the like key: no match may escape it.
		found := watch.SerialLikeKey(a) == watch.SerialLikeKey(b) && watch.SerialKey(a) != ""
		if matched := watch.MatchSerials(a, b) != watch.SerialDiffers; matched != found {
			t.Fatalf("%q, %q: matched %v, found by key %v", a, b, matched, found)
		}
	})
}

func TestWatchListHoldsASerialOnce(t *testing.T) {
	t.Parallel()
	listed := []watch.WatchListEntry{{Serial: "A-1047", Maker: "Fenwick"}, {Serial: "99 812"}}
	for _, c := range []struct {
		serial, maker string
		found         bool
	}{
		{"a 1047", "Fenwick", true}, {"A1047", "", true}, {"A-1047", "Gannet", false},
		{"A-I047", "Fenwick", false}, // a look-alike may be another watch
		{"99812", "Gannet", true}, {"99813", "", false}, {"", "", false},
	} {
		if _, found := (watch.WatchListEntry{Serial: c.serial, Maker: c.maker}).Repeats(listed); found != c.found {
			t.Errorf("%q by %q: on the list already: %t", c.serial, c.maker, found)
		}
	}
}

func TestWatchList(t *testing.T) {
	t.Parallel()
	now := time.Date(2031, 5, 6, 12, 0, 0, 0, time.UTC)
	entry := watch.WatchListEntry{Serial: "A-1047", Maker: "Fenwick", Reported: now.AddDate(0, -1, 0),
		Source: "harbour police, ref. 12"}
	if got := fields(entry.Problems(now)); len(got) != 0 {
		t.Errorf("problems with %v, want none", got)
	}
	if got, want := fields(watch.WatchListEntry{}.Problems(now)), []string{"reported", "serial",
		"source"}; !slices.Equal(got, want) {
		t.Errorf("empty entry: problems with %v, want %v", got, want)
	}
	entry.Reported = now.AddDate(0, 0, 2)
	if got, want := fields(entry.Problems(now)), []string{"reported"}; !slices.Equal(got, want) {
		t.Errorf("future entry: problems with %v, want %v", got, want)
	}
	for _, tt := range []struct {
		name string
		w    watch.Watch
		want watch.SerialMatch
	}{
		{"case serial", watch.Watch{Maker: "FENWICK", Serial: "A1047"}, watch.SerialSame},
		{"movement serial", watch.Watch{MovementSerial: "A1047"}, watch.SerialSame},
		{"lookalike", watch.Watch{Serial: "AIO47"}, watch.SerialLikely},
		{"other maker", watch.Watch{Maker: "Rooke", Serial: "A1047"}, watch.SerialDiffers},
		{"no serial", watch.Watch{Maker: "Fenwick"}, watch.SerialDiffers},
	} {
		if got := entry.Concerns(tt.w); got != tt.want {
			t.Errorf("%s: %s, want %s", tt.name, got.Words(), tt.want.Words())
		}
	}
}

func TestConditionProblems(t *testing.T) {
	t.Parallel()
	scratch := watch.ConditionMark{Part: watch.PartCase, Kind: watch.MarkScratch, Placed: true, X: 0.2, Y: 1}
	others := []watch.Part{watch.PartDial, watch.PartCrystal, watch.PartCrown, watch.PartBracelet}
	for _, tt := range []struct {
		name string
		c    watch.Condition
		want []string
	}{
		{"all said", watch.Condition{Marks: []watch.ConditionMark{scratch}, NoMarksSeen: others}, nil},
		{"no marks at all", watch.Condition{NoMarksSeen: watch.Parts}, nil},
		{"nothing said", watch.Condition{}, []string{"no_marks.bracelet", "no_marks.case", "no_marks.crown",
			"no_marks.crystal", "no_marks.dial"}},
		{"said both ways", watch.Condition{Marks: []watch.ConditionMark{scratch}, NoMarksSeen: watch.Parts},
			[]string{"no_marks.case"}},
		{"part not on the outline", watch.Condition{NoMarksSeen: append(slices.Clone(watch.Parts), "fob")},
			[]string{"no_marks"}},
		{"bad marks", watch.Condition{NoMarksSeen: others, Marks: []watch.ConditionMark{
			scratch,
			{Part: watch.PartCase, Kind: "graffiti", Placed: true, X: math.NaN()},
			{Part: watch.PartCase, Kind: watch.MarkOther},
			{Part: "fob", Kind: watch.MarkDent, Note: strings.Repeat("x", watch.MaxText+1)},
		}}, []string{"marks.1.kind", "marks.1.place", "marks.2.note", "marks.3.note", "marks.3.part"}},
		{"too many", watch.Condition{NoMarksSeen: others, Marks: slices.Repeat([]watch.ConditionMark{scratch},
			watch.MaxMarks+1)}, []string{"marks"}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			if got := fields(tt.c.Problems()); !slices.Equal(got, tt.want) {
				t.Errorf("problems with %v, want %v", got, tt.want)
			}
		})
	}
	dent := watch.ConditionMark{Part: watch.PartBracelet, Kind: watch.MarkMissing, Note: "one link"}
	if got, want := dent.Words(), "bracelet or strap: something missing, one link"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
}

func TestCalibreForm(t *testing.T) {
	t.Parallel()
	good := watch.CalibreForm{"name": "R 12", "maker": "Rooke", "beats_per_hour": "28 800", "lift_angle_deg": "52,5",
		"power_reserve_hours": "42", "grade": "modern"}
	for _, tt := range []struct {
		name   string
		change func(watch.CalibreForm)
		want   []string
	}{
		{"good", func(watch.CalibreForm) {}, nil},
		{"unknown figures left empty", func(f watch.CalibreForm) { f["lift_angle_deg"], f["power_reserve_hours"] = "", " " },
			nil},
		{"slowest", func(f watch.CalibreForm) { f["beats_per_hour"] = "12000" }, nil},
		{"fastest", func(f watch.CalibreForm) { f["beats_per_hour"] = "43200" }, nil},
		{"too slow", func(f watch.CalibreForm) { f["beats_per_hour"] = "11999" }, []string{"beats_per_hour"}},
		{"too fast", func(f watch.CalibreForm) { f["beats_per_hour"] = "43201" }, []string{"beats_per_hour"}},
		{"words for figures", func(f watch.CalibreForm) {
			f["beats_per_hour"], f["lift_angle_deg"], f["power_reserve_hours"] = "fast", "NaN", "Inf"
		},
			[]string{"beats_per_hour", "lift_angle_deg", "power_reserve_hours"}},
		{"out of range", func(f watch.CalibreForm) { f["lift_angle_deg"], f["power_reserve_hours"] = "91", "-1" },
			[]string{"lift_angle_deg", "power_reserve_hours"}},
		{"no name or grade", func(f watch.CalibreForm) { f["name"], f["grade"] = "", "" }, []string{"grade", "name"}},
		{"a balance", func(f watch.CalibreForm) {
			maps.Copy(f, watch.CalibreForm{"balance_inertia": "8,5", "impulse_jewel_hour": "12"})
		}, nil},
		{"no balance", func(f watch.CalibreForm) {
			maps.Copy(f, watch.CalibreForm{"balance_inertia": "-1", "impulse_jewel_hour": "13", "stud_radius": "wide"})
		}, []string{"balance_inertia", "impulse_jewel_hour", "stud_radius"}},
		{"half the screws", func(f watch.CalibreForm) {
			maps.Copy(f, watch.CalibreForm{"screw_count": "4",
				"screw_first": "0"})
		},
			[]string{"screw_mass", "screw_radius", "screw_travel"}},
		{"long", func(f watch.CalibreForm) { f["maker"] = strings.Repeat("x", watch.MaxText+1) }, []string{"maker"}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			f := maps.Clone(good)
			tt.change(f)
			if _, bad := f.Check(); !slices.Equal(fields(bad), tt.want) {
				t.Errorf("problems with %v, want %v", fields(bad), tt.want)
			}
		})
	}
	c, _ := good.Check()
	if c.BeatsPerHour != 28800 || c.LiftAngleDeg != 52.5 || c.PowerReserveHours != 42 {
		t.Errorf("read %+v", c)
	}
	if again, bad := c.Form().Check(); !reflect.DeepEqual(again, c) || len(bad) != 0 {
		t.Errorf("typed again it reads %+v with problems %v", again, bad)
	}
}
