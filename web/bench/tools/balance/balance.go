package balance

import (
	"fmt"
	"net/url"
	"slices"
	"strconv"

	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/oscillator"
	"ledgerwheel/domain/watch"
	"ledgerwheel/web/bench/tools/toolset"
	"ledgerwheel/web/chart"
)

// springCautions stand at every tool with which hands go to balance and hairspring.
var springCautions = []string{
	"Let the mainspring down before you take the balance out: the train runs free as soon as the fork is out of its way.",
	"Wear eye protection: pins, screws and springs fly.",
}

// balanceTool works out beat, inertia and hairspring from one another and from the strip's dimensions.
func balanceTool() toolset.Tool {
	return toolset.Tool{
		Slug: "balance", Title: "Balance and hairspring",
		Purpose: "Works out beat, moment of inertia and hairspring from one another, a hairspring’s strength from its " +
			"dimensions, and how strongly the rate hangs on each.",
		Fields: []toolset.Field{
			{Name: "beats_per_hour", Label: "Beats per hour of the movement", Group: "Balance",
				Hint: "Two of beat, inertia and hairspring give the third."},
			{Name: "balance_inertia", Label: "Moment of inertia", Unit: "mg·cm²", Group: "Balance", Hint: measuredHint},
			{Name: "balance_mass", Label: "Or: mass of the balance", Unit: "mg", Group: "Balance"},
			{Name: "balance_gyration_radius", Label: "and its radius of gyration", Unit: "mm", Group: "Balance",
				Hint: "For a rim that carries nearly all the mass, the middle of the rim."},
			{Name: "stiffness", Label: "Stiffness", Unit: "µN·m/rad", Group: "Hairspring", Hint: "1 µN·m is 10 dyn·cm. Or " +
				"give the strip’s dimensions."},
			{Name: "alloy", Label: "Alloy", Kind: "select", Group: "Hairspring", Options: alloyOptions("not known",
				oscillator.SpringAlloys())},
			{Name: "modulus", Label: "Modulus, if known", Unit: "GPa", Group: "Hairspring", Hint: "Counts before the alloy’s."},
			{Name: "hairspring_width", Label: "Height of the strip", Unit: "mm", Group: "Hairspring"},
			{Name: "hairspring_thickness", Label: "Thickness of the strip", Unit: "mm", Group: "Hairspring",
				Hint: "It counts three times over; measure it best."},
			{Name: "hairspring_length", Label: "Working length", Unit: "mm", Group: "Hairspring",
				Hint: "Collet to stud or regulator pins."},
			{Name: "inner_radius", Label: "Or: radius at the collet", Unit: "mm", Group: "Hairspring"},
			{Name: "outer_radius", Label: "radius of the outer coil", Unit: "mm", Group: "Hairspring"},
			{Name: "coils", Label: "and number of coils", Group: "Hairspring"},
		},
		Solve: solveBalance, Fill: fillBalance,
		Formulas: []toolset.Formula{
			{Text: "T = 2π·√(I/k), f = beats per hour/7200, k = I·(2πf)²",
				Source: "Any text on vibrations; checked against worked " +
					"problems of physics courses.",
				Limits: "Free swing: the escapement’s and the air’s small shares are left out."},
			{Text: "k = E·b·h³/(12·L), b the height, h the thickness, L the working length",
				Source: "Bending of a strip by a couple " +
					"(Euler and Bernoulli).",
				Limits: "Holds where the end is only turned. Stud and collet also push sideways: with ten " +
					"coils or more the spring is stiffer by a quarter of a percent or less, with two or three by several percent."},
			{Text: "rate = 86400·(√(E·b·h³/(L·I), new to old) − 1), about 43200·(dE/E + db/b + 3·dh/h − dL/L − dI/I)",
				Source: "From the two above.",
				Limits: "The first is exact, the second within 2 % for changes up to 1 %."},
			{Text: "L = [r·√(r²+p²) + p²·asinh(r/p)]/(2p) from the collet’s radius to the outer one, p the pitch by radian",
				Source: "Length of the spiral of Archimedes.",
				Limits: "Even coils; an overcoil or outer curve is left out."},
			{Text: "Modulus: steel 205 ± 8 GPa, self-compensating nickel steel 185 ± 15 GPa",
				Source: "Tables of engineering and common " +
					"figures, from memory.",
				Limits: "Batches and heat treatment differ. A timing trial on a known balance is surer than " +
					"any dimension."},
		},
		Cautions: springCautions,
	}
}

func alloyOptions(none string, list []oscillator.Alloy) [][2]string {
	out := [][2]string{{"", none}}
	for _, a := range list {
		out = append(out, [2]string{a.Key, a.Name})
	}
	return out
}

func fillBalance(c watch.Calibre) url.Values {
	return setFilled(url.Values{}, map[string]float64{
		"beats_per_hour": float64(c.BeatsPerHour), "balance_inertia": c.Balance.InertiaMgCm2,
		"balance_mass": c.Balance.MassMg, "balance_gyration_radius": c.Balance.GyrationRadiusMm,
		"stiffness": c.HairspringStiffnessNmPerRad * 1e6, "hairspring_width": c.HairspringWidthMm,
		"hairspring_thickness": c.HairspringThicknessMm, "hairspring_length": c.HairspringLengthMm,
	})
}

// balanceAsked is what was typed of a balance and its spring.
type balanceAsked struct {
	known oscillator.BalanceAndSpring
	strip oscillator.Strip
	ring  oscillator.Ring
	coils float64
}

func readBalance(r measuredReader) balanceAsked {
	var a balanceAsked
	a.known.BeatsPerHour = metrology.Value{Value: r.beats("beats_per_hour"), Unit: "beats per hour"}
	a.known.Inertia = r.measured("balance_inertia", "mg·cm²")
	a.ring = oscillator.Ring{MassMg: r.measured("balance_mass", "mg"), RadiusMm: r.measured("balance_gyration_radius",
		"mm")}
	a.known.Stiffness = r.measured("stiffness", "µN·m/rad")
	a.strip = readStrip(r)
	a.coils = r.measured("coils", "").Value
	if a.known.Inertia.Value == 0 {
		r.take(a.ring.Problems())
		if a.ring.MassMg.Value > 0 {
			a.known.Inertia = oscillator.RingInertia(a.ring.MassMg, a.ring.RadiusMm)
		}
	}
	if a.known.BeatsPerHour.Value != 0 {
		r.take(a.known.Problems())
	} else {
		r.take(oscillator.BalanceAndSpring{Inertia: a.known.Inertia, Stiffness: a.known.Stiffness}.Problems())
	}
	return a
}

func readStrip(r measuredReader) oscillator.Strip {
	s := oscillator.Strip{Modulus: r.measured("modulus", "GPa"), Width: r.measured("hairspring_width", "mm"),
		Thickness: r.measured("hairspring_thickness", "mm"), Length: r.measured("hairspring_length", "mm")}
	if alloy, ok := oscillator.AlloyOf(oscillator.SpringAlloys(), r.text("alloy")); ok && s.Modulus.Value == 0 {
		s.Modulus = alloy.Modulus()
	}
	if r.typed("inner_radius", "outer_radius") {
		inner, outer, coils := r.measured("inner_radius", "mm"), r.measured("outer_radius", "mm"), r.measured("coils", "")
		r.take(oscillator.Spiral{InnerRadiusMm: inner.Value, OuterRadiusMm: outer.Value, Coils: coils.Value}.Problems())
		if s.Length.Value == 0 && len(r.Bad) == 0 {
			s.Length = oscillator.SpiralLength(inner, outer, coils)
		}
	}
	r.take(s.Problems())
	return s
}

func solveBalance(v url.Values) (toolset.Answer, map[string]string) {
	r := newMeasuredReader(v)
	a := readBalance(r)
	if bad := r.problems(); bad != nil {
		return toolset.Answer{}, bad
	}
	var out toolset.Answer
	complete := len(a.strip.Missing()) == 0
	if complete {
		k := a.strip.Stiffness()
		out.Add("Stiffness by the dimensions", k.Format(), "")
		if a.known.Stiffness.Value == 0 {
			a.known.Stiffness = k
		}
	}
	solved, err := a.known.Solve()
	switch {
	case err != nil && !complete:
		return toolset.Answer{}, map[string]string{"": "Give at least two of beat, inertia and hairspring: the third " +
			"follows. A " +
			"hairspring is its stiffness, or alloy, height, thickness and length."}
	case err != nil:
		out.Finding = "Hairspring of " + a.strip.Stiffness().Format() + " by its dimensions."
	default:
		balanceRows(&out, a, solved)
	}
	stripRows(&out, a, solved)
	balanceCorrection(&out, a, solved)
	out.Drawing = chart.BalanceDrawing{ID: "balance-drawing", Title: "Balance and hairspring", Coils: drawnCoils(a.coils),
		Facts: balanceFacts(a, solved)}
	return out, nil
}

// drawnCoils keeps what can be drawn.
func drawnCoils(coils float64) float64 { return min(coils, 40) }

func balanceRows(out *toolset.Answer, a balanceAsked, o oscillator.Oscillation) {
	out.Add("Beat of this balance and spring", perHour(o.BeatsPerHour), fmt.Sprintf("%s, one oscillation in %s",
		scaled(o.BeatsPerHour, oscillator.FrequencyHz(1), "Hz"), o.PeriodS.Format()))
	out.Add("Moment of inertia", o.Inertia.Format(), "")
	out.Add("Stiffness of the hairspring", o.Stiffness.Format(), scaled(o.Stiffness, 10, "dyn·cm/rad"))
	out.Finding = fmt.Sprintf("Balance of %s with a hairspring of %s: %s.", o.Inertia.Format(), o.Stiffness.Format(),
		perHour(o.BeatsPerHour))
	if o.Rate == nil {
		out.Part = &toolset.Part{Name: "Hairspring", Specification: fmt.Sprintf("%s, for %s on a balance of %s",
			o.Stiffness.Format(),
			perHour(o.BeatsPerHour), o.Inertia.Format())}
		return
	}
	meant := perHour(a.known.BeatsPerHour)
	out.Add("Rate in a movement of "+meant, o.Rate.FormatSigned(), "before any regulating; + gains")
	out.Add("Hairspring that this balance asks for", o.Wanted.Format(), tooStrong(o.Stiffness.Value/o.Wanted.Value))
	out.Finding = fmt.Sprintf("Balance of %s with a hairspring of %s would show %s in a movement of %s; it asks for %s.",
		o.Inertia.Format(), o.Stiffness.Format(), o.Rate.FormatSigned(), meant, o.Wanted.Format())
	out.Part = &toolset.Part{Name: "Hairspring", Specification: fmt.Sprintf("%s, for %s on a balance of %s",
		o.Wanted.Format(),
		meant, o.Inertia.Format())}
}

// scaled writes a figure in another unit.
func scaled(v metrology.Value, by float64, unit string) string {
	return metrology.Value{Value: v.Value * by, StdUncertainty: v.StdUncertainty * by, Unit: unit}.Format()
}

// tooStrong words a spring's strength over that wanted.
func tooStrong(ratio float64) string {
	percent, way := roundTenth(100*(ratio-1)), "strong"
	if percent < 0 {
		percent, way = -percent, "weak"
	}
	return fmt.Sprintf("this one is %.1f %% too %s", percent, way)
}

func perHour(v metrology.Value) string {
	return metrology.Value{Value: v.Value, StdUncertainty: v.StdUncertainty, Unit: "beats per hour"}.Format()
}

// stripRows say what strip would give the wanted strength, and how the rate hangs on each dimension.
func stripRows(out *toolset.Answer, a balanceAsked, o oscillator.Oscillation) {
	missing := a.strip.Missing()
	wanted := o.Stiffness
	if o.Wanted != nil {
		wanted = *o.Wanted
	}
	lacks := func(name string) bool { return len(missing) == 0 || len(missing) == 1 && missing[0] == name }
	if wanted.Value > 0 && (len(missing) > 0 || o.Wanted != nil) {
		if lacks("hairspring_length") {
			out.Add("Working length of this strip for "+wanted.Format(), a.strip.LengthFor(wanted).Format(), "")
		}
		if lacks("hairspring_thickness") {
			out.Add("Thickness at this length for "+wanted.Format(), a.strip.ThicknessFor(wanted).Format(), "")
		}
	}
	if len(missing) > 0 {
		return
	}
	t := toolset.Table{Caption: "How the rate hangs on the hairspring", Head: []string{"Dimension", "1 % more", "A " +
		"step more",
		"Step"}}
	for _, s := range a.strip.Sensitivities() {
		rate := func(x float64) string { return metrology.Value{Value: roundTenth(x), Unit: "s/d"}.FormatSigned() }
		t.Rows = append(t.Rows, []string{s.Dimension, rate(s.SPerPercent), rate(s.SPerStep), s.StepText})
	}
	out.Tables = append(out.Tables, t)
}

// roundTenth rounds a rate for print.
func roundTenth(x float64) float64 {
	y, _ := strconv.ParseFloat(strconv.FormatFloat(x, 'f', 1, 64), 64)
	return y
}

// balanceCorrection offers what the calibre did not know or knew otherwise.
func balanceCorrection(out *toolset.Answer, a balanceAsked, o oscillator.Oscillation) {
	fields := map[string]string{}
	if o.Inertia.Value > 0 {
		fields["balance_inertia"] = inputDigits(o.Inertia.Value, 4)
	}
	if o.Stiffness.Value > 0 && o.Rate == nil {
		fields["hairspring_stiffness"] = inputDigits(o.Stiffness.Value, 4)
	}
	for name, v := range map[string]metrology.Value{"hairspring_width": a.strip.Width,
		"hairspring_thickness": a.strip.Thickness, "hairspring_length": a.strip.Length} {
		if v.Value > 0 {
			fields[name] = inputText(v.Value)
		}
	}
	if len(fields) > 0 {
		out.Correction = fields
	}
}

func balanceFacts(a balanceAsked, o oscillator.Oscillation) []chart.Fact {
	var facts []chart.Fact
	add := func(name string, v metrology.Value) {
		if v.Value > 0 {
			facts = append(facts, chart.Fact{Name: name, Value: v.Format()})
		}
	}
	add("moment of inertia", o.Inertia)
	add("stiffness", o.Stiffness)
	add("height of the strip", a.strip.Width)
	add("its thickness", a.strip.Thickness)
	add("its working length", a.strip.Length)
	if o.BeatsPerHour.Value > 0 {
		facts = append(facts, chart.Fact{Name: "beat", Value: perHour(o.BeatsPerHour)})
	}
	return slices.Clip(facts)
}
