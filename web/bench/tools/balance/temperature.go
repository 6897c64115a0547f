package balance

import (
	"fmt"
	"net/url"
	"strconv"

	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/oscillator"
	"ledgerwheel/domain/text"
	"ledgerwheel/web/bench/tools/toolset"
	"ledgerwheel/web/chart"
)

// temperatureTool turns rates at two or three temperatures into the coefficient and the secondary error.
func temperatureTool() toolset.Tool {
	t := toolset.Tool{
		Slug: "temperature", Title: "Temperature",
		Purpose: "How the rate goes with the temperature, from rates at two or three, and what the materials lead one " +
			"to expect.",
		Solve: solveTemperature,
		Formulas: []toolset.Formula{
			{Text: "coefficient = (rate warm − rate cold)/(warm − cold)",
				Source: "The quotient of ISO 3159’s criterion C, there between 8 " +
					"°C and 38 °C.",
				Limits: "The same position and the same wind at each temperature, the watch left long enough to take " +
					"it on. A clock’s error shared by all rates cancels."},
			{Text: "secondary error = rate in the middle − the straight line between the outer two, there",
				Source: "The middle-temperature error of the compensated balance, common practice.",
				Limits: "Needs three temperatures; a cut bimetallic balance with a steel spring gains in the middle."},
			{Text: "expected = 43200·(β + 3·α(spring) − 2·α(balance))",
				Source: "Stiffness E·b·h³/(12·L) and inertia m·r². Boettcher, " +
					"Nickel-steel balance springs, 2024, gives about 11 s/d for each °C of a steel spring with a brass balance; " +
					"this gives 10.6.",
				Limits: "Plain balances only, of nominal materials from memory: good to about a tenth for steel, " +
					"and only in size for nickel steels, whose heat treatment sets β."},
		},
		Cautions: []string{"Warm a watch gently and within what its oils and its maker allow. Keep a watch with a radium " +
			"dial out of a closed warm cupboard, and follow the local radiation authority."},
	}
	for i, group := range []string{"First temperature", "Second temperature",
		"Third temperature, for the secondary error"} {
		n := strconv.Itoa(i + 1)
		t.Fields = append(t.Fields,
			toolset.Field{Name: "temperature_" + n, Label: "Temperature", Unit: "°C", Group: group},
			toolset.Field{Name: "rate_" + n, Label: "Rate", Unit: "s/d", Group: group, Hint: map[int]string{0: "+ gains, " +
				"− loses. " +
				measuredHint}[i]})
	}
	t.Fields = append(t.Fields,
		toolset.Field{Name: "spring", Label: "Hairspring", Kind: "select", Group: "Materials, for what to expect",
			Options: alloyOptions("not known", oscillator.SpringAlloys())},
		toolset.Field{Name: "balance", Label: "Balance, plain and uncut", Kind: "select", Group: "Materials, for what " +
			"to expect",
			Options: alloyOptions("not known, or compensated", oscillator.BalanceMetals())})
	return t
}

// readPoint reads one temperature and its rate; ok is false when neither was typed.
func readPoint(r measuredReader, n string) (p oscillator.TemperaturePoint, ok bool) {
	temperature, rate := "temperature_"+n, "rate_"+n
	if !r.typed(temperature, rate) {
		return p, false
	}
	p = oscillator.TemperaturePoint{TemperatureC: r.measured(temperature, "°C").Value, Rate: r.measured(rate, "s/d")}
	if !r.typed(temperature) || p.TemperatureC < -40 || p.TemperatureC > 80 {
		r.take(map[string]string{temperature: "Give the temperature from −40 to 80 °C."})
	}
	if !r.typed(rate) {
		r.take(map[string]string{rate: "Give the rate at this temperature."})
	}
	if says := oscillator.RateProblem(p.Rate); says != "" {
		r.take(map[string]string{rate: says})
	}
	return p, true
}

func solveTemperature(v url.Values) (toolset.Answer, map[string]string) {
	r := newMeasuredReader(v)
	var points []oscillator.TemperaturePoint
	for _, n := range []string{"1", "2", "3"} {
		if p, ok := readPoint(r, n); ok {
			points = append(points, p)
		}
	}
	if bad := r.problems(); bad != nil {
		return toolset.Answer{}, bad
	}
	got, err := oscillator.TemperatureOf(points)
	if err != nil {
		return toolset.Answer{}, map[string]string{"temperature_2": text.Sentence(err.Error())}
	}
	var out toolset.Answer
	out.Add("Temperature coefficient", got.Coefficient.FormatSigned(), "+ gains in heat")
	out.Finding = "Temperature coefficient " + got.Coefficient.FormatSigned() + "."
	if got.Secondary != nil {
		out.Add("Secondary error", got.Secondary.FormatSigned(), "at the middle temperature, from the straight line "+
			"between the outer two")
		out.Finding = fmt.Sprintf("Temperature coefficient %s, secondary error %s.", got.Coefficient.FormatSigned(),
			got.Secondary.FormatSigned())
	}
	expectedRow(&out, r, got.Coefficient)
	out.Drawing = chart.RateAgainstTemperature{ID: "temperature-chart", Title: "Rate against temperature",
		Points: chartPoints(points)}
	return out, nil
}

func chartPoints(points []oscillator.TemperaturePoint) []chart.TemperaturePoint {
	var out []chart.TemperaturePoint
	for _, p := range points {
		out = append(out, chart.TemperaturePoint{TemperatureC: p.TemperatureC, Rate: p.Rate})
	}
	return out
}

// expectedRow says what plain materials would do.
func expectedRow(out *toolset.Answer, r measuredReader, measured metrology.Value) {
	spring, knownSpring := oscillator.AlloyOf(oscillator.SpringAlloys(), r.text("spring"))
	balance, knownBalance := oscillator.AlloyOf(oscillator.BalanceMetals(), r.text("balance"))
	if !knownSpring || !knownBalance {
		return
	}
	slope := oscillator.ThermalRatePerC(spring.BetaPerC, spring.ExpansionPerC, balance.ExpansionPerC)
	out.Add("Expected of these materials", metrology.Value{Value: roundTenth(slope), Unit: measured.Unit}.FormatSigned(),
		spring.Name+" with a plain balance of "+balance.Name+", nominal")
}
