package balance

import (
	"fmt"
	"net/url"
	"strconv"
	"strings"

	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/oscillator"
	"ledgerwheel/domain/text"
	"ledgerwheel/domain/watch"
	"ledgerwheel/web/bench/tools/toolset"
	"ledgerwheel/web/chart"
)

// regulatingTool says which way and how far to move what regulates, for a given rate.
func regulatingTool() toolset.Tool {
	const pinning = "Pinning point"
	return toolset.Tool{
		Slug: "regulating", Title: "Regulating",
		Purpose: "Which way and how far to move regulator, timing screws or washers for a given rate, and what the " +
			"pinning point does.",
		Fields: []toolset.Field{
			{Name: "rate", Label: "Rate as measured", Unit: "s/d", Group: "Rate", Hint: "+ gains, − loses. " + measuredHint},
			{Name: "aim", Label: "Rate wanted", Unit: "s/d", Group: "Rate", Hint: "Empty for 0."},
			{Name: "hairspring_length", Label: "Working length of the hairspring", Unit: "mm",
				Group: "Hairspring and regulator"},
			{Name: "pin_radius", Label: "Staff to regulator pins", Unit: "mm", Group: "Hairspring and regulator"},
			{Name: "regulator_step", Label: "One division of the regulator", Unit: "s/d", Group: "Hairspring and regulator"},
			{Name: "coils", Label: "Coils of the hairspring", Group: "Hairspring and regulator", Default: "12",
				Hint: "Usual: 10 to 14."},
			{Name: "balance_inertia", Label: "Moment of inertia", Unit: "mg·cm²", Group: "Balance",
				Hint: "Screws and washers need it."},
			{Name: "screw_count", Label: "Screws turned together", Group: "Timing screws", Default: "2",
				Hint: "Opposite pairs, each by the same amount."},
			{Name: "screw_radius", Label: "Staff to a screw’s middle", Unit: "mm", Group: "Timing screws"},
			{Name: "screw_mass", Label: "Mass of one screw", Unit: "µg", Group: "Timing screws"},
			{Name: "screw_travel", Label: "Travel for one turn", Unit: "mm", Group: "Timing screws"},
			{Name: "washer_count", Label: "Washers", Group: "Washers", Default: "2", Hint: "Under opposite screws."},
			{Name: "washer_radius", Label: "Staff to washer", Unit: "mm", Group: "Washers"},
			{Name: "washer_thickness", Label: "Thickness of a washer", Unit: "mm", Group: "Washers",
				Hint: "Its screw stands further out by this; left empty, that is left out."},
			{Name: "washer_screw_mass", Label: "Mass of its screw", Unit: "µg", Group: "Washers"},
			{Name: "collet_hour", Label: "The spring leaves the collet at", Unit: "o’clock", Group: pinning,
				Hint: "Balance at rest, seen from the balance side with the watch’s 12 up."},
			{Name: "winding", Label: "It winds outwards", Kind: "select", Group: pinning,
				Options: [][2]string{{"clockwise", "clockwise, seen from the balance side"},
					{"anticlockwise", "anticlockwise, seen from the balance side"}}},
			{Name: "wanted_fast", Label: "Fast position wanted", Kind: "select", Group: pinning,
				Options: [][2]string{{"", "none in particular"}, {"12", "12 up"}, {"3", "3 up"}, {"6", "6 up"}, {"9", "9 up"}}},
			{Name: "inner_radius", Label: "Radius at the collet", Unit: "mm", Group: pinning},
			{Name: "outer_radius", Label: "Radius of the outer coil", Unit: "mm", Group: pinning},
		},
		Solve: solveRegulating, Fill: fillRegulating,
		Formulas: []toolset.Formula{
			{Text: "dL/L = (1 + rate/86400)² − 1, about 2·rate/86400; a watch that gains needs a longer spring",
				Source: "T ∝ √L.",
				Limits: "Pins that hold the spring without play. With play the move is larger and differs from position to " +
					"position: it " +
					"is made in steps, and measured between them."},
			{Text: "dI/I = (1 + rate/86400)² − 1; n·m·(r₂² − r₁²) = dI for n screws of mass m",
				Source: "T ∝ √I, and Steiner’s theorem.",
				Limits: "Screws alike and turned alike. A whole turn generally corrects what a watch needs (Kleinlein, Rules and " +
					"Practice for Adjusting Watches, 1920, section 75); more than two is held to be too far."},
			{Text: "n·m·r² + n·m(screw)·((r+t)² − r²) = dI for n washers of thickness t",
				Source: "The same.",
				Limits: "Washers slow. A watch that loses has mass taken off, from washers or from under opposite screws. " +
					"Sets are " +
					"graded for one, two or three minutes a day by the pair, common practice and a rough guide only."},
			{Text: "The vertical position in which the spring leaves the collet upward is the fast one, the opposite the " +
				"slow one; " +
				"those at right angles compare closely. Taking a quarter of a coil away, at collet or stud alike, turns both " +
				"by a quarter.",
				Source: "Kleinlein, Rules and Practice for Adjusting Watches, 1920, sections 30 to 33.",
				Limits: "A bench rule for a poised balance with a flat spring and a good motion. It says which way, not how " +
					"much; " +
					"12 to 15 s between the verticals remain in finely made watches (section 34). Poise and beat come first."},
		},
		Cautions: append([]string{"Turn or lighten opposite screws alike, and put washers under opposite ones, or the " +
			"poise is lost. Don’t bend or close the pins to make a rate."}, springCautions...),
	}
}

func fillRegulating(c watch.Calibre) url.Values {
	b := c.Balance
	v := setFilled(url.Values{}, map[string]float64{
		"hairspring_length": c.HairspringLengthMm, "regulator_step": b.RegulatorStepSPerDay,
		"balance_inertia": b.InertiaMgCm2,
		"screw_radius":    b.ScrewRadiusMm, "screw_mass": b.ScrewMassMicrogram, "screw_travel": b.ScrewTravelMm,
	})
	return v
}

// regulatingAsked is what was typed of a rate and of what regulates it.
type regulatingAsked struct {
	rate    metrology.Value
	index   oscillator.Index
	coils   float64
	inertia metrology.Value
	screws  *oscillator.TimingScrews
	washers *oscillator.Washers
	pinning *oscillator.Pinning
	wanted  *oscillator.Hour
	spiral  *oscillator.Spiral
}

func readRegulating(r measuredReader) regulatingAsked {
	a := regulatingAsked{rate: r.measured("rate", "s/d"), coils: r.exact("coils"), inertia: r.measured("balance_inertia",
		"mg·cm²")}
	if !r.typed("rate") {
		r.Bad["rate"] = "Give the rate; 0 where only the pinning point is asked for."
	}
	a.rate.Value -= r.measured("aim", "s/d").Value
	if says := oscillator.RateProblem(a.rate); says != "" && r.Bad["rate"] == "" {
		r.Bad["rate"] = says
	}
	a.index = oscillator.Index{LengthMm: r.exact("hairspring_length", "mm"), PinRadiusMm: r.exact("pin_radius", "mm"),
		StepSPerDay: r.exact("regulator_step", "s/d")}
	r.take(a.index.Problems())
	r.take(oscillator.BalanceAndSpring{Inertia: a.inertia}.Problems())
	if a.coils != 0 && !(a.coils > 0 && a.coils <= 40) {
		r.take(map[string]string{"coils": "Give the number of coils up to 40, or leave it empty."})
	}
	if r.typed("screw_radius", "screw_mass", "screw_travel") {
		a.screws = &oscillator.TimingScrews{Count: r.whole("screw_count"), MassMicrogram: r.exact("screw_mass", "µg"),
			RadiusMm: r.exact("screw_radius", "mm"), TravelMm: r.exact("screw_travel", "mm")}
		r.take(a.screws.Problems())
	}
	if r.typed("washer_radius") {
		a.washers = &oscillator.Washers{Count: r.whole("washer_count"), RadiusMm: r.exact("washer_radius", "mm"),
			ThicknessMm: r.exact("washer_thickness", "mm"), ScrewMassMicrogram: r.exact("washer_screw_mass", "µg")}
		r.take(a.washers.Problems())
	}
	a.readPinning(r)
	return a
}

func (a *regulatingAsked) readPinning(r measuredReader) {
	if !r.typed("collet_hour") {
		return
	}
	hour := r.measured("collet_hour", "").Value
	r.take(oscillator.Pinning{Collet: oscillator.Hour(hour)}.Problems())
	p := oscillator.PinningFromBalanceSide(oscillator.Hour(hour), r.text("winding") != "anticlockwise")
	a.pinning = &p
	if w, err := strconv.Atoi(r.text("wanted_fast")); err == nil {
		h := oscillator.Hour(w % 12)
		a.wanted = &h
	}
	if r.typed("inner_radius", "outer_radius") {
		a.spiral = &oscillator.Spiral{InnerRadiusMm: r.exact("inner_radius", "mm"), OuterRadiusMm: r.exact("outer_radius",
			"mm"), Coils: a.coils}
		r.take(a.spiral.Problems())
	}
}

func solveRegulating(v url.Values) (toolset.Answer, map[string]string) {
	r := newMeasuredReader(v)
	a := readRegulating(r)
	if bad := r.problems(); bad != nil {
		return toolset.Answer{}, bad
	}
	out := toolset.Answer{}
	move := a.index.For(a.rate)
	said := a.regulatorRows(&out, move)
	d := chart.BalanceDrawing{ID: "regulating-drawing", Title: "What to move", Coils: drawnCoils(a.coils), StudDeg: 30}
	pinsDeg := 350.0
	d.PinsDeg, d.PinsMove, d.PinsText = &pinsDeg, pinsMove(move.Way), pinsText(move)
	for _, part := range []func(*toolset.Answer, *chart.BalanceDrawing) (string, map[string]string){a.screwRows,
		a.washerRows,
		a.pinningRows} {
		words, bad := part(&out, &d)
		if bad != nil {
			return toolset.Answer{}, bad
		}
		if words != "" {
			said = append(said, words)
		}
	}
	out.Drawing = d
	out.Finding = strings.Join(said, " ")
	return out, nil
}

func pinsMove(w oscillator.Way) chart.PinsMove {
	return [...]chart.PinsMove{chart.PinsStay, chart.PinsTowardsStud, chart.PinsAwayFromStud}[w]
}

// towards says which way a length or an angle goes.
func towards(w oscillator.Way) string {
	return [...]string{"", "towards the stud", "away from the stud"}[w]
}

// unsigned is a figure without its sign, for where words say which way.
func unsigned(v metrology.Value) metrology.Value {
	if v.Value < 0 {
		v.Value = -v.Value
	}
	return v
}

func pinsText(m oscillator.IndexMove) string {
	if m.Way == oscillator.Nowhere {
		return "stay where they are"
	}
	if m.AlongMm != nil {
		return unsigned(*m.AlongMm).Format() + " " + towards(m.Way)
	}
	return towards(m.Way)
}

func (a regulatingAsked) regulatorRows(out *toolset.Answer, m oscillator.IndexMove) []string {
	if m.Way == oscillator.Nowhere {
		out.Add("To be taken away", a.rate.FormatSigned(), "nothing to move")
		return []string{"The rate is as wanted."}
	}
	out.Add("To be taken away", a.rate.FormatSigned(), "the watch is to be set "+m.Way.String())
	out.Add("Working length of the hairspring", asPercent(m.Change).FormatSigned(),
		map[oscillator.Way]string{oscillator.Slower: "longer", oscillator.Faster: "shorter"}[m.Way])
	out.Add("Or moment of inertia", asPercent(oscillator.InertiaChange(a.rate)).FormatSigned(),
		map[oscillator.Way]string{oscillator.Slower: "heavier, or weights further out",
			oscillator.Faster: "lighter, or weights further in"}[m.Way])
	words := fmt.Sprintf("%s to be taken away: set %s.", a.rate.FormatSigned(), m.Way)
	if m.AlongMm != nil {
		out.Add("Pins along the spring", unsigned(*m.AlongMm).Format(), towards(m.Way))
		words += " Regulator pins " + pinsText(m) + "."
	}
	if m.AngleDeg != nil {
		out.Add("Regulator turned by", unsigned(*m.AngleDeg).Format(), towards(m.Way))
	}
	if m.Divisions != nil {
		out.Add("Regulator by its divisions", unsigned(*m.Divisions).Format(), "towards "+m.Way.String())
	}
	return []string{words}
}

const noInertia = "The balance’s moment of inertia is not known."

func (a regulatingAsked) screwRows(out *toolset.Answer, d *chart.BalanceDrawing) (string, map[string]string) {
	if a.screws == nil {
		return "", nil
	}
	if a.inertia.Value == 0 {
		out.Add("Timing screws", "–", noInertia)
		return "", nil
	}
	m, err := a.screws.For(a.rate, a.inertia)
	if err != nil {
		return "", map[string]string{"screw_mass": text.Sentence(err.Error())}
	}
	way := "out"
	if m.Turns.Value < 0 {
		way = "in"
	}
	note := way + fmt.Sprintf(", to %.2f mm from the staff; masses and radii taken as exact", m.ToRadiusMm)
	if m.TooFar {
		note += "; that is too far for a screw: change the mass instead, with washers or other screws"
	}
	turns := unsigned(m.Turns)
	turns.Unit = "turns"
	out.Add(fmt.Sprintf("Each of %d timing screws", a.screws.Count), turns.Format(), note)
	whole := metrology.Value{Value: roundTenth(a.screws.RateOfTurns(1, a.inertia.Value)), Unit: "s/d"}
	out.Add("A whole turn out of them all", whole.FormatSigned(), "")
	for i := range a.screws.Count {
		d.Screws = append(d.Screws, chart.BalanceScrew{AngleDeg: 45 + 360*float64(i)/float64(a.screws.Count),
			Name: strconv.Itoa(i + 1), Turn: m.Way != oscillator.Nowhere, Action: turns.Format() + " " + way})
	}
	if m.Way == oscillator.Nowhere || m.TooFar {
		return "", nil
	}
	return fmt.Sprintf("Or each of %d timing screws %s %s.", a.screws.Count, turns.Format(), way), nil
}

func (a regulatingAsked) washerRows(out *toolset.Answer, d *chart.BalanceDrawing) (string, map[string]string) {
	if a.washers == nil {
		return "", nil
	}
	if a.inertia.Value == 0 {
		out.Add("Washers", "–", noInertia)
		return "", nil
	}
	a.usualWashers(out)
	if a.rate.Value == 0 {
		return "", nil
	}
	m, err := a.washers.For(a.rate, a.inertia)
	if err != nil {
		return "", map[string]string{"washer_thickness": text.Sentence(err.Error())}
	}
	n := a.washers.Count
	if m.Way == oscillator.Faster {
		out.Add(fmt.Sprintf("Taken off at each of %d opposite places", n), m.Each.Format(),
			"from washers, or from under the screws' heads")
		return fmt.Sprintf("Or %s taken off at each of %d opposite places.", m.Each.Format(), n), nil
	}
	out.Add(fmt.Sprintf("Each of %d washers", n), m.Each.Format(), m.All.Format()+" in total")
	out.Part = &toolset.Part{Name: "Timing washers", Specification: fmt.Sprintf("%d alike, each %s, to slow by %s "+
		"at %s mm "+
		"from the staff", n, m.Each.Format(), a.rate.Format(), inputText(a.washers.RadiusMm))}
	if len(d.Screws) == 0 {
		for i := range n {
			d.Screws = append(d.Screws, chart.BalanceScrew{AngleDeg: 45 + 360*float64(i)/float64(n), Name: strconv.Itoa(i + 1),
				Turn: true, Washer: true, Action: "washer of " + m.Each.Format()})
		}
	}
	return fmt.Sprintf("Or %d washers of %s each.", n, m.Each.Format()), nil
}

// usualWashers lists the masses by which pairs of the usual grades slow this balance.
func (a regulatingAsked) usualWashers(out *toolset.Answer) {
	pair := *a.washers
	pair.Count = 2
	t := toolset.Table{Caption: "Pairs of washers by what they slow (common practice: one, two or three minutes a day)",
		Head: []string{"Slows by", "Each of the pair"}}
	for _, rate := range oscillator.UsualWasherRatesSPerDay() {
		m, err := pair.For(metrology.Value{Value: rate}, a.inertia)
		if err != nil {
			continue
		}
		t.Rows = append(t.Rows, []string{metrology.Value{Value: rate, Unit: "s/d"}.Format(),
			metrology.Value{Value: roundTenth(m.Each.Value), Unit: "µg"}.Format()})
	}
	if len(t.Rows) > 0 {
		out.Tables = append(out.Tables, t)
	}
}

func (a regulatingAsked) pinningRows(out *toolset.Answer, _ *chart.BalanceDrawing) (string, map[string]string) {
	if a.pinning == nil {
		return "", nil
	}
	fast, slow := a.pinning.FastHour(), a.pinning.SlowHour()
	out.Add("Fast vertical position, by the pinning", fast.String()+" up", "where the spring leaves the collet upward")
	out.Add("Slow one", slow.String()+" up", "the two at right angles compare closely")
	said := fmt.Sprintf("By the pinning point %s up is fast and %s up slow.", fast, slow)
	if a.wanted == nil {
		return said, nil
	}
	m := a.pinning.Towards(*a.wanted, a.spiral)
	if m.TakeCoils == 0 {
		out.Add("Fast position wanted", a.wanted.String()+" up", "as it is")
		return said, nil
	}
	coils := coilText(m.TakeCoils)
	out.Add("To make "+a.wanted.String()+" up the fast one", "take "+coils+" away",
		"or let "+coilText(m.LetCoils)+" out, where there is spring for it; then turn the collet until the watch is in beat")
	for _, c := range []struct {
		where string
		cost  *oscillator.PinningCost
	}{{"Taken at the collet", m.TakeAtCollet}, {"Taken at the outer end", m.TakeOutside},
		{"Let out at the collet", m.LetAtCollet}} {
		if c.cost != nil {
			out.Add(c.where, metrology.Value{Value: roundTenth(c.cost.RateSPerDay), Unit: "s/d"}.FormatSigned(),
				metrology.Value{Value: roundTenth(c.cost.LengthMm), Unit: "mm"}.Format()+" of spring, to be made up with the "+
					"balance’s weight")
		}
	}
	return said + fmt.Sprintf(" Taking %s away makes it %s up.", coils, a.wanted), nil
}

// coilText words a part of a coil; quarters as such.
func coilText(coils float64) string {
	q, near := oscillator.RoundQuarters(coils)
	if near && q > 0 && q < 4 {
		return [...]string{"", "a quarter of a coil", "half a coil", "three quarters of a coil"}[q]
	}
	return strconv.FormatFloat(coils, 'f', 2, 64) + " of a coil"
}
