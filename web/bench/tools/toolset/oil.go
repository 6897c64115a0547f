package toolset

import (
	"fmt"
	"net/url"
	"slices"
	"strings"

	"ledgerwheel/domain/diagnosis"
	"ledgerwheel/domain/fit"
	"ledgerwheel/domain/text"
	"ledgerwheel/domain/watch"
	"ledgerwheel/web/chart"
)

// oilTool says what a place is usually oiled with, and how much of it.
func oilTool() Tool {
	places := make([][2]string, 0, len(fit.OilPlaces()))
	for _, p := range fit.OilPlaces() {
		places = append(places, [2]string{p.Key, p.Place})
	}
	solvents := diagnosis.Solvents.Caution()
	return Tool{
		Slug: "oil", Title: "Oils and how much",
		Purpose: "What a place is usually oiled with and how much it takes, beside the calibre’s own sheet.",
		Fields: []Field{
			{Name: "place", Label: "Place", Kind: "select", Group: "Place", Options: places, Default: places[0][0]},
			{Name: "across", Label: "Jewel or cup, diameter", Unit: "mm", Kind: "number", Group: "For the amount",
				Hint: "The jewel of a pivot on an endstone, else the cup. Empty: no amount worked out."},
			{Name: "depth", Label: "Gap, or depth of the cup", Unit: "mm", Kind: "number", Group: "For the amount",
				Hint: "Between jewel and endstone; empty: 0.02 to 0.03."},
			{Name: "lubrication", Label: "The calibre’s sheet", Kind: "textarea", Group: "What the maker says",
				Hint: "One place a line, parted by semicolons: Balance jewels; thin oil; a third of the cup."},
		},
		Solve: solveOil,
		Fill: func(c watch.Calibre) url.Values {
			v := url.Values{}
			if len(c.Lubrication) > 0 {
				v.Set("lubrication", watch.OilLines(c.Lubrication))
			}
			return v
		},
		Formulas: []Formula{
			{"Between jewel and endstone: a drop half to two thirds of the jewel across; V = π ÷ 4 · D² · gap",
				"Common practice, from memory. The gap of about 0.02 to 0.03 mm is that of an American factory’s watchmakers’ " +
					"handbook, How to oil a watch.",
				"The jewel curves away from its endstone, so a drop holds a little more than this."},
			{"In a cup: a third to half of it by volume; V = πh(3a² + h²) ÷ 6", "Common practice, from memory; the volume is " +
				"solid geometry.",
				"For a cup that is part of a sphere. The pivot takes some of the room."},
			{"Thin oil for fast and light, heavy oil for slow and loaded, grease for sliding", "Common practice, from memory.",
				"The calibre’s own sheet goes first. Kinds of oil stand here, not makes."},
		},
		Cautions: append(append([]string{"Wear eye protection where a spring can fly: let the mainspring down before the " +
			"barrel is opened."}, solvents.Usual...), solvents.Defer,
			"Wash oil and grease off your skin. The makers’ safety data sheets, local rules and licensed practice stand above this."),
	}
}

func solveOil(v url.Values) (Answer, map[string]string) {
	f := springForm{v, map[string]string{}}
	place, known := fit.OilPlaceOf(v.Get("place"))
	if !known {
		f.bad["place"] = "Choose the place."
		return Answer{}, f.bad
	}
	sheet := watch.ParseOilLines(v.Get("lubrication"))
	f.fail(oilSheetProblems(sheet))
	amount, measured := f.oilAmount(place)
	if len(f.bad) > 0 {
		return Answer{}, f.bad
	}
	a := oilAnswer(place, sheet)
	if measured {
		across := fmt.Sprintf("%.2f to %.2f mm", amount.LowMm, amount.HighMm)
		volume := oilVolume(amount)
		a.Rows = slices.Insert(a.Rows, 1, Row{"Oil, across", across, "As it is seen from above."},
			Row{"Volume", volume, "A nanolitre is a thousandth of a cubic millimetre."})
		a.Drawing = chart.JewelOil{ID: "oil-amount", Title: place.Place, Capped: place.Shape == fit.Capped,
			WidthMm: f.mm("across"),
			LowMm:   amount.LowMm, HighMm: amount.HighMm, Facts: []chart.Fact{{Name: string(place.Oil), Value: volume}}}
	}
	return a, nil
}

// oilSheetProblems are those a calibre would have with these places.
func oilSheetProblems(sheet []watch.OilPlace) map[string]string {
	if why := (watch.Calibre{Lubrication: sheet}).Problems()["lubrication"]; why != "" {
		return map[string]string{"lubrication": why}
	}
	return nil
}

// oilAmount works out how much a place takes, where a size is given.
func (f springForm) oilAmount(place fit.OilPlace) (fit.Amount, bool) {
	if !f.has("across") && !f.has("depth") {
		return fit.Amount{}, false
	}
	across, depth := f.mm("across"), f.mm("depth")
	switch place.Shape {
	case fit.Unmeasured:
		const nothing = "No amount is worked out for this place: leave the sizes empty."
		for _, name := range []string{"across", "depth"} {
			if f.has(name) {
				f.bad[name] = nothing
			}
		}
		return fit.Amount{}, false
	case fit.Capped:
		if !f.has("depth") {
			f.fail(fit.SizeProblems(place.Shape, across, fit.GapLowMm))
			low, high := fit.CappedAmount(across, fit.GapLowMm), fit.CappedAmount(across, fit.GapHighMm)
			return fit.Amount{LowMm: low.LowMm, HighMm: high.HighMm, LowNl: low.LowNl, HighNl: high.HighNl}, true
		}
		f.fail(fit.SizeProblems(place.Shape, across, depth))
		return fit.CappedAmount(across, depth), true
	}
	f.fail(fit.SizeProblems(place.Shape, across, depth))
	if len(f.bad) > 0 {
		return fit.Amount{}, false
	}
	return fit.SinkAmount(across, depth), true
}

// oilVolume words a volume to two figures or so: more than that nobody doses.
func oilVolume(a fit.Amount) string {
	places := 0
	if a.HighNl < 10 {
		places = 1
	}
	return placesText(a.LowNl, places) + " to " + placesText(a.HighNl, places) + " nl"
}

func oilAnswer(place fit.OilPlace, sheet []watch.OilPlace) Answer {
	a := Answer{
		Rows: []Row{
			{"Usually gets", text.Capital(string(place.Oil)), "Common practice. The calibre’s own sheet goes first."},
			{"How much", "", text.Capital(place.Amount) + ". " + place.Why},
			{"Everywhere", "", strings.Join(fit.Rules(), " ")},
		},
		Finding: fmt.Sprintf("%s: usually %s, %s.", place.Place, place.Oil, place.Amount),
	}
	if len(sheet) > 0 {
		own := Table{Caption: "The calibre’s own sheet", Head: []string{"Place", "Oil", "To mind"}}
		for _, p := range sheet {
			own.Rows = append(own.Rows, []string{p.Place, p.Oil, p.Note})
		}
		a.Tables = append(a.Tables, own)
	}
	usual := Table{Caption: "What is usual", Head: []string{"Place", "Oil", "How much"}}
	for _, p := range fit.OilPlaces() {
		usual.Rows = append(usual.Rows, []string{p.Place, string(p.Oil), p.Amount})
	}
	a.Tables = append(a.Tables, usual)
	if !oilKnown(sheet, place.Place) {
		next := append(append([]watch.OilPlace(nil), sheet...), watch.OilPlace{Place: place.Place, Oil: string(place.Oil),
			Note: "common practice"})
		a.Correction = map[string]string{"lubrication": watch.OilLines(next)}
	}
	return a
}

func oilKnown(sheet []watch.OilPlace, place string) bool {
	for _, p := range sheet {
		if strings.EqualFold(p.Place, place) {
			return true
		}
	}
	return false
}
