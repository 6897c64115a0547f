package runs

import (
	"strconv"

	"ledgerwheel/domain/oscillator"
	"ledgerwheel/domain/watch"
)

// BalanceOf is the balance of a calibre as the fit takes it.
func BalanceOf(k watch.Calibre) oscillator.Balance {
	kept := k.Balance
	b := oscillator.Balance{BeatsPerHour: k.BeatsPerHour, InertiaMgCm2: kept.InertiaMgCm2,
		RimRadiusMm:   kept.DiameterMm / 2,
		RegulatorStep: kept.RegulatorStepSPerDay}
	if kept.ImpulseJewelHour != 0 {
		jewel := oscillator.Hour(kept.ImpulseJewelHour)
		b.ImpulseJewel = &jewel
	}
	for i := range kept.ScrewCount {
		b.Screws = append(b.Screws, oscillator.Screw{Label: "screw " + strconv.Itoa(i+1), RadiusMm: kept.ScrewRadiusMm,
			FromJewelDeg:  kept.ScrewFirstDeg + 360*float64(i)/float64(kept.ScrewCount),
			MassMicrogram: kept.ScrewMassMicrogram, TravelMmAtTurn: kept.ScrewTravelMm})
	}
	return b
}
