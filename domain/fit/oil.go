package fit

import "math"

// Oil is a kind of lubricant, by what it does, not by who makes it.
type Oil string

// The kinds.
const (
	ThinOil      Oil = "thin oil"
	MediumOil    Oil = "medium oil"
	HeavyOil     Oil = "heavy oil"
	Grease       Oil = "grease"
	PalletGrease Oil = "pallet grease or pallet oil"
	BrakeGrease  Oil = "braking grease"
	Dry          Oil = "nothing"
)

// OilPlace is how one place of a movement is usually oiled.
type OilPlace struct {
	Key, Place string
	Oil        Oil
	Amount     string
	Why        string // and what goes wrong otherwise
	Shape      Shape
}

// Shape is how oil stands at a place, so that its amount can be worked out.
type Shape uint8

// The shapes.
const (
	Unmeasured Shape = iota
	Capped           // a disc between a hole jewel and its endstone
	Sink             // a pool in the cup of a hole jewel
)

// oilPlaces is common practice, from memory, for watches with a lever escapement. A maker's own sheet goes before it.
var oilPlaces = []OilPlace{
	{"balance", "Balance jewels with endstones", ThinOil, "a round drop between jewel and endstone, half to two thirds " +
		"of the jewel across, held around the hole",
		"Too much is drawn out to the setting and leaves the pivot dry; too little dries up early.", Capped},
	{"escape-capped", "Escape wheel jewels with endstones", ThinOil, "as for the balance", "As for the balance.", Capped},
	{"escape", "Escape wheel and fourth wheel pivots", ThinOil, "a third to half of the cup",
		"Heavy oil costs amplitude here; thin oil runs away from slow pivots.", Sink},
	{"train", "Third wheel pivots", MediumOil, "a third to half of the cup", "The slower and the more heavily loaded " +
		"the pivot, the heavier the oil.", Sink},
	{"centre", "Centre wheel pivots", HeavyOil,
		"a third to half of the cup; a hole in metal gets a drop that does not run out", "Thin oil is pressed out here.",
		Sink},
	{"barrel-arbor", "Barrel arbor, in its bearings and in the barrel", HeavyOil, "a film all round, none to run down " +
		"on to the wheels", "High pressure at little speed.", Unmeasured},
	{"mainspring", "Mainspring and barrel floor", Grease, "a breath on the whole spring, unless it was made to run dry",
		"A spring that sticks gives its turning force in jumps.", Unmeasured},
	{"barrel-wall", "Barrel wall of an automatic watch", BrakeGrease, "a few spots on the wall, as its maker says",
		"The bridle must slip only when fully wound: plain grease lets it slip early.", Unmeasured},
	{"pallet-stones", "Impulse faces of the pallet stones", PalletGrease, "a trace on each stone or on every third to " +
		"fifth tooth, carried round by the wheel", "Dry stones cost amplitude and wear the teeth; oil on the fork clings " +
		"to the bankings.", Unmeasured},
	{"pallet-arbor", "Pallet arbor pivots", Dry, "none, or the least trace where the maker asks for it",
		"They swing a few degrees without load: oil only slows them.", Unmeasured},
	{"fork", "Fork slot, horns, guard pin and impulse jewel", Dry, "none", "Oil here gums, and splashes.", Unmeasured},
	{"teeth", "Wheel teeth and pinion leaves of the train", Dry, "none", "Oil holds dust, which cuts the leaves.",
		Unmeasured},
	{"cannon-pinion", "Cannon pinion on its arbor", HeavyOil, "a trace, or grease, under the pinion",
		"Dry it seizes and stops the watch when the hands are set.", Unmeasured},
	{"motion-work", "Post of the minute wheel", MediumOil, "a trace; the hour wheel stays dry",
		"Oil creeps from here on to the dial.", Unmeasured},
	{"keyless", "Winding and setting work", Grease, "a film on sliding faces, on the stem and on the click’s spring",
		"Steel slides hard on steel here.", Unmeasured},
}

// OilPlaces lists how every place is usually oiled.
func OilPlaces() []OilPlace { return append([]OilPlace(nil), oilPlaces...) }

// OilPlaceOf returns the place with this key.
func OilPlaceOf(key string) (OilPlace, bool) {
	for _, p := range oilPlaces {
		if p.Key == key {
			return p, true
		}
	}
	return OilPlace{}, false
}

// Amount is how much oil a place takes, at least and at most: the width of what is seen of it and its volume.
type Amount struct{ LowMm, HighMm, LowNl, HighNl float64 }

// Shares that are usual (common practice, from memory).
const (
	cappedLow, cappedHigh = 1. / 2, 2. / 3 // of the jewel's diameter
	sinkLow, sinkHigh     = 1. / 3, 1. / 2 // of the cup's volume
)

// GapLowMm and GapHighMm bound the usual distance between hole jewel and endstone (an American factory's watchmakers'
// handbook, How to oil a watch: about 0.02 to 0.03 mm).
const (
	GapLowMm  = 0.02
	GapHighMm = 0.03
)

// CappedAmount is the drop between a hole jewel of this diameter and its endstone at this distance: a flat disc. The
// curve of the jewel makes the true gap wider away from the hole, so the volume is a lower bound.
func CappedAmount(jewelMm, gapMm float64) Amount {
	disc := func(acrossMm float64) float64 { return math.Pi / 4 * acrossMm * acrossMm * gapMm * nlPerMm3 }
	a := Amount{LowMm: cappedLow * jewelMm, HighMm: cappedHigh * jewelMm}
	a.LowNl, a.HighNl = disc(a.LowMm), disc(a.HighMm)
	return a
}

const nlPerMm3 = 1000 // a cubic millimetre is a microlitre

// SinkAmount is the oil in a cup of this diameter and depth, taken as a cap of a sphere: V = πh(3a² + h²)/6 with a half
// the width of the surface and h its height above the bottom (solid geometry). The pivot's own share of the room is
// left out.
func SinkAmount(acrossMm, depthMm float64) Amount {
	a := acrossMm / 2
	sphere := (a*a + depthMm*depthMm) / (2 * depthMm)
	full := capVolume(sphere, depthMm)
	at := func(share float64) (widthMm, nl float64) {
		low, high := 0.0, depthMm
		for range 60 { // each halves the interval; 60 leave nothing of it
			if mid := (low + high) / 2; capVolume(sphere, mid) < share*full {
				low = mid
			} else {
				high = mid
			}
		}
		return 2 * math.Sqrt(low*(2*sphere-low)), share * full * nlPerMm3
	}
	var r Amount
	r.LowMm, r.LowNl = at(sinkLow)
	r.HighMm, r.HighNl = at(sinkHigh)
	return r
}

// capVolume is that of a cap of height h of a sphere of radius r.
func capVolume(r, h float64) float64 { return math.Pi * h * h * (3*r - h) / 3 }

// SizeProblems says, by form field, what stands against the sizes of a jewel: its diameter, that of its cup and the
// depth of it, and the gap to its endstone. A size that the shape does not need may be 0.
func SizeProblems(s Shape, acrossMm, depthMm float64) map[string]string {
	bad := map[string]string{}
	if !(acrossMm >= 0.1 && acrossMm <= 5) {
		bad["across"] = "Give the diameter of the jewel or its cup in mm, from 0.1 to 5."
	}
	switch {
	case s == Capped && !(depthMm > 0 && depthMm <= 0.2):
		bad["depth"] = "Give the gap between jewel and endstone in mm, at most 0.2; 0.02 to 0.03 is usual."
	case s == Sink && !(depthMm > 0 && depthMm <= acrossMm/2):
		bad["depth"] = "Give the depth of the cup in mm, at most half its diameter."
	}
	return bad
}

// Rules hold wherever oil is put (common practice, from memory).
func Rules() []string {
	return []string{
		"The calibre’s own sheet goes first; this is for where there is none.",
		"Oil only what is clean: fresh oil on old residue thickens within weeks.",
		"Where a movement is surface-treated so that oil stays put, treat it again after cleaning, or the oil spreads.",
		"The faster and lighter a pivot, the thinner its oil; the slower and more loaded, the heavier.",
		"Too much is worse than a little too little: a cup that is overfilled empties itself.",
	}
}
