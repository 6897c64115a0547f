package watch

// Balance is what is known of a calibre's balance; a figure that is zero is not known. Nothing but advice needs it.
type Balance struct {
	InertiaMgCm2         float64 // moment of inertia, mg·cm²
	MassMg               float64 // of the whole balance
	GyrationRadiusMm     float64 // the radius at which that mass would have that moment of inertia
	DiameterMm           float64 // of the rim where weight is taken off
	ImpulseJewelHour     float64 // hour of the dial, seen from the dial side, to which the impulse jewel points at rest
	StudRadiusMm         float64 // from the staff to the stud
	RegulatorStepSPerDay float64 // for one division of the regulator

	// Timing screws or weights: so many equal ones, evenly spaced. All five are given or none.
	ScrewCount         int
	ScrewFirstDeg      float64 // the first, from the impulse jewel, clockwise seen from the balance side; may be 0
	ScrewRadiusMm      float64 // from the staff to a screw's centre of mass
	ScrewMassMicrogram float64
	ScrewTravelMm      float64 // outward, for one turn
}

// screwProblems notes what is missing where only a part of the screws is given.
func (b Balance) screwProblems(bad map[string]string) {
	given := map[string]bool{"screw_count": b.ScrewCount != 0, "screw_radius": b.ScrewRadiusMm != 0,
		"screw_mass": b.ScrewMassMicrogram != 0, "screw_travel": b.ScrewTravelMm != 0}
	some := b.ScrewFirstDeg != 0
	for _, g := range given {
		some = some || g
	}
	for field, g := range given {
		if some && !g && bad[field] == "" {
			bad[field] = "Give number, radius, mass and travel of the screws, or none of them."
		}
	}
}
