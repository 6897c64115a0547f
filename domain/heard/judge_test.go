package heard_test

import (
	"slices"
	"strings"
	"testing"

	"ledgerwheel/domain/acoustic"
	"ledgerwheel/domain/heard"
	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/timing"
)

// limits are those of a sound modern watch, in figures of our own.
func limits(keys ...timing.Key) timing.RateLimits {
	all := []timing.Limit{{Key: timing.MeanRate, Limits: metrology.Between(-4, 6)},
		{Key: timing.DeltaRate, Limits: metrology.AtMost(12)},
		{Key: timing.HorizontalLessVertical, Limits: metrology.Between(-6, 6)}, {Key: timing.GreatestBeatError,
			Limits: metrology.AtMost(0.6)},
		{Key: timing.LeastHorizontalAmplitude, Limits: metrology.AtLeast(260)}, {Key: timing.GreatestAmplitude,
			Limits: metrology.AtMost(320)},
		{Key: timing.LeastVerticalAmplitude, Limits: metrology.AtLeast(200)},
		{Key: timing.Isochronism, Limits: metrology.Between(-5, 5)}}
	if len(keys) > 0 {
		all = slices.DeleteFunc(all, func(l timing.Limit) bool { return !slices.Contains(keys, l.Key) })
	}
	return timing.RateLimits{Grade: "modern", Name: "Modern", Version: 1, Limits: all}
}

func question(change func(*heard.Question)) heard.Question {
	q := heard.Question{Result: result(), Recorder: "Bench microphone", Clock: acoustic.Clock{StdPPM: 0.2},
		Position: timing.DialUp,
		Run:      timing.Run{Kind: timing.Final, CrownHour: 3}, Limits: limits(), Rule: metrology.Guarded}
	change(&q)
	return q
}

// others are the readings of the other five positions at full wind, each with a standard uncertainty of its own.
func others(rate, u float64, instrument string) []timing.Reading {
	var list []timing.Reading
	for _, p := range timing.Positions()[1:] {
		list = append(list, timing.Reading{Position: p, Instrument: instrument, RateSPerDay: &timing.Figure{Value: rate,
			StdUncertainty: u},
			AmplitudeDeg: &timing.Figure{Value: 275, StdUncertainty: 1}, BeatErrorMs: &timing.Figure{Value: 0.2,
				StdUncertainty: 0.02}})
	}
	return list
}

func TestJudge(t *testing.T) {
	t.Parallel()
	for name, tc := range map[string]struct {
		change func(*heard.Question)
		want   heard.Standing
		says   string
	}{
		"no limits": {func(q *heard.Question) { q.Limits = timing.RateLimits{} }, heard.NothingToJudge,
			"no rate limits"},
		"a state nobody limits": {func(q *heard.Question) { q.HoursAfterWinding = 12 }, heard.NothingToJudge,
			"None of the rate limits"},
		"a position outside": {func(q *heard.Question) {
			q.Limits.Positions = []timing.Position{timing.DialDown,
				timing.SixUp}
		}, heard.NothingToJudge, "None of"},
		"a good first reading": {func(*heard.Question) {}, heard.Enough, "nothing is left open"},
		"a rate too coarse": {func(q *heard.Question) { q.Result.RateFitStdSPerDay = 0.9 }, heard.KeepListening,
			"±1.8 s/d"},
		"an unknown clock": {func(q *heard.Question) { q.Clock = acoustic.UncalibratedClock(); q.Clock.StdPPM *= 1.1 },
			heard.Barred, "Calibrate the recorder"},
		"simple acceptance": {func(q *heard.Question) { q.Clock = acoustic.UncalibratedClock(); q.Rule = metrology.Simple },
			heard.Enough, "nothing is left open"},
		"an amplitude on the limit": {func(q *heard.Question) { a := *q.Result.Amplitude; a.Value = 260.5; q.Result.Amplitude = &a },
			heard.KeepListening, "inside the uncertainty of the amplitude"},
		"an amplitude surely low": {func(q *heard.Question) { a := *q.Result.Amplitude; a.Value = 251; q.Result.Amplitude = &a }, heard.Enough, "the run fails"},
		"no amplitude": {func(q *heard.Question) { q.Result.Amplitude = nil }, heard.KeepListening,
			"No amplitude is heard"},
		"a beat error surely too great": {func(q *heard.Question) { q.Result.BeatError.Value = -0.9 }, heard.Enough,
			"the run fails"},
		"nothing steady yet": {func(q *heard.Question) { q.Result.Rate.Value = 1e6 }, heard.KeepListening, "not steady"},
		"the last of a good run": {func(q *heard.Question) {
			q.Run.Readings, q.Limits = others(3, 0.05, "Bench microphone"), limits(timing.MeanRate, timing.DeltaRate,
				timing.GreatestBeatError)
		}, heard.Enough, "Pass: every limit"},
		"the last of a run on the edge": {func(q *heard.Question) {
			q.Run.Readings, q.Limits, q.Result.RateFitStdSPerDay = others(6.5, 0.001, "Bench microphone"),
				limits(timing.MeanRate), 0.8
			q.Clock.StdPPM = 0.01
			q.Result.Rate.Value = 3.3
		}, heard.KeepListening, "Undecided"},
		"a run the others leave open": {func(q *heard.Question) {
			q.Run.Readings, q.Limits = others(6.5, 1.5, "Bench 2"), limits(timing.MeanRate)
			q.Result.Rate.Value = 3.5
		}, heard.Barred, "listening longer here will not change it"},
		"a run that fails already": {func(q *heard.Question) {
			q.Run.Readings, q.Limits = others(40, 0.5, "Bench 2"), limits(timing.DeltaRate, timing.LeastHorizontalAmplitude)
			q.Result.RateFitStdSPerDay = 0.9
		}, heard.Enough, "the run fails"},
	} {
		q := question(tc.change)
		if a := heard.Judge(q); a.Standing != tc.want || !strings.Contains(a.Text, tc.says) {
			t.Errorf("%s: %q (%s), want %q with %q", name, a.Standing, a.Text, tc.want, tc.says)
		}
	}
}

// The reading in the cell itself is replaced, not doubled.
func TestJudgeReplacesItsOwnCell(t *testing.T) {
	t.Parallel()
	a := heard.Judge(question(func(q *heard.Question) {
		q.Run.Readings = append(others(3, 0.05, "Bench microphone"), timing.Reading{Position: timing.DialUp,
			RateSPerDay: &timing.Figure{Value: 900}})
		q.Limits = limits(timing.MeanRate)
	}))
	if a.Judgement.Verdict != metrology.Pass {
		t.Errorf("%s", a.Text)
	}
}

// While a run is incomplete, what is said to be enough keeps its promise: six readings as fine as that leave a
// capability index of four (JCGM 106, 7.6.3: T/(2U)) for every statistic of rates.
func TestEnoughKeepsItsPromise(t *testing.T) {
	t.Parallel()
	for _, key := range []timing.Key{timing.MeanRate, timing.DeltaRate, timing.HorizontalLessVertical} {
		coarsest := 0.0
		for u := 0.01; u < 3; u += 0.01 {
			a := heard.Judge(question(func(q *heard.Question) {
				q.Limits, q.Result.RateFitStdSPerDay, q.Clock = limits(key), u, acoustic.Clock{}
			}))
			if a.Standing == heard.Enough {
				coarsest = u
			}
		}
		run := timing.Run{Kind: timing.Final, CrownHour: 3, Readings: others(1, coarsest, "m")}
		run.Readings = append(run.Readings, timing.Reading{Position: timing.DialUp, Instrument: "m",
			RateSPerDay:  &timing.Figure{Value: 1, StdUncertainty: coarsest},
			AmplitudeDeg: &timing.Figure{Value: 275}, BeatErrorMs: &timing.Figure{Value: 0.1}})
		j := timing.Judge(run, limits(key), metrology.Guarded, timing.Instruments{})
		l := j.Limits[0]
		lower := 0.0
		if l.Limit.Limits.Lower != nil {
			lower = *l.Limit.Limits.Lower
		}
		capability := (*l.Limit.Limits.Upper - lower) / (2 * l.Statistic.Value.Expanded())
		if capability < heard.LeastCapability || capability > heard.LeastCapability*1.1 {
			t.Errorf("%s: coarsest u %.2f gives C_m = %.2f, want just above %d", key, coarsest, capability,
				heard.LeastCapability)
		}
	}
}
