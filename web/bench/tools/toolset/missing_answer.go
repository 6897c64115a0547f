package toolset

import (
	"fmt"
	"math/big"
	"slices"
	"strconv"
	"strings"

	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/text"
	"ledgerwheel/domain/train"
	"ledgerwheel/web/chart"
)

// foundMissing words the answers and shows the one picked.
func foundMissing(q train.Missing, f train.Found, pick int) Answer {
	a := f.Answers[pick]
	out := Answer{Finding: missingFinding(f, a), Part: missingPart(f, a), Correction: missingCorrection(q, a),
		Drawing: missingDrawing(f, a)}
	for i, s := range f.Sought {
		out.Rows = append(out.Rows, Row{Label: text.Capital(s.Name), Value: fmt.Sprintf("%d %s", a.Counts[i], s.Kind.Unit())})
	}
	out.Rows = append(out.Rows, Row{Label: "Complete", Value: completed(a)})
	if a.Motion == nil {
		out.Rows = append(out.Rows, Row{Label: "Beats per hour", Value: strconv.Itoa(a.BeatsPerHour)})
	}
	for _, m := range a.Meshes {
		if m.Module.Ways > 0 {
			out.Rows = append(out.Rows,
				Row{Label: "Module of " + m.Name, Value: millimetres(m.Module.Estimate), Note: modulesApart(m.Module)},
				Row{Label: "Circular pitch", Value: millimetres(m.Size.CircularPitchMm)},
				Row{Label: "Distance of centres", Value: millimetres(m.Size.CentreDistanceMm)})
		}
	}
	out.Rows = append(out.Rows, Row{Label: "Standing", Value: text.Capital(a.Standing), Note: strings.Join(a.Reasons,
		" ")})
	for _, m := range a.Meshes {
		if notes := m.Mesh.Notes(); len(notes) > 0 {
			out.Rows = append(out.Rows, Row{Label: text.Capital(m.Name), Value: m.Mesh.String(), Note: strings.Join(notes, " ")})
		}
	}
	if a.Motion == nil {
		if remarks := a.Train.Remarks(); len(remarks) > 0 {
			out.Rows = append(out.Rows, Row{Label: "Mind", Value: "The train as completed", Note: strings.Join(remarks, " ")})
		}
	}
	if a.Hardly() {
		hardlyCut(&out, f)
	}
	out.Tables = append(out.Tables, missingAnswers(f))
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
	return text.Capital(strings.Join(ways, ", ")) + " (k = 2)."
}

// missingAnswers is the table of answers, the most plausible first.
func missingAnswers(f train.Found) Table {
	t := Table{Caption: "Answers, the most plausible first", Head: []string{"No."}}
	if n := len(f.Answers); n > missingShown {
		t.Caption = fmt.Sprintf("The %d most plausible of %d answers", missingShown, n)
	}
	for _, s := range f.Sought {
		t.Head = append(t.Head, text.Capital(s.Name))
	}
	// Beats that were given are the same in every row.
	several := slices.ContainsFunc(f.Answers,
		func(a train.Answer) bool { return a.BeatsPerHour != f.Answers[0].BeatsPerHour })
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
		t.Rows = append(t.Rows, append(row, text.Capital(a.Standing)))
	}
	return t
}

// missingReasons is the table of why the answers stand in this order; sentences need the width.
func missingReasons(f train.Found) Table {
	t := Table{Caption: "Why they stand so", Head: []string{"No.", "What speaks for and against it"}}
	for i, a := range f.Answers[:min(missingShown, len(f.Answers))] {
		t.Rows = append(t.Rows, []string{strconv.Itoa(i + 1), strings.Join(a.Reasons, " ")})
	}
	return t
}

// missingSizes is the table of what to cut or order by; without measurement in modules.
func missingSizes(a train.Answer) Table {
	t := Table{Caption: "Sizes to cut or order by", Head: []string{"Part", "Count", "Pitch diameter", "Outside diameter",
		"Addendum"}}
	for _, m := range a.Meshes {
		wheel, pinion := partNames(a, m)
		for _, p := range []struct {
			name            string
			count           int
			pitch, over     train.Estimate
			factor, addenda float64
		}{
			{wheel, m.Mesh.Wheel, m.Size.WheelPitchMm, m.Size.WheelOutsideMm, m.Size.WheelOutsideInModules,
				m.Mesh.WheelAddendum()},
			{pinion, m.Mesh.Pinion, m.Size.PinionPitchMm, m.Size.PinionOutsideMm, m.Size.PinionOutsideInModules,
				m.Mesh.PinionAddendum()},
		} {
			row := []string{text.Capital(p.name), strconv.Itoa(p.count), fmt.Sprintf("%d modules", p.count),
				fmt.Sprintf("%.2f modules", p.factor), fmt.Sprintf("%.3f modules", p.addenda)}
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
	return text.Capital(strings.Join(parts, " and ")) + ": " + gives + "; " + only + "."
}

// missingPart is the part line: what the counts and the module say, and what they can't.
func missingPart(f train.Found, a train.Answer) *Part {
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
	return &Part{Name: text.Capital(strings.Join(names, " and ")), Specification: strings.Join(specs, "; ") +
		"; bore and height from the old arbor"}
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
		return chart.TrainDrawing{ID: "bench-missing", Title: "Motion work as completed", NoEscape: true, LastName: "hour",
			SeenFrom: "seen from the dial side",
			Stages: []chart.TrainStage{
				{Wheel: m.Cannon, Pinion: m.MinuteWheel, Name: "centre", WheelSought: sought("cannon"),
					PinionSought: sought("minute_wheel")},
				{Wheel: m.MinutePinion, Pinion: m.HourWheel, Name: "minute", WheelSought: sought("minute_pinion"),
					PinionSought: sought("hour_wheel")}}}
	}
	arbors := a.Train.Arbors()
	d := chart.TrainDrawing{ID: "bench-missing", Title: "Train as completed", EscapeTeeth: a.Train.EscapeTeeth,
		EscapeSought:  sought("escape"),
		Anticlockwise: !arbors[0].Clockwise, SeenFrom: "seen from the dial side",
		Facts: []chart.Fact{{Name: "beats per hour", Value: strconv.Itoa(a.BeatsPerHour)}}}
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
func noneMissing(q train.Missing, f train.Found) Answer {
	out := Answer{Rows: []Row{{Label: "Whole-number answer", Value: "None", Note: "Something that was given is not so: " +
		"a count, the beat, or which pinion a wheel drives."}}}
	out.Finding = "The counts given don’t go together: no whole count fits."
	for _, e := range f.Exact {
		row := Row{Label: text.Capital(f.Sought[0].Name) + " would need", Value: decimal(e.Count) + " " +
			f.Sought[0].Kind.Unit()}
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
	out.Tables = []Table{missingDoubts(f)}
	first := f.Doubts[0]
	out.Finding = fmt.Sprintf("The counts given don’t go together: no whole count fits. Count the %s again: %d instead "+
		"of %d would give %s.", first.Name, first.Instead, first.Given, completed(first.Then))
	return out
}

// hardlyCut withholds part and correction of an answer that a wheel maker would hardly cut, and says what to count again:
// a wheel that was cut by a miscount is lost.
func hardlyCut(out *Answer, f train.Found) {
	out.Part, out.Correction = nil, nil
	says := "It gives the beat, but a wheel maker would hardly cut it. Count what was given again, and look at the old " +
		"arbor, before anything is cut or ordered."
	if len(f.Doubts) > 0 {
		first := f.Doubts[0]
		says += fmt.Sprintf(" Were the %s %d instead of %d, %s would be usual.", first.Name, first.Instead, first.Given,
			completed(first.Then))
		out.Tables = append(out.Tables, missingDoubts(f))
	}
	out.Rows = append([]Row{{Label: "Count again", Value: "Hardly ever cut so", Note: says}}, out.Rows...)
	out.Finding += " " + says
}

// missingDoubts is the table of counts that may have been miscounted.
func missingDoubts(f train.Found) Table {
	t := Table{Caption: "Count again: with one of these there is an answer", Head: []string{"Part", "Given", "If it were"}}
	for _, s := range f.Sought {
		t.Head = append(t.Head, text.Capital(s.Name))
	}
	t.Head = append(t.Head, "Complete")
	for _, d := range f.Doubts[:min(missingShown, len(f.Doubts))] {
		row := []string{text.Capital(d.Name), strconv.Itoa(d.Given), strconv.Itoa(d.Instead)}
		for _, n := range d.Then.Counts {
			row = append(row, strconv.Itoa(n))
		}
		t.Rows = append(t.Rows, append(row, completed(d.Then)))
	}
	return t
}

// decimal writes a fraction to four places, which tells it from a whole count.
func decimal(r *big.Rat) string {
	if r.IsInt() {
		return r.Num().String()
	}
	return r.FloatString(4)
}
