package toolset

import (
	"fmt"
	"net/url"
	"strings"

	"ledgerwheel/domain/diagnosis"
	"ledgerwheel/domain/fit"
	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/text"
)

// escapementFields are the parts of the action as the page asks for them: an angle where one is measured, and what eye
// and feel say.
var escapementFields = []struct {
	part                fit.EscapementPart
	name, little, usual string
	much                string
}{
	{fit.Banking, "Banking", "holds the fork", "clean, both sides alike", "sides unlike"},
	{fit.Drop, "Drop", "hardly any", "as usual", "much"},
	{fit.Lock, "Lock, the lightest of all teeth", "light", "as usual", "deep"},
	{fit.Draw, "Draw", "weak: the fork does not stay", "as usual", "strong"},
	{fit.Run, "Run to the banking", "none", "as usual", "much"},
	{fit.Fork, "Impulse pin in the notch", "binds", "as usual", "much play"},
}

// escapementTool holds the action of a lever escapement against what is usual, and says what it does to the amplitude.
func escapementTool() Tool {
	const seen, swing = "What was found", "Amplitude"
	t := Tool{
		Slug: "escapement", Title: "Lever escapement", Component: diagnosis.Escapement,
		Purpose: "Banking, drop, lock, draw, run and fork as measured or judged, and which of them a low amplitude may come from.",
		Solve:   solveEscapement,
		Formulas: []Formula{
			{"Usual: lock ¾° to 1½°, drop ¾° to 2°, draw 10° to 15°, run ¼° to ½°",
				"Playtner, Analysis of the Lever Escapement: lock 1½°, drop 1½° (club teeth) and 2° (ratchet teeth), draw 12°, run ¼° " +
					"to ½°. Watch and Clock Escapements: lock ¾° to 1°, drop ¾°, draw 10°.",
				"For lever watches with jewelled pallets. The calibre’s own sheet goes first."},
			{"Much or little: only where the angle ± U lies outside the usual range", "JCGM 106:2012, 8.3.3.", "A reading near the edge of the range counts as usual."},
			{"More lock, draw or run lowers the amplitude; drop wastes power and asks for more lock",
				"Common practice, and the two handbooks.", "By how much is published nowhere, so no figure is given."},
		},
		Cautions: []string{"Let the mainspring down before fork or balance are lifted.",
			"Shellac is warmed without an open flame near solvents. Local rules and licensed practice come first."},
	}
	for _, f := range escapementFields {
		if least, most, measured := fit.UsualDeg(f.part); measured {
			t.Fields = append(t.Fields, Field{Name: string(f.part) + "_deg", Label: f.name, Unit: "°", Kind: "number", Group: seen,
				Hint: fmt.Sprintf("Usual: %s to %s. Empty: judged below.", figureText(least), figureText(most))})
		}
		t.Fields = append(t.Fields, Field{Name: string(f.part), Label: f.name + ", judged", Kind: "select", Group: seen,
			Options: [][2]string{{"", "not looked at"}, {string(fit.Little), f.little}, {string(fit.AsUsual), f.usual},
				{string(fit.Much), f.much}}})
	}
	t.Fields = append(t.Fields,
		Field{Name: "within", Label: "Angles known to within", Unit: "± °", Kind: "number", Group: seen, Default: "0.3"},
		Field{Name: "amplitude", Label: "Lying, at full wind", Unit: "°", Kind: "number", Group: swing,
			Hint: "Empty: nothing is said of the amplitude."},
		Field{Name: "amplitude_within", Label: "Known to within", Unit: "± °", Kind: "number", Group: swing, Default: "10"},
		Field{Name: "looked_for", Label: "Looked for", Unit: "°", Kind: "number", Group: swing,
			Default: figureText(fit.UsualLyingDeg), Hint: "270 lying at full wind is common practice."})
	return t
}

// figureText writes a usual figure without needless noughts.
func figureText(x float64) string {
	return strings.TrimRight(strings.TrimRight(placesText(x, 2), "0"), ".")
}

func solveEscapement(v url.Values) (Answer, map[string]string) {
	f := springForm{v, map[string]string{}}
	within := f.angle("within", 0, 5)
	var seen []fit.EscapementSeen
	for _, field := range escapementFields {
		name := string(field.part)
		s := fit.EscapementSeen{Part: field.part, Judged: fit.EscapementAmount(v.Get(name))}
		if !knownAmount(s.Judged) {
			f.bad[name] = "Choose one of the list."
		}
		if f.has(name + "_deg") {
			s.Deg = &metrology.Value{Value: f.figure(name+"_deg", "°"), Unit: "°",
				StdUncertainty: within / metrology.CoverageFactor}
			if why := s.Problem(); why != "" && f.bad["within"] == "" {
				f.bad[name+"_deg"] = why
			}
		}
		if s.Amount() != fit.NotSeen {
			seen = append(seen, s)
		}
	}
	amplitude := metrology.Value{Value: f.angle("amplitude", 60, 400), Unit: "°",
		StdUncertainty: f.angle("amplitude_within", 0, 60) / metrology.CoverageFactor}
	lookedFor := f.angle("looked_for", 100, 360)
	if len(f.bad) > 0 {
		return Answer{}, f.bad
	}
	if len(seen) == 0 {
		return Answer{}, map[string]string{"": "Nothing was looked at yet: measure or judge one thing at least."}
	}
	return escapementAnswer(seen, f.has("amplitude"), amplitude, lookedFor), nil
}

func knownAmount(a fit.EscapementAmount) bool {
	return a == fit.NotSeen || a == fit.Little || a == fit.AsUsual || a == fit.Much
}

// angle reads an angle within bounds; nothing typed is 0.
func (f springForm) angle(name string, least, most float64) float64 {
	if !f.has(name) {
		return 0
	}
	x := f.figure(name, "°")
	if !(x >= least && x <= most) {
		f.bad[name] = fmt.Sprintf("Give an angle from %.0f° to %.0f°.", least, most)
	}
	return x
}

func escapementAnswer(seen []fit.EscapementSeen, swings bool, amplitude metrology.Value, lookedFor float64) Answer {
	found := fit.EscapementRemarks(seen)
	var a Answer
	if swings {
		a.Add("Amplitude", amplitude.Format(), fit.ExplainAmplitude(amplitude, lookedFor, found))
	}
	var said []string
	for _, r := range found {
		words := escapementWords(r.Part, r.Amount)
		a.Add(words, map[bool]string{true: "lowers the amplitude", false: "to be put right"}[r.Lowers], r.Does+" "+r.Cure)
		said = append(said, text.Uncapital(words))
	}
	t := Table{Caption: "What was looked at", Head: []string{"Part", "Found", "Beside the usual"}}
	for _, s := range seen {
		value := "judged"
		if s.Deg != nil {
			value = s.Deg.Format()
		}
		t.Rows = append(t.Rows, []string{escapementName(s.Part), value, escapementWords(s.Part, s.Amount())})
	}
	a.Tables = []Table{t}
	if len(found) == 0 {
		a.Add("Escapement", "as usual", "What was looked at is as usual; the rest was not looked at.")
		a.Finding = fmt.Sprintf("Escapement: %d things looked at, all as usual.", len(seen))
		return a
	}
	a.Finding = "Escapement: " + strings.Join(said, "; ") + "."
	if swings {
		a.Finding += " Amplitude lying " + amplitude.Format() + "."
	}
	return a
}

func escapementName(p fit.EscapementPart) string { return text.Capital(string(p)) }

// escapementWords say how a part stands: "Lock: deep".
func escapementWords(p fit.EscapementPart, a fit.EscapementAmount) string {
	for _, f := range escapementFields {
		if f.part == p {
			return escapementName(p) + ": " + map[fit.EscapementAmount]string{fit.Little: f.little, fit.AsUsual: f.usual, fit.Much: f.much}[a]
		}
	}
	return ""
}
