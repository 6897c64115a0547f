package runs

import (
	"strconv"
	"strings"

	"ledgerwheel/domain/figure"
	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/recorder"
	"ledgerwheel/domain/timing"
	"ledgerwheel/domain/tongue"
	"ledgerwheel/web/page"
)

// What papers for customers say of runs, in the customer's language.

// WindSaid says a state of wind.
func WindSaid(say page.Voice, hours float64) string {
	if timing.HoursText(hours) == "0" {
		return say.Say("wind.full")
	}
	return say.Say("wind.after", "hours", say.Figures(timing.HoursText(hours)))
}

// TitleSaid names a run, as timing.Run.Title does.
func TitleSaid(say page.Voice, r timing.Run) string {
	switch r.Kind {
	case timing.AsReceived:
		return say.Say("run.as_received")
	case timing.AfterService:
		return say.Say("run.after_service")
	case timing.Adjustment:
		return say.Say("run.adjustment", "number", r.Adjustment)
	case timing.RunDown:
		return say.Say("run.run_down")
	}
	return say.Say("run.final")
}

// positionSaid says a position in plain words, as timing.Position.Words does.
func positionSaid(t tongue.Tongue, p timing.Position, crownHour int) string {
	switch p {
	case timing.DialUp, timing.DialDown:
		return t.Say("position." + string(p))
	}
	if deg, known := p.CrownBearingDeg(crownHour); known {
		return t.Say("crown." + strconv.Itoa(deg/30)) // an hour is 30 degrees
	}
	if hour, known := p.UppermostHour(); known {
		return t.Say("position.hour", "hour", hour)
	}
	return string(p)
}

// StatisticSaid names a statistic.
func StatisticSaid(t tongue.Tongue, key timing.Key) string { return t.Say("statistic." + string(key)) }

// LimitSaid names what a limit bounds, with its state of wind.
func LimitSaid(t tongue.Tongue, key timing.Key) string { return t.Say("judged." + string(key)) }

// listSaid joins labels, by semicolons where one holds a comma itself.
func listSaid(t tongue.Tongue, labels []string) string {
	if n := len(labels); n > 1 && !strings.Contains(strings.Join(labels, ""), ",") {
		return t.Say("list.and", "some", strings.Join(labels[:n-1], ", "), "last", labels[n-1])
	}
	return strings.Join(labels, "; ")
}

// VersionSaid names rate limits with their version.
func VersionSaid(t tongue.Tongue, name string, version int) string {
	return t.Say("paper.limits_name", "name", name, "version", version)
}

// BoundsSaid writes limits whose ends were printed, each "" where it is open.
func BoundsSaid(say page.Voice, lower, upper string) string {
	switch {
	case lower != "" && upper != "":
		return say.Say("limit.between", "from", say.Figures(lower), "to", say.Figures(upper))
	case upper != "":
		return say.Say("limit.at_most", "to", say.Figures(upper))
	case lower != "":
		return say.Say("limit.at_least", "from", say.Figures(lower))
	}
	return ""
}

// RuleSaid states the decision rule.
func RuleSaid(t tongue.Tongue, r metrology.Rule) string {
	words := r.String()
	switch r {
	case metrology.Simple:
		words = t.Say("paper.rule.simple")
	case metrology.Guarded:
		words = t.Say("paper.rule.guarded")
	}
	return t.Say("paper.decision_rule", "rule", words)
}

// ClockSaid says how well the clock of a run's instrument is known, as ClockText does.
func ClockSaid(say page.Voice, sh timing.Sheet) string {
	std, calibrated := sh.ClockStdPPM[sh.Instrument]
	switch {
	case calibrated:
		perDay := metrology.Value{StdUncertainty: std * timing.SPerDayPerPPM}.Print(false).Uncertainty
		return say.Say("paper.clock.known", "ppm", say.Figures(recorder.PlusMinus(std)), "rate", say.Figures(perDay))
	case sh.ClockPPM == 0:
		return say.Say("paper.clock.exact")
	}
	return say.Say("paper.clock.within", "ppm", say.Figures(figure.Plain(sh.ClockPPM)),
		"rate", say.Figures(strconv.FormatFloat(sh.ClockPPM*timing.SPerDayPerPPM, 'g', 2, 64)))
}

// VerdictSaid says why a judged run's verdict is what it is, naming the limits that decided it, as timing.Judgement does.
func VerdictSaid(say page.Voice, j timing.Judgement) string {
	by := VersionSaid(say.Tongue, j.Name, j.Version)
	list := func(v metrology.Verdict) string {
		var labels []string
		for _, l := range j.Limits {
			if l.Verdict == v {
				labels = append(labels, LimitSaid(say.Tongue, l.Limit.Key))
			}
		}
		return listSaid(say.Tongue, labels)
	}
	switch j.Verdict {
	case metrology.Pass:
		return say.Say("paper.verdict.pass", "limits", by)
	case metrology.Fail:
		return say.Say("paper.verdict.fail", "limits", by, "list", list(metrology.Fail))
	case metrology.Undecided:
		return say.Say("paper.verdict.undecided", "limits", by, "list", list(metrology.Undecided))
	}
	if !j.Judged() {
		return say.Say("paper.verdict.none", "limits", by)
	}
	said := say.Say("paper.verdict.some", "limits", by, "list", list(metrology.NotMeasured))
	if within := list(metrology.Undecided); within != "" {
		said += " " + say.Say("paper.verdict.within", "list", within)
	}
	return said
}
