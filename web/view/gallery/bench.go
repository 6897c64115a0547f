package gallery

import (
	"strconv"

	"ledgerwheel/web/chart"
	"ledgerwheel/web/view"
)

// benchCharts are the drawings of the bench tools, of invented parts.
func benchCharts() []view.ChartView {
	train := chart.TrainDrawing{ID: "train", Title: "The going train",
		Stages: []chart.TrainStage{{Wheel: 72, Pinion: 12}, {Wheel: 80, Pinion: 10}, {Wheel: 75, Pinion: 10},
			{Wheel: 80, Pinion: 8}},
		EscapeTeeth: 15, SeenFrom: "seen from the dial side", TurnsPerHour: []string{"1⁄6", "1", "8", "60", "600"},
		Facts: []chart.Fact{{Name: "beats per hour", Value: "18 000"}}}
	missing := train
	missing.ID, missing.Title = "missing", "The going train with a wheel missing"
	missing.Stages = []chart.TrainStage{{Wheel: 80, Pinion: 10}, {Pinion: 10}, {Wheel: 80, Pinion: 8, PinionSought: true}}
	missing.TurnsPerHour, missing.Facts = nil, nil
	motion := chart.TrainDrawing{ID: "motion", Title: "Motion work", NoEscape: true, LastName: "hour wheel",
		Stages: []chart.TrainStage{{Wheel: 12, Pinion: 36, Name: "cannon pinion"},
			{Wheel: 10, Pinion: 40, Name: "minute wheel"}}}
	barrel := chart.BarrelSection{ID: "barrel", Title: "The barrel", InsideDiameterMm: 11, ArborDiameterMm: 3.6,
		ThicknessMm: 0.11,
		WidthMm:     1.2, LengthMm: 380, FillText: "49 %", TurnsText: "7.9 turns"}
	unknown := chart.BarrelSection{ID: "unknown", Title: "A barrel whose spring is lost", InsideDiameterMm: 11}
	return []view.ChartView{
		{Caption: "Going train", TestID: "train", Drawing: train},
		{Caption: "A wheel missing", TestID: "missing", Drawing: missing},
		{Caption: "Motion work", TestID: "motion", Drawing: motion},
		{Caption: "Barrel", TestID: "barrel", Drawing: barrel},
		{Caption: "Barrel, little known", TestID: "unknown", Drawing: unknown},
		{Caption: "Balance", TestID: "balance", Drawing: balance()},
		{Caption: "Pivot and jewel", TestID: "fit", Drawing: chart.JewelFit{ID: "fit", Title: "Pivot in its jewel",
			PivotMm: 0.2, HoleMm: 0.22,
			SmallestMm: 0.19, PlayText: "0.020 mm, usual", EndshakeText: "0.040 mm, usual"}},
		{Caption: "Oil at the balance", TestID: "oil", Drawing: chart.JewelOil{ID: "oil",
			Title: "Oil between jewel and endstone", Capped: true,
			WidthMm: 1.2, LowMm: 0.6, HighMm: 0.8, Facts: []chart.Fact{{Name: "volume", Value: "7 to 13 nl"}}}},
		{Caption: "Oil in a cup", TestID: "cup", Drawing: chart.JewelOil{ID: "cup", Title: "Oil in the cup of a jewel",
			WidthMm: 0.8, LowMm: 0.6, HighMm: 0.68}},
	}
}

func balance() chart.BalanceDrawing {
	heavy, jewel, pins := 140.0, 20.0, 55.0
	d := chart.BalanceDrawing{ID: "balance", Title: "Balance and hairspring", DiameterText: "9.80 mm", Coils: 12.5,
		StudDeg:      90,
		HeavySpotDeg: &heavy, HeavySpotText: "towards screw 5, 22 µg·mm", JewelDeg: &jewel, PinsDeg: &pins,
		PinsMove: chart.PinsTowardsStud, PinsText: "1.4° towards the stud"}
	for i := range 12 {
		d.Screws = append(d.Screws, chart.BalanceScrew{AngleDeg: float64(i)*30 + 15, Name: strconv.Itoa(i + 1),
			Washer: i%6 == 0})
	}
	d.Screws[4].Turn, d.Screws[4].Action = true, "take 12 µg off"
	return d
}
