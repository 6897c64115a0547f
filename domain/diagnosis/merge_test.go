package diagnosis_test

import (
	"slices"
	"strconv"
	"testing"

	"pgregory.net/rapid"

	"ledgerwheel/domain/diagnosis"
)

func drawFinding(t *rapid.T, label string) diagnosis.Finding {
	word := rapid.SampledFrom([]string{"", "dirty", "pivot bent"})
	return diagnosis.Finding{Component: diagnosis.Train, Fault: word.Draw(t, label), Note: word.Draw(t, label),
		Severity: rapid.SampledFrom(diagnosis.Severities).Draw(t, label), PhotoID: rapid.Int64Range(0, 2).Draw(t, label)}
}

func TestMergeFindingsLosesNoChange(t *testing.T) {
	t.Parallel()
	fields := map[string]func(diagnosis.Finding) string{
		"fault":    func(f diagnosis.Finding) string { return f.Fault },
		"severity": func(f diagnosis.Finding) string { return string(f.Severity) },
		"note":     func(f diagnosis.Finding) string { return f.Note },
		"photo":    func(f diagnosis.Finding) string { return strconv.FormatInt(f.PhotoID, 10) },
	}
	rapid.Check(t, func(t *rapid.T) {
		base, theirs, mine := drawFinding(t, "base"), drawFinding(t, "theirs"), drawFinding(t, "mine")
		m := diagnosis.MergeFindings(base, theirs, mine)
		type judged struct {
			fault    string
			severity diagnosis.Severity
		}
		is := func(f diagnosis.Finding) judged { return judged{f.Fault, f.Severity} }
		apart := is(theirs) != is(base) && is(mine) != is(base) && is(theirs) != is(mine)
		for name, of := range fields {
			b, th, mi, got := of(base), of(theirs), of(mine), of(m.Merged)
			clash := slices.Contains(m.Clashes, name)
			both := th != b && mi != b && th != mi
			if name == "fault" || name == "severity" {
				both = apart && th != mi
			}
			switch {
			case clash != both:
				t.Fatalf("%s clashes %t, and should %t: %q, %q, %q", name, clash, both, b, th, mi)
			case clash && got != mi:
				t.Fatalf("%s, asked about, is not as typed: %q", name, got)
			case !clash && (th != b && got != th || mi != b && got != mi):
				t.Fatalf("%s is %q of %q, %q, %q", name, got, b, th, mi)
			}
		}
		if !apart && is(m.Merged) != is(theirs) && is(m.Merged) != is(mine) {
			t.Fatalf("%+v is neither's judgement", m.Merged)
		}
	})
}
