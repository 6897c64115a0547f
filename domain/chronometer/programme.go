package chronometer

import (
	"errors"
	"fmt"
	"math"

	"ledgerwheel/domain/timing"
)

// Days is the number of daily rates of a trial. They need sixteen readings, as day 1 begins with one.
const Days = 15

// firstTen is the number of days that mean, variations and largest deviation are taken over.
const firstTen = 10

// Conditions of the programme.
const (
	hoursBetweenReadings = 24.0 // the watch is read, then wound, once a day, weekends included
	SettlingHours        = 12.0 // at least, fully wound, before day 1
	SettlingTemperatureC = 23.0
	FunctionDay          = 10 // a chronograph or other function that can be engaged runs on this day

	// ChamberToleranceC is ±1 °C. For 23 °C it was read in a testing body's description of its method; for 8 and
	// 38 °C it is from memory of the practice, so a shop may judge those days for itself.
	ChamberToleranceC = 1.0
	// readingToleranceMinutes is how far two readings may be from 24 h apart. It is this program's own assumption:
	// no digest of the standard states one. A rate is scaled to 24 h in any case.
	readingToleranceMinutes = 60.0
)

// Day is what the programme asks for on one day.
type Day struct {
	Number           int // 1 to 15
	Position         timing.Position
	TemperatureC     float64
	FunctionsEngaged bool // functions that can be engaged run
}

// programme agrees day by day in a jeweller's glossary of DIN 8319 = ISO 3159 and a Japanese article on the test.
var programme = [Days]Day{
	{Number: 1, Position: timing.SixUp, TemperatureC: 23},
	{Number: 2, Position: timing.SixUp, TemperatureC: 23},
	{Number: 3, Position: timing.ThreeUp, TemperatureC: 23},
	{Number: 4, Position: timing.ThreeUp, TemperatureC: 23},
	{Number: 5, Position: timing.NineUp, TemperatureC: 23},
	{Number: 6, Position: timing.NineUp, TemperatureC: 23},
	{Number: 7, Position: timing.DialDown, TemperatureC: 23},
	{Number: 8, Position: timing.DialDown, TemperatureC: 23},
	{Number: 9, Position: timing.DialUp, TemperatureC: 23},
	{Number: 10, Position: timing.DialUp, TemperatureC: 23, FunctionsEngaged: true},
	{Number: 11, Position: timing.DialUp, TemperatureC: 8},
	{Number: 12, Position: timing.DialUp, TemperatureC: 23},
	{Number: 13, Position: timing.DialUp, TemperatureC: 38},
	{Number: 14, Position: timing.SixUp, TemperatureC: 23},
	{Number: 15, Position: timing.SixUp, TemperatureC: 23},
}

// Programme returns the fifteen days in order.
func Programme() []Day { return append([]Day(nil), programme[:]...) }

// DayOf returns what the programme asks for on day 1 to 15; ok is false for any other.
func DayOf(number int) (day Day, ok bool) {
	if number < 1 || number > Days {
		return Day{}, false
	}
	return programme[number-1], true
}

// Category is the class of a movement by size. Larger movements have the narrower limits.
type Category int

// The two categories.
const (
	Category1 Category = 1
	Category2 Category = 2
)

// Sizes at which category 1 begins. A disc of 20 mm has π·20²/4 = 314.16 mm², so both say the same of a round
// movement.
const (
	Category1DiameterMm = 20.0
	Category1AreaMm2    = 314.0
)

// Valid reports whether c is one of the two categories.
func (c Category) Valid() bool { return c == Category1 || c == Category2 }

// String says the category with its sizes.
func (c Category) String() string {
	switch c {
	case Category1:
		return "category 1 (movement of 20 mm or 314 mm² and over)"
	case Category2:
		return "category 2 (movement under 20 mm and under 314 mm²)"
	}
	return fmt.Sprintf("category %d", int(c))
}

// CategoryOf returns the category of a movement of the given diameter (mm) or area of main plate (mm²); give 0 for
// one that is not known. Category 1 is 20 mm and over, or 314 mm² and over: the boundary itself counts as category 1,
// after the Japanese article on the test, although another digest says "over 20 mm"; the standard's text was not at
// hand. (One forum copy has the two categories exchanged; three other sources do not.)
func CategoryOf(diameterMm, areaMm2 float64) (Category, error) {
	for _, size := range []float64{diameterMm, areaMm2} {
		if !(size >= 0) || math.IsInf(size, 0) {
			return 0, errors.New("a size of the movement is not a number of millimetres")
		}
	}
	switch {
	case diameterMm == 0 && areaMm2 == 0:
		return 0, errors.New("give the diameter of the movement or the area of its main plate")
	case diameterMm >= Category1DiameterMm || areaMm2 >= Category1AreaMm2:
		return Category1, nil
	}
	return Category2, nil
}
