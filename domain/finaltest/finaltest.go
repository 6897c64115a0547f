// Package finaltest holds the tests a watch must pass before it is handed
// over, each with its figure, and says which stage can mend a failure.
package finaltest

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"ledgerwheel/domain/figure"
	"ledgerwheel/domain/text"
	"ledgerwheel/domain/watch"
)

// Test is one of the final tests.
type Test string

// The tests.
const (
	PowerReserve      Test = "power-reserve"
	WaterResistance   Test = "water-resistance"
	WindingAndSetting Test = "winding-and-setting"
	DateChange        Test = "date-change"
	HandsClearance    Test = "hands-clearance"
	CaseAndStrap      Test = "case-and-strap"
)

// Tests lists every Test in the order a form shows them.
var Tests = []Test{PowerReserve, WaterResistance, WindingAndSetting, DateChange, HandsClearance, CaseAndStrap}

// Words says t in plain words.
func (t Test) Words() string { return strings.ReplaceAll(string(t), "-", " ") }

// Unit is the unit of the figure that t takes, empty where it takes none.
func (t Test) Unit() string {
	switch t {
	case PowerReserve:
		return "h"
	case WaterResistance:
		return "bar"
	}
	return ""
}

// Outcome is how a test came out. OutcomeOpen is the zero value.
type Outcome string

// The outcomes.
const (
	OutcomeOpen          Outcome = "" // not yet tested
	OutcomePass          Outcome = "pass"
	OutcomeFail          Outcome = "fail"
	OutcomeNotApplicable Outcome = "not-applicable"
)

// Outcomes lists every Outcome in the order a form shows them.
var Outcomes = []Outcome{OutcomeOpen, OutcomePass, OutcomeFail, OutcomeNotApplicable}

// Words says o in plain words.
func (o Outcome) Words() string {
	switch o {
	case OutcomeOpen:
		return "not yet tested"
	case OutcomeNotApplicable:
		return "not applicable"
	}
	return string(o)
}

// Medium is what presses on the watch in the water-resistance test.
type Medium string

// The media.
const (
	MediumNone  Medium = ""
	MediumAir   Medium = "air"   // dry test
	MediumWater Medium = "water" // wet test
)

// The figures of a water-resistance test. ISO 2281:1990, from copies of its
// list of tests; ISO 22810:2010 replaces it and keeps these figures (from
// memory: the text of ISO 22810 was not read).
const (
	DryOverpressureBar      = 2  // air; at most DryLeakMicrogramsPerMin may leak
	DryLeakMicrogramsPerMin = 50 // micrograms of air a minute
	WetMinutes              = 10 // at the marked overpressure, watch.UnratedOverpressureBar when unrated
	WetRampMinutes          = 1  // longest time to raise, and to release, the overpressure
)

// The greatest figures, and the longest note in characters, that may be saved.
const (
	maxOverpressureBar   = 200
	maxPowerReserveHours = watch.MaxPowerReserveHours
	MaxNote              = 2000
)

// toleranceBar keeps a mark in feet, which is no whole number of bar in binary
// floating point, from failing by rounding alone.
const toleranceBar = 1e-9

// WaterFigures states what the standard asks of the water test, and how far
// that is known.
const WaterFigures = "ISO 22810: dry test at 2 bar of air, leak at most 50 µg a minute; wet test 10 minutes at the " +
	"marked overpressure, " +
	"2 bar when none is marked, raised and released within a minute each. " +
	"The figures are those of ISO 2281:1990, which ISO 22810 is remembered to keep; have the standard at hand where it matters."

// Caution is shown beside the water-resistance test.
const Caution = "Test dry, in air, before any test in water; a watch that fails the dry test does not go under water. " +
	"Wear eye protection: a crystal can burst. Follow the instrument's instructions and local rules for pressure vessels."

// Result is how one test came out.
type Result struct {
	Test      Test
	Outcome   Outcome
	Figure    float64 // in the test's unit; meaningful only when HasFigure
	HasFigure bool
	Medium    Medium // water resistance only
	DryFirst  bool   // water resistance in water: the dry test was passed before
	Note      string // must give the reason when not applicable
	// Corrects is why what was recorded before was wrong, where this takes its place without bench work in between;
	// it marks the line from then on.
	Corrects string
	By       string
	ByID     int64
	At       time.Time // UTC
}

// FigureWords writes the figure with its unit, or nothing.
func (r Result) FigureWords() string {
	if !r.HasFigure {
		return ""
	}
	s := figure.Plain(r.Figure) + "\u00a0" + r.Test.Unit()
	if r.Medium != MediumNone {
		s += " in " + string(r.Medium)
	}
	return s
}

// Stated is what the watch claims, against which figures are judged.
type Stated struct {
	PowerReserveHours float64 // of the calibre; 0 when not known
	OverpressureBar   float64 // of the mark; 0 when nothing is marked
}

// StatedOf gathers what a watch and its calibre claim.
func StatedOf(w watch.Watch, c watch.Calibre) Stated {
	return Stated{PowerReserveHours: c.PowerReserveHours, OverpressureBar: w.OverpressureBar}
}

// Problems says, by form field, what stops r being saved for a watch that
// claims s: "outcome", "figure", "medium", "dry_first" or "note".
func (r Result) Problems(s Stated) map[string]string {
	bad := map[string]string{}
	if !slices.Contains(Tests, r.Test) {
		bad["outcome"] = "Choose a test from the list."
	}
	if !slices.Contains(Outcomes, r.Outcome) {
		bad["outcome"] = "Choose pass, fail or not applicable."
	}
	if r.Outcome == OutcomeNotApplicable && r.Note == "" {
		bad["note"] = "Say why this test does not apply."
	}
	if text.TooLong(r.Note, MaxNote) {
		bad["note"] = "Keep the note to at most 2000 characters."
	}
	switch r.Test {
	case PowerReserve:
		r.reserveProblems(s, bad)
	case WaterResistance:
		r.waterProblems(s, bad)
	default:
		if r.HasFigure {
			bad["figure"] = "This test takes no figure."
		}
	}
	return bad
}

func (r Result) reserveProblems(s Stated, bad map[string]string) {
	switch {
	case r.HasFigure && !(r.Figure >= 0 && r.Figure <= maxPowerReserveHours):
		bad["figure"] = "Give the hours as a figure from 0 to 2000."
	case r.Outcome != OutcomePass && r.Outcome != OutcomeFail:
	case r.Outcome == OutcomePass && !r.HasFigure:
		bad["figure"] = "Give the hours it ran."
	case r.Outcome == OutcomePass && r.Figure < s.PowerReserveHours && r.Note == "":
		bad["figure"] = fmt.Sprintf("The calibre is stated to run %s h: mark this failed, or say in the note why less is accepted.", figure.Plain(s.PowerReserveHours))
	}
}

func (r Result) waterProblems(s Stated, bad map[string]string) {
	if r.HasFigure && !(r.Figure > 0 && r.Figure <= maxOverpressureBar) {
		bad["figure"] = "Give the overpressure as a figure above 0 and up to 200 bar."
		return
	}
	if r.Medium != MediumNone && r.Medium != MediumAir && r.Medium != MediumWater {
		bad["medium"] = "Choose air or water."
	}
	if r.Outcome != OutcomePass {
		return
	}
	need := s.OverpressureBar
	switch {
	case !r.HasFigure:
		bad["figure"] = "Give the overpressure of the test in bar."
	case r.Figure < need-toleranceBar && r.Note == "":
		bad["figure"] = fmt.Sprintf("The watch is marked for %s bar: test at that, or say in the note to what the owner "+
			"is told to keep.", figure.Plain(need))
	}
	switch {
	case r.Medium == MediumNone:
		bad["medium"] = "Say whether it was tested in air or in water."
	case r.Medium == MediumWater && !r.DryFirst:
		bad["dry_first"] = "Confirm that it passed the dry test first: no watch goes under water before."
	}
}

// Form is one result as typed.
type Form struct {
	Test, Outcome, Figure, Medium, Note string
	DryFirst                            bool
}

// Check reads f for a watch that claims s and returns the result with what
// stops it being saved, by form field.
func (f Form) Check(s Stated) (Result, map[string]string) {
	r := Result{
		Test: Test(strings.TrimSpace(f.Test)), Outcome: Outcome(strings.TrimSpace(f.Outcome)),
		Medium: Medium(strings.TrimSpace(f.Medium)), DryFirst: f.DryFirst, Note: text.Lines(f.Note),
	}
	var err error
	r.Figure, r.HasFigure, err = ParseFigure(f.Figure, r.Test.Unit())
	bad := r.Problems(s)
	if err != nil {
		bad["figure"] = "Give a figure such as 42.5."
	}
	return r, bad
}

// Form returns r as it would be typed.
func (r Result) Form() Form {
	f := Form{Test: string(r.Test), Outcome: string(r.Outcome), Medium: string(r.Medium), Note: r.Note,
		DryFirst: r.DryFirst}
	if r.HasFigure {
		f.Figure = figure.Plain(r.Figure)
	}
	return f
}

// ParseFigure reads a figure of nought or more, with or without its unit.
// given is false where nothing was typed.
func ParseFigure(typed, unit string) (value float64, given bool, err error) {
	if figure.Blank(typed) {
		return 0, false, nil
	}
	n, err := figure.Parse(typed, unit)
	if err != nil {
		return 0, false, err
	}
	if n.Float() < 0 {
		return 0, false, fmt.Errorf("figure %q is below zero", typed)
	}
	return n.Float(), true, nil
}
