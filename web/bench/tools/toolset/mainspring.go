package toolset

import (
	"fmt"
	"maps"
	"math"
	"net/url"
	"strings"

	"ledgerwheel/domain/diagnosis"
	"ledgerwheel/domain/train"
	"ledgerwheel/domain/watch"
	"ledgerwheel/web/chart"
)

func mainspringTool() Tool {
	return Tool{
		Slug: "mainspring", Title: "Mainspring", Component: diagnosis.Mainspring,
		Purpose: "The spring a barrel wants: its thickness, length and width, its turns, how full it makes the barrel, " +
			"and what a wrong one does.",
		Fields: mainspringFields(), Solve: solveMainspring, Fill: fillMainspring,
		Formulas: mainspringFormulas(), Cautions: mainspringCautions(),
	}
}

func mainspringFields() []Field {
	const right, wanted, found = "Right spring, as far as it is known", "Turns wanted", "Spring found in the watch"
	fields := append(barrelFields(),
		Field{Name: "barrel_height", Label: "Height inside", Unit: "mm", Kind: "number", Group: "Barrel",
			Hint: "Floor to lid. Empty: not known."},
		Field{Name: "mainspring_thickness", Label: "Thickness", Unit: "mm", Kind: "number", Group: right,
			Hint: "Measured, or the maker’s; usual is the barrel by 87 to 100. Empty: worked out from the turns."},
		Field{Name: "mainspring_width", Label: "Width", Unit: "mm", Kind: "number", Group: right},
		Field{Name: "mainspring_length", Label: "Length", Unit: "mm", Kind: "number", Group: right,
			Hint: "Empty: half the free space."},
		Field{Name: "turns", Label: "Turns of the barrel", Kind: "number", Group: wanted,
			Hint: "As the watch is to make them. Or empty, and the hours below."},
		Field{Name: "hours", Label: "Hours on one winding", Unit: "h", Kind: "number", Group: wanted})
	fields = append(fields, driveFields(wanted)...)
	return append(fields,
		Field{Name: "found_width", Label: "Width", Unit: "mm", Kind: "number", Group: found},
		Field{Name: "found_thickness", Label: "Thickness", Unit: "mm", Kind: "number", Group: found,
			Hint: "Empty: none to judge."},
		Field{Name: "found_length", Label: "Length", Unit: "mm", Kind: "number", Group: found})
}

func fillMainspring(c watch.Calibre) url.Values {
	v := fillBarrel(c)
	setFigure(v, "hours", c.PowerReserveHours)
	return v
}

func mainspringFormulas() []Formula {
	return []Formula{
		{"Wound: ρ² = r² + L·e/π, coils (ρ − r)/e. Run down: ρ² = R² − L·e/π, coils (R − ρ)/e. Turns: the difference.",
			"Derived: the edge of the strip covers the same area however it is coiled; the same counting as Daniels, " +
				"Watchmaking, ch. 9, as quoted at watchmaking.weebly.com/mainspring.",
			"R, r: radii of wall and arbor; e, L: thickness and length."},
		{"Most turns: N = (√(2(R² + r²)) − (R + r))/e, when the spring fills half the free space, L = π(R² − r²)/(2e).",
			"Derived, by setting the derivative by the filled area to nothing; the length as in the same source.",
			"Flat about its best: a spring that takes 40 to 60 % of the free space loses less than a twentieth of the turns."},
		{"In practice half a turn fewer.",
			"Derived: coils laid as spirals on a round arbor and wall, not cut as a snail, and integrated: 0.3 to 0.6 of a " +
				"turn. That hooks, a bridle and oil take a little too is common practice.",
			"Every turn that this page gives has it taken off; what is wanted has it added first."},
		{"Thickness: the barrel’s inside diameter by 87 to 100.",
			"Common practice: 87 is a rule of the bench, 100 one of the schools, both from memory.",
			"With an arbor of a third it is 6.3 to 7.4 turns in practice. A barrel for a week, or one with a fusee, follows " +
				"its own maker."},
		{"Force of a turn: E·b·h³/12 · 2π/L.", "Bending of a thin strip, in every textbook of strength of materials.",
			"Friction and coils that lie still are left out; springs set against each other are taken as straight when free. " +
				"A tenth more thickness is a third more force for each turn."},
		{"Width: the barrel's inside height less 0.1 mm.", "Common practice.", "A lid that is not flat takes more."},
	}
}

// springQuestion is what the mainspring tool was asked.
type springQuestion struct {
	barrel train.Barrel
	right  train.Mainspring
	from   string             // where the right spring is from
	found  *train.Mainspring  // nil: none to judge
	drive  *train.BarrelDrive // nil: no hours
	turns  float64            // wanted; 0: not asked
}

func solveMainspring(v url.Values) (Answer, map[string]string) {
	f := springForm{v, map[string]string{}}
	q := f.springQuestion()
	if len(f.bad) > 0 {
		return Answer{}, f.bad
	}
	return q.answer(), nil
}

func (f springForm) springQuestion() springQuestion {
	q := springQuestion{barrel: f.barrel()}
	if f.has("barrel_teeth") || f.has("centre_pinion_leaves") || f.has("hours") && !f.has("turns") {
		d := f.drive()
		q.drive = &d
	}
	if f.has("found_width") || f.has("found_thickness") || f.has("found_length") {
		s := f.spring("found")
		q.found = &s
		f.failSpring(s.Problems(q.barrel), "found")
	}
	f.wantedTurns(&q)
	if len(f.bad) == 0 {
		f.rightSpring(&q)
	}
	return q
}

// wantedTurns reads the turns asked for, or works them out from the hours.
func (f springForm) wantedTurns(q *springQuestion) {
	switch {
	case f.has("turns"):
		q.turns = f.figure("turns")
		if !(q.turns > 0 && q.turns <= train.MaxMainspringTurns) {
			f.bad["turns"] = fmt.Sprintf("Give the turns wanted, above 0 and up to %d.", train.MaxMainspringTurns)
		}
	case f.has("hours"):
		hours := f.figure("hours", "h")
		if !(hours > 0 && hours <= watch.MaxPowerReserveHours) {
			f.bad["hours"] = fmt.Sprintf("Give the hours wanted, above 0 and up to %d.", watch.MaxPowerReserveHours)
		} else if len(f.bad) == 0 {
			q.turns = q.drive.TurnsFor(hours)
		}
	}
}

// rightSpring finds the spring that belongs in the barrel: as known, or for the turns, or as thick as the one found.
func (f springForm) rightSpring(q *springQuestion) {
	known := f.spring("mainspring")
	switch {
	case f.has("mainspring_thickness"):
		q.right, q.from = known, "as known"
	case f.has("mainspring_length"):
		f.bad["mainspring_thickness"] = "Give the thickness too, or leave the length empty: both are then worked out."
		return
	case q.turns > 0:
		s, bad := train.SpringForTurns(q.barrel, q.turns)
		if why := bad["turns"]; why != "" && !f.has("turns") {
			bad = map[string]string{"hours": why}
		}
		f.fail(bad)
		q.right, q.from = s, "for "+placesText(q.turns, 2)+" turns in practice"
		q.right.WidthMm = known.WidthMm
	case q.found != nil:
		q.right, q.from = train.Mainspring{WidthMm: known.WidthMm, ThicknessMm: q.found.ThicknessMm},
			"as thick as the one found"
	default:
		thinnest, thickest := q.barrel.UsualThicknessMm()
		f.bad["turns"] = fmt.Sprintf("Give the turns or the hours wanted, or the thickness of the right spring, or the spring "+
			"found. Usual in this barrel is a thickness of %s to %s mm (common practice).", placesText(thinnest, 3),
			placesText(thickest, 3))
	}
	if len(f.bad) > 0 {
		return
	}
	if q.right.WidthMm == 0 {
		q.right.WidthMm = q.barrel.WidthWantedMm()
	}
	if q.right.LengthMm == 0 && q.right.ThicknessMm > 0 {
		q.right.LengthMm = q.barrel.HalfFillLengthMm(q.right.ThicknessMm)
		q.from += ", length for half the free space"
	}
	f.failSpring(q.right.Problems(q.barrel), "mainspring")
}

// answer puts the figures into words.
func (q springQuestion) answer() Answer {
	d := train.Develop(q.barrel, q.right)
	a := Answer{
		Rows: q.rightRows(d), Tables: []Table{q.keptThicknesses(), q.variants()},
		Part:       &Part{Name: "Mainspring", Specification: q.right.Specification(q.barrel)},
		Correction: springCorrection(q.right),
		Finding: fmt.Sprintf("Mainspring wanted: %s, %s. It fills %s of the free space and gives about %s turns in practice.%s",
			q.right.Specification(q.barrel), q.from, wholePercent(d.FillShare), placesText(d.TurnsInPractice(), 1), q.ratioDoubt()),
	}
	shown := q.right
	drawing := chart.BarrelSection{ID: "barrel-section", Title: "Barrel with the spring wanted"}
	if q.found != nil {
		judged := train.JudgeSpring(q.barrel, *q.found, q.right)
		a.Rows = append(a.Rows, q.foundRows(judged)...)
		a.Finding = q.foundFinding(judged) + " " + a.Finding
		shown, d, drawing.Title = *q.found, judged.Development, "Barrel with the spring found"
	}
	drawing.InsideDiameterMm, drawing.ArborDiameterMm = q.barrel.InsideDiameterMm, q.barrel.ArborDiameterMm
	drawing.WidthMm, drawing.ThicknessMm, drawing.LengthMm = toPlaces(shown.WidthMm, 2), toPlaces(shown.ThicknessMm, 3),
		toPlaces(shown.LengthMm, 0)
	drawing.TurnsText, drawing.FillText = "about "+placesText(d.TurnsInPractice(), 1)+" turns", wholePercent(d.FillShare)
	a.Drawing = drawing
	return a
}

func (q springQuestion) rightRows(d train.Development) []Row {
	b, s := q.barrel, q.right
	thicker := s
	thicker.ThicknessMm += train.ThicknessReadingMm
	rows := []Row{
		{"Thickness", placesText(s.ThicknessMm, 3) + " mm", q.ratioWords()},
		{"Spring wanted", springSize(s), q.from},
		{"Turns in practice", "about " + placesText(d.TurnsInPractice(), 1), fmt.Sprintf("%s by areas, half a turn taken off. "+
			"This thickness gives at most about %s.", placesText(d.Turns, 2), placesText(practice(b.MostTurns(s.ThicknessMm)), 1))},
		{"Free space filled", wholePercent(d.FillShare), fillWords(d.FillShare)},
		{"Coils wound", placesText(d.WoundCoils, 2), "Out to a diameter of " + placesText(d.WoundDiameterMm(b), 2) + " mm."},
		{"Coils run down", placesText(d.RunDownCoils, 2), "In to a diameter of " + placesText(d.RunDownDiameterMm(b), 2) +
			" mm."},
		{"Arbor to barrel", wholePercent(b.ArborDiameterMm / b.InsideDiameterMm), "Usually about a third (common practice)."},
		{"If the thickness is read 0.005 mm too small",
			signedPlaces(b.MostTurns(thicker.ThicknessMm)-b.MostTurns(s.ThicknessMm), 2) + " turns",
			"and " + signedPlaces(100*(math.Pow(thicker.ThicknessMm/s.ThicknessMm, 3)-1), 0) + " % force"},
	}
	if q.turns > 0 {
		rows = append(rows, Row{"Turns wanted", placesText(q.turns, 2), q.wantedWords(d)})
	}
	if q.drive != nil {
		rows = append(rows, Row{"Runs for about", placesText(q.drive.Hours(d.TurnsInPractice()), 0) + " h",
			fmt.Sprintf("%s h for a turn of the barrel, exactly.", train.Fraction(q.drive.HoursPerTurn()))})
	}
	return rows
}

// wantedWords says whether the right spring gives the turns that were asked for.
func (q springQuestion) wantedWords(d train.Development) string {
	// Rounding only: the thickness is the turns turned round.
	if d.TurnsInPractice() >= q.turns-1e-9 {
		return "This spring gives them, half a turn allowed for round arbor and wall, hooks and bridle."
	}
	return fmt.Sprintf("This spring falls short of them by about %s; none thicker than %s mm gives so many.",
		placesText(q.turns-d.TurnsInPractice(), 1), placesText(q.barrel.ThicknessForTurnsMm(q.turns), 3))
}

// practice takes from turns by areas what they lose in practice.
func practice(turns float64) float64 { return train.Development{Turns: turns}.TurnsInPractice() }

// ratioWords sets the thickness against the rule of the bench.
func (q springQuestion) ratioWords() string {
	thinnest, thickest := q.barrel.UsualThicknessMm()
	return fmt.Sprintf("The barrel is %s times as wide inside; usual is %d to %d, here %s to %s mm (common practice).%s",
		placesText(q.barrel.InsideDiameterMm/q.right.ThicknessMm, 0), train.ThickRatio, train.ThinRatio,
		placesText(thinnest, 3), placesText(thickest, 3), q.ratioDoubt())
}

// ratioDoubt is what to look at before a spring of an unusual thickness is ordered; "" for a usual one.
func (q springQuestion) ratioDoubt() string {
	const look = " Measure barrel and arbor again, and count the turns or teeth, before it is ordered."
	switch q.barrel.ThicknessStanding(q.right.ThicknessMm) {
	case 1:
		return " That is thicker than usual in this barrel." + look
	case -1:
		return " That is thinner than usual in this barrel." + look
	}
	return ""
}

func (q springQuestion) foundRows(j train.Judgement) []Row {
	rows := []Row{
		{"Spring found", springSize(j.Spring), ""},
		{"Its turns in practice", "about " + placesText(j.Development.TurnsInPractice(), 1), "It fills " + wholePercent(j.Development.FillShare) +
			" of the free space."},
		{"Its force", wholePercent(j.FullRatio) + " wound, " + wholePercent(j.EndRatio) + " run down",
			"Of the force of the spring wanted."},
	}
	if q.drive != nil {
		rows[1].Value += ", " + placesText(q.drive.Hours(j.Development.TurnsInPractice()), 0) + " h"
	}
	for _, e := range j.Effects {
		rows = append(rows, Row{"It is", string(e.Fault), e.Text})
	}
	if len(j.Effects) == 0 {
		rows = append(rows, Row{"It is", "right", "By its sizes. A set or tired spring is told by how it lies free."})
	}
	return rows
}

func (q springQuestion) foundFinding(j train.Judgement) string {
	s := fmt.Sprintf("Mainspring found: %s. ", j.Spring.Specification(q.barrel))
	if len(j.Effects) == 0 {
		return s + "Its sizes are right."
	}
	var texts []string
	for _, e := range j.Effects {
		texts = append(texts, e.Sentence())
	}
	return s + strings.Join(texts, " ")
}

// keptThicknesses are the springs about the one wanted in the steps in which springs are kept.
func (q springQuestion) keptThicknesses() Table {
	t := Table{Caption: "Thicknesses in steps of 0.005 mm about it, each filling half the free space",
		Head: []string{"Thickness, mm", "Barrel by thickness", "Length, mm", "Turns in practice", "Force of a turn"}}
	const step = train.ThicknessStepMm
	first := math.Floor(q.right.ThicknessMm/step+1e-6) - 1
	for i := range 4 {
		s := q.right
		s.ThicknessMm = step * (first + float64(i))
		if !(s.ThicknessMm > 0) {
			continue
		}
		s.LengthMm = q.barrel.HalfFillLengthMm(s.ThicknessMm)
		if len(s.Problems(q.barrel)) > 0 {
			continue
		}
		force := math.Pow(s.ThicknessMm/q.right.ThicknessMm, 3) * q.right.LengthMm / s.LengthMm
		t.Rows = append(t.Rows, []string{placesText(s.ThicknessMm, 3),
			placesText(q.barrel.InsideDiameterMm/s.ThicknessMm, 0), placesText(s.LengthMm, 0),
			placesText(practice(q.barrel.MostTurns(s.ThicknessMm)), 1), wholePercent(force)})
	}
	return t
}

func (q springQuestion) variants() Table {
	t := Table{Caption: "What a wrong spring does in this barrel",
		Head: []string{"Spring", "Thickness × length, mm", "Filled", "Turns in practice", "Force wound", "Force run down"}}
	for _, v := range train.Variants(q.barrel, q.right) {
		t.Rows = append(t.Rows, []string{v.What, placesText(v.Spring.ThicknessMm, 3) + " × " + placesText(v.Spring.LengthMm,
			0),
			wholePercent(v.Development.FillShare), placesText(v.Development.TurnsInPractice(), 1), wholePercent(v.FullRatio),
			wholePercent(v.EndRatio)})
	}
	return t
}

// springCorrection is the spring in the calibre's form, rounded as it is ordered.
func springCorrection(s train.Mainspring) map[string]string {
	v := url.Values{}
	setFigure(v, "mainspring_width", toPlaces(s.WidthMm, 2))
	setFigure(v, "mainspring_thickness", toPlaces(s.ThicknessMm, 3))
	setFigure(v, "mainspring_length", toPlaces(s.LengthMm, 0))
	out := map[string]string{}
	for name := range maps.Keys(v) {
		out[name] = v.Get(name)
	}
	return out
}
