package chart_test

import (
	"errors"
	"math"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"ledgerwheel/web/chart"
)

// centreSeconds is a usual train of 18 000 beats per hour.
func centreSeconds() chart.TrainDrawing {
	return chart.TrainDrawing{ID: "train", Title: "The going train",
		Stages:      []chart.TrainStage{{Wheel: 80, Pinion: 10}, {Wheel: 75, Pinion: 10}, {Wheel: 80, Pinion: 8}},
		EscapeTeeth: 15, SeenFrom: "seen from the dial side", TurnsPerHour: []string{"1", "8", "60", "600"},
		Facts: []chart.Fact{{Name: "beats per hour", Value: "18 000"}}}
}

func fullBarrel() chart.BarrelSection {
	return chart.BarrelSection{ID: "barrel", Title: "The barrel", InsideDiameterMm: 11, ArborDiameterMm: 3.6,
		ThicknessMm: 0.11,
		WidthMm:     1.2, LengthMm: 380, FillText: "49 %", TurnsText: "7.9 turns",
		Facts: []chart.Fact{{Name: "runs for", Value: "47 h"}}}
}

func screwBalance() chart.BalanceDrawing {
	heavy, jewel, pins := 140.0, 20.0, 55.0
	d := chart.BalanceDrawing{ID: "balance", Title: "Balance and hairspring", DiameterText: "9.80 mm", Coils: 12.5,
		StudDeg:      90,
		HeavySpotDeg: &heavy, HeavySpotText: "towards screw 5, 22 µg·mm", JewelDeg: &jewel, PinsDeg: &pins,
		PinsMove: chart.PinsTowardsStud, PinsText: "1.4° towards the stud",
		Facts: []chart.Fact{{Name: "moment of inertia", Value: "12.4 mg·cm²"}}}
	for i := range 12 {
		d.Screws = append(d.Screws, chart.BalanceScrew{AngleDeg: float64(i)*30 + 15, Name: strconv.Itoa(i + 1),
			Washer: i%6 == 0})
	}
	d.Screws[4].Turn, d.Screws[4].Action = true, "take 12 µg off"
	return d
}

func pivotInJewel() chart.JewelFit {
	return chart.JewelFit{ID: "fit", Title: "Pivot in its jewel", PivotMm: 0.2, HoleMm: 0.22, SmallestMm: 0.19,
		PlayText: "0.020 mm, usual", EndshakeText: "0.04 mm, usual"}
}

// benchDrawings have golden drawings, by file name.
func benchDrawings() map[string]interface{ SVG() (string, error) } {
	missing := centreSeconds()
	missing.Stages[1].Wheel, missing.EscapeTeeth, missing.TurnsPerHour = 0, 0, []string{"1", "8"}
	missing.Stages[2].PinionSought = true
	barrel := centreSeconds()
	barrel.Stages = append([]chart.TrainStage{{Wheel: 72, Pinion: 12}}, barrel.Stages...)
	barrel.TurnsPerHour = []string{"1⁄6", "1", "8", "60", "600"}
	motion := chart.TrainDrawing{ID: "motion", Title: "Motion work", NoEscape: true, LastName: "hour wheel",
		Stages: []chart.TrainStage{{Wheel: 12, Pinion: 36, Name: "cannon pinion"},
			{Wheel: 10, Pinion: 40, Name: "minute wheel"}}}
	odd := chart.TrainDrawing{ID: "odd", Title: "Any <train>", Anticlockwise: true}
	for i := range 8 {
		odd.Stages = append(odd.Stages, chart.TrainStage{Wheel: 6 + 90*(i%2), Pinion: 6, Name: strings.Repeat("a long name ",
			i)})
	}
	bare := fullBarrel()
	bare.ArborDiameterMm, bare.LengthMm, bare.WidthMm, bare.Facts = 0, 0, 0, nil
	crammed := fullBarrel()
	crammed.LengthMm = 900
	fine := fullBarrel()
	fine.ThicknessMm, fine.LengthMm = 0.05, 800
	free := screwBalance()
	free.ID, free.PinsDeg, free.HeavySpotDeg, free.JewelDeg, free.Facts = "free", nil, nil, nil, nil
	other := screwBalance()
	pins := 130.0
	other.PinsDeg, other.PinsMove, other.PinsText = &pins, chart.PinsAwayFromStud, ""
	return map[string]interface{ SVG() (string, error) }{
		"train": centreSeconds(), "train-missing": missing, "train-barrel": barrel, "train-motion": motion, "train-odd": odd,
		"train-empty": chart.TrainDrawing{ID: "train", Title: "The going train"},
		"barrel":      fullBarrel(), "barrel-bare": bare, "barrel-crammed": crammed, "barrel-fine": fine,
		"barrel-unknown": chart.BarrelSection{ID: "barrel", Title: "The barrel"},
		"balance":        screwBalance(), "balance-free": free, "balance-gains": other,
		"jewel-fit": pivotInJewel(), "jewel-fit-thick": chart.JewelFit{ID: "fit", Title: "Pivot in its jewel", PivotMm: 0.2,
			HoleMm: 0.1, PlayText: "does not enter"},
		"jewel-oil-capped": chart.JewelOil{ID: "oil", Title: "Oil between jewel and endstone", Capped: true, WidthMm: 1.2,
			LowMm: 0.6, HighMm: 0.8, Facts: []chart.Fact{{Name: "volume", Value: "7 to 13 nl"}}},
		"jewel-oil-cup": chart.JewelOil{ID: "oil", Title: "Oil in a cup", WidthMm: 0.8, LowMm: 0.6, HighMm: 0.68},
		"balance-plain": chart.BalanceDrawing{ID: "balance", Title: "Balance"},
	}
}

// Pitch circles are to one scale by their counts, and where two mesh they touch: that is what a pitch circle is.
func TestPitchCirclesMeshAndScale(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		d := chart.TrainDrawing{ID: "x", Title: "x", EscapeTeeth: rapid.IntRange(12, 21).Draw(t, "escape")}
		count := rapid.IntRange(40, 120)
		for range rapid.IntRange(1, 4).Draw(t, "stages") {
			d.Stages = append(d.Stages, chart.TrainStage{Wheel: count.Draw(t, "wheel"), Pinion: rapid.IntRange(6, 16).Draw(t,
				"pinion")})
		}
		root, _ := draw(t, d)
		xs, rs := ringsOf(t, root, "chart-wheel")
		px, pr := ringsOf(t, root, "chart-pinion")
		if len(xs) != len(d.Stages)+1 || len(px) != len(d.Stages) {
			t.Fatalf("%d wheels and %d pinions are drawn", len(xs), len(px))
		}
		const rounding = 0.04 // coordinates are written to 0.01
		scale := rs[0] / float64(d.Stages[0].Wheel)
		for i, st := range d.Stages {
			if math.Abs(px[i]-xs[i]-rs[i]-pr[i]) > rounding {
				t.Fatalf("wheel %d of radius %v at %v and pinion of radius %v at %v don't touch", i, rs[i], xs[i], pr[i], px[i])
			}
			if math.Abs(rs[i]-scale*float64(st.Wheel)) > rounding || math.Abs(pr[i]-scale*float64(st.Pinion)) > rounding {
				t.Fatalf("stage %d is not to the scale of the first", i)
			}
		}
	})
}

func ringsOf(t fataler, root node, class string) (xs, rs []float64) {
	for _, n := range root.Nodes {
		if n.XMLName.Local == "circle" && n.attr("class") == class {
			xs, rs = append(xs, atof(t, n.attr("cx"))), append(rs, atof(t, n.attr("r")))
		}
	}
	return xs, rs
}

// Each wheel has a stroke for each tooth.
func TestTeethAreCounted(t *testing.T) {
	t.Parallel()
	root, _ := draw(t, centreSeconds())
	var got []int
	for _, n := range root.Nodes {
		if n.attr("class") == "chart-teeth" {
			got = append(got, strings.Count(n.attr("d"), "M"))
		}
	}
	want := []int{80, 75, 10, 80, 10, 15, 8} // the larger of an arbor first
	if len(got) != len(want) {
		t.Fatalf("got %v, want %v", got, want)
	}
	for i := range want {
		if got[i] != want[i] {
			t.Errorf("got %v, want %v", got, want)
			break
		}
	}
}

func TestBenchDescriptions(t *testing.T) {
	t.Parallel()
	all := benchDrawings()
	for name, wants := range map[string][]string{
		"train": {"3 stages", "Arbor 1, centre: wheel 80; turns clockwise, 1 turn per hour; its wheel meshes with the " +
			"pinion of the next arbor",
			"Arbor 2, third: pinion 10, wheel 75; turns anticlockwise, 8 turns per hour",
			"Arbor 4, escape: pinion 8, escape wheel 15", "beats per hour: 18 000"},
		"train-missing": {"third: pinion 10, wheel ?", "escape: pinion 8 (found), escape wheel ?"},
		"train-barrel":  {"Arbor 1, barrel: wheel 72"},
		"train-motion":  {"cannon pinion: pinion 12", "minute wheel: wheel 36, pinion 10", "hour wheel: wheel 40"},
		"barrel": {"Inside diameter 11 mm, arbor diameter 3.6 mm", "1.2 × 0.11 × 380 mm", "8.14 mm", "8.23 mm",
			"7.9 turns"},
		"barrel-crammed": {"This spring has no room in this barrel"},
		"barrel-unknown": {"Inside diameter not known"},
		"balance": {"Heavy spot at 140°, towards screw 5", "Screw 5 at 135°, the one to turn: take 12 µg off", "12.5 coils",
			"Regulator pins at 55°: 1.4° towards the stud", "Impulse jewel at rest at 20°"},
		"jewel-fit": {"pivot in hole: 0.2 in 0.22 mm", "play sideways: 0.020 mm, usual",
			"bottom of the groove: 0.19 mm", "0.04 mm, usual"},
		"jewel-oil-capped": {"jewel, across: 1.2 mm", "oil, across: 0.60 to 0.80 mm", "endstone"},
		"jewel-oil-cup":    {"cup, across: 0.8 mm"},
		"balance-gains":    {"move away from the stud: it gains"},
	} {
		_, desc := draw(t, all[name])
		for _, want := range wants {
			if !strings.Contains(desc, want) {
				t.Errorf("%s: %q is not in %q", name, want, desc)
			}
		}
	}
}

// Hole and pivot are to one scale and touch where the pivot lies.
func TestPivotLiesInItsHole(t *testing.T) {
	t.Parallel()
	root, _ := draw(t, pivotInJewel())
	for _, n := range root.Nodes {
		if n.attr("class") != "chart-arbor" {
			continue
		}
		const hole, y, rounding = 58, 104, 0.02 // as drawn
		r, cy := atof(t, n.attr("r")), atof(t, n.attr("cy"))
		if math.Abs(r/hole-0.2/0.22) > rounding/hole || math.Abs(cy+r-y-hole) > rounding {
			t.Errorf("the pivot has %v at %v", r, cy)
		}
		return
	}
	t.Error("no pivot is drawn")
}

// The spring's edge has the area length × thickness however it is coiled; both rings of the drawing must have it.
func TestSpringKeepsItsArea(t *testing.T) {
	t.Parallel()
	d := fullBarrel()
	root, _ := draw(t, d)
	scale := 2 * 76 / d.InsideDiameterMm
	rings := 0
	for _, n := range root.Nodes {
		if n.attr("class") != "chart-blade-band" {
			continue
		}
		var radii []float64
		for _, ring := range strings.Split(n.attr("d"), "M")[1:] {
			_, arc, _ := strings.Cut(ring, "A")
			radii = append(radii, atof(t, strings.Fields(arc)[0])/scale)
		}
		area := math.Pi * (radii[0]*radii[0] - radii[1]*radii[1])
		if want := d.LengthMm * d.ThicknessMm; math.Abs(area-want) > 0.003*want { // radii are written to 0.01 of 76
			t.Errorf("the ring has %v mm², the spring %v", area, want)
		}
		rings++
	}
	if rings != 2 {
		t.Errorf("%d rings, want 2", rings)
	}
}

func TestBenchRefusals(t *testing.T) {
	t.Parallel()
	many := centreSeconds()
	for len(many.Stages) < 9 {
		many.Stages = append(many.Stages, many.Stages[0])
	}
	nan := math.NaN()
	for name, c := range map[string]struct {
		drawing interface{ SVG() (string, error) }
		want    error
	}{
		"nine stages":     {many, chart.ErrTooMany},
		"negative count":  {chart.TrainDrawing{ID: "x", Stages: []chart.TrainStage{{Wheel: -1, Pinion: 8}}}, chart.ErrSize},
		"no such wheel":   {chart.TrainDrawing{ID: "x", Stages: []chart.TrainStage{{Wheel: 5000, Pinion: 8}}}, chart.ErrSize},
		"train's id":      {chart.TrainDrawing{ID: "1"}, chart.ErrID},
		"negative barrel": {chart.BarrelSection{ID: "x", InsideDiameterMm: -1}, chart.ErrSize},
		"endless spring":  {chart.BarrelSection{ID: "x", LengthMm: math.Inf(1)}, chart.ErrSize},
		"barrel's id":     {chart.BarrelSection{}, chart.ErrID},
		"no pivot":        {chart.JewelFit{ID: "x", HoleMm: 1}, chart.ErrSize},
		"endless hole":    {chart.JewelFit{ID: "x", PivotMm: 1, HoleMm: math.Inf(1)}, chart.ErrSize},
		"oil overflowing": {chart.JewelOil{ID: "x", WidthMm: 1, LowMm: 1, HighMm: 2}, chart.ErrSize},
		"coils":           {chart.BalanceDrawing{ID: "x", Coils: 1e9}, chart.ErrSize},
		"stud nowhere":    {chart.BalanceDrawing{ID: "x", Coils: 12, StudDeg: nan}, chart.ErrNotFinite},
		"heavy nowhere":   {chart.BalanceDrawing{ID: "x", HeavySpotDeg: &nan}, chart.ErrNotFinite},
		"screws":          {chart.BalanceDrawing{ID: "x", Screws: make([]chart.BalanceScrew, 41)}, chart.ErrTooMany},
	} {
		if _, err := c.drawing.SVG(); !errors.Is(err, c.want) {
			t.Errorf("%s: got %v, want %v", name, err, c.want)
		}
	}
}

// Whatever the parts, the drawing is whole: well formed, with all points inside and no text over another.
func TestAnyPartsAreDrawnInside(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		count := rapid.OneOf(rapid.Just(0), rapid.IntRange(1, 20), rapid.IntRange(1, 200))
		train := chart.TrainDrawing{ID: "x", Title: "x", EscapeTeeth: count.Draw(t, "escape"),
			NoEscape: rapid.Bool().Draw(t, "no escape"), Anticlockwise: rapid.Bool().Draw(t, "anticlockwise")}
		for range rapid.IntRange(1, 8).Draw(t, "stages") {
			train.Stages = append(train.Stages, chart.TrainStage{Wheel: count.Draw(t, "wheel"), Pinion: count.Draw(t, "pinion"),
				Name:        rapid.SampledFrom([]string{"", "intermediate", "a long name that no arbor has"}).Draw(t, "name"),
				WheelSought: rapid.Bool().Draw(t, "sought")})
		}
		mm := rapid.OneOf(rapid.Just(0.0), rapid.Float64Range(0, 500))
		barrel := chart.BarrelSection{ID: "x", Title: "x", InsideDiameterMm: mm.Draw(t, "inside"),
			ArborDiameterMm: mm.Draw(t, "arbor"),
			ThicknessMm:     rapid.Float64Range(0, 2).Draw(t, "thick"), LengthMm: mm.Draw(t, "long"),
			WidthMm: mm.Draw(t, "wide")}
		angle := rapid.Float64Range(-1000, 1000)
		heavy, pins := angle.Draw(t, "heavy"), angle.Draw(t, "pins")
		balance := chart.BalanceDrawing{ID: "x", Title: "x", Coils: rapid.Float64Range(0, 40).Draw(t, "coils"),
			StudDeg:      angle.Draw(t, "stud"),
			HeavySpotDeg: &heavy, PinsDeg: &pins, PinsMove: chart.PinsMove(rapid.IntRange(0, 2).Draw(t, "move"))}
		for i := range rapid.IntRange(0, 20).Draw(t, "screws") {
			balance.Screws = append(balance.Screws, chart.BalanceScrew{AngleDeg: angle.Draw(t, "angle"), Name: strconv.Itoa(i),
				Turn: i%3 == 0})
		}
		for _, d := range []interface{ SVG() (string, error) }{train, barrel, balance} {
			root, _ := draw(t, d)
			inside(t, root)
			apart(t, root)
		}
	})
}
