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
		var why []string
		if _, known := rates.Rate(day.Number); err == nil && !known {
			why = append(why, missedText(record))
		}
		why = append(why, record.departures(day)...)
		if text := t.timingDeparture(day.Number); text != "" {
			why = append(why, text)
		}
		for _, text := range why {
			list = append(list, warn(day.Number, text))
		}
	}
	return list
}

func missedText(d DayRecord) string {
	if d.Missed {
		return "was missed"
	}
	return "has no rate, and later days have been read"
}

// departures returns what of a day's record is not as the programme asks, each as the end of a sentence.
func (d DayRecord) departures(want Day) []string {
	var list []string
	if d.Position != "" && d.Position != want.Position {
		list = append(list, fmt.Sprintf("was spent in %s instead of %s", d.Position, want.Position))
	}
	if d.TemperatureC != nil && beyond(*d.TemperatureC, want.TemperatureC, ChamberToleranceC) {
		list = append(list, fmt.Sprintf("was at %s instead of %g °C ± %g °C", celsius(*d.TemperatureC), want.TemperatureC,
			ChamberToleranceC))
	}
	if want.FunctionsEngaged && d.FunctionsEngaged != nil && !*d.FunctionsEngaged {
		list = append(list, "ran without the functions that can be engaged")
	}
	return list
}

// timingDeparture compares the readings that begin and end a day with 24 h.
func (t Trial) timingDeparture(day int) string {
	before, ok0 := t.readAt(day - 1)
	after, ok1 := t.readAt(day)
	if !ok0 || !ok1 {
		return ""
	}
	minutes := after.Sub(before).Minutes() - hoursBetweenReadings*60
	if !beyond(minutes, 0, readingToleranceMinutes) {
		return ""
	}
	word := "late"
	if minutes < 0 {
		word = "early"
	}
	return fmt.Sprintf("was read %d minutes too %s", int(math.Round(math.Abs(minutes))), word)
}

func (t Trial) settlingWarnings() []Warning {
	if t.Settling == nil {
		return nil
	}
	var list []Warning
	first := using(1)
	if t.Settling.Hours < SettlingHours {
		list = append(list, Warning{Spoils: first, Text: fmt.Sprintf(
			"The watch settled for %.3g h; the programme asks for %g h at least before day 1. %s", t.Settling.Hours,
			SettlingHours, spoilText(first))})
	}
	if beyond(t.Settling.TemperatureC, SettlingTemperatureC, ChamberToleranceC) {
		list = append(list, Warning{Spoils: first, Text: fmt.Sprintf("The watch settled at %s instead of %g °C ± %g °C. %s",
			celsius(t.Settling.TemperatureC), SettlingTemperatureC, ChamberToleranceC, spoilText(first))})
	}
	return list
}

// celsius prints a temperature with the signs of print.
func celsius(x float64) string { return metrology.Value{Value: x, Unit: "°C"}.Format() }

func warn(day int, text string) Warning {
	w := Warning{Day: day, Spoils: using(day)}
	w.Programme = len(w.Spoils) == 0
	w.Text = fmt.Sprintf("Day %d %s. %s", day, text, spoilText(w.Spoils))
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
