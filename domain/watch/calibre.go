package watch

import (
	"errors"
	"strings"

	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/text"
	"ledgerwheel/domain/timing"
	"ledgerwheel/domain/train"
)

// The limits of what a calibre may say, wide enough for slow old pocket
// watches and the fastest lever watches (common practice).
const (
	minBeatsPerHour      = 12000
	maxBeatsPerHour      = 43200
	minLiftAngleDeg      = 20
	maxLiftAngleDeg      = 90
	maxLiftAngleU95Deg   = 20
	MaxPowerReserveHours = 2000
	MaxCalibreNotes      = 4000 // characters
	maxOilPlaces         = 60
)

// Calibre is a movement type as the shop's list holds it. A figure that is zero, or a text that is empty, is not known.
type Calibre struct {
	ID                int64
	Name              string
	Maker             string
	BeatsPerHour      int     // two to a full oscillation
	LiftAngleDeg      float64 // of the balance
	LiftAngleU95Deg   float64 // expanded uncertainty, k = 2, of one that somebody determined
	LiftAngleHow      string  // how it was determined, in words
	PowerReserveHours float64 // stated by the maker
	GradeKey          string  // of the rate limits it is judged by

	DiameterMm  float64 // of the movement, where it sits in its case
	Jewels      int
	JewelPlaces string // where they sit, in words

	Train      string // in the notation of package train, such as 80:10,75:10,80:8,15
	MotionWork string // cannon pinion:minute wheel, minute pinion:hour wheel, such as 12:36,10:40
	DialHours  int    // 12 or 24, the hours in a turn of the hour hand; 0 is read as 12

	BarrelTeeth            int
	CentrePinionLeaves     int
	BarrelInsideDiameterMm float64
	ArborDiameterMm        float64 // of the barrel arbor's core, on which the spring winds
	MainspringWidthMm      float64
	MainspringThicknessMm  float64
	MainspringLengthMm     float64

	Balance                     Balance
	HairspringStiffnessNmPerRad float64 // newton-metres for a radian
	HairspringWidthMm           float64
	HairspringThicknessMm       float64
	HairspringLengthMm          float64 // active, from collet to stud or regulator pins

	Lubrication []OilPlace
	Notes       string
}

// OilPlace is one place to lubricate, what with, and what to mind.
type OilPlace struct {
	Place, Oil, Note string
}

// LiftAngle is the lift angle as it is known.
func (c Calibre) LiftAngle() timing.LiftAngle {
	return timing.LiftAngle{Deg: c.LiftAngleDeg, StdDeg: c.LiftAngleU95Deg / metrology.CoverageFactor}
}

// EscapeTeeth are those of the escape wheel by the train, 0 when no train is on record.
func (c Calibre) EscapeTeeth() int {
	t, err := train.Parse(c.Train)
	if c.Train == "" || err != nil {
		return 0
	}
	return t.EscapeTeeth
}

// Problems says, by form field, what stops c being saved. What merely looks wrong stops nothing: see Remarks.
func (c Calibre) Problems() map[string]string {
	bad := map[string]string{}
	for _, f := range calibreFields {
		if f.wrong(&c) {
			bad[f.Name] = f.sentence
		}
	}
	if bad["name"] == "" && SerialKey(c.Name) == "" {
		bad["name"] = "Give the calibre’s name with at least one letter or digit."
	}
	if c.LiftAngleU95Deg > 0 && c.LiftAngleDeg == 0 && bad["lift_angle_u95_deg"] == "" {
		bad["lift_angle_u95_deg"] = "Give the lift angle that this is the uncertainty of, or leave it empty."
	}
	if c.Train != "" {
		if _, err := train.Parse(c.Train); err != nil {
			bad["train"] = reasonOf(err)
		}
	}
	if c.MotionWork != "" {
		if _, err := train.ParseMotionWork(c.MotionWork); err != nil {
			bad["motion_work"] = reasonOf(err)
		}
	}
	if c.BarrelInsideDiameterMm > 0 && c.ArborDiameterMm >= c.BarrelInsideDiameterMm && bad["arbor_diameter"] == "" {
		bad["arbor_diameter"] = "The arbor turns within the barrel: give a diameter smaller than the barrel’s inside."
	}
	if c.BarrelInsideDiameterMm > 0 && 2*c.MainspringThicknessMm >= c.BarrelInsideDiameterMm-c.ArborDiameterMm &&
		bad["mainspring_thickness"] == "" {
		bad["mainspring_thickness"] = "Not one coil of this spring goes between arbor and barrel wall: give its thickness in mm."
	}
	if why := oilProblem(c.Lubrication); why != "" {
		bad["lubrication"] = why
	}
	c.Balance.screwProblems(bad)
	return bad
}

func reasonOf(err error) string {
	var notation *train.NotationError
	if errors.As(err, &notation) {
		return notation.Reason
	}
	return err.Error()
}

func oilProblem(places []OilPlace) string {
	if len(places) > maxOilPlaces {
		return "Keep to at most 60 places, one a line."
	}
	for _, p := range places {
		switch {
		case p.Place == "" || p.Oil == "":
			return "Write each place on its own line with what it gets, parted by semicolons: Balance jewels; thin oil; a trace."
		case text.TooLong(p.Place, MaxText), text.TooLong(p.Oil, MaxText), text.TooLong(p.Note, MaxText):
			return "Keep place, oil and note to at most 120 characters each."
		}
	}
	return ""
}

// OilLines writes places one a line: place; oil; note.
func OilLines(places []OilPlace) string {
	lines := make([]string, len(places))
	for i, p := range places {
		lines[i] = strings.TrimSuffix(p.Place+"; "+p.Oil+"; "+p.Note, "; ")
	}
	return strings.Join(lines, "\n")
}

// ParseOilLines reads what OilLines writes; blank lines are passed over. A further semicolon belongs to the note.
func ParseOilLines(typed string) []OilPlace {
	var places []OilPlace
	for line := range strings.Lines(text.Lines(typed)) {
		parts := strings.SplitN(line, ";", 3)
		for len(parts) < 3 {
			parts = append(parts, "")
		}
		p := OilPlace{Place: text.Line(parts[0]), Oil: text.Line(parts[1]), Note: text.Line(parts[2])}
		if p != (OilPlace{}) {
			places = append(places, p)
		}
	}
	return places
}
