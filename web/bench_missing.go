package web

import (
	"errors"
	"fmt"
	"maps"
	"math/big"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"ledgerwheel/domain/diagnosis"
	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/train"
	"ledgerwheel/domain/watch"
	"ledgerwheel/web/chart"
)

// missingShown is how many answers the table lists; each is in the count that stands above it.
const missingShown = 8

// missingTool finds the counts of missing wheels and pinions.
func missingTool() benchTool {
	t := benchTool{
		Slug: "missing-wheel", Title: "Missing wheel or pinion", Component: diagnosis.Train,
		Purpose: "Finds one or two missing counts of a train or a motion work, every whole-number answer, with the sizes to cut or order by.",
		Fields: []benchField{
			{Name: "train", Label: "Train", Group: "The counts", Hint: "With ? for each missing count, as 80:10,?:10,80:?,15: wheel:pinion that it drives, last the escape wheel."},
			{Name: "motion_work", Label: "Or motion work", Group: "The counts", Hint: "Cannon pinion:minute wheel,minute pinion:hour wheel, as 12:36,?:40. Only one of both may have a ?."},
			{Name: "dial_hours", Label: "Hours on the dial", Kind: "select", Group: "The counts", Default: "12", Options: [][2]string{{"12", "12"}, {"24", "24"}}},
			{Name: "beats_per_hour", Label: "Beats per hour", Kind: "number", Group: "What the train must give", Hint: "Left empty, the usual beats are tried."},
			{Name: "seconds", Label: "Seconds hand", Kind: "select", Group: "What the train must give", Default: "once",
				Options: [][2]string{{"once", "once a minute, if any"}, {"free", "not asked"}}},
		},
		Solve: solveMissing, Fill: fillMissing,
		Formulas: missingFormulas(),
		Cautions: []string{
			"Let the mainspring down before a wheel of the train is taken out: the train runs away under power.",
			"Wear eye protection when cutting, turning or grinding; follow local rules and licensed practice for machines, oils and dust.",
		},
	}
	for i, which := range []string{"first", "second"} {
		group := "Measured at the mesh of the " + which + " missing count"
		hint := ""
		if i == 1 {
			hint = "Leave this group empty where both counts are in one mesh."
		}
		t.Fields = append(t.Fields,
			benchField{Name: which + "_centres", Label: "Distance of centres", Unit: "mm", Kind: "number", Group: group, Hint: hint},
			benchField{Name: which + "_wheel_outside", Label: "Wheel over the tips", Unit: "mm", Kind: "number", Group: group},
			benchField{Name: which + "_pinion_outside", Label: "Pinion over the tips", Unit: "mm", Kind: "number", Group: group})
	}
	const last = "Measuring and choosing"
	t.Fields = append(t.Fields,
		benchField{Name: "length_u", Label: "Standard uncertainty of a length", Unit: "mm", Kind: "number", Group: last, Default: "0.01"},
		benchField{Name: "pick", Label: "Answer to look at and to keep", Kind: "number", Group: last, Default: "1", Hint: "Its number in the table of answers."})
	return t
}

func missingFormulas() []benchFormula {
	return []benchFormula{
		{Text: "beats per hour = 2 · escape teeth · wheels ÷ pinions · turns per hour of the second wheel; one missing count follows from the rest by division and is an answer if it is whole",
			Source: "The train formula of the trade’s handbooks, in exact fractions.",
			Limits: fmt.Sprintf("Wheels of %d to %d teeth, pinions of %d to %d leaves, escape wheels of %d to %d teeth (common practice). Usual beats: %s.",
				train.MinTeeth, train.MaxTeeth, train.MinLeaves, train.MaxLeaves, train.LeastEscapeTeeth, train.MostEscapeTeeth, usualBeatWords())},
		{Text: "minute wheel ÷ cannon pinion · hour wheel ÷ minute pinion = 12, or 24", Source: "The motion work formula of the trade’s handbooks.",
			Limits: "Both meshes share one distance of centres, so unequal sums of counts mean unequal modules."},
		{Text: "m = 2 a ÷ (z₁ + z₂) = outside diameter ÷ (z + 2 h); pitch p = π m; pitch diameter d = m z",
			Source: "Definitions of gearing; every figure measured is weighted by its uncertainty.",
			Limits: "A wheel and a pinion mesh only with one module. Figures whose modules differ by more than chance put an answer back."},
		{Text: "h, the addendum: for a driving wheel 95 % of the epicycloidal tooth’s height to its point; leaves 0.855 m up to 7, 0.67 m for 8 and 9, 0.525 m for 10, 0.625 m beyond",
			Source: "BS 978 Part 2, cycloidal type gears; NIHS 20-01 and 20-02 resemble it. The standards’ texts were not seen: the wheel’s is computed and agrees with the published table to 0.001 m, the leaves’ and those of motion work are from others’ transcripts and from memory.",
			Limits: "Old work follows no standard: an addendum is taken as uncertain by 0.1 m (standard uncertainty). Compare with what is left of the old part before you cut."},
		{Text: "The order of answers: usual counts, ratios and beats, once-a-minute seconds, and how well the figures measured agree, as factors multiplied",
			Source: "Common practice; the factors are a judgement.", Limits: "It orders answers and is no probability. Each answer is exact in its counts."},
	}
}

func usualBeatWords() string {
	var words []string
	for _, b := range train.UsualBeats() {
		words = append(words, strconv.Itoa(b))
	}
	return strings.Join(words, ", ")
}

func fillMissing(c watch.Calibre) url.Values {
	v := url.Values{"train": {c.Train}, "motion_work": {c.MotionWork}}
	if c.BeatsPerHour != 0 && c.Train != "" {
		v.Set("beats_per_hour", strconv.Itoa(c.BeatsPerHour))
	}
	if c.DialHours != 0 {
		v.Set("dial_hours", strconv.Itoa(c.DialHours))
	}
	return v
}

func solveMissing(v url.Values) (benchAnswer, map[string]string) {
	r := benchReader{v, map[string]string{}}
	q := readMissing(r)
	pick := r.count("pick", 1)
	if len(r.bad) == 0 {
		problems := q.Problems()
		for _, field := range slices.Sorted(maps.Keys(problems)) {
			r.refuse(q, field, problems[field])
		}
	}
	if len(r.bad) > 0 {
		return benchAnswer{}, r.bad
	}
	f := q.Find()
	if len(f.Answers) == 0 {
		return noneMissing(q, f), nil
	}
	if at, says, misfit := f.Misfit(); misfit {
		return benchAnswer{}, map[string]string{r.measuredField(at): says}
	}
	if pick < 1 || pick > len(f.Answers) {
		return benchAnswer{}, map[string]string{"pick": fmt.Sprintf("There are %d answers: give a number from 1 to %d.", len(f.Answers), len(f.Answers))}
	}
	return foundMissing(q, f, pick-1), nil
}

// measuredField is the field of what was measured at a missing count's mesh that a misfit stands beside: the pinion's
// diameter, which is the hardest to measure, or else what was given.
func (r benchReader) measuredField(at int) string {
	groups := []string{"first", "second"}
	for _, which := range []string{groups[at], groups[1-at]} {
		for _, name := range []string{"_pinion_outside", "_wheel_outside", "_centres"} {
			if strings.TrimSpace(r.v.Get(which+name)) != "" {
				return which + name
			}
		}
	}
	return "length_u"
}

// count reads a whole number.
func (r benchReader) count(name string, empty int) int {
	typed := strings.Join(strings.Fields(r.v.Get(name)), "")
	if typed == "" {
		return empty
	}
	n, err := strconv.Atoi(typed)
	if err != nil || n < 1 || n > 1e6 {
		r.bad[name] = "Give a whole number, 1 or more."
		return empty
	}
	return n
}

// refuse notes a problem of the domain beside the field of the page that it is about. The single counts are all typed in
// one field here.
func (r benchReader) refuse(q train.Missing, field, says string) {
	own := []string{"beats_per_hour", "dial_hours", "length_u"}
	if !slices.Contains(own, field) && !strings.HasPrefix(field, "first_") && !strings.HasPrefix(field, "second_") {
		field = "train"
		if q.Motion != nil {
			field = "motion_work"
		}
	}
	if r.bad[field] != "" {
		says = r.bad[field] + " " + says
	}
	r.bad[field] = says
}

// readMissing reads the question. Which of train and motion work has a ? says what is asked.
func readMissing(r benchReader) train.Missing {
	var q train.Missing
	wheels, motion := r.v.Get("train"), strings.TrimSpace(r.v.Get("motion_work"))
	gapT, gapM := strings.Contains(wheels, "?"), strings.Contains(motion, "?")
	var wrong *train.NotationError
	switch {
	case gapT && gapM:
		r.bad["motion_work"] = "Ask for one at a time: put a ? into the train or into the motion work."
	case gapM || strings.TrimSpace(wheels) == "" && motion != "":
		m, err := train.ParseMotionWork(motion)
		if errors.As(err, &wrong) {
			r.bad["motion_work"] = wrong.Reason
		}
		q.Motion = &m
	default:
		t, err := train.ParseMissing(wheels)
		if errors.As(err, &wrong) {
			r.bad["train"] = wrong.Reason
		}
		q.Train = t
	}
	q.BeatsPerHour, q.DialHours = r.count("beats_per_hour", 0), r.count("dial_hours", 12)
	q.SecondsOnceAMinute = r.v.Get("seconds") != "free" && q.Motion == nil && len(r.bad) == 0 && q.CarriesSeconds()
	for i, which := range []string{"first_", "second_"} {
		d := &q.Measured[i]
		d.CentreDistanceMm, d.WheelOutsideMm, d.PinionOutsideMm = r.length(which+"centres"), r.length(which+"wheel_outside"), r.length(which+"pinion_outside")
	}
	q.LengthUM = r.length("length_u")
	return q
}

// length reads millimetres; a 0 that was typed is refused, since 0 is what is not known.
func (r benchReader) length(name string) float64 {
	x, typed := r.figure(name)
	if typed && x == 0 {
		r.bad[name] = "A length is above 0: leave it empty where it was not measured."
	}
	return x
}

// foundMissing words the answers and shows the one picked.
func foundMissing(q train.Missing, f train.Found, pick int) benchAnswer {
	a := f.Answers[pick]
	out := benchAnswer{Finding: missingFinding(f, a), Part: missingPart(f, a), Correction: missingCorrection(q, a), Drawing: missingDrawing(f, a)}
	for i, s := range f.Sought {
		out.Rows = append(out.Rows, benchRow{Label: capital(s.Name), Value: fmt.Sprintf("%d %s", a.Counts[i], s.Kind.Unit())})
	}
	out.Rows = append(out.Rows, benchRow{Label: "Complete", Value: completed(a)})
	if a.Motion == nil {
		out.Rows = append(out.Rows, benchRow{Label: "Beats per hour", Value: strconv.Itoa(a.BeatsPerHour)})
	}
	for _, m := range a.Meshes {
		if m.Module.Ways > 0 {
			out.Rows = append(out.Rows,
				benchRow{Label: "Module of " + m.Name, Value: millimetres(m.Module.Estimate), Note: modulesApart(m.Module)},
				benchRow{Label: "Circular pitch", Value: millimetres(m.Size.CircularPitchMm)},
				benchRow{Label: "Distance of centres", Value: millimetres(m.Size.CentreDistanceMm)})
		}
	}
	out.Rows = append(out.Rows, benchRow{Label: "Standing", Value: capital(a.Standing), Note: strings.Join(a.Reasons, " ")})
	for _, m := range a.Meshes {
		if notes := m.Mesh.Notes(); len(notes) > 0 {
			out.Rows = append(out.Rows, benchRow{Label: capital(m.Name), Value: m.Mesh.String(), Note: strings.Join(notes, " ")})
		}
	}
	if a.Motion == nil {
		if remarks := a.Train.Remarks(); len(remarks) > 0 {
			out.Rows = append(out.Rows, benchRow{Label: "Mind", Value: "The train as completed", Note: strings.Join(remarks, " ")})
		}
	}
	out.Tables = []benchTable{missingAnswers(f)}
	if len(f.Answers) > 1 {
		out.Tables = append(out.Tables, missingReasons(f))
	}
	if sizes := missingSizes(a); len(sizes.Rows) > 0 {
		out.Tables = append(out.Tables, sizes)
	}
	return out
}

// completed is the notation with the answer in place.
func completed(a train.Answer) string {
	if a.Motion != nil {
		return a.Motion.String()
	}
	return a.Train.String()
}

// millimetres words an estimate with its expanded uncertainty.
func millimetres(e train.Estimate) string {
	return metrology.Value{Value: e.Value, StdUncertainty: e.U, Unit: "mm"}.Format()
}

// modulesApart lists the module by each way it was measured.
func modulesApart(m train.Module) string {
	var ways []string
	for _, w := range []struct {
		by string
		e  train.Estimate
	}{{"centres", m.FromCentres}, {"wheel", m.FromWheel}, {"pinion", m.FromPinion}} {
		if w.e.Value != 0 {
			ways = append(ways, "by the "+w.by+" "+millimetres(w.e))
		}
	}
	return capital(strings.Join(ways, ", ")) + " (k = 2)."
}

// missingAnswers is the table of answers, the most plausible first.
func missingAnswers(f train.Found) benchTable {
	t := benchTable{Caption: "Answers, the most plausible first", Head: []string{"No."}}
	if n := len(f.Answers); n > missingShown {
		t.Caption = fmt.Sprintf("The %d most plausible of %d answers", missingShown, n)
	}
	for _, s := range f.Sought {
		t.Head = append(t.Head, capital(s.Name))
	}
	// Beats that were given are the same in every row.
	several := slices.ContainsFunc(f.Answers, func(a train.Answer) bool { return a.BeatsPerHour != f.Answers[0].BeatsPerHour })
	if several {
		t.Head = append(t.Head, "Beats per hour")
	}
	measured := slices.ContainsFunc(f.Answers[0].Meshes, func(m train.MeshFound) bool { return m.Module.Ways > 0 })
	if measured {
		t.Head = append(t.Head, "Module, mm")
	}
	t.Head = append(t.Head, "Standing")
	for i, a := range f.Answers[:min(missingShown, len(f.Answers))] {
		row := []string{strconv.Itoa(i + 1)}
		for _, n := range a.Counts {
			row = append(row, strconv.Itoa(n))
		}
		if several {
			row = append(row, strconv.Itoa(a.BeatsPerHour))
		}
		if measured {
			var modules []string
			for _, m := range a.Meshes {
				if m.Module.Ways > 0 {
					modules = append(modules, strconv.FormatFloat(m.Module.Value, 'f', 3, 64))
				}
			}
			row = append(row, strings.Join(modules, " and "))
		}
		t.Rows = append(t.Rows, append(row, capital(a.Standing)))
	}
	return t
}

// missingReasons is the table of why the answers stand in this order; sentences need the width.
func missingReasons(f train.Found) benchTable {
	t := benchTable{Caption: "Why they stand so", Head: []string{"No.", "What speaks for and against it"}}
	for i, a := range f.Answers[:min(missingShown, len(f.Answers))] {
		t.Rows = append(t.Rows, []string{strconv.Itoa(i + 1), strings.Join(a.Reasons, " ")})
	}
	return t
}

// missingSizes is the table of what to cut or order by; without measurement in modules.
func missingSizes(a train.Answer) benchTable {
	t := benchTable{Caption: "Sizes to cut or order by", Head: []string{"Part", "Count", "Pitch diameter", "Outside diameter", "Addendum"}}
	for _, m := range a.Meshes {
		wheel, pinion := partNames(a, m)
		for _, p := range []struct {
			name            string
			count           int
			pitch, over     train.Estimate
			factor, addenda float64
		}{
			{wheel, m.Mesh.Wheel, m.Size.WheelPitchMm, m.Size.WheelOutsideMm, m.Size.WheelOutsideInModules, m.Mesh.WheelAddendum()},
			{pinion, m.Mesh.Pinion, m.Size.PinionPitchMm, m.Size.PinionOutsideMm, m.Size.PinionOutsideInModules, m.Mesh.PinionAddendum()},
		} {
			row := []string{capital(p.name), strconv.Itoa(p.count), fmt.Sprintf("%d modules", p.count), fmt.Sprintf("%.2f modules", p.factor), fmt.Sprintf("%.3f modules", p.addenda)}
			if m.Module.Ways > 0 {
				row[2], row[3] = millimetres(p.pitch), millimetres(p.over)
			}
			t.Rows = append(t.Rows, row)
		}
	}
	return t
}

// partNames parts a mesh's name into wheel and pinion.
func partNames(a train.Answer, m train.MeshFound) (wheel, pinion string) {
	first, second, _ := strings.Cut(m.Name, " and ")
	if a.Motion != nil {
		return second, first
	}
	return first, second
}

func missingFinding(f train.Found, a train.Answer) string {
	var parts []string
	for i, s := range f.Sought {
		has := "has "
		if i > 0 {
			has = ""
		}
		parts = append(parts, fmt.Sprintf("the %s %s%d %s", s.Name, has, a.Counts[i], s.Kind.Unit()))
	}
	gives := fmt.Sprintf("%s gives %d beats per hour", completed(a), a.BeatsPerHour)
	if a.Motion != nil {
		gives = fmt.Sprintf("%s gives %d to 1", completed(a), a.Motion.DialHours())
	}
	only := "no other count does"
	switch n := len(f.Answers) - 1; {
	case n == 1:
		only = "one other answer is possible"
	case n > 1:
		only = fmt.Sprintf("%d other answers are possible", n)
	}
	return capital(strings.Join(parts, " and ")) + ": " + gives + "; " + only + "."
}

// missingPart is the part line: what the counts and the module say, and what they can't.
func missingPart(f train.Found, a train.Answer) *benchPart {
	var names, specs []string
	for i, s := range f.Sought {
		names = append(names, s.Name)
		spec := fmt.Sprintf("%d %s", a.Counts[i], s.Kind.Unit())
		at := slices.IndexFunc(a.Meshes, func(m train.MeshFound) bool { return strings.Contains(m.Name, s.Name) })
		if at >= 0 {
			m := a.Meshes[at]
			over, mate := m.Size.WheelOutsideMm, fmt.Sprintf("for a pinion of %d", m.Mesh.Pinion)
			if s.Kind == train.PinionLeaves {
				over, mate = m.Size.PinionOutsideMm, fmt.Sprintf("for a wheel of %d", m.Mesh.Wheel)
			}
			spec += " " + mate
			if m.Module.Ways > 0 {
				spec += fmt.Sprintf(", module %.3f mm, %s over the tips", m.Module.Value, millimetres(over))
			} else {
				spec += ", module to be measured"
			}
		}
		if len(f.Sought) > 1 {
			spec = s.Name + " " + spec
		}
		specs = append(specs, spec)
	}
	return &benchPart{Name: capital(strings.Join(names, " and ")), Specification: strings.Join(specs, "; ") + "; bore and height from the old arbor"}
}

func missingCorrection(q train.Missing, a train.Answer) map[string]string {
	if a.Motion != nil {
		return map[string]string{"motion_work": a.Motion.String()}
	}
	fields := map[string]string{"train": a.Train.String()}
	if q.BeatsPerHour == 0 {
		fields["beats_per_hour"] = strconv.Itoa(a.BeatsPerHour)
	}
	return fields
}

// missingDrawing shows the train or the motion work with what was found dashed.
func missingDrawing(f train.Found, a train.Answer) chart.TrainDrawing {
	sought := func(field string) bool {
		return slices.ContainsFunc(f.Sought, func(s train.Sought) bool { return s.Field == field })
	}
	if m := a.Motion; m != nil {
		return chart.TrainDrawing{ID: "bench-missing", Title: "Motion work as completed", NoEscape: true, LastName: "hour", SeenFrom: "seen from the dial side",
			Stages: []chart.TrainStage{
				{Wheel: m.Cannon, Pinion: m.MinuteWheel, Name: "centre", WheelSought: sought("cannon"), PinionSought: sought("minute_wheel")},
				{Wheel: m.MinutePinion, Pinion: m.HourWheel, Name: "minute", WheelSought: sought("minute_pinion"), PinionSought: sought("hour_wheel")}}}
	}
	arbors := a.Train.Arbors()
	d := chart.TrainDrawing{ID: "bench-missing", Title: "Train as completed", EscapeTeeth: a.Train.EscapeTeeth, EscapeSought: sought("escape"),
		Anticlockwise: !arbors[0].Clockwise, SeenFrom: "seen from the dial side", Facts: []chart.Fact{{Name: "beats per hour", Value: strconv.Itoa(a.BeatsPerHour)}}}
	for i, s := range a.Train.Stages {
		d.Stages = append(d.Stages, chart.TrainStage{Wheel: s.Wheel, Pinion: s.Pinion, Name: arbors[i].Name,
			WheelSought: sought(fmt.Sprintf("wheel_%d", i+1)), PinionSought: sought(fmt.Sprintf("pinion_%d", i+1))})
	}
	for _, arbor := range arbors {
		d.TurnsPerHour = append(d.TurnsPerHour, train.Fraction(arbor.TurnsPerHour))
	}
	return d
}

// noneMissing says that the counts given don't go together, what would have to be, and what to count again.
func noneMissing(q train.Missing, f train.Found) benchAnswer {
	out := benchAnswer{Rows: []benchRow{{Label: "Whole-number answer", Value: "None", Note: "Something that was given is not so: a count, the beat, or which pinion a wheel drives."}}}
	out.Finding = "The counts given don’t go together: no whole count fits."
	for _, e := range f.Exact {
		row := benchRow{Label: capital(f.Sought[0].Name) + " would need", Value: decimal(e.Count) + " " + f.Sought[0].Kind.Unit()}
		if e.BeatsPerHour != 0 {
			row.Note = fmt.Sprintf("At %d beats per hour.", e.BeatsPerHour)
		}
		if e.Count.IsInt() {
			row.Note += " Whole, but beyond what is practical, or the seconds hand would not turn once a minute."
		}
		out.Rows = append(out.Rows, row)
	}
	if len(f.Doubts) == 0 {
		return out
	}
	t := benchTable{Caption: "Count again: with one of these there is an answer", Head: []string{"Part", "Given", "If it were"}}
	for _, s := range f.Sought {
		t.Head = append(t.Head, capital(s.Name))
	}
	t.Head = append(t.Head, "Complete")
	for _, d := range f.Doubts[:min(missingShown, len(f.Doubts))] {
		row := []string{capital(d.Name), strconv.Itoa(d.Given), strconv.Itoa(d.Instead)}
		for _, n := range d.Then.Counts {
			row = append(row, strconv.Itoa(n))
		}
		t.Rows = append(t.Rows, append(row, completed(d.Then)))
	}
	out.Tables = []benchTable{t}
	first := f.Doubts[0]
	out.Finding = fmt.Sprintf("The counts given don’t go together: no whole count fits. Count the %s again: %d instead of %d would give %s.", first.Name, first.Instead, first.Given, completed(first.Then))
	return out
}

// decimal writes a fraction to four places, which tells it from a whole count.
func decimal(r *big.Rat) string {
	if r.IsInt() {
		return r.Num().String()
	}
	return r.FloatString(4)
}
