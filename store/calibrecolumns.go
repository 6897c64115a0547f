package store

import (
	"fmt"
	"strings"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain/watch"
)

// calibreColumn is one column of a calibre. A number that is not known is 0 here and null there.
type calibreColumn struct {
	name string
	zero string // what is read where the column is null
	in   string // how a parameter is written; %s is its placeholder
	of   func(*watch.Calibre) any
}

func textColumn(name string, of func(*watch.Calibre) any) calibreColumn {
	return calibreColumn{name, "''", "%s", of}
}

func numberColumn(name string, of func(*watch.Calibre) any) calibreColumn {
	return calibreColumn{name, "0", "nullif(%s::float8, 0)", of}
}

func wholeColumn(name string, of func(*watch.Calibre) any) calibreColumn {
	return calibreColumn{name, "0", "nullif(%s::int, 0)", of}
}

var calibreTable = []calibreColumn{
	textColumn("name", func(k *watch.Calibre) any { return &k.Name }),
	textColumn("maker", func(k *watch.Calibre) any { return &k.Maker }),
	wholeColumn("beats_per_hour", func(k *watch.Calibre) any { return &k.BeatsPerHour }),
	numberColumn("lift_angle_deg", func(k *watch.Calibre) any { return &k.LiftAngleDeg }),
	numberColumn("lift_angle_u95_deg", func(k *watch.Calibre) any { return &k.LiftAngleU95Deg }),
	textColumn("lift_angle_how", func(k *watch.Calibre) any { return &k.LiftAngleHow }),
	numberColumn("power_reserve_hours", func(k *watch.Calibre) any { return &k.PowerReserveHours }),
	textColumn("grade", func(k *watch.Calibre) any { return &k.GradeKey }),
	numberColumn("movement_diameter_mm", func(k *watch.Calibre) any { return &k.DiameterMm }),
	wholeColumn("jewels", func(k *watch.Calibre) any { return &k.Jewels }),
	textColumn("jewel_places", func(k *watch.Calibre) any { return &k.JewelPlaces }),
	textColumn("train", func(k *watch.Calibre) any { return &k.Train }),
	textColumn("motion_work", func(k *watch.Calibre) any { return &k.MotionWork }),
	wholeColumn("dial_hours", func(k *watch.Calibre) any { return &k.DialHours }),
	wholeColumn("barrel_teeth", func(k *watch.Calibre) any { return &k.BarrelTeeth }),
	wholeColumn("centre_pinion_leaves", func(k *watch.Calibre) any { return &k.CentrePinionLeaves }),
	numberColumn("barrel_inside_diameter_mm", func(k *watch.Calibre) any { return &k.BarrelInsideDiameterMm }),
	numberColumn("arbor_diameter_mm", func(k *watch.Calibre) any { return &k.ArborDiameterMm }),
	numberColumn("mainspring_width_mm", func(k *watch.Calibre) any { return &k.MainspringWidthMm }),
	numberColumn("mainspring_thickness_mm", func(k *watch.Calibre) any { return &k.MainspringThicknessMm }),
	numberColumn("mainspring_length_mm", func(k *watch.Calibre) any { return &k.MainspringLengthMm }),
	numberColumn("balance_inertia_mg_cm2", func(k *watch.Calibre) any { return &k.Balance.InertiaMgCm2 }),
	numberColumn("balance_mass_mg", func(k *watch.Calibre) any { return &k.Balance.MassMg }),
	numberColumn("balance_gyration_radius_mm", func(k *watch.Calibre) any { return &k.Balance.GyrationRadiusMm }),
	numberColumn("balance_diameter_mm", func(k *watch.Calibre) any { return &k.Balance.DiameterMm }),
	numberColumn("impulse_jewel_hour", func(k *watch.Calibre) any { return &k.Balance.ImpulseJewelHour }),
	numberColumn("stud_radius_mm", func(k *watch.Calibre) any { return &k.Balance.StudRadiusMm }),
	numberColumn("regulator_step_s_per_day", func(k *watch.Calibre) any { return &k.Balance.RegulatorStepSPerDay }),
	wholeColumn("screw_count", func(k *watch.Calibre) any { return &k.Balance.ScrewCount }),
	// 0 is an angle too; where there are no screws it says nothing.
	{"screw_first_deg", "0", "%s::float8", func(k *watch.Calibre) any { return &k.Balance.ScrewFirstDeg }},
	numberColumn("screw_radius_mm", func(k *watch.Calibre) any { return &k.Balance.ScrewRadiusMm }),
	numberColumn("screw_mass_ug", func(k *watch.Calibre) any { return &k.Balance.ScrewMassMicrogram }),
	numberColumn("screw_travel_mm", func(k *watch.Calibre) any { return &k.Balance.ScrewTravelMm }),
	numberColumn("hairspring_stiffness_nm_rad", func(k *watch.Calibre) any { return &k.HairspringStiffnessNmPerRad }),
	numberColumn("hairspring_width_mm", func(k *watch.Calibre) any { return &k.HairspringWidthMm }),
	numberColumn("hairspring_thickness_mm", func(k *watch.Calibre) any { return &k.HairspringThicknessMm }),
	numberColumn("hairspring_length_mm", func(k *watch.Calibre) any { return &k.HairspringLengthMm }),
	{"lubrication", "'null'", "nullif(%s::jsonb, 'null')", func(k *watch.Calibre) any { return &k.Lubrication }},
	textColumn("notes", func(k *watch.Calibre) any { return &k.Notes }),
}

// calibreFields are the columns of a calibre k that may be missing, as calibreTargets reads them.
var calibreFields = func() string {
	fields := []string{"coalesce(k.id, 0)"}
	for _, c := range calibreTable {
		fields = append(fields, fmt.Sprintf("coalesce(k.%s, %s)", c.name, c.zero))
	}
	return strings.Join(fields, ", ")
}()

func calibreTargets(k *watch.Calibre) []any {
	targets := []any{&k.ID}
	for _, c := range calibreTable {
		targets = append(targets, c.of(k))
	}
	return targets
}

// calibreColumns are the columns that calibreValues fills, and calibreParameters $1, $2, ... as they take them.
var calibreColumns, calibreParameters = func() (string, string) {
	names, parameters := []string{"name_key"}, []string{"$1"}
	for i, c := range calibreTable {
		names = append(names, c.name)
		parameters = append(parameters, fmt.Sprintf(c.in, fmt.Sprintf("$%d", i+2)))
	}
	return strings.Join(names, ", "), strings.Join(parameters, ", ")
}()

func calibreValues(k watch.Calibre) []any {
	values := []any{calibreKey(k.Name)}
	for _, c := range calibreTable {
		values = append(values, c.of(&k))
	}
	return values
}

func scanCalibre(row pgx.CollectableRow) (watch.Calibre, error) {
	var k watch.Calibre
	err := row.Scan(calibreTargets(&k)...)
	return k, err
}
