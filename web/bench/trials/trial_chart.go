package trials

import (
	"fmt"
	"strings"

	"ledgerwheel/domain/chronometer"
	"ledgerwheel/domain/figure"
	"ledgerwheel/domain/timing"
	"ledgerwheel/domain/trial"
	"ledgerwheel/web/chart"
	"ledgerwheel/web/view"
)

// meanDays are the days that the mean daily rate is taken over.
var meanDays = len(chronometer.MeanDailyRate.Needs())

// trialStripOf draws the days of a trial, today's being due.
func trialStripOf(t trialPage, due int) view.ChartView {
	c := chart.TrialStrip{ID: "trial-strip", Title: "The fifteen days of the trial", CrownHour: t.crown,
		MeanDays:   meanDays,
		MeanLimits: chronometer.MeanDailyRate.Limits(t.whole.Category), MeanLimitsLabel: "limits of the mean daily rate"}
	if mean := t.judged.Result(chronometer.MeanDailyRate); mean.Known {
		c.Mean = &mean.Value
		if reach := t.judged.Result(chronometer.LargestDeviation).Limits.Upper; reach != nil {
			c.ReachSPerDay, c.ReachLabel = *reach,
				"greatest deviation from the mean, "+figure.Plain(*reach)+" "+timing.UnitSPerDay
		}
	}
	why := map[int][]string{}
	for _, w := range t.warnings {
		why[w.Day] = append(why[w.Day], w.Text)
	}
	for _, want := range chronometer.Programme() {
		c.Days = append(c.Days, stripDay(t, want, due, why[want.Number]))
	}
	wide := c
	wide.ID, wide.Wide = c.ID+"-wide", true
	return view.ChartView{Caption: "Day by day", TestID: "trial-strip", Drawing: c, Wide: wide}
}

func stripDay(t trialPage, want chronometer.Day, due int, why []string) chart.TrialDay {
	day := chart.TrialDay{Number: want.Number, Position: want.Position, ChamberC: want.TemperatureC}
	if v, known := t.rates.Rate(want.Number); known {
		day.Rate, day.State = &v, chart.DayTaken
		if len(why) > 0 {
			day.State = chart.DaySpoilt
		}
	} else if len(why) > 0 {
		day.State = chart.DayMissed
	} else if want.Number == due && t.record.State == trial.Running {
		day.State = chart.DayToday
	}
	if len(why) > 0 {
		text := strings.TrimPrefix(why[0], fmt.Sprintf("Day %d ", want.Number))
		day.Reason, _, _ = strings.Cut(text, ". ")
	}
	return day
}

// roomChart draws what is known of a criterion between its limits.
func roomChart(res chronometer.Result) chart.CriterionRoom {
	c := chart.CriterionRoom{ID: "room-" + strings.ReplaceAll(string(res.Criterion), "_", "-"),
		Title: res.Criterion.Label(), Limits: res.Limits,
		RoomText: roomText(res)}
	if res.Known {
		c.Value, c.Verdict = &res.Value, res.Guarded
	}
	return c
}
