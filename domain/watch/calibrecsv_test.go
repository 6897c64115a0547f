package watch_test

import (
	"bytes"
	"reflect"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"ledgerwheel/domain/watch"
)

// fullForm is a calibre of which everything is known; the counts give its beat.
func fullForm() watch.CalibreForm {
	return watch.CalibreForm{"name": "R 12", "maker": "Rooke, Sons & Co.", "beats_per_hour": "18000",
		"lift_angle_deg": "52.5", "lift_angle_u95_deg": "0.4", "lift_angle_how": "an arm, 180° to each side, by eye",
		"power_reserve_hours": "38",
		"grade":               "modern", "movement_diameter": "28.2", "jewels": "17", "jewel_places": "balance 5, pallets 2, \"train\" 8",
		"train": "80:10,75:10,80:8,15", "motion_work": "12:36,10:40", "dial_hours": "12", "barrel_teeth": "80",
		"centre_pinion_leaves":   "10",
		"barrel_inside_diameter": "11", "arbor_diameter": "3.4", "mainspring_width": "1.5", "mainspring_thickness": "0.11",
		"mainspring_length": "390",
		"balance_inertia":   "16", "balance_mass": "100", "balance_gyration_radius": "4", "balance_diameter": "9.4",
		"impulse_jewel_hour": "4.5", "stud_radius": "3.4",
		"regulator_step": "20", "screw_count": "4", "screw_first": "0", "screw_radius": "4.6", "screw_mass": "1200",
		"screw_travel":         "0.15",
		"hairspring_stiffness": "0.3947842", "hairspring_width": "0.14", "hairspring_thickness": "0.032",
		"hairspring_length": "190",
		"lubrication":       "Balance jewels; thin oil; a third of the cup\nTrain; thicker oil\nLever; nothing; dry; always",
		"notes":             "=1+1 is no formula\nsecond line; with, marks"}
}

func mustCheck(t *testing.T, form watch.CalibreForm) watch.Calibre {
	t.Helper()
	c, bad := form.Check()
	if len(bad) > 0 {
		t.Fatalf("problems %v", bad)
	}
	return c
}

func TestEveryFieldIsReadAndWritten(t *testing.T) {
	t.Parallel()
	form := fullForm()
	for _, f := range watch.CalibreFields() {
		if form[f.Name] == "" {
			t.Errorf("the full calibre says nothing of %s", f.Name)
		}
	}
	c := mustCheck(t, form)
	if again := c.Form(); !reflect.DeepEqual(again, form) {
		t.Errorf("typed again it is\n%v, want\n%v", again, form)
	}
	want := []watch.OilPlace{{Place: "Balance jewels", Oil: "thin oil", Note: "a third of the cup"},
		{Place: "Train", Oil: "thicker oil"}, {Place: "Lever", Oil: "nothing", Note: "dry; always"}}
	if !slices.Equal(c.Lubrication, want) {
		t.Errorf("oils %v, want %v", c.Lubrication, want)
	}
	if c.HairspringStiffnessNmPerRad != 0.3947842e-6 {
		t.Errorf("stiffness %v", c.HairspringStiffnessNmPerRad)
	}
	if n := reflect.ValueOf(c).NumField(); n < 20 ||
		len(watch.CalibreDifferences(watch.Calibre{}, c)) != len(watch.CalibreFields()) {
		t.Errorf("%d of %d fields differ from nothing", len(watch.CalibreDifferences(watch.Calibre{}, c)),
			len(watch.CalibreFields()))
	}
}

func TestCalibreRefusals(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		field, typed string
		want         []string
	}{
		{"barrel_teeth", "0", []string{"barrel_teeth"}},
		{"barrel_teeth", "-80", []string{"barrel_teeth"}},
		{"barrel_teeth", "80.5", []string{"barrel_teeth"}},
		{"dial_hours", "13", []string{"dial_hours"}},
		{"train", "80:10,75:10,80:0,15", []string{"train"}},
		{"train", "80:10,75:10,80:8.5,15", []string{"train"}},
		{"train", "fast", []string{"train"}},
		{"motion_work", "12:36", []string{"motion_work"}},
		{"arbor_diameter", "12", []string{"arbor_diameter", "mainspring_thickness"}},
		{"mainspring_thickness", "0,9", nil},
		{"mainspring_thickness", "4", []string{"mainspring_thickness"}},
		{"mainspring_width", "NaN", []string{"mainspring_width"}},
		{"hairspring_stiffness", "-0.4", []string{"hairspring_stiffness"}},
		{"hairspring_stiffness", "4e999999999999", []string{"hairspring_stiffness"}},
		{"lubrication", "Balance jewels", []string{"lubrication"}},
		{"notes", strings.Repeat("x", watch.MaxCalibreNotes+1), []string{"notes"}},
		{"name", "—", []string{"name"}},
	} {
		form := fullForm()
		form[tt.field] = tt.typed
		_, bad := form.Check()
		if !slices.Equal(fields(bad), tt.want) {
			t.Errorf("%s=%q: problems %v, want of %v", tt.field, tt.typed, bad, tt.want)
		}
	}
}

func TestCorrectChangesOnlyWhatIsNamed(t *testing.T) {
	t.Parallel()
	c := mustCheck(t, fullForm())
	c.ID = 7
	next, bad := c.Correct(map[string]string{"mainspring_length": "400", "jewels": ""})
	if len(bad) > 0 || next.ID != 7 || next.MainspringLengthMm != 400 || next.Jewels != 0 {
		t.Errorf("corrected to %+v, %v", next, bad)
	}
	want := []watch.CalibreDifference{{Field: "jewels", Was: "17"}, {Field: "mainspring_length", Was: "390", Now: "400"}}
	if got := watch.CalibreDifferences(c, next); !slices.Equal(got, want) {
		t.Errorf("differences %v, want %v", got, want)
	}
	if want[1].Label() != "Barrel and mainspring: Mainspring length, mm" {
		t.Errorf("label %q", want[1].Label())
	}
	if _, bad := c.Correct(map[string]string{"colour": "blue"}); bad["colour"] == "" {
		t.Error("a field that no calibre has was taken")
	}
}

func csvOf(t interface{ Fatal(...any) }, list ...watch.Calibre) []byte {
	var b bytes.Buffer
	if err := watch.WriteCalibres(&b, list); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func TestCalibresThroughAFile(t *testing.T) {
	t.Parallel()
	first := mustCheck(t, fullForm())
	second := mustCheck(t, watch.CalibreForm{"name": "=R-13", "beats_per_hour": "28800", "grade": "modern",
		"notes": "'+4 s/d"})
	first.ID, second.ID = 3, 9
	known := []watch.Calibre{first, second}
	file := csvOf(t, known...)
	if got, bad := watch.ReadCalibres(file, known); len(bad) > 0 || !reflect.DeepEqual(got, known) {
		t.Errorf("written and read it is %+v, %v", got, bad)
	}
	if bytes.Contains(file, []byte("\n=R")) {
		t.Error("a cell begins as a spreadsheet's formula")
	}
	// The same file into an empty list, by a spreadsheet that parts by semicolons and marks its bytes.
	semicolons := "\ufeffname;beats_per_hour;grade;lift_angle_deg (°)\r\nr12;21 600;modern;\"52,5\"\r\n\r\n"
	got, bad := watch.ReadCalibres([]byte(semicolons), known)
	if len(bad) > 0 || len(got) != 1 || got[0].ID != 3 || got[0].Name != "r12" || got[0].BeatsPerHour != 21600 ||
		got[0].Jewels != 17 {
		t.Errorf("columns of a known calibre: %+v, %v", got, bad)
	}
}

func TestCalibreFileProblems(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		name, file string
		want       []watch.LineProblem // without Why, which must not be empty
	}{
		{"empty", "", []watch.LineProblem{{Line: 1}}},
		{"no name column", "maker\nRooke\n", []watch.LineProblem{{Line: 1, Column: "name"}}},
		{"a strange column and one twice", "name,colour,name\n", []watch.LineProblem{{Line: 1, Column: "colour"},
			{Line: 1, Column: "name"}}},
		{"every bad line is named", "name,beats_per_hour,grade,barrel_teeth\nA 1,18000,modern,80\nA 2,slow,modern,-3\n\nA " +
			"3,18000,,80\n",
			[]watch.LineProblem{{Line: 3, Column: "beats_per_hour"}, {Line: 3, Column: "barrel_teeth"},
				{Line: 5, Column: "grade"}}},
		{"lines are counted through cells of several lines", "name,notes,beats_per_hour,grade\nA " +
			"1,\"one\ntwo\",18000,modern\nA 2,,x,modern\n", []watch.LineProblem{{Line: 4, Column: "beats_per_hour"}}},
		{"too many fields", "name,beats_per_hour,grade\nA 1,18,000,modern\n", []watch.LineProblem{{Line: 2}}},
		{"twice", "name,beats_per_hour,grade\nA 1,18000,modern\na-1,18000,modern\n",
			[]watch.LineProblem{{Line: 3, Column: "name"}}},
		{"a column is lacking", "name,grade\nA 1,modern\n", []watch.LineProblem{{Line: 2, Column: "beats_per_hour"}}},
		{"a stray quote", "name,grade\nA \"1,modern\n", []watch.LineProblem{{Line: 2}}},
		{"not text", "name\xff\n", []watch.LineProblem{{Line: 1}}},
		{"train", "name,beats_per_hour,grade,train\nA 1,18000,modern,\"80:10,0:10,15\"\n",
			[]watch.LineProblem{{Line: 2, Column: "train"}}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			list, bad := watch.ReadCalibres([]byte(tt.file), nil)
			if list != nil {
				t.Errorf("calibres were taken: %v", list)
			}
			var got []watch.LineProblem
			for _, p := range bad {
				if p.Why == "" {
					t.Errorf("line %d: no reason", p.Line)
				}
				p.Why = ""
				got = append(got, p)
			}
			if !slices.Equal(got, tt.want) {
				t.Errorf("problems %v, want %v", bad, tt.want)
			}
		})
	}
}

// TestAnyCalibreThroughAFile: whatever can be saved comes back from a file as it was.
func TestAnyCalibreThroughAFile(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		form := fullForm()
		for _, f := range watch.CalibreFields() {
			switch {
			case rapid.Bool().Draw(t, f.Name):
			case f.Kind == watch.LineField || f.Kind == watch.LinesField:
				form[f.Name] = rapid.String().Draw(t, f.Name)
			case f.Kind == watch.FigureField:
				form[f.Name] = rapid.StringMatching(`[0-9]{0,3}[.,]?[0-9]{0,17}`).Draw(t, f.Name)
			}
		}
		_, bad := form.Check()
		for name := range bad {
			form[name] = fullForm()[name]
		}
		c, bad := form.Check()
		if len(bad) > 0 {
			t.Skip("figures that don't go together")
		}
		got, problems := watch.ReadCalibres(csvOf(t, c), nil)
		if len(problems) > 0 || len(got) != 1 || !reflect.DeepEqual(got[0], c) {
			t.Fatalf("%+v came back as %+v, %v", c, got, problems)
		}
	})
}

func FuzzReadCalibres(f *testing.F) {
	c, _ := fullForm().Check()
	f.Add(csvOf(f, c))
	f.Add([]byte("name;grade;beats_per_hour\nA;modern;18000\n"))
	f.Add([]byte("name,notes\n\"A\nB\",'=x"))
	f.Fuzz(func(t *testing.T, file []byte) {
		list, bad := watch.ReadCalibres(file, []watch.Calibre{c})
		if len(bad) > 0 {
			if list != nil {
				t.Fatal("half of a file was taken")
			}
			return
		}
		again, bad := watch.ReadCalibres(csvOf(t, list...), nil)
		for i := range list {
			list[i].ID = 0
		}
		if len(bad) > 0 || !(len(list) == 0 && len(again) == 0) && !reflect.DeepEqual(again, list) {
			t.Fatalf("%+v came back as %+v, %v", list, again, bad)
		}
		for _, k := range list {
			k.Remarks() // of anything that can be saved
		}
	})
}
