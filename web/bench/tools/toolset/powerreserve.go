package toolset

import (
	"fmt"
	"math"
	"net/url"

	"ledgerwheel/domain/diagnosis"
	"ledgerwheel/domain/figure"
	"ledgerwheel/domain/train"
	"ledgerwheel/domain/watch"
	"ledgerwheel/web/chart"
)

func powerReserveTool() Tool {
	return Tool{
		Slug: "power-reserve", Title: "Power reserve", Component: diagnosis.Mainspring,
		Purpose: "How long a watch runs on one winding, through barrel and centre pinion, and how the force falls while it does.",
		Fields:  powerReserveFields(), Solve: solvePowerReserve, Fill: fillPowerReserve,
		Formulas: powerReserveFormulas(), Cautions: mainspringCautions(),
	}
}

func powerReserveFields() []Field {
	const spring, run = "Mainspring", "Run"
	var materials [][2]string
	for _, m := range train.SpringMaterials() {
		materials = append(materials, [2]string{m.Key, fmt.Sprintf("%s, %.0f GPa", m.Name, m.ModulusGPa)})
	}
	fields := append(barrelFields(),
		Field{Name: "mainspring_width", Label: "Width", Unit: "mm", Kind: "number", Group: spring,
			Hint: "Empty: forces as shares only."},
		Field{Name: "mainspring_thickness", Label: "Thickness", Unit: "mm", Kind: "number", Group: spring},
		Field{Name: "mainspring_length", Label: "Length", Unit: "mm", Kind: "number", Group: spring,
			Hint: "Empty: half the free space."},
		Field{Name: "free_coils", Label: "Coils when it lies free", Kind: "text", Group: spring, Default: "0",
			Hint: "Of the way it winds; −3 when it curls the other way; 0 as if straight."},
		Field{Name: "material", Label: "Material", Kind: "select", Group: spring, Options: materials,
			Default: materials[0][0]},
		Field{Name: "modulus", Label: "Young’s modulus, if known better", Unit: "GPa", Kind: "number", Group: spring})
	fields = append(fields, driveFields("Drive")...)
	return append(fields,
		Field{Name: "lost_turns", Label: "Turns not wound at the top", Kind: "number", Group: run, Default: "0",
			Hint: "By stop-work or a slipping bridle."},
		Field{Name: "kept_turns", Label: "Turns left at the end", Kind: "number", Group: run, Default: "0",
			Hint: "By stop-work, or for want of force."},
		Field{Name: "power_reserve_hours", Label: "Stated by the maker", Unit: "h", Kind: "number", Group: run})
}

func fillPowerReserve(c watch.Calibre) url.Values {
	v := fillBarrel(c)
	setFigure(v, "power_reserve_hours", c.PowerReserveHours)
	return v
}

func powerReserveFormulas() []Formula {
	out := []Formula{
		{"Hours = turns of the barrel × barrel teeth / leaves of the centre pinion.",
			"Derived: the centre wheel turns once an hour.",
			"Exact in the counts. Not for a train whose barrel drives another arbor than the centre’s."},
		{"M = E·b·h³/12 · θ/L, θ = 2π · (coils as it lies − coils when free).",
			"Bending of a thin strip, in every textbook of strength of materials.",
			"Friction between coils and at the hooks, which takes a tenth to a fifth (common practice), and coils that lie " +
				"still on arbor or wall are left out: near both ends a real barrel gives less."},
		{"Energy = mean of first and last torque × 2π × turns.", "Derived: the torque falls in a straight line.",
			"As for the torque."},
	}
	for _, m := range train.SpringMaterials() {
		out = append(out, Formula{fmt.Sprintf("%s: E = %.0f GPa.", m.Name, m.ModulusGPa), m.Source,
			"To about 5 %: rolling and hardening change it."})
	}
	return append(out, mainspringFormulas()[:3]...)
}

// reserveQuestion is what the tool was asked.
type reserveQuestion struct {
	winding     train.Winding
	statedHours float64 // 0: not known
	halfFill    bool    // the length was not known
}

func solvePowerReserve(v url.Values) (Answer, map[string]string) {
	f := springForm{v, map[string]string{}}
	q := f.reserveQuestion()
	if len(f.bad) > 0 {
		return Answer{}, f.bad
	}
	return q.answer(), nil
}

func (f springForm) reserveQuestion() reserveQuestion {
	q := reserveQuestion{winding: train.Winding{
		Barrel: f.barrel(), Spring: f.spring("mainspring"), Drive: f.drive(), ModulusGPa: f.modulus(),
		FreeCoils: f.figure("free_coils"), KeptTurns: f.figure("kept_turns"), LostTurns: f.figure("lost_turns"),
	}}
	w := &q.winding
	if w.Spring.LengthMm == 0 && w.Spring.ThicknessMm > 0 && len(w.Barrel.Problems()) == 0 {
		w.Spring.LengthMm, q.halfFill = w.Barrel.HalfFillLengthMm(w.Spring.ThicknessMm), true
	}
	f.failSpring(w.Problems(), "mainspring")
	if f.has("power_reserve_hours") {
		q.statedHours = f.figure("power_reserve_hours", "h")
		if !(q.statedHours > 0 && q.statedHours <= watch.MaxPowerReserveHours) {
			f.bad["power_reserve_hours"] = fmt.Sprintf("Give the hours above 0 and up to %d, or leave it empty.",
				watch.MaxPowerReserveHours)
		}
	}
	return q
}

// modulus is the one typed, or else the material's; the usual material where none was chosen.
func (f springForm) modulus() float64 {
	if f.has("modulus") {
		return f.figure("modulus", "GPa")
	}
	materials := train.SpringMaterials()
	if !f.has("material") {
		return materials[0].ModulusGPa
	}
	for _, m := range materials {
		if m.Key == f.v.Get("material") {
			return m.ModulusGPa
		}
	}
	f.bad["material"] = "Choose one of those offered."
	return materials[0].ModulusGPa
}

func (q reserveQuestion) answer() Answer {
	w, r := q.winding, q.winding.Run()
	b, s, d := w.Barrel, w.Spring, r.Development
	a := Answer{
		Rows: append(q.hoursRows(r), q.forceRows(r)...), Tables: []Table{q.course(r)},
		Finding: q.finding(r),
		Drawing: chart.BarrelSection{ID: "barrel-section", Title: "Barrel and mainspring",
			InsideDiameterMm: b.InsideDiameterMm,
			ArborDiameterMm:  b.ArborDiameterMm, WidthMm: s.WidthMm, ThicknessMm: s.ThicknessMm, LengthMm: toPlaces(s.LengthMm,
				0),
			TurnsText: placesText(d.Turns, 2) + " turns", FillText: wholePercent(d.FillShare),
			Facts: []chart.Fact{{Name: "runs for", Value: placesText(r.Hours, 1) + " h"}}},
	}
	// Whole hours, and never more than can be expected; a run of less than one is no watch's.
	if hours := math.Floor(q.hoursInPractice(r)); hours >= 1 {
		a.Correction = map[string]string{"power_reserve_hours": figure.Plain(hours)}
	}
	return a
}

func (q reserveQuestion) hoursRows(r train.Reserve) []Row {
	w := q.winding
	perTurn := w.Drive.HoursPerTurn()
	rows := []Row{
		{"Runs for", placesText(r.Hours, 1) + " h", fmt.Sprintf("%s turns at %s h, exactly %d/%d.",
			placesText(r.UsedTurns, 2), train.Fraction(perTurn), w.Drive.BarrelTeeth, w.Drive.CentrePinionLeaves)},
		{"In practice about", placesText(q.hoursInPractice(r), 1) + " h",
			"Half a turn less, for round arbor and wall, hooks and bridle."},
		{"Turns of the spring", placesText(r.Development.Turns, 2), fmt.Sprintf("%s coils wound, %s run down.",
			placesText(r.Development.WoundCoils, 2), placesText(r.Development.RunDownCoils, 2))},
		{"Free space filled", wholePercent(r.Development.FillShare), fillWords(r.Development.FillShare)},
	}
	if q.halfFill {
		rows = append(rows, Row{"Length taken", placesText(w.Spring.LengthMm, 0) + " mm",
			"Half the free space, since none was given."})
	}
	if r.TiredSpring {
		rows = append(rows, Row{"The spring is set", "its force ends first", "It lies free in more coils than run down in " +
			"the barrel: the last turns have no force."})
	}
	if q.statedHours > 0 {
		rows = append(rows, Row{"Stated", placesText(q.statedHours, 1) + " h", q.statedWords(r)})
	}
	return rows
}

// hoursInPractice is the run less what round arbor and wall, hooks and bridle take.
func (q reserveQuestion) hoursInPractice(r train.Reserve) float64 {
	return math.Max(0, q.winding.Drive.Hours(r.UsedTurns-train.PracticeTurns))
}

// statedWords sets the maker's hours against those worked out.
func (q reserveQuestion) statedWords(r train.Reserve) string {
	if over := q.statedHours - r.Hours; over > 0 {
		return fmt.Sprintf("This barrel can’t give it: %s h too much. Check counts and spring.", placesText(over, 1))
	}
	left := q.winding.Drive.TurnsFor(r.Hours - q.statedHours)
	return fmt.Sprintf("Leaves %s turns, of which about half a turn is lost in practice.", placesText(left, 2))
}

func (q reserveQuestion) forceRows(r train.Reserve) []Row {
	var rows []Row
	if r.AfterDay != nil {
		rows = append(rows, Row{"Force after 24 h", wholePercent(r.AfterDay.Share), "Of the force fully wound: a fall of " +
			wholePercent(1-r.AfterDay.Share) + " over a day."})
	} else {
		rows = append(rows, Row{"Force after 24 h", "none", "It runs down before a day is out."})
	}
	rows = append(rows, Row{"Force at the end", wholePercent(r.End.Share), "After " + placesText(r.End.Hours, 1) + " h."})
	if q.winding.Spring.WidthMm == 0 {
		return rows
	}
	u := 2 * q.winding.Spring.TorqueRelativeU()
	note := fmt.Sprintf("±%.0f %% (k = 2): a thickness read to a hundredth, the modulus to 5 %%.", 100*u)
	return append(rows,
		Row{"Torque at the barrel, wound", torqueText(r.Full.TorqueMNm) + " mN·m", note},
		Row{"Torque at the barrel, at the end", torqueText(r.End.TorqueMNm) + " mN·m", ""},
		Row{"Torque at the centre, wound", torqueText(r.CentreMNm) + " mN·m", "Without the friction of mesh and pivots."},
		Row{"Energy of the run", placesText(r.EnergyMJ, 0) + " mJ", ""})
}

// torqueText writes a torque to what it is known to, three figures at most.
func torqueText(mNm float64) string {
	switch {
	case mNm >= 10:
		return placesText(mNm, 1)
	case mNm >= 1:
		return placesText(mNm, 2)
	}
	return placesText(mNm, 3)
}

// course is the force through the run, in steps that keep the table short.
func (q reserveQuestion) course(r train.Reserve) Table {
	step := 6.0
	for r.Hours/step > 16 {
		step *= 2
	}
	t := Table{Caption: "Force as the watch runs down", Head: []string{"Hours since wound", "Turns of the barrel",
		"Force"}}
	wide := q.winding.Spring.WidthMm > 0
	if wide {
		t.Head = append(t.Head, "Torque, mN·m")
	}
	for _, p := range q.winding.Course(step) {
		row := []string{placesText(p.Hours, 1), placesText(p.Turns, 2), wholePercent(p.Share)}
		if wide {
			row = append(row, torqueText(p.TorqueMNm))
		}
		t.Rows = append(t.Rows, row)
	}
	return t
}

func (q reserveQuestion) finding(r train.Reserve) string {
	s := fmt.Sprintf("Power reserve worked out: %s h, about %s h in practice (%s turns of the barrel, %d teeth into "+
		"%d leaves; spring %s).",
		placesText(r.Hours, 1), placesText(q.hoursInPractice(r), 0), placesText(r.UsedTurns, 2), q.winding.Drive.BarrelTeeth, q.winding.Drive.CentrePinionLeaves,
		springSize(q.winding.Spring))
	if r.AfterDay != nil {
		s += " After a day the force is " + wholePercent(r.AfterDay.Share) + " of that fully wound."
	}
	if q.statedHours > r.Hours {
		s += fmt.Sprintf(" The stated %s h are more than this barrel can give.", placesText(q.statedHours, 1))
	}
	return s
}
