package watch

// usualRange is what a figure of a watch usually is.
type usualRange struct {
	field, what, unit string
	least, most       float64
	of                func(Calibre) float64
}

// usualRanges are the trade's usual figures of wrist and pocket watches with a lever escapement. All are common
// practice, set down from memory and rounded outward: no standard has them.
var usualRanges = []usualRange{
	{"lift_angle_deg", "a lift angle", "°", 36, 60, func(c Calibre) float64 { return c.LiftAngleDeg }},
	{"power_reserve_hours", "a power reserve", "h", 24, 240, func(c Calibre) float64 { return c.PowerReserveHours }},
	{"movement_diameter", "a movement", "mm", 8, 60, func(c Calibre) float64 { return c.DiameterMm }},
	{"jewels", "the number of jewels", "", 4, 50, func(c Calibre) float64 { return float64(c.Jewels) }},
	{"barrel_teeth", "the teeth of a barrel", "", 60, 120, func(c Calibre) float64 { return float64(c.BarrelTeeth) }},
	{"centre_pinion_leaves", "the leaves of a centre pinion", "", 8, 16,
		func(c Calibre) float64 { return float64(c.CentrePinionLeaves) }},
	{"barrel_inside_diameter", "the inside of a barrel", "mm", 4, 22,
		func(c Calibre) float64 { return c.BarrelInsideDiameterMm }},
	{"arbor_diameter", "a barrel arbor", "mm", 1, 8, func(c Calibre) float64 { return c.ArborDiameterMm }},
	{"mainspring_width", "the width of a mainspring", "mm", 0.5, 4,
		func(c Calibre) float64 { return c.MainspringWidthMm }},
	{"mainspring_thickness", "the thickness of a mainspring", "mm", 0.04, 0.25,
		func(c Calibre) float64 { return c.MainspringThicknessMm }},
	{"mainspring_length", "the length of a mainspring", "mm", 150, 800,
		func(c Calibre) float64 { return c.MainspringLengthMm }},
	{"balance_inertia", "the moment of inertia of a balance", "mg·cm²", 0.3, 120,
		func(c Calibre) float64 { return c.Balance.InertiaMgCm2 }},
	{"balance_mass", "the mass of a balance", "mg", 10, 1000, func(c Calibre) float64 { return c.Balance.MassMg }},
	{"balance_gyration_radius", "the radius of gyration of a balance", "mm", 1.5, 9,
		func(c Calibre) float64 { return c.Balance.GyrationRadiusMm }},
	{"balance_diameter", "a balance", "mm", 4, 20, func(c Calibre) float64 { return c.Balance.DiameterMm }},
	{"stud_radius", "the stud’s distance from the staff", "mm", 1, 8,
		func(c Calibre) float64 { return c.Balance.StudRadiusMm }},
	{"regulator_step", "one division of a regulator", "s/d", 2, 90,
		func(c Calibre) float64 { return c.Balance.RegulatorStepSPerDay }},
	{"screw_mass", "the mass of a timing screw", "µg", 100, 20000,
		func(c Calibre) float64 { return c.Balance.ScrewMassMicrogram }},
	{"hairspring_stiffness", "the stiffness of a hairspring", "µN·m/rad", 0.03, 6,
		func(c Calibre) float64 { return c.HairspringStiffnessNmPerRad * 1e6 }},
	{"hairspring_width", "the width of a hairspring", "mm", 0.06, 0.4,
		func(c Calibre) float64 { return c.HairspringWidthMm }},
	{"hairspring_thickness", "the thickness of a hairspring", "mm", 0.012, 0.08,
		func(c Calibre) float64 { return c.HairspringThicknessMm }},
	{"hairspring_length", "the active length of a hairspring", "mm", 40, 350,
		func(c Calibre) float64 { return c.HairspringLengthMm }},
}
