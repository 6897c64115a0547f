package timing

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"

	"ledgerwheel/domain/figure"
	"ledgerwheel/domain/metrology"
)

// Sheet is a run as it is written down: the run, the states of wind its grid has columns for, and the conditions that
// all its readings share.
type Sheet struct {
	Run          Run       // its readings carry Instrument and TemperatureC too
	States       []float64 // hours after winding, least first; some may have no reading yet
	Instrument   string    // as the shop names it, may be empty
	ClockPPM     float64   // the instrument's clock is right to within ± this, parts per million, rectangular
	TemperatureC *float64  // nil when not noted
	// ClockStdPPM is the standard uncertainty of the clocks of those instruments that are the shop's own recorders, in
	// parts per million, by Reading.Instrument: what their calibrations left when the readings were taken. It goes before
	// ClockPPM.
	ClockStdPPM map[string]float64
	// LiftAngle is the one its amplitudes were found with. With Deg alone it is one that nobody determined, good to
	// UsualLiftAngleStdDeg; the zero value leaves the lift angle out of the sheet's own figures and verdicts.
	LiftAngle LiftAngle
}

// MaxStates is how many states of wind fit on one sheet.
const MaxStates = maxStates

const (
	maxStates   = 6
	maxClockPPM = 1000
)

// Problems says, by form field, what stops s being saved: "states", "instrument", "clock_ppm", "temperature", and what
// Run.Problems names.
func (s Sheet) Problems() map[string]string {
	run := s.Run
	run.Readings = slices.Clone(run.Readings)
	for i := range run.Readings { // said once below, not at every cell
		run.Readings[i].Instrument, run.Readings[i].TemperatureC = "", nil
	}
	bad := run.Problems()
	if reason := statesProblem(s.States); reason != "" {
		bad["states"] = reason
	}
	for _, r := range s.Run.Readings {
		if !slices.ContainsFunc(s.States, func(h float64) bool { return sameHours(h, r.HoursAfterWinding) }) {
			bad["states"] = fmt.Sprintf("There are figures %s; name that state too, or clear them.",
				atState(r.HoursAfterWinding))
		}
	}
	if utf8.RuneCountInString(s.Instrument) > maxNameRunes {
		bad["instrument"] = "This name is too long: at most 120 characters."
	}
	if !(s.ClockPPM >= 0 && s.ClockPPM <= maxClockPPM) {
		bad["clock_ppm"] = clockRangeText
	}
	if t := s.TemperatureC; t != nil && !(*t >= -40 && *t <= 80) {
		bad["temperature"] = temperatureRangeText
	}
	return bad
}

const (
	clockRangeText       = "Give parts per million from 0 to 1000, such as 0.5; 50 for a clock never calibrated."
	temperatureRangeText = "Give a temperature from −40 to +80 °C."
)

// Instruments is what the sheet knows of its instrument and of the recorders that its readings name. An instrument of
// which it knows nothing is taken as one never calibrated.
func (s Sheet) Instruments() Instruments {
	known := map[string]float64{s.Instrument: ClockStdSPerDay(s.ClockPPM)}
	for name, ppm := range s.ClockStdPPM {
		known[name] = ppm * SPerDayPerPPM
	}
	return Instruments{ClockStdSPerDay: known, OtherClockStdSPerDay: ClockStdSPerDay(UncalibratedClockPPM),
		LiftAngleRel: s.LiftAngle.Rel()}
}

// Grid is the grid the sheet is typed into.
func (s Sheet) Grid() Grid { return NewGrid(s.States...) }

// ParseSheet reads a run as typed, which typed returns by field name: "kind", "label", "instrument", "clock_ppm",
// "temperature", "states", "columns" (the states the grid had when it was typed into) and the cells of the grid. The
// problems are keyed by field name; where there are any, nothing is to be saved, but the figures that could be read are
// in the sheet all the same. Adjustments are numbered when they are recorded, not here.
func ParseSheet(typed func(field string) string, crownHour int) (Sheet, map[string]string) {
	bad := map[string]string{}
	note := func(field, reason string) {
		if reason != "" && bad[field] == "" {
			bad[field] = reason
		}
	}
	s := Sheet{Run: Run{Kind: Kind(typed("kind")), Label: typed("label"), CrownHour: crownHour},
		Instrument: typed("instrument")}
	for _, t := range Touches() {
		if s.Run.Kind == Adjustment && typed(TouchField(t)) != "" {
			s.Run.Touched = append(s.Run.Touched, t)
		}
	}
	var reason string
	s.States, reason = statesTyped(typed)
	note("states", reason)
	s.ClockPPM, reason = parseAmount(typed("clock_ppm"), clockRangeText, "ppm")
	note("clock_ppm", reason)
	if text := strings.TrimSpace(typed("temperature")); text != "" {
		t, reason := parseAmount(text, temperatureRangeText, "°C", "°", "C")
		note("temperature", reason)
		s.TemperatureC = &t
	}
	readings, problems := s.Grid().Parse(typed, Reading{Instrument: s.Instrument, TemperatureC: s.TemperatureC})
	s.Run.Readings = readings
	for field, reason := range problems {
		note(field, reason)
	}
	unread := len(problems) > 0
	for n := 1; n <= MaxRepeats; n++ {
		again, problems := s.Grid().Parse(func(field string) string { return typed(AgainName(field, n)) },
			Reading{Instrument: s.Instrument, TemperatureC: s.TemperatureC, Repeat: n})
		s.Run.Readings = append(s.Run.Readings, again...)
		for field, reason := range problems {
			note(AgainName(field, n), reason)
			unread = true
		}
	}
	for field, reason := range s.Problems() {
		if field == "adjustment" && s.Run.Kind == Adjustment || field == "readings" && unread {
			continue
		}
		note(field, reason)
	}
	return s, bad
}

// statesTyped reads the states of wind. Where they cannot be read, or leave out one that has figures, the grid keeps
// the columns it had, so that nothing typed is lost.
func statesTyped(typed func(string) string) (states []float64, problem string) {
	had, fault := parseStates(typed("columns"))
	if fault != "" {
		had = nil
	}
	states, problem = parseStates(typed("states"))
	if problem != "" {
		if len(had) == 0 {
			had = []float64{0}
		}
		return had, problem
	}
	for _, h := range had {
		if slices.ContainsFunc(states, func(x float64) bool { return sameHours(x, h) }) || !anyTyped(typed, h) {
			continue
		}
		return had, fmt.Sprintf("There are figures %s; name that state too, or clear them.", atState(h))
	}
	return states, ""
}

// anyTyped reports whether anything stands in the columns of one state of wind.
func anyTyped(typed func(string) string, hours float64) bool {
	g := NewGrid(hours)
	for row := range g.Rows {
		for column := range g.Columns {
			for n := range 1 + MaxRepeats {
				if strings.TrimSpace(typed(AgainName(g.Field(row, column), n))) != "" {
					return true
				}
			}
		}
	}
	return false
}

// parseAmount reads a number that must be there, with or without one of the units.
func parseAmount(text, wanted string, units ...string) (x float64, problem string) {
	n, err := figure.Parse(text, units...)
	if err != nil {
		return 0, wanted
	}
	return n.Float(), ""
}

// parseStates reads states of wind, hours after full winding: "0, 24", "0 24 36.5 h". Blanks, commas and semicolons
// part them, so parts of an hour take a decimal point. They are returned least first. Where problem is not empty it is
// the sentence to show beside the field.
func parseStates(text string) (states []float64, problem string) {
	for _, word := range strings.FieldsFunc(text, func(r rune) bool {
		return r == ',' || r == ';' || r == ' ' ||
			r == '\t' || r == '\n' || r == '\r'
	}) {
		if word == "h" {
			continue
		}
		hours, problem := ParseHours(word)
		if problem != "" {
			return nil, problem
		}
		states = append(states, hours)
		if len(states) > maxStates {
			break
		}
	}
	slices.Sort(states)
	return states, statesProblem(states)
}

func statesProblem(states []float64) string {
	switch {
	case len(states) == 0:
		return "Name at least one state of wind: 0 for full wind."
	case len(states) > maxStates:
		return fmt.Sprintf("At most %d states of wind fit on one sheet.", maxStates)
	}
	for i, h := range states {
		if reason := hoursProblem(h); reason != "" {
			return reason
		}
		if i > 0 && (h < states[i-1] || sameHours(h, states[i-1])) {
			return "Name each state of wind once, the least first."
		}
	}
	return ""
}

// StatesText writes states of wind as parseStates reads them: "0, 24".
func StatesText(states []float64) string {
	texts := make([]string, len(states))
	for i, h := range states {
		texts[i] = HoursText(h)
	}
	return strings.Join(texts, ", ")
}

// Typed returns the sheet as it would be typed, by the field names of ParseSheet.
func (s Sheet) Typed() map[string]string {
	typed := map[string]string{"kind": string(s.Run.Kind), "label": s.Run.Label, "instrument": s.Instrument,
		"clock_ppm": figure.Plain(s.ClockPPM), "states": StatesText(s.States), "columns": StatesText(s.States)}
	if s.TemperatureC != nil {
		typed["temperature"] = figure.Plain(*s.TemperatureC)
	}
	for _, t := range s.Run.Touched {
		typed[TouchField(t)] = "yes"
	}
	for _, r := range s.Run.Readings {
		for _, q := range Quantities() {
			if f := r.Figure(q); f != nil {
				typed[r.FieldName(q)] = f.InputText(q)
			}
		}
	}
	return typed
}

// Shown returns the figures of the sheet as people read them, by the field names of its grid: see Instruments.Text.
func (s Sheet) Shown() map[string]string {
	shown, instruments := map[string]string{}, s.Instruments()
	for _, r := range s.Run.Readings {
		for _, q := range Quantities() {
			shown[r.FieldName(q)] = instruments.Text(r, q)
		}
	}
	return shown
}

// Confirm keeps with the figures that were asked about what was asked and who confirmed it; questions are by the field
// names of the grid.
func (s *Sheet) Confirm(questions map[string]string, by string) {
	for _, r := range s.Run.Readings {
		for _, q := range Quantities() {
			if question := questions[r.FieldName(q)]; question != "" && r.Figure(q) != nil {
				r.Figure(q).Asked = ConfirmedText(question, by)
			}
		}
	}
}

// Confirmed is what Confirm kept, by the field names of the grid.
func (s Sheet) Confirmed() map[string]string {
	texts := map[string]string{}
	for _, r := range s.Run.Readings {
		for _, q := range Quantities() {
			if f := r.Figure(q); f != nil && f.Asked != "" {
				texts[r.FieldName(q)] = f.Asked
			}
		}
	}
	return texts
}

// Keep gives the figures of s that read the same as in before the uncertainty that before states for them: a form
// shows figures only, and saving it again must not forget how well an instrument measured one.
func (s *Sheet) Keep(before Sheet) {
	for i := range s.Run.Readings {
		now := &s.Run.Readings[i]
		then, found := before.Run.Like(*now)
		if !found {
			continue
		}
		for _, q := range Quantities() {
			was, is := then.Figure(q), now.Figure(q)
			if was != nil && is != nil && was.InputText(q) == is.InputText(q) {
				now.SetFigure(q, was)
			}
		}
		if now.Text() == then.Text() && then.Instrument != before.Instrument {
			now.Instrument, now.TakenAt = then.Instrument, then.TakenAt
		}
	}
}

// Edit is one thing that differs between two states of a sheet, in words.
type Edit struct {
	Field    string // of the form
	What     string // "rate, CH, full wind"
	From, To string // "" for nothing
}

// Edits lists what differs between two sheets of one run, conditions first, then the grid state by state.
func Edits(before, after Sheet) []Edit {
	var edits []Edit
	b, a := before.Typed(), after.Typed()
	for _, c := range []struct{ field, what string }{{"label", "note"}, {"instrument", "instrument"},
		{"clock_ppm", "clock, ± ppm"}, {"temperature", "temperature, °C"}, {"states", "states of wind, h"}} {
		if b[c.field] != a[c.field] {
			edits = append(edits, Edit{c.field, c.what, b[c.field], a[c.field]})
		}
	}
	if was, is := TouchedWords(before.Run.Touched), TouchedWords(after.Run.Touched); was != is {
		edits = append(edits, Edit{"touched", "touched before it", was, is})
	}
	for _, hours := range states(slices.Concat(before.Run.Readings, after.Run.Readings)) {
		for _, p := range Positions() {
			for n := range 1 + MaxRepeats {
				edits = append(edits, cellEdits(before, after, Reading{Position: p, HoursAfterWinding: hours, Repeat: n})...)
			}
		}
	}
	return edits
}

// cellEdits are the differences in one place of the grid.
func cellEdits(before, after Sheet, at Reading) []Edit {
	var edits []Edit
	then, _ := before.Run.Like(at)
	now, _ := after.Run.Like(at)
	for _, q := range Quantities() {
		if from, to := figureText(then.Figure(q), q), figureText(now.Figure(q), q); from != to {
			edits = append(edits, Edit{at.FieldName(q), q.Label() + ", " + at.Cell(), from, to})
		}
	}
	return edits
}

// Words says what became of what: "rate, CH, full wind: +3 s/d → +5 s/d".
func (e Edit) Words() string {
	return e.What + ": " + cmp.Or(e.From, "none") + " → " + cmp.Or(e.To, "none")
}

// Corrections are those of the edits that replace a figure on record, or take it away. Such a change asks for its reason;
// what was not measured before is only added.
func Corrections(edits []Edit) []Edit {
	var list []Edit
	for _, e := range edits {
		if e.From != "" && e.Field != "label" && e.Field != "instrument" && e.Field != "states" {
			list = append(list, e)
		}
	}
	return list
}

// figureText writes a figure as typed with its unit, and the uncertainty stated with it: "+3.41 s/d (u = 0.06)".
func figureText(f *Figure, q Quantity) string {
	if f == nil {
		return ""
	}
	text := f.Text(q)
	if q.Unit() != UnitDegree {
		text += " "
	}
	text += q.Unit()
	if f.StdUncertainty > 0 {
		text += fmt.Sprintf(" (u = %.2g)", f.StdUncertainty)
	}
	return text
}

// Text writes what was read in one line: "+3 s/d, 285°, 0.2 ms".
func (r Reading) Text() string {
	var parts []string
	for _, q := range Quantities() {
		if text := figureText(r.Figure(q), q); text != "" {
			parts = append(parts, text)
		}
	}
	return strings.Join(parts, ", ")
}

// Uncertainties returns the least and the greatest expanded uncertainty of the sheet's figures of quantity q, as
// values to print; ok is false when none was measured.
func (s Sheet) Uncertainties(q Quantity) (least, greatest metrology.Value, ok bool) {
	instruments := s.Instruments()
	for _, r := range s.Run.Readings {
		v, measured := instruments.Value(r, q)
		if !measured {
			continue
		}
		if !ok || v.StdUncertainty < least.StdUncertainty {
			least = v
		}
		if !ok || v.StdUncertainty > greatest.StdUncertainty {
			greatest = v
		}
		ok = true
	}
	return least, greatest, ok
}

// CompareSheets sets two sheets side by side, each with what is known of its own instrument.
func CompareSheets(before, after Sheet) Comparison {
	known := Instruments{ClockStdSPerDay: map[string]float64{}}
	apart := func(s Sheet, key string) Run { // two sheets may name one instrument and know its clock differently
		run, instruments := s.Run, s.Instruments()
		run.Readings = slices.Clone(run.Readings)
		for i := range run.Readings {
			r := &run.Readings[i]
			name := key + " " + r.Instrument
			known.ClockStdSPerDay[name] = instruments.clock(r.Instrument)
			r.Instrument = name
		}
		return run
	}
	return Compare(apart(before, "before"), apart(after, "after"), Options{Instruments: known})
}

// Percent writes a probability, 0 to 1, in per cent without claiming certainty: "over 99.9 %".
func Percent(p float64) string { return percent(p) }

// Cell says in which position and state of wind r was taken: "CH, full wind", and for one taken again "CH, full wind,
// reading 2".
func (r Reading) Cell() string {
	cell := fmt.Sprintf("%s, %s", r.Position, StateWords(r.HoursAfterWinding))
	if r.Repeat > 0 {
		cell += fmt.Sprintf(", reading %d", r.Repeat+1)
	}
	return cell
}
