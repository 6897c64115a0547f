package watch

import (
	"cmp"
	"errors"
	"strconv"
	"strings"

	"ledgerwheel/domain/figure"
	"ledgerwheel/domain/oscillator"
	"ledgerwheel/domain/text"
	"ledgerwheel/domain/train"
)

// FieldKind is what a field of a calibre takes.
type FieldKind uint8

// The kinds of field.
const (
	LineField   FieldKind = iota // one line of text
	GradeField                   // the key of a grade of rate limits
	WholeField                   // a whole number
	FigureField                  // a number, with comma or point
	LinesField                   // several lines
)

// CalibreField is one thing that a calibre can say: how forms, files and the history of corrections name it.
type CalibreField struct {
	Name  string // in forms and files
	Label string
	Unit  string
	Hint  string
	Group string
	Kind  FieldKind
	Need  bool

	min, max float64 // of a number; 0 stands for not known
	from0    bool    // 0 is a figure too
	power    int     // what is typed is the figure times ten to this
	least    bool    // min itself is allowed
	limit    int     // characters of a text
	sentence string
	number   func(*Calibre) *float64
	whole    func(*Calibre) *int
	text     func(*Calibre) *string
}

// The groups of fields, in the order of the form.
const (
	GroupMovement = "The movement"
	GroupTrain    = "Train and motion work"
	GroupBarrel   = "Barrel and mainspring"
	GroupBalance  = "Balance"
	GroupScrews   = "Timing screws or weights"
	GroupSpring   = "Hairspring"
	GroupOils     = "Oils and greases"
	GroupNotes    = "Notes"
)

// The limits of the figures are those of what can be at all, from the smallest wristwatch to the largest deck watch;
// Remarks has those of what is usual.
var calibreFields = []CalibreField{
	line("name", "Calibre", GroupMovement, MaxText, "Give the calibre’s name in at most 120 characters.",
		func(c *Calibre) *string { return &c.Name }).need(),
	line("maker", "Maker", GroupMovement, MaxText, "Keep this to at most 120 characters.",
		func(c *Calibre) *string { return &c.Maker }),
	whole("beats_per_hour", "Beats per hour", "", GroupMovement, minBeatsPerHour, maxBeatsPerHour,
		"Give the beats per hour as a whole number from 12000 to 43200, such as 18000 or 28800.",
		func(c *Calibre) *int { return &c.BeatsPerHour }).need(),
	measure("lift_angle_deg", "Lift angle", "°", GroupMovement, minLiftAngleDeg, maxLiftAngleDeg,
		"Give the lift angle of the balance from 20 to 90 degrees, or leave it empty.",
		func(c *Calibre) *float64 { return &c.LiftAngleDeg }).atLeast(),
	measure("lift_angle_u95_deg", "Its uncertainty, ±", "°", GroupMovement, 0, maxLiftAngleU95Deg,
		"Give the uncertainty above 0 and up to 20 degrees, or leave it empty.",
		func(c *Calibre) *float64 { return &c.LiftAngleU95Deg }).
		hinted("At 95 %, of a lift angle that somebody determined. Empty, ± 2° is taken."),
	line("lift_angle_how", "How it was determined", GroupMovement, MaxText, "Keep this to at most 120 characters.",
		func(c *Calibre) *string { return &c.LiftAngleHow }),
	measure("power_reserve_hours", "Power reserve", "h", GroupMovement, 0, MaxPowerReserveHours,
		"Give the power reserve from 1 to 2000 hours, or leave it empty.",
		func(c *Calibre) *float64 { return &c.PowerReserveHours }),
	{Name: "grade", Label: "Judged by the rate limits of", Group: GroupMovement, Kind: GradeField, Need: true,
		limit:    MaxText,
		sentence: "Choose the grade whose rate limits this calibre is judged by.", text: func(c *Calibre) *string {
			return &c.GradeKey
		}},
	measure("movement_diameter", "Diameter of the movement", "mm", GroupMovement, 0, 120,
		"Give the diameter above 0 and up to 120 mm, or leave it empty.", func(c *Calibre) *float64 { return &c.DiameterMm }),
	whole("jewels", "Jewels", "", GroupMovement, 1, 150,
		"Give the number of jewels from 1 to 150, or leave it empty.", func(c *Calibre) *int { return &c.Jewels }),
	line("jewel_places", "Where they sit", GroupMovement, 400, "Keep this to at most 400 characters.",
		func(c *Calibre) *string { return &c.JewelPlaces }),

	line("train", "Train", GroupTrain, MaxText, "Keep the train to at most 120 characters.",
		func(c *Calibre) *string { return &c.Train }).
		hinted("Centre wheel to escape wheel, as 80:10,75:10,80:8,15. A seconds hand at the centre: seconds=centre, or " +
			"seconds=3/75:10 from a further wheel."),
	line("motion_work", "Motion work", GroupTrain, MaxText, "Keep the motion work to at most 120 characters.",
		func(c *Calibre) *string { return &c.MotionWork }).
		hinted("Cannon pinion:minute wheel,minute pinion:hour wheel, as 12:36,10:40."),
	whole("dial_hours", "Hours in a turn of the hour hand", "h", GroupTrain, 12, 24,
		"Give 12 or 24, or leave it empty for 12.", func(c *Calibre) *int { return &c.DialHours }),

	whole("barrel_teeth", "Barrel teeth", "", GroupBarrel, 20, 400,
		"Give the whole number of teeth from 20 to 400, or leave it empty.", func(c *Calibre) *int { return &c.BarrelTeeth }),
	whole("centre_pinion_leaves", "Leaves of the centre pinion", "", GroupBarrel, 4, 60,
		"Give the whole number of leaves from 4 to 60, or leave it empty.",
		func(c *Calibre) *int { return &c.CentrePinionLeaves }).
		hinted("Of the pinion that the barrel drives."),
	measure("barrel_inside_diameter", "Barrel inside", "mm", GroupBarrel, 0, 60,
		"Give the diameter above 0 and up to 60 mm, or leave it empty.",
		func(c *Calibre) *float64 { return &c.BarrelInsideDiameterMm }),
	measure("arbor_diameter", "Arbor", "mm", GroupBarrel, 0, 40,
		"Give the diameter above 0 and up to 40 mm, or leave it empty.",
		func(c *Calibre) *float64 { return &c.ArborDiameterMm }).
		hinted("The core on which the spring winds."),
	measure("mainspring_width", "Mainspring width", "mm", GroupBarrel, 0, 20,
		"Give the width above 0 and up to 20 mm, or leave it empty.",
		func(c *Calibre) *float64 { return &c.MainspringWidthMm }),
	measure("mainspring_thickness", "Mainspring thickness", "mm", GroupBarrel, 0, 1,
		"Give the thickness above 0 and up to 1 mm, or leave it empty.",
		func(c *Calibre) *float64 { return &c.MainspringThicknessMm }),
	measure("mainspring_length", "Mainspring length", "mm", GroupBarrel, 0, 5000,
		"Give the length above 0 and up to 5000 mm, or leave it empty.",
		func(c *Calibre) *float64 { return &c.MainspringLengthMm }),

	measure("balance_inertia", "Moment of inertia", "mg·cm²", GroupBalance, oscillator.LeastInertiaMgCm2,
		oscillator.MostInertiaMgCm2,
		oscillator.InertiaSentence, func(c *Calibre) *float64 { return &c.Balance.InertiaMgCm2 }).atLeast(),
	measure("balance_mass", "Mass", "mg", GroupBalance, oscillator.LeastMassMg, oscillator.MostMassMg,
		oscillator.MassSentence, func(c *Calibre) *float64 { return &c.Balance.MassMg }).atLeast(),
	measure("balance_gyration_radius", "Radius of gyration", "mm", GroupBalance, oscillator.LeastGyrationMm,
		oscillator.MostGyrationMm,
		oscillator.GyrationSentence, func(c *Calibre) *float64 { return &c.Balance.GyrationRadiusMm }).atLeast().
		hinted("Where the mass would sit to have that inertia."),
	measure("balance_diameter", "Diameter of the rim", "mm", GroupBalance, 0, 50,
		"Give the diameter above 0 and up to 50 mm, or leave it empty.",
		func(c *Calibre) *float64 { return &c.Balance.DiameterMm }),
	measure("impulse_jewel_hour", "Impulse jewel at rest", "o’clock", GroupBalance, 0, 12,
		"Give the hour of the dial, above 0 and up to 12, or leave it empty.",
		func(c *Calibre) *float64 { return &c.Balance.ImpulseJewelHour }).
		hinted("The hour it points to, seen from the dial side, halves as 4.5."),
	measure("stud_radius", "Staff to stud", "mm", GroupBalance, 0, 25,
		"Give the radius above 0 and up to 25 mm, or leave it empty.",
		func(c *Calibre) *float64 { return &c.Balance.StudRadiusMm }),
	measure("regulator_step", "One division of the regulator", "s/d", GroupBalance, 0, 600,
		"Give the seconds a day above 0 and up to 600, or leave it empty.",
		func(c *Calibre) *float64 { return &c.Balance.RegulatorStepSPerDay }),

	whole("screw_count", "How many", "", GroupScrews, 2, 24,
		"Give the number of screws from 2 to 24, or leave it empty.", func(c *Calibre) *int { return &c.Balance.ScrewCount }).
		hinted("Equal ones, evenly spaced round the rim."),
	measure("screw_first", "The first, from the impulse jewel", "°", GroupScrews, 0, 359.99,
		"Give the angle from 0 to below 360 degrees.",
		func(c *Calibre) *float64 { return &c.Balance.ScrewFirstDeg }).fromNought().
		hinted("Clockwise, seen from the balance side."),
	measure("screw_radius", "Staff to a screw’s middle", "mm", GroupScrews, 0, 25,
		"Give the radius above 0 and up to 25 mm.", func(c *Calibre) *float64 { return &c.Balance.ScrewRadiusMm }),
	measure("screw_mass", "Mass of one screw", "µg", GroupScrews, 0, 1e6,
		"Give the mass of one screw above 0 and up to 1000000 µg.",
		func(c *Calibre) *float64 { return &c.Balance.ScrewMassMicrogram }),
	measure("screw_travel", "Travel outward for one turn", "mm", GroupScrews, 0, 5,
		"Give the travel above 0 and up to 5 mm.", func(c *Calibre) *float64 { return &c.Balance.ScrewTravelMm }),

	measure("hairspring_stiffness", "Stiffness", "µN·m/rad", GroupSpring, 0, 1e-3,
		"Give the stiffness above 0 and up to 1000 µN·m/rad, such as 0.49, or leave it empty.",
		func(c *Calibre) *float64 { return &c.HairspringStiffnessNmPerRad }).
		typedIn(6),
	measure("hairspring_width", "Width", "mm", GroupSpring, 0, 5,
		"Give the width above 0 and up to 5 mm, or leave it empty.",
		func(c *Calibre) *float64 { return &c.HairspringWidthMm }),
	measure("hairspring_thickness", "Thickness", "mm", GroupSpring, 0, 1,
		"Give the thickness above 0 and up to 1 mm, or leave it empty.",
		func(c *Calibre) *float64 { return &c.HairspringThicknessMm }),
	measure("hairspring_length", "Active length", "mm", GroupSpring, 0, 3000,
		"Give the length above 0 and up to 3000 mm, or leave it empty.",
		func(c *Calibre) *float64 { return &c.HairspringLengthMm }),

	{Name: "lubrication", Label: "Where, what, and what to mind", Group: GroupOils, Kind: LinesField,
		Hint: "One place a line, parted by semicolons: Balance jewels; thin oil; a third of the cup."},
	{Name: "notes", Label: "Notes", Group: GroupNotes, Kind: LinesField, limit: MaxCalibreNotes,
		sentence: "Keep the notes to at most 4000 characters.", text: func(c *Calibre) *string { return &c.Notes }},
}

func line(name, label, group string, limit int, sentence string, of func(*Calibre) *string) CalibreField {
	return CalibreField{Name: name, Label: label, Group: group, Kind: LineField, limit: limit, sentence: sentence,
		text: of}
}

func whole(name, label, unit, group string, least, most float64, sentence string, of func(*Calibre) *int) CalibreField {
	return CalibreField{Name: name, Label: label, Unit: unit, Group: group, Kind: WholeField, min: least, max: most,
		least: true, sentence: sentence, whole: of}
}

func measure(name, label, unit, group string, above, most float64, sentence string,
	of func(*Calibre) *float64) CalibreField {
	return CalibreField{Name: name, Label: label, Unit: unit, Group: group, Kind: FigureField, min: above, max: most,
		sentence: sentence, number: of}
}

func (f CalibreField) need() CalibreField              { f.Need = true; return f }
func (f CalibreField) atLeast() CalibreField           { f.least = true; return f }
func (f CalibreField) fromNought() CalibreField        { f.from0 = true; return f }
func (f CalibreField) typedIn(power int) CalibreField  { f.power = power; return f }
func (f CalibreField) hinted(hint string) CalibreField { f.Hint = hint; return f }

// CalibreFields are the fields of a calibre in the order of the form.
func CalibreFields() []CalibreField { return append([]CalibreField(nil), calibreFields...) }

// wrong reports whether what c says here can't be saved.
func (f CalibreField) wrong(c *Calibre) bool {
	var v float64
	switch {
	case f.text != nil:
		typed := *f.text(c)
		return f.Need && typed == "" || text.TooLong(typed, f.limit)
	case f.number != nil:
		v = *f.number(c)
	case f.whole != nil:
		v = float64(*f.whole(c))
	default:
		return false
	}
	if v == 0 {
		return f.Need
	}
	if f.Name == "dial_hours" && v != 12 && v != 24 {
		return true
	}
	return !(v > f.min || f.least && v == f.min) || v > f.max
}

// errNought reports a nought where that is no figure: what is not known is left empty.
var errNought = errors.New("zero is no figure here")

// mostDecimals are more than any figure has, and few enough to be read back.
const mostDecimals = 20

// read takes what was typed into c; the error says why it can't be read. A number that is typed as 0 says nothing
// unless 0 is a figure of its own.
func (f CalibreField) read(c *Calibre, typed string) error {
	switch {
	case f.Kind == LineField || f.Kind == GradeField:
		*f.text(c) = text.Line(typed)
	case f.Kind == LinesField && f.text == nil:
		c.Lubrication = ParseOilLines(typed)
	case f.Kind == LinesField:
		*f.text(c) = text.Lines(typed)
	case figure.Blank(typed):
	case f.Kind == WholeField:
		n, err := figure.ParseWhole(typed, f.Unit)
		if err != nil || n == 0 {
			return cmp.Or(err, errNought)
		}
		*f.whole(c) = n
	case f.Kind == FigureField:
		n, err := figure.Parse(typed, f.Unit)
		if err != nil {
			return err
		}
		if n.Decimals > mostDecimals || n.Float() == 0 && !f.from0 {
			return errNought
		}
		*f.number(c) = n.Shifted(-f.power)
	}
	return nil
}

// writeShifted writes v times ten to the power in as few digits as tell it from its neighbours, without an exponent.
func writeShifted(v float64, power int) string {
	digits, exponent, _ := strings.Cut(strconv.FormatFloat(v, 'e', -1, 64), "e")
	n, _ := strconv.Atoi(exponent) // strconv's own
	n += power
	sign := ""
	if strings.HasPrefix(digits, "-") {
		sign, digits = "-", digits[1:]
	}
	digits = strings.Replace(digits, ".", "", 1)
	point := n + 1 // digits before the point
	switch {
	case point <= 0:
		return sign + "0." + strings.Repeat("0", -point) + digits
	case point >= len(digits):
		return sign + digits + strings.Repeat("0", point-len(digits))
	}
	return sign + digits[:point] + "." + digits[point:]
}

// Typed is what c says here as it would be typed; "" where it is not known.
func (f CalibreField) Typed(c Calibre) string {
	switch {
	case f.text != nil:
		return *f.text(&c)
	case f.whole != nil && *f.whole(&c) != 0:
		return strconv.Itoa(*f.whole(&c))
	case f.number != nil && *f.number(&c) != 0:
		return writeShifted(*f.number(&c), f.power)
	case f.number != nil && f.from0 && c.Balance.ScrewCount != 0:
		return "0"
	case f.Name == "lubrication":
		return OilLines(c.Lubrication)
	}
	return ""
}

// CalibreForm is a calibre as typed, by form field.
type CalibreForm map[string]string

// Check reads f and returns the calibre with what stops it being saved, by form field. A figure may use a comma or a
// point. Train and motion work that can be read are kept in the one way in
// which they are written.
func (f CalibreForm) Check() (Calibre, map[string]string) {
	var c Calibre
	unread := map[string]string{}
	for _, field := range calibreFields {
		if err := field.read(&c, f[field.Name]); err != nil {
			unread[field.Name] = figure.Sentence(err, field.sentence)
		}
	}
	if t, err := train.Parse(c.Train); err == nil {
		c.Train = t.String()
	}
	if m, err := train.ParseMotionWork(c.MotionWork); err == nil {
		c.MotionWork = m.String()
	}
	bad := c.Problems()
	for name, why := range unread {
		bad[name] = why
	}
	return c, bad
}

// Form returns c as it would be typed.
func (c Calibre) Form() CalibreForm {
	f := CalibreForm{}
	for _, field := range calibreFields {
		if typed := field.Typed(c); typed != "" {
			f[field.Name] = typed
		}
	}
	return f
}

// Correct returns c with the given fields as typed and the others as they were, and what stops it being saved. Another
// lift angle without its uncertainty is one that nobody determined. A field
// that no calibre has is a problem of its own.
func (c Calibre) Correct(fields map[string]string) (Calibre, map[string]string) {
	form := c.Form()
	strange := map[string]string{}
	for name, typed := range fields {
		if _, known := fieldNamed(name); !known {
			strange[name] = "A calibre has no such field."
		}
		form[name] = typed
	}
	next, bad := form.Check()
	if _, said := fields["lift_angle_u95_deg"]; !said && next.LiftAngleDeg != c.LiftAngleDeg {
		// What was determined was the angle as it was.
		next.LiftAngleU95Deg, next.LiftAngleHow = 0, fields["lift_angle_how"]
		delete(bad, "lift_angle_u95_deg")
	}
	next.ID = c.ID
	for name, why := range strange {
		bad[name] = why
	}
	return next, bad
}

func fieldNamed(name string) (CalibreField, bool) {
	for _, f := range calibreFields {
		if f.Name == name {
			return f, true
		}
	}
	return CalibreField{}, false
}

// CalibreDifference is one field in which two states of a calibre differ, as typed.
type CalibreDifference struct {
	Field string `json:"field"` // its name in forms
	Was   string `json:"was"`
	Now   string `json:"now"`
}

// Label is the field's name on pages, with its unit; the bare name of one that calibres no longer have.
func (d CalibreDifference) Label() string {
	f, known := fieldNamed(d.Field)
	switch {
	case !known:
		return d.Field
	case f.Unit != "":
		return f.Group + ": " + f.Label + ", " + f.Unit
	}
	return f.Group + ": " + f.Label
}

// CalibreDifferences lists what differs between two states of a calibre, in the order of the form.
func CalibreDifferences(was, now Calibre) []CalibreDifference {
	var list []CalibreDifference
	for _, f := range calibreFields {
		if a, b := f.Typed(was), f.Typed(now); a != b {
			list = append(list, CalibreDifference{Field: f.Name, Was: a, Now: b})
		}
	}
	return list
}
