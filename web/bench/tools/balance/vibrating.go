package balance

import (
	"fmt"
	"maps"
	"net/url"
	"strconv"

	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/oscillator"
	"ledgerwheel/domain/text"
	"ledgerwheel/domain/watch"
	"ledgerwheel/web/bench/tools/toolset"
	"ledgerwheel/web/chart"
)

// vibratingTool says where to pin a new hairspring for the wanted beat, and how strong a spring is.
func vibratingTool() toolset.Tool {
	t := toolset.Tool{
		Slug: "vibrating", Title: "Vibrating a hairspring",
		Purpose: "Where to pin a new spring for the wanted beat, from one or two trial counts, and how strong it is on a " +
			"balance of known inertia.",
		Fields: []toolset.Field{
			{Name: "beats_per_hour", Label: "Beats per hour wanted", Group: "Wanted"},
			{Name: "balance_inertia", Label: "Moment of inertia of the balance", Unit: "mg·cm²", Group: "Wanted",
				Hint: "Only the spring’s strength needs it."},
			{Name: "timing", Label: "Seconds uncertain by", Unit: "± s", Group: "Wanted", Default: "0.3",
				Hint: "Start and stop by hand together, k = 2."},
			{Name: "coils", Label: "Coils of the spring", Group: "Wanted", Default: "12", Hint: "For the drawing."},
		},
		Solve: solveVibrating, Fill: fillVibrating,
		Formulas: []toolset.Formula{
			{Text: "f ∝ L^(−1/2): 1/f² is a straight line in the length",
				Source: "T = 2π·√(I·L·12/(E·b·h³)).",
				Limits: "The same balance, swinging freely, held alike in both trials. Count near the amplitude the watch " +
					"will have, " +
					"and let no coil touch."},
			{Text: "x = x₁ + (1/f² − 1/f₁²)·(x₂ − x₁)/(1/f₂² − 1/f₁²)",
				Source: "Interpolation between two trials; the mark from which the " +
					"length is measured does not matter.",
				Limits: "Best between the trials; beyond them the uncertainty grows with the distance."},
			{Text: "From one trial: x = x₁·(f₁/f)²",
				Source: "The same line through no length.",
				Limits: "The length must then be measured from the collet."},
			{Text: "u²(x) = (1−w)²·u²(x₁) + w²·u²(x₂) + and the same for the counts, w the place between the trials",
				Source: "JCGM 100, 5.1.2.",
				Limits: "Two trials’ errors taken as independent: measure both from the mark, not the second from the first."},
			{Text: "k = I·(2πf)²",
				Source: "Any text on vibrations.",
				Limits: "The strength of the length that swung. Spring numbers of makers are " +
					"their own and are not worked out here."},
		},
		Cautions: springCautions,
	}
	for _, n := range []string{"1", "2"} {
		group := "First trial"
		if n == "2" {
			group = "Second trial, for a surer answer"
		}
		t.Fields = append(t.Fields,
			toolset.Field{Name: "pinned_" + n, Label: "Held at", Unit: "mm", Group: group, Hint: "Along the spring from " +
				"the collet, " +
				"or from any mark that both trials share."},
			toolset.Field{Name: "beats_" + n, Label: "Beats counted", Group: group, Hint: "Two to an oscillation."},
			toolset.Field{Name: "seconds_" + n, Label: "in seconds", Unit: "s", Group: group})
	}
	return t
}

func fillVibrating(c watch.Calibre) url.Values {
	return setFilled(url.Values{}, map[string]float64{"beats_per_hour": float64(c.BeatsPerHour),
		"balance_inertia": c.Balance.InertiaMgCm2})
}

// readVibration reads a trial; timing is the standard uncertainty of its seconds.
func readVibration(r measuredReader, n string, timing float64) oscillator.Vibration {
	seconds := r.measured("seconds_"+n, "s")
	seconds.StdUncertainty = max(seconds.StdUncertainty, timing)
	v := oscillator.Vibration{PinnedMm: r.measured("pinned_"+n, "mm"),
		Beats: metrology.Value{Value: r.exact("beats_" + n)}, Seconds: seconds}
	r.take(v.Problems(n))
	return v
}

func solveVibrating(v url.Values) (toolset.Answer, map[string]string) {
	r := newMeasuredReader(v)
	wanted, inertia := r.beats("beats_per_hour"), r.measured("balance_inertia", "mg·cm²")
	if wanted == 0 && r.Bad["beats_per_hour"] == "" {
		r.Bad["beats_per_hour"] = "Give the beats per hour of the movement."
	}
	r.take(oscillator.BalanceAndSpring{BeatsPerHour: metrology.Value{Value: wanted}, Inertia: inertia}.Problems())
	timing, coils := r.exact("timing", "s"), r.exact("coils")
	if timing < 0 {
		r.take(map[string]string{"timing": "Give it above zero, or leave it empty."})
	}
	if coils < 0 || coils > 40 {
		r.take(map[string]string{"coils": "Give the number of coils up to 40, or leave it empty."})
	}
	trials := []oscillator.Vibration{readVibration(r, "1", timing/metrology.CoverageFactor)}
	if r.typed("pinned_2", "beats_2", "seconds_2") {
		trials = append(trials, readVibration(r, "2", timing/metrology.CoverageFactor))
	}
	if bad := r.problems(); bad != nil {
		return toolset.Answer{}, maps.Clone(bad)
	}
	here := oscillator.PinFromOne(wanted, trials[0])
	if len(trials) == 2 {
		var err error
		if here, err = oscillator.PinFor(wanted, trials[0], trials[1]); err != nil {
			return toolset.Answer{}, map[string]string{"pinned_2": text.Sentence(err.Error())}
		}
	}
	return vibratingAnswer(wanted, inertia, coils, trials, here), nil
}

func vibratingAnswer(wanted float64, inertia metrology.Value, coils float64, trials []oscillator.Vibration,
	here oscillator.PinHere) toolset.Answer {
	var out toolset.Answer
	beat := perHour(metrology.Value{Value: wanted})
	out.Add("Pin at", here.AtMm.Format(), "on the measure of the trials; where it was held becomes the place of the "+
		"regulator pins, the regulator at its middle")
	left := metrology.Value{StdUncertainty: here.RateUncertaintySPerDay, Unit: "s/d"}.Print(false)
	out.Add("Rate this leaves open", "± "+left.Uncertainty+" s/d", "for the regulator and the balance’s weight to take")
	if here.ActiveMm != nil {
		out.Add("Working length there", here.ActiveMm.Format(), "from the two trials alone")
		out.Add("The measure’s place of no length", here.ZeroMm.Format(), "0 if it was taken from the collet")
	}
	if here.Outside > 0 {
		out.Add("Beyond the trials", strconv.FormatFloat(here.Outside, 'f', 1, 64)+" of their distance",
			"a third trial nearer to it is surer")
	}
	t := toolset.Table{Caption: "Trials", Head: []string{"Trial", "Held at", "Beats per hour", "Strength"}}
	for i, v := range trials {
		strength := "–"
		if inertia.Value > 0 {
			strength = v.StiffnessOn(inertia).Format()
		}
		t.Rows = append(t.Rows, []string{strconv.Itoa(i + 1), v.PinnedMm.Format(),
			metrology.Value{Value: v.BeatsPerHour().Value, StdUncertainty: v.BeatsPerHour().StdUncertainty}.Format(), strength})
	}
	out.Tables = []toolset.Table{t}
	out.Finding = fmt.Sprintf("New hairspring vibrated: for %s it is pinned at %s.", beat, here.AtMm.Format())
	length := here.AtMm
	if here.ActiveMm != nil {
		length = *here.ActiveMm
	}
	out.Correction = map[string]string{"hairspring_length": inputDigits(length.Value, 4)}
	facts := []chart.Fact{{Name: "beat wanted", Value: beat}}
	if inertia.Value > 0 {
		k := oscillator.StiffnessFor(inertia, metrology.Value{Value: wanted})
		out.Add("Strength of the spring so pinned", k.Format(), scaled(k, 10, "dyn·cm/rad"))
		out.Correction["hairspring_stiffness"] = inputDigits(k.Value, 4)
		facts = append(facts, chart.Fact{Name: "strength so pinned", Value: k.Format()})
	}
	pins := 350.0
	out.Drawing = chart.BalanceDrawing{ID: "vibrating-drawing", Title: "Where the spring is held",
		Coils: drawnCoils(coils), StudDeg: 30, PinsDeg: &pins, PinsText: "at " + here.AtMm.Format(), Facts: facts}
	return out
}
