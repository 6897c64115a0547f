package toolset

import (
	"fmt"
	"math"
	"net/url"
	"strings"

	"ledgerwheel/domain/diagnosis"
	"ledgerwheel/domain/fit"
	"ledgerwheel/domain/text"
	"ledgerwheel/web/chart"
)

// jewelFitTool judges how a pivot fits its jewel: play sideways, end shake, lean, and what wear means.
func jewelFitTool() Tool {
	return Tool{
		Slug: "jewel-fit", Title: "Pivot and jewel", Component: diagnosis.Jewels,
		Purpose: "Judges a pivot in its hole: side shake, end shake and lean against what is usual, and what a worn pivot means.",
		Fields:  jewelFitFields(), Solve: solveJewelFit,
		Formulas: []Formula{
			{"Side shake = hole − pivot, both diameters", "Plane geometry; the usual ranges are common practice of the " +
				"bench, from memory: about a tenth of a fine pivot’s diameter, a twentieth of a stout one’s.",
				"For a round hole. A worn hole in metal is oval: measure it both ways and give the wider."},
			{"Usual plays by the pivot’s diameter", "Common practice of the bench, from memory; the end shake of the " +
				"escapement as below.", usualFits()},
			{"End shake of balance, pallet arbor and escape wheel: 0.01 to 0.05 mm, the escape wheel a little more",
				"American Watchmakers-Clockmakers Institute, The Escapement: Endshakes and Division. For the train and the " +
					"barrel common practice, from memory.",
				"A maker’s own figures go first; thin movements have less."},
			{"Lean = atan((c₁ + c₂) ÷ 2L) either way; the rim moves 2R·sin(lean) up and down in total; a straight hole of " +
				"length h stops its pivot at atan(c ÷ h)",
				"Plane geometry.", "c: side shake of either pivot, L: distance between the bearings, R: radius of the wheel. A " +
					"rounded (olive) hole stops its pivot later."},
			{"u = a·√(2 ÷ 3) for two diameters each within ± a", "JCGM 100:2008, 4.3.7 and 5.1.2; the probability as in JCGM " +
				"106:2012, 7.2.",
				"Judged by the figure alone (JCGM 106:2012, 8.2): the usual ranges are no sharper than the gauge."},
		},
		Cautions: []string{
			"Wear eye protection when you polish or gauge pivots: they are hard and snap, and jewels split and fly when they " +
				"are pressed.",
			"Let the mainspring down before you try end shake or take a bridge off.",
			"The rules of your shop, local rules and licensed practice stand above this.",
		},
	}
}

func jewelFitFields() []Field {
	const pivot, shake, lean = "Pivot and hole", "End shake", "Lean, if you want it"
	places := make([][2]string, 0, len(fit.Places()))
	for _, p := range fit.Places() {
		places = append(places, [2]string{string(p), text.Capital(p.Words())})
	}
	return []Field{
		{Name: "place", Label: "Pivot of the", Kind: "select", Group: pivot, Options: places, Default: string(fit.Balance)},
		{Name: "pivot", Label: "Pivot, diameter", Unit: "mm", Kind: "number", Group: pivot,
			Hint: "Where it runs, beside any groove."},
		{Name: "hole", Label: "Hole, diameter", Unit: "mm", Kind: "number", Group: pivot,
			Hint: "By a gauge pin or a tapered wire."},
		{Name: "smallest", Label: "In a worn groove", Unit: "mm", Kind: "number", Group: pivot,
			Hint: "The smallest diameter. Empty: no groove."},
		{Name: "half_width", Label: "Gauge within ±", Unit: "mm", Kind: "number", Group: pivot, Default: "0.002"},
		{Name: "metal", Label: "The hole is in metal, not in a jewel", Kind: "checkbox", Group: pivot},
		{Name: "endshake", Label: "End shake", Unit: "mm", Kind: "number", Group: shake, Hint: "Empty: not measured."},
		{Name: "endshake_half_width", Label: "Measured within ±", Unit: "mm", Kind: "number", Group: shake, Default: "0.005"},
		{Name: "between", Label: "Between the bearings", Unit: "mm", Kind: "number", Group: lean},
		{Name: "rim_radius", Label: "Radius of the wheel", Unit: "mm", Kind: "number", Group: lean},
		{Name: "other_clearance", Label: "Side shake of the other pivot", Unit: "mm", Kind: "number", Group: lean,
			Hint: "Empty: the same as this one’s."},
		{Name: "hole_length", Label: "Length of the hole", Unit: "mm", Kind: "number", Group: lean,
			Hint: "Of its straight part."},
	}
}

func solveJewelFit(v url.Values) (Answer, map[string]string) {
	f := springForm{v, map[string]string{}}
	m := fit.Measured{
		Place: fit.Place(v.Get("place")), Metal: f.has("metal"),
		PivotMm: f.mm("pivot"), HoleMm: f.mm("hole"), SmallestMm: f.mm("smallest"), HalfWidthMm: f.mm("half_width"),
		EndshakeMm: fit.NotMeasured, EndshakeHalfWidthMm: f.mm("endshake_half_width"),
		BetweenMm: f.mm("between"), HoleLengthMm: f.mm("hole_length"), RimRadiusMm: f.mm("rim_radius"),
		OtherClearanceMm: f.mm("other_clearance"),
	}
	if f.has("endshake") {
		if m.EndshakeMm = f.mm("endshake"); m.EndshakeMm < 0 {
			m.EndshakeMm = math.NaN() // refused below as what it is, not taken as left out
		}
	}
	f.fail(m.Problems())
	if len(f.bad) > 0 {
		return Answer{}, f.bad
	}
	return jewelFitAnswer(m.Judge()), nil
}

func jewelFitAnswer(j fit.Judgement) Answer {
	a := Answer{
		Rows: []Row{{"In total", text.Capital(j.Verdict().String()), ""}, playRow("Side shake", j.Clearance)},
		Finding: fmt.Sprintf("%s, pivot %s mm in a hole of %s mm: side shake %s.", text.Capital(j.Place.Words()),
			placesText(j.PivotMm, 3), placesText(j.HoleMm, 3), playWords(j.Clearance)),
		Part: jewelFitPart(j),
	}
	drawing := chart.JewelFit{ID: "jewel-fit", Title: "Pivot of the " + j.Place.Words() + " in its hole",
		PivotMm: j.PivotMm, HoleMm: j.HoleMm, SmallestMm: j.SmallestMm, PlayText: playWords(j.Clearance)}
	if j.AfterPolish != nil {
		a.Rows = append(a.Rows, Row{"Worn off the pivot", placesText(j.WearMm, 3) + " mm",
			"Of its diameter, at the bottom of the groove."},
			playRow("Side shake once polished", *j.AfterPolish))
		a.Finding += fmt.Sprintf(" A groove of %s mm is worn into the pivot.", placesText(j.WearMm, 3))
	}
	if j.Endshake != nil {
		a.Rows = append(a.Rows, playRow("End shake", *j.Endshake))
		a.Finding += " End shake " + playWords(*j.Endshake) + "."
		drawing.EndshakeText = playWords(*j.Endshake)
	}
	a.Rows = append(a.Rows, leanRows(j)...)
	a.Rows[0].Note = strings.Join(j.Meaning(), " ")
	a.Drawing = drawing
	return a
}

// playRow is a play with what is usual.
func playRow(label string, p fit.Play) Row {
	note := "Usual: " + p.Usual.String() + "; within it with a probability of " + probabilityWords(p.Probability) + "."
	if p.Sure {
		note = "Usual: " + p.Usual.String() + "."
	}
	return Row{label, p.Value.Format() + ", " + playVerdict(p), note}
}

func playWords(p fit.Play) string {
	return placesText(p.Value.Value, 3) + " mm, " + playVerdict(p)
}

// playVerdict says a verdict of one play: wider than usual is not yet worn.
func playVerdict(p fit.Play) string {
	if p.Verdict == fit.Worn {
		return "wider than usual"
	}
	return p.Verdict.String()
}

func leanRows(j fit.Judgement) []Row {
	var rows []Row
	if !math.IsNaN(j.TiltDeg) {
		rows = append(rows, Row{"Lean of the arbor", placesText(j.TiltDeg, 2) + "° either way", ""})
	}
	if !math.IsNaN(j.RimPlayMm) {
		rows = append(rows, Row{"Rim up and down", placesText(j.RimPlayMm, 3) + " mm", "By the lean alone, end shake apart."})
	}
	if !math.IsNaN(j.HoleTiltDeg) {
		rows = append(rows, Row{"The hole stops its pivot at", placesText(j.HoleTiltDeg, 2) + "°", ""})
	}
	return rows
}

// jewelFitPart is what to order: an arbor whose pivot is worn too thin, else a hole of the right size; nil where
// nothing is wanted.
func jewelFitPart(j fit.Judgement) *Part {
	if j.AfterPolish != nil && j.AfterPolish.Verdict == fit.Worn {
		return &Part{"Arbor: " + j.Place.Words(), "pivot " + placesText(j.PivotMm, 3) + " mm, for a hole of " +
			placesText(j.HoleMm, 3) + " mm"}
	}
	if j.Clearance.Verdict == fit.Usual {
		return nil
	}
	name := "Jewel: "
	if j.Metal {
		name = "Bush: "
	}
	low, high := j.PivotMm+j.Clearance.Usual.LowMm, j.PivotMm+j.Clearance.Usual.HighMm
	return &Part{name + j.Place.Words(), fmt.Sprintf("hole %.3f to %.3f mm for a pivot of %s mm", low, high,
		placesText(j.PivotMm, 3))}
}

// usualFits says what is usual everywhere, at the ends of the usual pivots.
func usualFits() string {
	var said []string
	for _, p := range fit.Places() {
		pivot := p.UsualPivot()
		endshake, _ := p.UsualEndshake()
		said = append(said, fmt.Sprintf("%s %.2f to %.2f mm: side shake %.3f to %.3f, end shake %.3f to %.3f", p.Words(),
			pivot.LowMm, pivot.HighMm,
			p.UsualClearance(pivot.LowMm).LowMm, p.UsualClearance(pivot.HighMm).HighMm, endshake.LowMm, endshake.HighMm))
	}
	return text.Sentence(strings.Join(said, "; "))
}
