package demoshop

import (
	"context"

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
	{Name: skerrow43, Maker: "Skerrow & Daughters", BeatsPerHour: 18000, LiftAngleDeg: 48, PowerReserveHours: 36, GradeKey: timing.GradeVintage},
	{Name: vintermoor, Maker: "Vintermoor", BeatsPerHour: 18000, LiftAngleDeg: 44, PowerReserveHours: 38, GradeKey: timing.GradeVintage},
	{Name: thackwood, Maker: "Thackwood Instrument Co.", BeatsPerHour: 19800, LiftAngleDeg: 46, PowerReserveHours: 40, GradeKey: timing.GradeVintage},
	{Name: pellwarne, Maker: "Pellwarne", BeatsPerHour: 21600, LiftAngleDeg: 50, PowerReserveHours: 44, GradeKey: timing.GradeModern},
	{Name: pellAuto, Maker: "Pellwarne", BeatsPerHour: 28800, LiftAngleDeg: 52, PowerReserveHours: 42, GradeKey: timing.GradeModern},
	{Name: brackendiv, Maker: "Brackenholt", BeatsPerHour: 36000, LiftAngleDeg: 51, PowerReserveHours: 45, GradeKey: timing.GradeModern},
	{Name: denmoor, Maker: "Denmoor Chronometer Works", BeatsPerHour: 28800, LiftAngleDeg: 50, PowerReserveHours: 60, GradeKey: timing.GradeChronometer},
	{Name: ostrelle, Maker: "Ostrelle", BeatsPerHour: 21600, LiftAngleDeg: 40, PowerReserveHours: 36, GradeKey: timing.GradeSmallCalibre},
	{Name: ostrelleA, Maker: "Ostrelle", BeatsPerHour: 28800, LiftAngleDeg: 48, PowerReserveHours: 38, GradeKey: timing.GradeSmallCalibre},
}

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
	for _, k := range calibres {
		if f.calibres[k.Name] != 0 {
			continue
		}
		if f.calibres[k.Name], err = f.store.AddCalibre(ctx, store.CalibreChange{By: f.staff[staff.Watchmaker], At: f.calendar.at(openedBack, "10:00")}, k); err != nil {
			return err
		}
	}
	return nil
}
