package timing_test

import (
	"errors"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"ledgerwheel/domain/timing"
)

func TestGridParse(t *testing.T) {
	t.Parallel()
	g := timing.NewGrid(0, 24)
	typed := map[string]string{
		"rate-CH-0": "+3", "amplitude-CH-0": "281", "beat_error-CH-0": "0.2",
		"rate-12H-24": "−4.5", "rate-6H-0": " ",
	}
	common := timing.Reading{Instrument: "bench 1", TakenBy: "Ines"}
	readings, bad := g.Parse(func(field string) string { return typed[field] }, common)
	if len(bad) != 0 {
		t.Fatalf("problems: %v", bad)
	}
	want := []timing.Reading{
		{Position: timing.DialUp, Instrument: "bench 1", TakenBy: "Ines",
			RateSPerDay:  &timing.Figure{Value: 3, Step: 1},
			AmplitudeDeg: &timing.Figure{Value: 281, Step: 1},
			BeatErrorMs:  &timing.Figure{Value: 0.2, Step: 0.1}},
		{Position: timing.TwelveUp, HoursAfterWinding: 24, Instrument: "bench 1", TakenBy: "Ines",
			RateSPerDay: &timing.Figure{Value: -4.5, Step: 0.1}},
	}
	if diff := cmp.Diff(want, readings); diff != "" {
		t.Errorf("readings (-want +got):\n%s", diff)
	}
	run := timing.Run{Kind: timing.Final, CrownHour: 3, Readings: readings}
	if bad := run.Problems(); len(bad) != 0 {
		t.Errorf("the run cannot be saved: %v", bad)
	}
	typed["amplitude-3H-24"] = "400"
	if _, bad = g.Parse(func(field string) string { return typed[field] }, common); len(bad) != 1 ||
		bad["amplitude-3H-24"] == "" {
		t.Errorf("problems: %v", bad)
	}
}

func TestParsePaste(t *testing.T) {
	t.Parallel()
	g := timing.NewGrid(0, 24)
	for _, tc := range []struct {
		name        string
		text        string
		row, column int
		want        map[string]string // field -> typed text of the figure, "" for not measured
		wantBad     []string
	}{
		{"a column of six", "3\n-2\n0\n5\n−7\n1\n", 0, 0,
			map[string]string{"rate-CH-0": "+3", "rate-FH-0": "-2", "rate-3H-0": "0", "rate-6H-0": "+5", "rate-9H-0": "-7",
				"rate-12H-0": "+1"}, nil},
		{"a block with decimal commas", "3,5\t270\t0,2\r\n-2,0\t268\t0,3\r\n", 0, 0,
			map[string]string{"rate-CH-0": "+3.5", "amplitude-CH-0": "270", "beat_error-CH-0": "0.2",
				"rate-FH-0": "-2.0", "amplitude-FH-0": "268", "beat_error-FH-0": "0.3"}, nil},
		{"semicolons, quotation marks", "\"3,5\"; 270", 2, 3,
			map[string]string{"rate-3H-24": "+3.5", "amplitude-3H-24": "270"}, nil},
		{"blank line and cell", "3\n\n5", 0, 0,
			map[string]string{"rate-CH-0": "+3", "rate-FH-0": "", "rate-3H-0": "+5"}, nil},
		{"old line ends", "3\r4\r", 0, 0, map[string]string{"rate-CH-0": "+3", "rate-FH-0": "+4"}, nil},
		{"a heading", "Rate\n3", 0, 0, map[string]string{"rate-CH-0": "+3"}, nil},
		{"commas with a heading and positions", "position,rate_s_per_day,amplitude_deg,beat_error_ms\n3H,+3.5,268,0.2\nCH,-2,270,",
			0, 0, map[string]string{"rate-3H-0": "+3.5", "amplitude-3H-0": "268", "beat_error-3H-0": "0.2", "rate-CH-0": "-2",
				"amplitude-CH-0": "270", "beat_error-CH-0": ""}, nil},
		{"commas, quotation marks around decimal ones", "\"3,5\", 270, \"0,2\"\n4, 268, 0.1", 0, 0,
			map[string]string{"rate-CH-0": "+3.5", "amplitude-CH-0": "270", "beat_error-CH-0": "0.2", "rate-FH-0": "+4",
				"amplitude-FH-0": "268", "beat_error-FH-0": "0.1"}, nil},
		{"decimal commas in a column", "3,5\n-2,0", 0, 0, map[string]string{"rate-CH-0": "+3.5", "rate-FH-0": "-2.0"}, nil},
		{"semicolons with a heading", "rate;amplitude\n3,5;270", 0, 3,
			map[string]string{"rate-CH-24": "+3.5", "amplitude-CH-24": "270"}, nil},
		{"a heading in another order", "amplitude,rate\n270,3", 0, 0, map[string]string{},
			[]string{"Line 1, column 1: The heading says amplitude, where the grid has the rate. Bring the columns into the order " +
				"rate, amplitude, beat error.", "Line 1, column 2: The heading says rate, where the grid has the amplitude. Bring " +
				"the columns into the order rate, amplitude, beat error."}},
		{"a line that cannot be read below a heading", "position,rate,amplitude\nCH,3,268\nFH,fast,267", 0, 0,
			map[string]string{"rate-CH-0": "+3", "amplitude-CH-0": "268", "amplitude-FH-0": "267"},
			[]string{"Line 3, column 2: “fast” is not a figure. Write digits, for example +3 or −3.5."}},
		{"a position twice", "CH,3,268,0.1\nCH,4,267,0.1", 0, 0, map[string]string{"rate-CH-0": "+3", "amplitude-CH-0": "268",
			"beat_error-CH-0": "0.1"}, []string{"Line 2: CH is given twice."}},
		{"too many lines", "1\n2\n3\n4", 4, 0, map[string]string{"rate-9H-0": "+1", "rate-12H-0": "+2"},
			[]string{"Line 3: There is no row left below 12H for this line and what follows it."}},
		{"too many columns", "1\t270\t0.1\t9", 0, 3, map[string]string{"rate-CH-24": "+1", "amplitude-CH-24": "270",
			"beat_error-CH-24": "0.1"},
			[]string{"Line 1, column 4: There is no column left for this figure."}},
		{"errors on two lines", "x\n3\ny", 0, 0, map[string]string{"rate-FH-0": "+3"},
			[]string{"Line 1, column 1: “x” is not a figure. Write digits, for example +3 or −3.5.",
				"Line 3, column 1: “y” is not a figure. Write digits, for example +3 or −3.5."}},
		{"far too long", strings.Repeat("1\n", 40_000), 0, 0, map[string]string{},
			[]string{"Line 1: The pasted text is too long for this grid."}},
	} {
		t.Run(tc.name, func(t *testing.T) {
			t.Parallel()
			cells, bad, err := timing.ParsePaste(tc.text, g, tc.row, tc.column)
			if err != nil {
				t.Fatal(err)
			}
			got := map[string]string{}
			for _, c := range cells {
				text := ""
				if c.Figure != nil {
					quantity, _, _ := strings.Cut(c.Field, "-")
					text = c.Figure.InputText(timing.Quantity(quantity))
				}
				got[c.Field] = text
			}
			if diff := cmp.Diff(tc.want, got); diff != "" {
				t.Errorf("cells (-want +got):\n%s", diff)
			}
			var gotBad []string
			for _, p := range bad {
				gotBad = append(gotBad, p.String())
			}
			if diff := cmp.Diff(tc.wantBad, gotBad); diff != "" {
				t.Errorf("problems (-want +got):\n%s", diff)
			}
		})
	}
}

func TestParsePasteOffGrid(t *testing.T) {
	t.Parallel()
	g := timing.NewGrid(0)
	for _, at := range [][2]int{{-1, 0}, {6, 0}, {0, -1}, {0, 3}} {
		if _, _, err := timing.ParsePaste("3", g, at[0], at[1]); !errors.Is(err, timing.ErrOffGrid) {
			t.Errorf("at %v: got %v, want ErrOffGrid", at, err)
		}
	}
}

func FuzzParsePaste(f *testing.F) {
	f.Add("3\n-2\n0\n5\n-7\n1\n", 0, 0)
	f.Add("3,5\t270\t0,2\r\n", 1, 3)
	f.Add("\"3;4\";;\n\n\r", 5, 5)
	f.Add("\t\t\t\t\t\t\t", 0, 0)
	f.Add("position,rate\nCH,1\nCH,2\n3H,\"1,5\",,", 5, 0)
	f.Fuzz(func(t *testing.T, text string, row, column int) {
		g := timing.NewGrid(0, 24)
		cells, bad, err := timing.ParsePaste(text, g, row, column)
		if err != nil {
			return
		}
		seen := map[string]bool{}
		for _, c := range cells {
			if seen[c.Field] {
				t.Fatalf("%q fills %s twice", text, c.Field)
			}
			seen[c.Field] = true
		}
		if room := len(g.Rows) * (len(g.Columns) - column); len(cells) > room { // a line may name its position
			t.Fatalf("%q fills %d cells of %d", text, len(cells), room)
		}
		for _, p := range bad {
			if p.Line < 1 || p.Reason == "" {
				t.Fatalf("%q: problem without a place or reason: %+v", text, p)
			}
		}
	})
}
