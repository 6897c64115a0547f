package finaltest

import (
	"cmp"
	"slices"
	"strings"

	"ledgerwheel/domain/text"
)

// Sheet is the final test of one watch: at most one result for each test.
type Sheet struct {
	Results []Result
}

// Result returns the result of t, open where there is none.
func (s Sheet) Result(t Test) Result {
	for _, r := range s.Results {
		if r.Test == t {
			return r
		}
	}
	return Result{Test: t}
}

// With returns the sheet with r in place of any earlier result of its test.
func (s Sheet) With(r Result) Sheet {
	kept := slices.DeleteFunc(slices.Clone(s.Results), func(was Result) bool { return was.Test == r.Test })
	return Sheet{Results: append(kept, r)}
}

// Verdict is pass when every test is decided and none failed, fail as soon as
// one has, and open otherwise. A sheet on which nothing applies stays open:
// nothing was tested.
func (s Sheet) Verdict() Outcome {
	passed, open := 0, false
	for _, t := range Tests {
		switch s.Result(t).Outcome {
		case OutcomeFail:
			return OutcomeFail
		case OutcomePass:
			passed++
		case OutcomeOpen:
			open = true
		}
	}
	if open || passed == 0 {
		return OutcomeOpen
	}
	return OutcomePass
}

// Failed lists the tests that failed, in the order of Tests.
func (s Sheet) Failed() []Test { return s.with(OutcomeFail) }

// Open lists the tests still to do, in the order of Tests.
func (s Sheet) Open() []Test { return s.with(OutcomeOpen) }

func (s Sheet) with(o Outcome) []Test {
	var found []Test
	for _, t := range Tests {
		if s.Result(t).Outcome == o {
			found = append(found, t)
		}
	}
	return found
}

// The stages that can mend a failed test, earliest first, by the docket's
// words for them.
var mendingStages = []string{"diagnosis", "parts", "service", "regulation"}

// SuggestedStage returns the docket stage that can mend a failed r for a watch
// that claims st, empty where r did not fail:
//
//   - a power reserve under three quarters of what is stated wants a new look,
//     at mainspring and train: diagnosis; one just short, service;
//   - water resistance and case and strap want seals, crystal, crown or
//     bracelet: parts;
//   - winding, setting, date and hands want the watch open again: service.
//
// The figure of three quarters is the shop's (common practice), not a standard's.
func (r Result) SuggestedStage(st Stated) string {
	if r.Outcome != OutcomeFail {
		return ""
	}
	switch r.Test {
	case PowerReserve:
		if r.HasFigure && st.PowerReserveHours > 0 && r.Figure >= 0.75*st.PowerReserveHours {
			return "service"
		}
		return "diagnosis"
	case WaterResistance, CaseAndStrap:
		return "parts"
	}
	return "service"
}

// SuggestedStage returns the earliest stage that any failed test asks for,
// empty where none failed.
func (s Sheet) SuggestedStage(st Stated) string {
	earliest := len(mendingStages)
	for _, r := range s.Results {
		if at := slices.Index(mendingStages, r.SuggestedStage(st)); at >= 0 {
			earliest = min(earliest, at)
		}
	}
	if earliest == len(mendingStages) {
		return ""
	}
	return mendingStages[earliest]
}

// Problems says, by "TEST-FIELD" (see [Result.Problems]), "note" and "", what stops s being recorded for a watch
// that claims st, after what was recorded before. Tests still open may be recorded as open, but not all of them.
func (s Sheet) Problems(st Stated, before Before, note string) map[string]string {
	bad := map[string]string{}
	add := func(t Test, problems map[string]string) {
		for field, why := range problems {
			bad[string(t)+"-"+field] = why
		}
	}
	for _, r := range s.Results {
		add(r.Test, r.Problems(st))
	}
	for _, t := range Tests {
		add(t, s.Result(t).correctionProblems(before))
	}
	if len(s.Open()) == len(Tests) {
		bad[""] = "Record how at least one test came out."
	}
	if text.TooLong(note, MaxNote) {
		bad["note"] = "Keep the note to at most 2000 characters."
	}
	return bad
}

// Signed returns s with who found each result and when: as in before where the result reads the same there,
// else as in by. A line that was corrected stays marked.
func (s Sheet) Signed(before Sheet, by Result) Sheet {
	signed := Sheet{Results: slices.Clone(s.Results)}
	for i, r := range signed.Results {
		who := by
		was := before.Result(r.Test)
		if was.ByID != 0 && was.Form() == r.Form() {
			who = was
		}
		signed.Results[i].Corrects = cmp.Or(r.Corrects, was.Corrects)
		signed.Results[i].By, signed.Results[i].ByID, signed.Results[i].At = who.By, who.ByID, who.At
	}
	return signed
}

// VerdictWords is o as the verdict on all tests: while some are still to be done it is not finished.
func (o Outcome) VerdictWords() string {
	if o == OutcomeOpen {
		return "not finished"
	}
	return o.Words()
}

// Summary is what the journal tells of a final test with the verdict o, in which the tests named were corrected.
func (o Outcome) Summary(corrected map[Test]Result) string {
	s := "Final test: " + o.VerdictWords() + "."
	var names []string
	for _, t := range Tests {
		if _, is := corrected[t]; is {
			names = append(names, t.Words())
		}
	}
	if len(names) == 0 {
		return s
	}
	return s + " Corrected without work in between: " + strings.Join(names, ", ") + "."
}
