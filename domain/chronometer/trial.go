package chronometer

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"time"

	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/timing"
)

// Trial is a fifteen-day trial as it was kept. Its days may come from typed rates, from clock comparisons, or from
// both.
type Trial struct {
	Category    Category
	Settling    *Settling // nil when not noted
	Days        []DayRecord
	Comparisons []Comparison
	// ClockStdSPerDay is the standard uncertainty of the clock or instrument that all rates were taken against.
	ClockStdSPerDay float64
	// Start is when day 1 began; zero when not noted. A comparison of day 0 says it too.
	Start time.Time
}

// Settling is the time before day 1 that lets a fully wound watch come to temperature.
type Settling struct {
	Hours        float64
	TemperatureC float64
}

// DayRecord is what was noted of one day. What was not noted is taken to have followed the programme.
type DayRecord struct {
	Day int // 1 to 15
	// typed, s/d; nil when it comes from comparisons or is missing. A typed rate goes first.
	Rate             *timing.Figure
	Position         timing.Position
	TemperatureC     *float64
	ReadAt           time.Time // the reading that ends the day; zero when not noted
	Missed           bool      // not read, or not wound
	FunctionsEngaged *bool     // of day 10; nil when not noted, or the watch has none
}

// Form field names of what belongs to one day.
func fieldOf(day int, what string) string { return fmt.Sprintf("day_%d_%s", day, what) }

// Problems says, by form field, what cannot be used: "category", "settling_hours", "settling_temperature",
// "clock_uncertainty", and for day 7 "day_7_rate", "day_7_position", "day_7_temperature", "day_7_comparison" or
// "day_7" when there are two records of it.
// What departs from the programme is no problem; see Warnings.
func (t Trial) Problems() map[string]string {
	bad := map[string]string{}
	if !t.Category.Valid() {
		bad["category"] = "Choose category 1 or 2, by the size of the movement."
	}
	if s := t.Settling; s != nil {
		if !(s.Hours >= 0 && s.Hours <= 1000) {
			bad["settling_hours"] = "Give hours from 0 to 1000."
		}
		if !temperatureUsable(s.TemperatureC) {
			bad["settling_temperature"] = temperatureText
		}
	}
	if !(t.ClockStdSPerDay >= 0 && t.ClockStdSPerDay <= maxRateSPerDay) {
		bad["clock_uncertainty"] = "The uncertainty of the clock must be zero or more."
	}
	seen := map[int]bool{}
	for _, d := range t.Days {
		d.problems(bad)
		if seen[d.Day] {
			bad[fmt.Sprintf("day_%d", d.Day)] = "There are two records of this day; keep one."
		}
		seen[d.Day] = true
	}
	var wrong *ComparisonError
	if _, err := FromComparisons(t.Comparisons); errors.As(err, &wrong) {
		bad[fieldOf(wrong.Day, "comparison")] = wrong.Why
	}
	return bad
}

const temperatureText = "Give a temperature from −50 to +100 °C."

func temperatureUsable(x float64) bool { return x >= -50 && x <= 100 }

func (d DayRecord) problems(bad map[string]string) {
	if _, ok := DayOf(d.Day); !ok {
		bad[fmt.Sprintf("day_%d", d.Day)] = "The programme has days 1 to 15."
		return
	}
	if d.Position != "" && !d.Position.Valid() {
		bad[fieldOf(d.Day, "position")] = "Choose a position: CH, FH, 3H, 6H, 9H or 12H."
	}
	if d.TemperatureC != nil && !temperatureUsable(*d.TemperatureC) {
		bad[fieldOf(d.Day, "temperature")] = temperatureText
	}
	if d.Rate != nil {
		if err := new(Rates).Set(d.Day, *d.Rate); err != nil {
			bad[fieldOf(d.Day, "rate")] = "Give a rate from −9999 to +9999 s/d, with an uncertainty of zero or more."
		}
	}
}

// Rates returns the rates of the trial. It fails on what Problems would name.
func (t Trial) Rates() (Rates, error) {
	r, err := FromComparisons(t.Comparisons)
	if err != nil {
		return Rates{}, err
	}
	for _, d := range t.Days {
		switch {
		case d.Missed:
			if _, ok := DayOf(d.Day); ok {
				r.clear(d.Day)
			}
		case d.Rate != nil:
			if err := r.Set(d.Day, *d.Rate); err != nil {
				return Rates{}, err
			}
		}
	}
	return r, r.ShareClock(t.ClockStdSPerDay)
}

// Judge judges the trial: like the function Judge, and a criterion that Warnings call spoilt is Spoilt by every rule and
// has no probability, though its figure is still shown. It fails on what Problems would name.
func (t Trial) Judge() (Judgement, error) {
	if len(t.Problems()) > 0 {
		return Judgement{}, errors.New("the trial has entries that can't be used")
	}
	rates, err := t.Rates()
	if err != nil {
		return Judgement{}, err
	}
	j := Judge(t.Category, rates)
	for _, w := range t.Warnings() {
		for i := range j.Results {
			if slices.Contains(w.Spoils, j.Results[i].Criterion) {
				j.Results[i].Standing, j.Results[i].Guarded, j.Results[i].Probability = Spoilt, metrology.NotMeasured, 0
			}
		}
	}
	j.settle()
	return j, nil
}

// last returns the newest day with a rate, a comparison or the mark of a missed day; 0 when there is none.
func (t Trial) last() int {
	last := 0
	for _, d := range t.Days {
		if d.Rate != nil || d.Missed {
			last = max(last, d.Day)
		}
	}
	for _, c := range t.Comparisons {
		last = max(last, c.Day)
	}
	return last
}

// readAt returns when the reading that ends a day was taken, and for day 0 when day 1 began.
func (t Trial) readAt(day int) (at time.Time, ok bool) {
	for _, d := range t.Days {
		if d.Day == day && !d.ReadAt.IsZero() {
			return d.ReadAt, true
		}
	}
	for _, c := range t.Comparisons {
		if c.Day == day && !c.Reference.IsZero() {
			return c.Reference, true
		}
	}
	return t.Start, day == 0 && !t.Start.IsZero()
}

func beyond(x, want, tolerance float64) bool { return math.Abs(x-want) > tolerance+1e-9 }
