package diagnosis_test

import (
	"maps"
	"slices"
	"strings"
	"testing"

	"ledgerwheel/domain/diagnosis"
	"ledgerwheel/domain/watch"
)

func fields(problems map[string]string) []string { return slices.Sorted(maps.Keys(problems)) }

// The thirteen components the shop's findings are sorted by, in its order.
func TestComponents(t *testing.T) {
	t.Parallel()
	want := []string{
		"mainspring", "barrel", "train", "jewels", "escapement", "balance staff", "hairspring", "motion work",
		"dial and hands", "case and seals", "crown and stem", "automatic work", "calendar",
	}
	var got []string
	for _, c := range diagnosis.Components {
		got = append(got, c.Words())
		if faults := diagnosis.UsualFaults(c); len(faults) < 3 || slices.Contains(faults, "") {
			t.Errorf("%s offers the faults %q", c.Words(), faults)
		}
	}
	if !slices.Equal(got, want) {
		t.Errorf("got %q, want %q", got, want)
	}
	diagnosis.UsualFaults(diagnosis.Train)[0] = "spoilt"
	if diagnosis.UsualFaults(diagnosis.Train)[0] == "spoilt" {
		t.Error("a caller can change the usual faults")
	}
}

func TestFindingProblems(t *testing.T) {
	t.Parallel()
	good := diagnosis.Finding{Component: diagnosis.Mainspring, Fault: "broken", Severity: diagnosis.Require}
	for _, tt := range []struct {
		name   string
		change func(*diagnosis.Finding)
		want   []string
	}{
		{"good", func(*diagnosis.Finding) {}, nil},
		{"free words", func(f *diagnosis.Finding) { f.Fault = "someone else's repair" }, nil},
		{"nothing said", func(f *diagnosis.Finding) { *f = diagnosis.Finding{} }, []string{"component", "fault", "severity"}},
		{"not listed", func(f *diagnosis.Finding) { f.Component, f.Severity = "sundial", "dire" },
			[]string{"component", "severity"}},
		{"blank fault", func(f *diagnosis.Finding) { f.Fault = " \n" }, []string{"fault"}},
		{"long", func(f *diagnosis.Finding) {
			f.Fault, f.Note = strings.Repeat("é", diagnosis.MaxFault+1), strings.Repeat("é", diagnosis.MaxNote+1)
		}, []string{"fault", "note"}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			f := good
			tt.change(&f)
			if got := fields(f.Tidied().Problems()); !slices.Equal(got, tt.want) {
				t.Errorf("problems with %v, want %v", got, tt.want)
			}
		})
	}
}

func TestHazardsFor(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		name  string
		facts diagnosis.Facts
		want  []diagnosis.Hazard
	}{
		// Only a survey meter tells radium from harmless paint (Canadian Nuclear
		// Safety Commission advice, 2012), so the unknown counts as radium.
		{"nothing known", diagnosis.Facts{}, []diagnosis.Hazard{diagnosis.RadioactiveLume, diagnosis.MainspringLetDown}},
		{"radium", diagnosis.Facts{Lume: watch.LumeRadium}, []diagnosis.Hazard{diagnosis.RadioactiveLume,
			diagnosis.MainspringLetDown}},
		{"modern lume, hand wound", diagnosis.Facts{Lume: watch.LumePhotoluminescent, Winding: watch.WindingHand},
			[]diagnosis.Hazard{diagnosis.MainspringLetDown}},
		{"tritium", diagnosis.Facts{Lume: watch.LumeTritiumTubes}, []diagnosis.Hazard{diagnosis.TritiumLume,
			diagnosis.MainspringLetDown}},
		{"cell", diagnosis.Facts{Lume: watch.LumeNone, Winding: watch.WindingCell}, []diagnosis.Hazard{diagnosis.CoinCell}},
		{"cell beside a mainspring", diagnosis.Facts{Lume: watch.LumeNone, CellSeen: true},
			[]diagnosis.Hazard{diagnosis.MainspringLetDown, diagnosis.CoinCell}},
		{"to be cleaned and tested", diagnosis.Facts{Lume: watch.LumeNone, Winding: watch.WindingAutomatic,
			WillBeCleaned: true, WillBePressurised: true},
			[]diagnosis.Hazard{diagnosis.MainspringLetDown, diagnosis.Solvents, diagnosis.PressureTest}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			if got := diagnosis.HazardsFor(tt.facts); !slices.Equal(got, tt.want) {
				t.Errorf("got %v, want %v", got, tt.want)
			}
		})
	}
	marked := diagnosis.FactsOf(watch.Watch{Lume: watch.LumeNone, OverpressureBar: 5})
	if !marked.WillBePressurised || !marked.WillBeCleaned || marked.CellSeen {
		t.Errorf("a watch marked for 5 bar gives %+v", marked)
	}
}

// Each caution must say what the sources and workshop practice ask at least,
// and defer to those with authority.
func TestCautions(t *testing.T) {
	t.Parallel()
	for hazard, must := range map[diagnosis.Hazard][]string{
		// Gillmore et al. 2012 (radon); Canadian Nuclear Safety Commission, 2012.
		diagnosis.RadioactiveLume: {"scrape", "sand", "open", "dust control", "gloves", "radon", "radiation authority",
			"licensed practice"},
		diagnosis.TritiumLume: {"gloves", "authority"},
		// Common workshop practice.
		diagnosis.MainspringLetDown: {"let the power down", "before", "barrel", "eye protection"},
		// poison.org button battery tip: burns within two hours.
		diagnosis.CoinCell: {"child", "two hours", "emergency"},
		diagnosis.Solvents: {"ventilation", "flames", "safety data sheet"},
		// Common workshop practice.
		diagnosis.PressureTest: {"dry", "before", "water", "eye protection", "local rules"},
	} {
		c := hazard.Caution()
		said := strings.ToLower(c.Title + " " + strings.Join(c.Usual, " ") + " " + c.Defer)
		for _, word := range must {
			if !strings.Contains(said, word) {
				t.Errorf("%s: the caution does not say %q", hazard, word)
			}
		}
		if c.Defer == "" || c.Source == "" || hazard.Words() != c.Title {
			t.Errorf("%s: defers to %q, source %q, titled %q", hazard, c.Defer, c.Source, hazard.Words())
		}
	}
	for _, h := range diagnosis.Hazards {
		if len(h.Caution().Usual) == 0 {
			t.Errorf("%s has no caution", h)
		}
	}
}
