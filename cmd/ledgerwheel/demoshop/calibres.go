package demoshop

import (
	"context"

	"ledgerwheel/domain/photo"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/timing"
	"ledgerwheel/domain/watch"
	"ledgerwheel/store"
)

// The calibres that Tern Quay sees most. Makers, names and figures are invented; the figures of each agree with one
// another and with its time: slow trains in the old hand-wound ones, a short reserve in the fast one.
const (
	skerrow43  = "SK 43"
	vintermoor = "VM 8"
	thackwood  = "TW 10"
	pellwarne  = "PW 11"
	pellAuto   = "PW 24 A"
	brackendiv = "BH 36"
	denmoor    = "DC 2"
	ostrelle   = "OS 5"
	ostrelleA  = "OS 7 A"
)

var calibres = []watch.Calibre{
	{
		Name: skerrow43, Maker: "Skerrow & Daughters", BeatsPerHour: 18000, LiftAngleDeg: 48, PowerReserveHours: 36,
		GradeKey:   timing.GradeVintage,
		DiameterMm: 43.0, Jewels: 15, JewelPlaces: "balance 5, pallets 4, escape wheel 2, fourth wheel 2, third wheel 2",
		Train: "64:8,60:8,60:6,15", MotionWork: "12:36,10:40", BarrelTeeth: 72, CentrePinionLeaves: 12,
		BarrelInsideDiameterMm: 16.0, ArborDiameterMm: 5.0, MainspringWidthMm: 2.2, MainspringThicknessMm: 0.19,
		MainspringLengthMm: 475,
		Balance: watch.Balance{InertiaMgCm2: 113.0, MassMg: 260, GyrationRadiusMm: 6.6, DiameterMm: 14.8, ImpulseJewelHour: 6,
			StudRadiusMm: 4.6,
			ScrewCount:   4, ScrewFirstDeg: 45, ScrewRadiusMm: 7.6, ScrewMassMicrogram: 6000, ScrewTravelMm: 0.2},
		HairspringStiffnessNmPerRad: 2.79e-6, HairspringWidthMm: 0.2, HairspringThicknessMm: 0.05, HairspringLengthMm: 153,
		Lubrication: oldOils, Notes: "Pocket watch. The balance is cut: don't bend its arms, and poise it at room " +
			"temperature.",
	},
	{
		Name: vintermoor, Maker: "Vintermoor", BeatsPerHour: 18000, LiftAngleDeg: 44, PowerReserveHours: 38,
		GradeKey:   timing.GradeVintage,
		DiameterMm: 26.0, Jewels: 17, JewelPlaces: "balance 5, pallets 4, escape, fourth and third wheels 2 each, centre wheel 2",
		Train: "80:10,75:10,80:8,15", MotionWork: "12:36,10:40", BarrelTeeth: 72, CentrePinionLeaves: 12,
		BarrelInsideDiameterMm: 11.2, ArborDiameterMm: 3.6, MainspringWidthMm: 1.5, MainspringThicknessMm: 0.13,
		MainspringLengthMm: 340,
		Balance: watch.Balance{InertiaMgCm2: 20.8, MassMg: 118, GyrationRadiusMm: 4.2, DiameterMm: 9.2, ImpulseJewelHour: 4.5,
			StudRadiusMm: 3.3, RegulatorStepSPerDay: 20,
			ScrewCount: 4, ScrewFirstDeg: 45, ScrewRadiusMm: 4.8, ScrewMassMicrogram: 2500, ScrewTravelMm: 0.18},
		HairspringStiffnessNmPerRad: 0.513e-6, HairspringWidthMm: 0.14, HairspringThicknessMm: 0.032, HairspringLengthMm: 153,
		Lubrication: oldOils, Notes: "The screws opposite one another are turned in pairs.",
	},
	{
		Name: thackwood, Maker: "Thackwood Instrument Co.", BeatsPerHour: 19800, LiftAngleDeg: 46, PowerReserveHours: 40,
		GradeKey:   timing.GradeVintage,
		DiameterMm: 27.2, Jewels: 17, JewelPlaces: "balance 5, pallets 4, escape, fourth and third wheels 2 each, centre wheel 2",
		Train: "80:10,75:10,88:8,15", MotionWork: "12:36,8:32", BarrelTeeth: 72, CentrePinionLeaves: 12,
		BarrelInsideDiameterMm: 12.4, ArborDiameterMm: 4.0, MainspringWidthMm: 1.6, MainspringThicknessMm: 0.14,
		MainspringLengthMm: 385,
		Balance: watch.Balance{InertiaMgCm2: 24.0, MassMg: 130, GyrationRadiusMm: 4.3, DiameterMm: 9.6,
			ImpulseJewelHour: 7.5, StudRadiusMm: 3.4, RegulatorStepSPerDay: 22},
		HairspringStiffnessNmPerRad: 0.717e-6, HairspringWidthMm: 0.15, HairspringThicknessMm: 0.034, HairspringLengthMm: 127,
		Lubrication: oldOils, Notes: "The fourth wheel of 88 is often found replaced by one of 80: the hands then gain a tenth.",
	},
	{
		Name: pellwarne, Maker: "Pellwarne", BeatsPerHour: 21600, LiftAngleDeg: 50, PowerReserveHours: 44,
		GradeKey:   timing.GradeModern,
		DiameterMm: 25.6, Jewels: 17, JewelPlaces: "balance 5, pallets 4, escape, fourth and third wheels 2 each, centre wheel 2",
		Train: "80:10,75:10,84:7,15", MotionWork: "10:30,8:32", BarrelTeeth: 72, CentrePinionLeaves: 12,
		BarrelInsideDiameterMm: 11.0, ArborDiameterMm: 3.5, MainspringWidthMm: 1.45, MainspringThicknessMm: 0.115,
		MainspringLengthMm: 370,
		Balance: watch.Balance{InertiaMgCm2: 15.4, MassMg: 96, GyrationRadiusMm: 4.0, DiameterMm: 9.0,
			ImpulseJewelHour: 8, StudRadiusMm: 3.2, RegulatorStepSPerDay: 25},
		HairspringStiffnessNmPerRad: 0.547e-6, HairspringWidthMm: 0.14, HairspringThicknessMm: 0.033, HairspringLengthMm: 142,
		Lubrication: usualOils,
	},
	{
		Name: pellAuto, Maker: "Pellwarne", BeatsPerHour: 28800, LiftAngleDeg: 52, PowerReserveHours: 42,
		GradeKey:   timing.GradeModern,
		DiameterMm: 25.6, Jewels: 25, JewelPlaces: "balance 5, pallets 4, train 8, winding wheels and rotor 8",
		Train: "75:10,80:10,84:7,20 seconds=centre", MotionWork: "12:36,10:40", BarrelTeeth: 72, CentrePinionLeaves: 12,
		BarrelInsideDiameterMm: 10.6, ArborDiameterMm: 3.3, MainspringWidthMm: 1.3, MainspringThicknessMm: 0.112,
		MainspringLengthMm: 355,
		Balance: watch.Balance{InertiaMgCm2: 8.95, MassMg: 62, GyrationRadiusMm: 3.8, DiameterMm: 8.6,
			ImpulseJewelHour: 8, StudRadiusMm: 3.0, RegulatorStepSPerDay: 24},
		HairspringStiffnessNmPerRad: 0.565e-6, HairspringWidthMm: 0.13, HairspringThicknessMm: 0.034, HairspringLengthMm: 139,
		Lubrication: automaticOils, Notes: "The spring slips in its barrel: grease the wall in six spots and no more.",
	},
	{
		Name: brackendiv, Maker: "Brackenholt", BeatsPerHour: 36000, LiftAngleDeg: 51, PowerReserveHours: 45,
		GradeKey:   timing.GradeModern,
		DiameterMm: 27.4, Jewels: 27, JewelPlaces: "balance 5, pallets 4, train 10, barrel 2, winding wheels 6",
		Train: "80:10,75:10,100:7,21 seconds=centre", MotionWork: "14:42,10:40", BarrelTeeth: 72, CentrePinionLeaves: 12,
		BarrelInsideDiameterMm: 11.4, ArborDiameterMm: 3.5, MainspringWidthMm: 1.5, MainspringThicknessMm: 0.11,
		MainspringLengthMm: 420,
		Balance: watch.Balance{InertiaMgCm2: 5.7, MassMg: 44, GyrationRadiusMm: 3.6, DiameterMm: 8.0,
			ImpulseJewelHour: 10, StudRadiusMm: 2.9, RegulatorStepSPerDay: 18},
		HairspringStiffnessNmPerRad: 0.563e-6, HairspringWidthMm: 0.13, HairspringThicknessMm: 0.036, HairspringLengthMm: 166,
		Lubrication: usualOils, Notes: "The escape wheel is fast: its oil is spun off when there is too much of it.",
	},
	{
		Name: denmoor, Maker: "Denmoor Chronometer Works", BeatsPerHour: 28800, LiftAngleDeg: 50, PowerReserveHours: 60,
		GradeKey:   timing.GradeChronometer,
		DiameterMm: 30.0, Jewels: 21, JewelPlaces: "balance 5, pallets 4, train 8, barrel 2, seconds pivot 2",
		Train: "80:10,75:10,96:8,20", MotionWork: "12:36,10:40", BarrelTeeth: 72, CentrePinionLeaves: 12,
		BarrelInsideDiameterMm: 13.4, ArborDiameterMm: 4.2, MainspringWidthMm: 1.7, MainspringThicknessMm: 0.105,
		MainspringLengthMm: 605,
		Balance: watch.Balance{InertiaMgCm2: 13.4, MassMg: 80, GyrationRadiusMm: 4.1, DiameterMm: 9.2, ImpulseJewelHour: 4.5,
			StudRadiusMm: 3.3,
			ScrewCount:   4, ScrewFirstDeg: 45, ScrewRadiusMm: 4.4, ScrewMassMicrogram: 1500, ScrewTravelMm: 0.1},
		HairspringStiffnessNmPerRad: 0.846e-6, HairspringWidthMm: 0.14, HairspringThicknessMm: 0.037, HairspringLengthMm: 129,
		Lubrication: usualOils, Notes: "Free-sprung: there is no regulator, the weights set the rate.",
	},
	{
		Name: ostrelle, Maker: "Ostrelle", BeatsPerHour: 21600, LiftAngleDeg: 40, PowerReserveHours: 36,
		GradeKey:   timing.GradeSmallCalibre,
		DiameterMm: 15.3, Jewels: 17, JewelPlaces: "balance 5, pallets 4, escape, fourth and third wheels 2 each, centre wheel 2",
		Train: "60:8,64:8,72:6,15 seconds=none", MotionWork: "10:30,8:32", BarrelTeeth: 66, CentrePinionLeaves: 12,
		BarrelInsideDiameterMm: 6.6, ArborDiameterMm: 2.1, MainspringWidthMm: 0.9, MainspringThicknessMm: 0.068,
		MainspringLengthMm: 225,
		Balance: watch.Balance{InertiaMgCm2: 1.62, MassMg: 24, GyrationRadiusMm: 2.6, DiameterMm: 5.8,
			ImpulseJewelHour: 6, StudRadiusMm: 1.9, RegulatorStepSPerDay: 30},
		HairspringStiffnessNmPerRad: 0.0576e-6, HairspringWidthMm: 0.09, HairspringThicknessMm: 0.018,
		HairspringLengthMm: 140,
		Lubrication:        smallOils, Notes: "No seconds hand.",
	},
	{
		Name: ostrelleA, Maker: "Ostrelle", BeatsPerHour: 28800, LiftAngleDeg: 48, PowerReserveHours: 38,
		GradeKey:   timing.GradeSmallCalibre,
		DiameterMm: 17.2, Jewels: 21, JewelPlaces: "balance 5, pallets 4, train 8, rotor 4",
		Train: "75:10,64:8,84:7,20 seconds=centre", MotionWork: "12:36,10:40", BarrelTeeth: 66, CentrePinionLeaves: 12,
		BarrelInsideDiameterMm: 7.4, ArborDiameterMm: 2.3, MainspringWidthMm: 0.95, MainspringThicknessMm: 0.08,
		MainspringLengthMm: 245,
		Balance: watch.Balance{InertiaMgCm2: 1.6, MassMg: 22, GyrationRadiusMm: 2.7, DiameterMm: 6.0,
			ImpulseJewelHour: 8, StudRadiusMm: 2.0, RegulatorStepSPerDay: 28},
		HairspringStiffnessNmPerRad: 0.101e-6, HairspringWidthMm: 0.1, HairspringThicknessMm: 0.021, HairspringLengthMm: 141,
		Lubrication: smallOils, Notes: "The rotor's bearing runs dry.",
	},
}

// What goes where, in kinds and not in brands; how much is common practice.
var (
	usualOils = []watch.OilPlace{
		{Place: "Balance jewels", Oil: "thin oil for fast pivots", Note: "half of the ring round the cap jewel’s centre"},
		{Place: "Pallet stones", Oil: "oil for escapements", Note: "a third of the locking face, on every fifth tooth"},
		{Place: "Escape and fourth wheel", Oil: "thin oil for fast pivots", Note: "two thirds of the cup"},
		{Place: "Third and centre wheel", Oil: "thicker oil", Note: "two thirds of the cup"},
		{Place: "Barrel arbor and mainspring", Oil: "thicker oil", Note: "a film on the spring"},
		{Place: "Winding and setting", Oil: "grease", Note: "where steel rubs on steel"},
		{Place: "Pallet pivots", Oil: "none", Note: "run dry"},
	}
	automaticOils = append(usualOils[:len(usualOils):len(usualOils)],
		watch.OilPlace{Place: "Barrel wall", Oil: "braking grease", Note: "six small spots, where the bridle slips"})
	oldOils = append(usualOils[:len(usualOils):len(usualOils)],
		watch.OilPlace{Place: "Cannon pinion", Oil: "thicker oil", Note: "a trace, or the hands slip"})
	smallOils = append([]watch.OilPlace{{Place: "Balance jewels", Oil: "thin oil for fast pivots",
		Note: "the smallest drop that spreads to a third of the cap jewel"}}, usualOils[1:]...)
)

// keepCalibres adds the calibres that the list lacks and learns the id of each by its name.
func (f *filler) keepCalibres(ctx context.Context) error {
	kept, err := f.store.Calibres(ctx)
	if err != nil {
		return err
	}
	f.calibres = map[string]int64{}
	for _, k := range kept {
		f.calibres[k.Name] = k.ID
	}
	change := store.CalibreChange{By: f.staff[staff.Watchmaker], At: f.calendar.at(openedBack, "10:00"),
		Why: "from the maker’s sheet, measured where it had gaps"}
	for _, k := range calibres {
		if f.calibres[k.Name] != 0 {
			continue
		}
		if f.calibres[k.Name], err = f.store.AddCalibre(ctx, change, k); err != nil {
			return err
		}
	}
	return f.keepDrawings(ctx, change)
}

// calibreDrawings are the pictures that Tern Quay keeps of its calibres.
var calibreDrawings = []struct {
	calibre string
	shows   picture
	caption string
}{
	{vintermoor, movementOld, "Bridge side, as most of them come in"},
	{pellwarne, movementHand, "Bridge side, clean"},
	{pellAuto, movementRotor, "With its rotor"},
	{pellAuto, partSpring, "Barrel open, the bridle of the spring"},
}

func (f *filler) keepDrawings(ctx context.Context, change store.CalibreChange) error {
	kept := map[string]int{}
	for _, d := range calibreDrawings {
		if _, asked := kept[d.calibre]; !asked {
			record, err := f.store.CalibreRecord(ctx, f.calibres[d.calibre])
			if err != nil {
				return err
			}
			kept[d.calibre] = len(record.Drawings)
		}
		if kept[d.calibre] > 0 { // an earlier filling came so far
			kept[d.calibre]--
			continue
		}
		p, err := f.darkroom.print(d.shows)
		if err != nil {
			return err
		}
		if err := f.store.AddCalibreDrawings(ctx, change.By, change.At, f.calibres[d.calibre], d.caption,
			[]photo.Picture{p}); err != nil {
			return err
		}
	}
	return nil
}
