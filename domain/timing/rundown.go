package timing

import (
	"fmt"
	"math"

	"ledgerwheel/domain/metrology"
)

// RunDown is the kind of what was heard over hours in one position as the mainspring let down. It is no run of its own: it
// belongs to the run after which it was heard, and what that run shows is not replaced by it.
const RunDown Kind = "run-down"

// What a watch in good order keeps over the first day after winding, degrees. Common practice: a fall of 20 to 40° is usual
// and 50° the most that makers allow; hanging after 24 h it swings 180° at the least.
const (
	greatestFallDeg  = 50
	leastAfterDayDeg = 180
	dayH             = 24
	dayRoomH         = 0.5 // of readings that count as of the day's end
)

// LetDown is what a run-down says of the power.
type LetDown struct {
	SpanH     float64         // from the first reading to the last of the first day
	Fall      metrology.Value // of the amplitude meanwhile, degrees
	RateDrift metrology.Value // of the rate meanwhile, s/d
	Last      Reading         // the last of the first day
	Verdict   metrology.Verdict
	Text      string // why
}

// LetDownOf judges the amplitudes of a run-down over the first day after winding: by the greatest fall, and hanging by the
// least amplitude, the shop's where it has a limit for that. The day must be heard to its end to pass; to fail, less does. The
// lift angle's error, which all amplitudes share, leaves a fall uncertain by its share of the fall; the clock's leaves the
// change of the rate as it is. ok is false where fewer than two readings have an amplitude.
func LetDownOf(readings []Reading, limits RateLimits, rule metrology.Rule, ins Instruments) (d LetDown, ok bool) {
	var first, last *Reading
	for i, r := range readings {
		if r.AmplitudeDeg == nil || r.RateSPerDay == nil || r.HoursAfterWinding > dayH+dayRoomH {
			continue
		}
		if first == nil {
			first = &readings[i]
		}
		last = &readings[i]
	}
	if first == nil || last == first {
		return d, false
	}
	fall := first.AmplitudeDeg.Value - last.AmplitudeDeg.Value
	d = LetDown{SpanH: last.HoursAfterWinding - first.HoursAfterWinding, Last: *last,
		Fall: metrology.Value{Value: fall, Unit: UnitDegree, StdUncertainty: math.Hypot(math.Hypot(
			first.AmplitudeDeg.Independent(), last.AmplitudeDeg.Independent()), fall*ins.LiftAngleRel)},
		RateDrift: metrology.Value{Value: last.RateSPerDay.Value - first.RateSPerDay.Value, Unit: UnitSPerDay,
			StdUncertainty: math.Hypot(first.RateSPerDay.Independent(), last.RateSPerDay.Independent())}}
	d.judge(limits, rule, ins)
	return d, true
}

func (d *LetDown) judge(limits RateLimits, rule metrology.Rule, ins Instruments) {
	most := float64(greatestFallDeg)
	fell, _ := metrology.Decide(d.Fall, metrology.Limits{Upper: &most}, rule)
	d.Verdict = fell
	d.Text = fmt.Sprintf("The amplitude fell by %s in %s; looked for: at most %d° in the first day.", d.Fall.Format(), hoursWords(d.SpanH),
		greatestFallDeg)
	if swings, least, judged := d.least(limits, rule, ins); judged && (swings == metrology.Fail || fell == metrology.Pass) {
		d.Verdict = swings
		d.Text += fmt.Sprintf(" Hanging it swung %.0f° at the end; looked for: %.0f° or more.", d.Last.AmplitudeDeg.Value, least)
	}
	if d.Verdict == metrology.Pass && d.Last.HoursAfterWinding < dayH-dayRoomH {
		d.Verdict = metrology.NotMeasured
		d.Text += " The first day was not heard to its end."
	}
}

// least judges the last amplitude of a hanging watch. Within the day it can only fail.
func (d *LetDown) least(limits RateLimits, rule metrology.Rule, ins Instruments) (v metrology.Verdict, least float64, judged bool) {
	if d.Last.Position.Horizontal() {
		return metrology.NotMeasured, 0, false
	}
	least = leastAfterDayDeg
	if l, set := limits.Limit(LeastVerticalAmplitude); set && l.Limits.Lower != nil {
		least = *l.Limits.Lower
	}
	value, measured := ins.Value(d.Last, Amplitude)
	if !measured {
		return metrology.NotMeasured, 0, false
	}
	v, _ = metrology.Decide(value, metrology.Limits{Lower: &least}, rule)
	return v, least, true
}

func hoursWords(h float64) string {
	if h < 1 {
		return fmt.Sprintf("%.0f min", 60*h)
	}
	return HoursText(math.Round(h*10)/10) + " h"
}
