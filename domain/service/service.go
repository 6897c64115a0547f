// Package service holds what was done at the bench: the steps of a service,
// the lubricants used in each place, the time spent and notes.
package service

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"ledgerwheel/domain/figure"
	"ledgerwheel/domain/text"
)

// Step is one of the usual steps of a service.
type Step string

// The steps, in the order they are usually taken (common practice).
const (
	StepLetDown      Step = "let-down"
	StepUncase       Step = "uncase"
	StepDismantle    Step = "dismantle"
	StepInspect      Step = "inspect"
	StepDemagnetise  Step = "demagnetise"
	StepClean        Step = "clean"
	StepPegJewels    Step = "peg-jewels"
	StepMainspring   Step = "mainspring"
	StepReassemble   Step = "reassemble"
	StepLubricate    Step = "lubricate"
	StepEscapement   Step = "escapement"
	StepDialAndHands Step = "dial-and-hands"
	StepCase         Step = "case"
	StepSeals        Step = "seals"
	StepCaseUp       Step = "case-up"
)

// Steps lists every Step in the order usually taken.
var Steps = []Step{
	StepLetDown, StepUncase, StepDismantle, StepInspect, StepDemagnetise, StepClean, StepPegJewels,
	StepMainspring, StepReassemble, StepLubricate, StepEscapement, StepDialAndHands, StepCase, StepSeals, StepCaseUp,
}

var stepWords = map[Step]string{
	StepLetDown:      "power let down",
	StepUncase:       "taken out of the case, dial and hands off",
	StepDismantle:    "dismantled",
	StepInspect:      "parts inspected under magnification",
	StepDemagnetise:  "demagnetised",
	StepClean:        "cleaned and rinsed",
	StepPegJewels:    "jewels and holes pegged",
	StepMainspring:   "mainspring replaced",
	StepReassemble:   "reassembled, shakes checked",
	StepLubricate:    "lubricated",
	StepEscapement:   "escapement checked: lock, drop and draw",
	StepDialAndHands: "dial fitted and hands set, clearances checked",
	StepCase:         "case and bracelet cleaned",
	StepSeals:        "seals replaced",
	StepCaseUp:       "cased up",
}

// Words says s in plain words.
func (s Step) Words() string {
	if w, ok := stepWords[s]; ok {
		return w
	}
	return string(s)
}

// Done records that a step was taken.
type Done struct {
	Step Step
	By   string
	ByID int64
	At   time.Time // UTC
}

// Place is where lubricant goes.
type Place string

// The places, from the barrel outward.
const (
	BarrelWall    Place = "barrel-wall"
	BarrelArbor   Place = "barrel-arbor"
	TrainPivots   Place = "train-pivots"
	EscapePivots  Place = "escape-pivots"
	PalletStones  Place = "pallet-stones"
	BalancePivots Place = "balance-pivots"
	KeylessWork   Place = "keyless-work"
	MotionWork    Place = "motion-work"
	AutomaticWork Place = "automatic-work"
	CalendarWork  Place = "calendar"
)

// Places lists every Place in the order a form shows them.
var Places = []Place{
	BarrelWall, BarrelArbor, TrainPivots, EscapePivots, PalletStones, BalancePivots,
	KeylessWork, MotionWork, AutomaticWork, CalendarWork,
}

// Words says p in plain words.
func (p Place) Words() string { return strings.ReplaceAll(string(p), "-", " ") }

// LubricantKinds are the classes of lubricant offered on the form; other words
// may be typed.
var LubricantKinds = []string{
	"thin synthetic oil", "medium oil", "heavy oil", "pallet stone grease", "braking grease",
	"mainspring grease", "light grease", "heavy grease", "dry film", "none, left dry",
}

// usual is the class commonly used in each place (common practice).
var usual = map[Place]string{
	BarrelWall:    "braking grease",
	BarrelArbor:   "heavy oil",
	TrainPivots:   "medium oil",
	EscapePivots:  "thin synthetic oil",
	PalletStones:  "pallet stone grease",
	BalancePivots: "thin synthetic oil",
	KeylessWork:   "heavy grease",
	MotionWork:    "heavy oil",
	AutomaticWork: "medium oil",
	CalendarWork:  "light grease",
}

// onSheets are the words, all of one row together, by which a calibre's own sheet may name each place.
var onSheets = map[Place][][]string{
	BarrelWall: {{"barrel", "wall"}}, BarrelArbor: {{"barrel", "arbor"}},
	TrainPivots:  {{"train"}, {"third", "wheel"}, {"centre", "wheel"}},
	EscapePivots: {{"escape"}}, PalletStones: {{"pallet", "stone"}}, BalancePivots: {{"balance"}},
	KeylessWork: {{"keyless"}, {"winding", "setting"}}, MotionWork: {{"motion"}, {"cannon"}},
	AutomaticWork: {{"automatic"}}, CalendarWork: {{"calendar"}, {"date"}},
}

// NamedBy reports whether a calibre's own sheet, which names places in its own words, means this place by a name.
func (p Place) NamedBy(name string) bool {
	name = strings.ToLower(name)
	return slices.ContainsFunc(onSheets[p], func(words []string) bool {
		return !slices.ContainsFunc(words, func(w string) bool { return !strings.Contains(name, w) })
	})
}

// UsualLubricant returns the class of lubricant commonly used at p, for a form
// to offer; the calibre's own service sheet stands above it. A hand-wound
// watch has no slipping spring and so needs no braking grease: automatic says
// which it is.
func UsualLubricant(p Place, automatic bool) string {
	if p == BarrelWall && !automatic {
		return "mainspring grease"
	}
	return usual[p]
}

// Lubricant is what was used in one place.
type Lubricant struct {
	Place Place
	Kind  string // a class or free words
	Note  string
}

// The longest values that may be saved, and the most minutes one entry may
// claim: a working day of twelve hours.
const (
	MaxKind    = 120
	MaxNote    = 4000
	maxMinutes = 12 * 60
)

// Work is one stretch of bench work on a watch.
type Work struct {
	ID         int64
	Steps      []Step // taken in this stretch
	Lubricants []Lubricant
	// StepMinutes is the time spent on single steps, for those that were timed.
	StepMinutes map[Step]int
	Minutes     int // time spent besides; 0 when not timed
	Note        string
	By          string
	ByID        int64
	At          time.Time // UTC
}

// TotalMinutes is all the time spent, on single steps and besides.
func (w Work) TotalMinutes() int {
	total := w.Minutes
	for _, m := range w.StepMinutes {
		total += m
	}
	return total
}

// Problems says, by form field, what stops w being saved. A fault in a
// lubricant is keyed "lubricant.PLACE", one in the time of a step "minutes.STEP".
func (w Work) Problems() map[string]string {
	bad := map[string]string{}
	for _, s := range w.Steps {
		if !slices.Contains(Steps, s) {
			bad["steps"] = "Choose steps from the list."
		}
	}
	seen := map[Place]bool{}
	for _, l := range w.Lubricants {
		key := "lubricant." + string(l.Place)
		switch {
		case !slices.Contains(Places, l.Place):
			bad["lubricant"] = "Choose a place from the list."
		case seen[l.Place]:
			bad[key] = "Give each place once."
		case l.Kind == "":
			bad[key] = "Say which lubricant was used, or leave the place out."
		case text.TooLong(l.Kind, MaxKind) || text.TooLong(l.Note, MaxKind):
			bad[key] = "Keep this to at most 120 characters."
		}
		seen[l.Place] = true
	}
	w.timeProblems(bad)
	if text.TooLong(w.Note, MaxNote) {
		bad["note"] = "Keep the note to at most 4000 characters."
	}
	if len(w.Steps) == 0 && len(w.Lubricants) == 0 && w.Minutes == 0 && w.Note == "" {
		bad["steps"] = "Tick a step, or give the lubricants, the time or a note."
	}
	return bad
}

func (w Work) timeProblems(bad map[string]string) {
	const usage = "Give minutes from 0 to %d, or hours and minutes such as 1:30."
	if w.Minutes < 0 || w.Minutes > maxMinutes {
		bad["minutes"] = fmt.Sprintf(usage, maxMinutes)
	}
	for s, m := range w.StepMinutes {
		switch {
		case m < 0 || m > maxMinutes:
			bad["minutes."+string(s)] = fmt.Sprintf(usage, maxMinutes)
		case !slices.Contains(w.Steps, s):
			bad["minutes."+string(s)] = "Tick the step too, or take its time away."
		}
	}
	if _, known := bad["minutes"]; !known && w.TotalMinutes() > maxMinutes {
		bad["minutes"] = fmt.Sprintf("The times come to more than %d hours: enter each day's work by itself.", maxMinutes/60)
	}
}

// Form is bench work as typed.
type Form struct {
	Steps      []string
	Lubricants map[string]string // kind by place; an empty kind leaves the place out
	// StepMinutes is the time of single steps, by step; nothing typed means not timed.
	StepMinutes map[string]string
	Minutes     string
	Note        string
}

// Check reads f and returns the work with what stops it being saved, by form
// field.
func (f Form) Check() (Work, map[string]string) {
	w := Work{Note: text.Lines(f.Note)}
	for _, s := range f.Steps {
		w.Steps = append(w.Steps, Step(s))
	}
	for _, p := range Places {
		if kind := text.Line(f.Lubricants[string(p)]); kind != "" {
			w.Lubricants = append(w.Lubricants, Lubricant{Place: p, Kind: kind})
		}
	}
	for place := range f.Lubricants {
		if !slices.Contains(Places, Place(place)) {
			w.Lubricants = append(w.Lubricants, Lubricant{Place: Place(place), Kind: f.Lubricants[place]})
		}
	}
	w.Minutes = minutesOr(f.Minutes, -1)
	for s, typed := range f.StepMinutes {
		if m := minutesOr(typed, -1); m != 0 {
			if w.StepMinutes == nil {
				w.StepMinutes = map[Step]int{}
			}
			w.StepMinutes[Step(s)] = m
		}
	}
	return w, w.Problems()
}

// minutesOr reads a time, and gives fault for one that can't be read, which Problems then refuses.
func minutesOr(typed string, fault int) int {
	m, err := ParseMinutes(typed)
	if err != nil {
		return fault
	}
	return m
}

// Form returns w as it would be typed.
func (w Work) Form() Form {
	f := Form{Lubricants: map[string]string{}, StepMinutes: map[string]string{}, Note: w.Note}
	for _, s := range w.Steps {
		f.Steps = append(f.Steps, string(s))
		if m := w.StepMinutes[s]; m > 0 {
			f.StepMinutes[string(s)] = strconv.Itoa(m)
		}
	}
	for _, l := range w.Lubricants {
		f.Lubricants[string(l.Place)] = l.Kind
	}
	if w.Minutes > 0 {
		f.Minutes = strconv.Itoa(w.Minutes)
	}
	return f
}

// ParseMinutes reads a time spent, as minutes (90) or hours and minutes
// (1:30), and returns it in minutes. Nothing typed is 0.
func ParseMinutes(typed string) (int, error) {
	s := strings.TrimSpace(typed)
	if s == "" {
		return 0, nil
	}
	hours, minutes, clock := strings.Cut(s, ":")
	if !clock {
		hours, minutes = "0", s
	}
	h, errH := figure.ParseWhole(hours)
	m, errM := figure.ParseWhole(minutes, "min")
	if errH != nil || errM != nil || h < 0 || m < 0 || h > math.MaxUint16 || m > math.MaxUint16 || (clock && m > 59) {
		return 0, fmt.Errorf("time spent %q not understood", typed)
	}
	return h*60 + m, nil
}

// FormatMinutes writes minutes as hours and minutes: 90 gives "1 h 30 min".
func FormatMinutes(minutes int) string {
	switch h, m := minutes/60, minutes%60; {
	case h == 0:
		return fmt.Sprintf("%d min", m)
	case m == 0:
		return fmt.Sprintf("%d h", h)
	default:
		return fmt.Sprintf("%d h %d min", h, m)
	}
}

// Summary gathers all the work done on one watch.
type Summary struct {
	Done       []Done      // first time of each step, in the order of Steps
	ToDo       []Step      // usual steps not taken, in the order of Steps
	Lubricants []Lubricant // latest for each place, in the order of Places
	Minutes    int
}

// Summarise gathers works, which stand in the order they were done.
func Summarise(works []Work) Summary {
	var sum Summary
	first := map[Step]Done{}
	latest := map[Place]Lubricant{}
	for _, w := range works {
		sum.Minutes += w.TotalMinutes()
		for _, s := range w.Steps {
			if _, ok := first[s]; !ok {
				first[s] = Done{Step: s, By: w.By, ByID: w.ByID, At: w.At}
			}
		}
		for _, l := range w.Lubricants {
			latest[l.Place] = l
		}
	}
	for _, s := range Steps {
		if d, ok := first[s]; ok {
			sum.Done = append(sum.Done, d)
		} else {
			sum.ToDo = append(sum.ToDo, s)
		}
	}
	for _, p := range Places {
		if l, ok := latest[p]; ok {
			sum.Lubricants = append(sum.Lubricants, l)
		}
	}
	return sum
}

// Summary is what the journal tells of a stretch of work.
func (w Work) Summary() string {
	var parts []string
	for _, step := range w.Steps {
		parts = append(parts, step.Words())
	}
	if n := len(w.Lubricants); n == 1 {
		parts = append(parts, "lubricant noted for "+w.Lubricants[0].Place.Words())
	} else if n > 1 {
		parts = append(parts, fmt.Sprintf("lubricants noted for %d places", n))
	}
	if len(parts) == 0 {
		parts = append(parts, "work noted")
	}
	said := "Bench work: " + strings.Join(parts, "; ")
	if m := w.TotalMinutes(); m > 0 {
		said += " (" + FormatMinutes(m) + ")"
	}
	return said + "."
}

// CorrectedSummary is what it tells of one that was corrected.
func (w Work) CorrectedSummary() string { return "Bench work corrected. " + w.Summary() }
