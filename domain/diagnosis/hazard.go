package diagnosis

import (
	"slices"

	"ledgerwheel/domain/watch"
)

// Hazard is something about a watch, or about work on it, that can hurt.
type Hazard string

// The hazards.
const (
	RadioactiveLume   Hazard = "radioactive-lume" // radium, or lume not known to be free of it
	TritiumLume       Hazard = "tritium-lume"     // weaker emitters: tritium, promethium
	MainspringLetDown Hazard = "mainspring-let-down"
	CoinCell          Hazard = "coin-cell"
	Solvents          Hazard = "solvents"
	PressureTest      Hazard = "pressure-test"
)

// Hazards lists every Hazard in the order a page shows them.
var Hazards = []Hazard{RadioactiveLume, TritiumLume, MainspringLetDown, CoinCell, Solvents, PressureTest}

// Caution is what a page says of a hazard.
type Caution struct {
	Title string
	Usual []string // the usual cautions, one sentence or two each
	Defer string   // whose rules stand above them
	// Source names where the cautions come from, for the help page.
	Source string
}

var cautions = map[Hazard]Caution{
	RadioactiveLume: {
		Title: "Radium lume, or lume that may hold radium",
		Usual: []string{
			"Leave an intact dial and hands alone: do not scrape, sand, brush or wash the paint.",
			"Do not open the case without dust control; wear gloves, do not eat, drink or touch the face, wash hands afterwards.",
			"Radium outlives its glow: a dark dial is as active as a bright one, and only a survey meter tells.",
			"Keep lumed parts sealed, labelled and apart from people, in a ventilated store: the paint gives off radon.",
			"Crumbling paint, loose dust and waste go by the authority's route, never into the bin or the sink.",
		},
		Defer: "The local radiation authority's rules and a licensed practice stand above this: where they ask for a " +
			"licence, send the watch out.",
		Source: "Gillmore et al., Environment International 45 (2012) 91-98; Canadian Nuclear Safety Commission advice of 2012",
	},
	TritiumLume: {
		Title: "Tritium or promethium lume",
		Usual: []string{
			"Do not scrape or sand the paint; wear gloves and wash hands afterwards.",
			"Do not break gas tubes; if one breaks, air the room and leave it for a while.",
			"Waste goes by the authority's route.",
		},
		Defer:  "The local radiation authority's rules stand above this.",
		Source: "common workshop practice",
	},
	MainspringLetDown: {
		Title: "Let the mainspring down first",
		Usual: []string{
			"Let the power down under control, at the click and by the crown or key, before loosening any bridge or opening the barrel.",
			"Wear eye protection; wind springs in and out with a winder, and release them away from the face.",
		},
		Defer:  "Follow the maker's instructions and the shop's safety rules where they ask for more.",
		Source: "common workshop practice",
	},
	CoinCell: {
		Title: "Coin cell",
		Usual: []string{
			"Keep cells, new and spent, where no child can reach them: a swallowed cell can burn through in two hours.",
			"If one may have been swallowed, get emergency medical help at once; do not wait for signs.",
			"Tape spent cells and hand them to battery collection; do not charge, heat or open them. Wear gloves for a " +
				"leaking one.",
		},
		Defer:  "Emergency services' and the poison centre's advice, and local waste rules, stand above this.",
		Source: "poison.org button battery tip; Illinois Poison Center",
	},
	Solvents: {
		Title: "Cleaning with solvents",
		Usual: []string{
			"Use solvents with good ventilation and away from flames, sparks and hot plates; wear suitable gloves and eye protection.",
			"Keep vessels covered and labelled; collect the waste, never pour it into a drain.",
		},
		Defer:  "The solvent's safety data sheet, local exposure limits and fire rules stand above this.",
		Source: "NIOSH Pocket Guide to Chemical Hazards; common workshop practice",
	},
	PressureTest: {
		Title: "Testing under pressure",
		Usual: []string{
			"Test dry, in air, before any test in water; a watch that fails the air test is not put under water.",
			"Wear eye protection and keep the guard closed: a crystal can burst.",
			"Raise and release the pressure slowly, and never beyond what the watch is marked for.",
		},
		Defer:  "The test instrument's instructions and local rules for pressure vessels stand above this.",
		Source: "common workshop practice",
	},
}

// Caution returns what a page says of h.
func (h Hazard) Caution() Caution {
	c := cautions[h]
	c.Usual = slices.Clone(c.Usual)
	return c
}

// Words names h in plain words.
func (h Hazard) Words() string {
	if c, ok := cautions[h]; ok {
		return c.Title
	}
	return string(h)
}

// Facts are what is known when a watch's hazards are worked out.
type Facts struct {
	Lume              watch.Lume
	Winding           watch.Winding
	CellSeen          bool // a cell is or was in the watch, whatever drives it
	WillBeCleaned     bool // solvents will be used
	WillBePressurised bool // a pressure test is due
}

// FactsOf returns the facts that w itself states, for a watch that will be
// serviced; it will be pressurised when its mark claims an overpressure.
func FactsOf(w watch.Watch) Facts {
	return Facts{
		Lume: w.Lume, Winding: w.Winding, CellSeen: w.Winding == watch.WindingCell,
		WillBeCleaned: true, WillBePressurised: w.OverpressureBar > 0,
	}
}

// HazardsFor returns the hazards that f raises, in the order of Hazards. Lume
// that is not known counts as radium, for only a survey meter can rule it
// out, and a winding that is not known counts as a mainspring.
func HazardsFor(f Facts) []Hazard {
	raised := map[Hazard]bool{
		RadioactiveLume: f.Lume == watch.LumeRadium || f.Lume == watch.LumeUnknown,
		TritiumLume: f.Lume == watch.LumeTritiumPaint || f.Lume == watch.LumeTritiumTubes ||
			f.Lume == watch.LumePromethium,
		MainspringLetDown: f.Winding != watch.WindingCell,
		CoinCell:          f.CellSeen || f.Winding == watch.WindingCell,
		Solvents:          f.WillBeCleaned,
		PressureTest:      f.WillBePressurised,
	}
	var found []Hazard
	for _, h := range Hazards {
		if raised[h] {
			found = append(found, h)
		}
	}
	return found
}

// FoundSummary is what the journal tells of a hazard that was found.
func (h Hazard) FoundSummary() string { return "Hazard: " + h.Words() + "." }

// ReadSummary is what it tells of a hazard whose cautions somebody has read.
func (h Hazard) ReadSummary() string { return "Cautions read: " + h.Words() + "." }

// Problem says what is wrong with a hazard that is not in the list; "" for one that is.
func (h Hazard) Problem() string {
	if !slices.Contains(Hazards, h) {
		return "Choose a hazard from the list."
	}
	return ""
}
