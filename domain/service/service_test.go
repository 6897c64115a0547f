package service_test

import (
	"maps"
	"slices"
	"strings"
	"testing"
	"time"

	"ledgerwheel/domain/service"
)

func fields(problems map[string]string) []string { return slices.Sorted(maps.Keys(problems)) }

func TestFormCheck(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		name string
		form service.Form
		want []string
	}{
		{"step", service.Form{Steps: []string{"clean"}}, nil},
		{"time alone", service.Form{Minutes: "1:30"}, nil},
		{"lubricant alone", service.Form{Lubricants: map[string]string{"pallet-stones": "pallet stone grease",
			"barrel-wall": " "}}, nil},
		{"note alone", service.Form{Note: "Stem was bent; straightened."}, nil},
		{"nothing", service.Form{Lubricants: map[string]string{"barrel-wall": ""}}, []string{"steps"}},
		{"unknown step", service.Form{Steps: []string{"polish the moon"}}, []string{"steps"}},
		{"unknown place", service.Form{Lubricants: map[string]string{"elbow": "grease"}}, []string{"lubricant"}},
		{"minutes in words", service.Form{Minutes: "an hour"}, []string{"minutes"}},
		{"minus", service.Form{Minutes: "-5"}, []string{"minutes"}},
		{"more than a day's work", service.Form{Minutes: "721"}, []string{"minutes"}},
		{"a day's work", service.Form{Minutes: "12:00"}, nil},
		{"long", service.Form{Note: strings.Repeat("x", service.MaxNote+1), Lubricants: map[string]string{
			"calendar": strings.Repeat("x", service.MaxKind+1)}},
			[]string{"lubricant.calendar", "note"}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			if _, bad := tt.form.Check(); !slices.Equal(fields(bad), tt.want) {
				t.Errorf("problems with %v, want %v", fields(bad), tt.want)
			}
		})
	}
}

func TestWorkProblems(t *testing.T) {
	t.Parallel()
	w := service.Work{Lubricants: []service.Lubricant{{Place: service.TrainPivots, Kind: "medium oil"},
		{Place: service.TrainPivots, Kind: "heavy oil"}, {Place: service.Places[0]}}}
	if got, want := fields(w.Problems()), []string{"lubricant.barrel-wall", "lubricant.train-pivots"}; !slices.Equal(got,
		want) {
		t.Errorf("problems with %v, want %v", got, want)
	}
}

func TestMinutes(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		typed, words string
		want         int
	}{{"", "0 min", 0}, {"45", "45 min", 45}, {"1:30", "1 h 30 min", 90}, {"2:00", "2 h", 120}, {" 0:05 ", "5 min", 5},
		{"90 min", "1 h 30 min", 90}, {"+5", "5 min", 5}} {
		got, err := service.ParseMinutes(tt.typed)
		if err != nil || got != tt.want || service.FormatMinutes(got) != tt.words {
			t.Errorf("%q: %d, %v, %q; want %d, %q", tt.typed, got, err, service.FormatMinutes(got), tt.want, tt.words)
		}
	}
	for _, typed := range []string{"1:60", "1:", ":30", "1.5", "1:30:00", "99999999999", "-5", "1.500"} {
		if got, err := service.ParseMinutes(typed); err == nil {
			t.Errorf("%q read as %d minutes", typed, got)
		}
	}
}

func TestSummarise(t *testing.T) {
	t.Parallel()
	monday := time.Date(2031, 5, 5, 9, 0, 0, 0, time.UTC)
	sum := service.Summarise([]service.Work{
		{Steps: []service.Step{service.StepDismantle, service.StepLetDown}, Minutes: 40, By: "Ada", At: monday,
			Lubricants: []service.Lubricant{{Place: service.MotionWork, Kind: "light grease"}}},
		{Steps: []service.Step{service.StepLetDown, service.StepClean}, Minutes: 25, By: "Ben", At: monday.AddDate(0, 0, 1),
			Lubricants: []service.Lubricant{{Place: service.MotionWork, Kind: "heavy oil"},
				{Place: service.BarrelWall, Kind: "braking grease"}}},
	})
	if sum.Minutes != 65 {
		t.Errorf("%d minutes, want 65", sum.Minutes)
	}
	var done []service.Step
	for _, d := range sum.Done {
		done = append(done, d.Step)
	}
	if want := []service.Step{service.StepLetDown, service.StepDismantle, service.StepClean}; !slices.Equal(done, want) {
		t.Errorf("done %v, want %v", done, want)
	}
	if sum.Done[0].By != "Ada" || !sum.Done[0].At.Equal(monday) {
		t.Errorf("let down by %s on %v, want the first time", sum.Done[0].By, sum.Done[0].At)
	}
	if len(sum.Done)+len(sum.ToDo) != len(service.Steps) {
		t.Errorf("%d done and %d to do are not the %d steps", len(sum.Done), len(sum.ToDo), len(service.Steps))
	}
	if want := []service.Lubricant{{Place: service.BarrelWall, Kind: "braking grease"},
		{Place: service.MotionWork, Kind: "heavy oil"}}; !slices.Equal(sum.Lubricants, want) {
		t.Errorf("lubricants %v, want the latest of each place: %v", sum.Lubricants, want)
	}
}

func TestEveryPlaceHasAUsualLubricant(t *testing.T) {
	t.Parallel()
	for _, p := range service.Places {
		for _, automatic := range []bool{false, true} {
			if kind := service.UsualLubricant(p, automatic); !slices.Contains(service.LubricantKinds, kind) {
				t.Errorf("%s: %q is not offered", p.Words(), kind)
			}
		}
	}
	// A slipping spring needs a wall that brakes it; a fixed one does not
	// (common practice).
	if service.UsualLubricant(service.BarrelWall, true) != "braking grease" || service.UsualLubricant(service.BarrelWall,
		false) == "braking grease" {
		t.Error("braking grease belongs on the barrel wall of an automatic only")
	}
	for _, s := range service.Steps {
		if s.Words() == "" || s.Words() == string(s) {
			t.Errorf("step %q has no words", s)
		}
	}
}

// TestPlacesOnASheet: a calibre's sheet names the places in its own words.
func TestPlacesOnASheet(t *testing.T) {
	t.Parallel()
	for name, want := range map[string]service.Place{"Balance jewels": service.BalancePivots, "Barrel, wall": service.BarrelWall,
		"Arbor of the barrel": service.BarrelArbor, "Escape and fourth wheel": service.EscapePivots, "Pallet stones": service.PalletStones,
		"Train": service.TrainPivots, "Third and centre wheel": service.TrainPivots, "Pallet pivots": "",
		"Winding and setting": service.KeylessWork} {
		for _, p := range service.Places {
			if got := p.NamedBy(name); got != (p == want) {
				t.Errorf("%q means %s: %t", name, p, got)
			}
		}
	}
}
