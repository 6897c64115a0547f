package watch

import (
	"maps"
	"math"
	"strconv"
	"strings"

	"ledgerwheel/domain/text"
)

// The limits of what a calibre may say, wide enough for slow old pocket
// watches and the fastest lever watches (common practice).
const (
	MinBeatsPerHour      = 12000
	MaxBeatsPerHour      = 43200
	MinLiftAngleDeg      = 20
	MaxLiftAngleDeg      = 90
	MaxPowerReserveHours = 2000
)

// Calibre is a movement type as the shop's list holds it. A figure that is zero, or a text that is empty, is not known.
type Calibre struct {
	ID                int64
	Name              string
	Maker             string
	BeatsPerHour      int     // two to a full oscillation
	LiftAngleDeg      float64 // of the balance
	PowerReserveHours float64 // stated by the maker
	GradeKey          string  // of the rate limits it is judged by

	DiameterMm  float64 // of the movement, where it sits in its case
	Jewels      int
	JewelPlaces string // where they sit, in words

	Train       string      // wheel counts from the centre wheel to the escape wheel, such as 80:10,75:10,80:8,15
	SecondsHand SecondsHand // where it sits; "" when there is none or it is not known
	MotionWork  string      // cannon pinion:minute wheel, minute pinion:hour wheel, such as 12:36,10:40
	DialHours   int         // 12 or 24, the hours in a turn of the hour hand; 0 is read as 12

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

// SecondsHand is where a movement's seconds hand sits in its train.
type SecondsHand string

// The places of a seconds hand.
const (
	SecondsOnFourth SecondsHand = "fourth"   // on the fourth wheel's arbor: small seconds
	SecondsCentral  SecondsHand = "centre"   // at the centre, on the fourth wheel's arbor, which runs through the centre
	SecondsIndirect SecondsHand = "indirect" // at the centre, on a pinion beside the train
)

// Problems says, by form field, what stops c being saved.
func (c Calibre) Problems() map[string]string {
	bad := map[string]string{}
	if c.Name == "" {
		bad["name"] = "Give the calibre's name."
	}
	for field, typed := range map[string]string{"name": c.Name, "maker": c.Maker} {
		if text.TooLong(typed, MaxText) {
			bad[field] = "Keep this to at most 120 characters."
		}
	}
	if c.BeatsPerHour < MinBeatsPerHour || c.BeatsPerHour > MaxBeatsPerHour {
		bad["beats_per_hour"] = "Give the beats per hour as a whole number from 12000 to 43200, such as 18000 or 28800."
	}
	if c.LiftAngleDeg != 0 && !(c.LiftAngleDeg >= MinLiftAngleDeg && c.LiftAngleDeg <= MaxLiftAngleDeg) {
		bad["lift_angle_deg"] = "Give the lift angle of the balance from 20 to 90 degrees, or leave it empty."
	}
	if c.PowerReserveHours != 0 && !(c.PowerReserveHours > 0 && c.PowerReserveHours <= MaxPowerReserveHours) {
		bad["power_reserve_hours"] = "Give the power reserve from 1 to 2000 hours, or leave it empty."
	}
	if c.GradeKey == "" {
		bad["grade"] = "Choose the grade whose rate limits this calibre is judged by."
	}
	maps.Copy(bad, c.Balance.Problems())
	return bad
}

// CalibreForm is a calibre as typed.
type CalibreForm struct {
	Name, Maker, BeatsPerHour, LiftAngleDeg, PowerReserveHours, GradeKey string
	Balance                                                              BalanceForm
}

// Check reads f and returns the calibre with what stops it being saved, by
// form field. A figure may use a comma or a point.
func (f CalibreForm) Check() (Calibre, map[string]string) {
	c := Calibre{Name: text.Line(f.Name), Maker: text.Line(f.Maker), GradeKey: strings.TrimSpace(f.GradeKey)}
	var err error
	c.BeatsPerHour, err = strconv.Atoi(strings.Join(strings.Fields(f.BeatsPerHour), ""))
	if err != nil {
		c.BeatsPerHour = 0 // Problems says why
	}
	c.LiftAngleDeg = figureOrNaN(f.LiftAngleDeg)
	c.PowerReserveHours = figureOrNaN(f.PowerReserveHours)
	c.Balance, _ = f.Balance.Check() // c.Problems has its problems too
	return c, c.Problems()
}

// Form returns c as it would be typed.
func (c Calibre) Form() CalibreForm {
	return CalibreForm{
		Name: c.Name, Maker: c.Maker, BeatsPerHour: strconv.Itoa(c.BeatsPerHour),
		LiftAngleDeg: typedFigure(c.LiftAngleDeg), PowerReserveHours: typedFigure(c.PowerReserveHours),
		GradeKey: c.GradeKey, Balance: c.Balance.Form(),
	}
}

// figureOrNaN reads a figure; nothing typed is 0, and what can't be read is
// NaN, which every range check refuses.
func figureOrNaN(typed string) float64 {
	s := strings.TrimSpace(typed)
	if s == "" {
		return 0
	}
	v, err := strconv.ParseFloat(strings.Replace(s, ",", ".", 1), 64)
	if err != nil {
		return math.NaN()
	}
	return v
}

func typedFigure(v float64) string {
	if v == 0 {
		return ""
	}
	return strconv.FormatFloat(v, 'f', -1, 64)
}
