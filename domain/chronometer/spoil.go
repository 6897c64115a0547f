package chronometer

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"ledgerwheel/domain/metrology"
)

// Warning is a departure from the programme.
type Warning struct {
	Day    int    // 1 to 15; 0 for the settling before it
	Text   string // one sentence or two
	Spoils []Criterion
	// Programme is set when no criterion uses the day's rate, yet the trial no longer follows the standard.
	Programme bool
	Way       Way
}

// Way is how the programme was not followed, as Warning.Text says it in English. Words and figures are as they print.
type Way struct {
	Kind             WayKind
	Is, Want, Within string
}

// WayKind is one way not to follow the programme.
type WayKind string

// The ways.
const (
	WayMissed          WayKind = "missed"
	WayUnread          WayKind = "unread" // no rate, and later days were read
	WayPosition        WayKind = "position"
	WayTemperature     WayKind = "temperature"
	WayFunctions       WayKind = "functions"
	WayLate            WayKind = "late" // Is in minutes, as WayEarly's
	WayEarly           WayKind = "early"
	WayRest            WayKind = "rest" // settled for Is hours
	WayRestTemperature WayKind = "rest_temperature"
)

// WayKinds lists every WayKind.
var WayKinds = []WayKind{WayMissed, WayUnread, WayPosition, WayTemperature, WayFunctions, WayLate, WayEarly, WayRest, WayRestTemperature}

// words are the way of a day, as the end of a sentence.
func (w Way) words() string {
	switch w.Kind {
	case WayMissed:
		return "was missed"
	case WayUnread:
		return "has no rate, and later days have been read"
	case WayPosition:
		return fmt.Sprintf("was spent in %s instead of %s", w.Is, w.Want)
	case WayTemperature:
		return fmt.Sprintf("was at %s instead of %s °C ± %s °C", w.Is, w.Want, w.Within)
	case WayFunctions:
		return "ran without the functions that can be engaged"
	}
	return fmt.Sprintf("was read %s minutes too %s", w.Is, w.Kind)
}

// Warnings says where the trial departs from the programme, in order of days: a missed day, a wrong position, a
// temperature outside the tolerance, a reading too early or too late, settling too short or at another temperature,
// functions not engaged on day 10. Only days up to the newest one are looked at.
func (t Trial) Warnings() []Warning {
	list := t.settlingWarnings()
	last := t.last()
	rates, err := t.Rates()
	for _, day := range programme[:] {
		if day.Number > last {
			break
		}
		record := DayRecord{Day: day.Number}
		if i := slices.IndexFunc(t.Days, func(d DayRecord) bool { return d.Day == day.Number }); i >= 0 {
			record = t.Days[i]
		}
		var why []Way
		if _, known := rates.Rate(day.Number); err == nil && !known {
			why = append(why, missed(record))
		}
		why = append(why, record.departures(day)...)
		if way, departs := t.timingDeparture(day.Number); departs {
			why = append(why, way)
		}
		for _, way := range why {
			list = append(list, warn(day.Number, way))
		}
	}
	return list
}

func missed(d DayRecord) Way {
	if d.Missed {
		return Way{Kind: WayMissed}
	}
	return Way{Kind: WayUnread}
}

// departures returns what of a day's record is not as the programme asks.
func (d DayRecord) departures(want Day) []Way {
	var list []Way
	if d.Position != "" && d.Position != want.Position {
		list = append(list, Way{Kind: WayPosition, Is: string(d.Position), Want: string(want.Position)})
	}
	if d.TemperatureC != nil && beyond(*d.TemperatureC, want.TemperatureC, ChamberToleranceC) {
		list = append(list, Way{WayTemperature, celsius(*d.TemperatureC), fmt.Sprintf("%g", want.TemperatureC), fmt.Sprintf("%g", ChamberToleranceC)})
	}
	if want.FunctionsEngaged && d.FunctionsEngaged != nil && !*d.FunctionsEngaged {
		list = append(list, Way{Kind: WayFunctions})
	}
	return list
}

// timingDeparture compares the readings that begin and end a day with 24 h.
func (t Trial) timingDeparture(day int) (way Way, departs bool) {
	before, ok0 := t.readAt(day - 1)
	after, ok1 := t.readAt(day)
	if !ok0 || !ok1 {
		return way, false
	}
	minutes := after.Sub(before).Minutes() - hoursBetweenReadings*60
	if !beyond(minutes, 0, readingToleranceMinutes) {
		return way, false
	}
	way = Way{Kind: WayLate, Is: fmt.Sprint(int(math.Round(math.Abs(minutes))))}
	if minutes < 0 {
		way.Kind = WayEarly
	}
	return way, true
}

func (t Trial) settlingWarnings() []Warning {
	if t.Settling == nil {
		return nil
	}
	var list []Warning
	first := using(1)
	if t.Settling.Hours < SettlingHours {
		way := Way{Kind: WayRest, Is: fmt.Sprintf("%.3g", t.Settling.Hours), Want: fmt.Sprintf("%g", SettlingHours)}
		list = append(list, Warning{Spoils: first, Way: way, Text: fmt.Sprintf(
			"The watch settled for %s h; the programme asks for %s h at least before day 1. %s", way.Is, way.Want, spoilText(first))})
	}
	if beyond(t.Settling.TemperatureC, SettlingTemperatureC, ChamberToleranceC) {
		way := Way{WayRestTemperature, celsius(t.Settling.TemperatureC), fmt.Sprintf("%g", SettlingTemperatureC), fmt.Sprintf("%g", ChamberToleranceC)}
		list = append(list, Warning{Spoils: first, Way: way, Text: fmt.Sprintf("The watch settled at %s instead of %s °C ± %s °C. %s",
			way.Is, way.Want, way.Within, spoilText(first))})
	}
	return list
}

// celsius prints a temperature with the signs of print.
func celsius(x float64) string { return metrology.Value{Value: x, Unit: "°C"}.Format() }

func warn(day int, way Way) Warning {
	w := Warning{Day: day, Spoils: using(day), Way: way}
	w.Programme = len(w.Spoils) == 0
	w.Text = fmt.Sprintf("Day %d %s. %s", day, way.words(), spoilText(w.Spoils))
	return w
}

func spoilText(list []Criterion) string {
	if len(list) == 0 {
		return "No criterion uses this day's rate, but the trial no longer follows the programme."
	}
	symbols := make([]string, len(list))
	for i, c := range list {
		symbols[i] = c.Symbol()
	}
	return "It spoils " + strings.Join(symbols, ", ") + "."
}
