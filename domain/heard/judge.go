package heard

import (
	"fmt"
	"math"
	"slices"

	"ledgerwheel/domain/acoustic"
	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/timing"
)

// LeastCapability is the least measurement capability index C_m = T/(2U) with which a reading of the rate is good
// enough while the run it belongs to is incomplete: T is the width of the limits, U the expanded uncertainty of the
// statistic they bound (JCGM 106, 7.6.3). Common practice asks for at least four to one; with a guard band w = U (8.3)
// an eighth of the width is then lost at each end.
const LeastCapability = 4

// openEndedUSPerDay is good enough for a rate where the limits are open at one end, so that they have no width.
const openEndedUSPerDay = 0.5

// Question is what is asked while a watch is being listened to.
type Question struct {
	Result            acoustic.Result
	Recorder          string // by its name: the instrument of the reading
	Clock             acoustic.Clock
	Position          timing.Position
	HoursAfterWinding float64
	// Run has the other readings of the run so far; one in the same position and state of wind is replaced.
	Run timing.Run
	// Instruments is what is known of the instruments of those readings.
	Instruments timing.Instruments
	Limits      timing.RateLimits // without limits nothing is judged
	Rule        metrology.Rule
}

// Standing says how far what was heard decides.
type Standing string

// The standings.
const (
	NothingToJudge Standing = "nothing to judge" // no limit concerns this reading
	KeepListening  Standing = "keep listening"   // longer listening helps
	Enough         Standing = "enough"           // good enough to decide
	Barred         Standing = "barred"           // longer listening in this position cannot decide it
)

// Answer is how far what was heard decides, as a whole and by criterion.
type Answer struct {
	Standing Standing
	Text     string // a sentence
	Criteria []Criterion
	// Judgement is that of the run with this reading in it; most of its limits are not measured while the run is
	// incomplete. Nil when there is nothing to judge by.
	Judgement *timing.Judgement
}

// Criterion is how far what was heard decides one limit that it concerns.
type Criterion struct {
	Limit    timing.Limit
	Standing Standing
	Verdict  metrology.Verdict // of this reading or of the whole run; NotMeasured while it cannot be given
	Text     string            // a sentence
}

// Judge says whether what was heard so far is good enough to decide, criterion by criterion:
//
//   - Where the run with this reading in it has all that the statistic needs, the statistic's verdict is taken: pass and
//     fail are enough. When it is undecided and would be so even if this reading had no uncertainty of its own, longer
//     listening is of no use: what leaves it open is the recorder's clock or another reading.
//   - A limit on a least or greatest figure (amplitude, beat error) is a limit on each reading that it is taken over, so
//     this reading's figure is judged by itself; a fail of one reading is a fail of the run.
//   - A limit on a statistic of several rates is judged only with all of them. Until then the rate is good enough when,
//     were all the readings as uncertain as this one, the statistic's capability index would reach [LeastCapability].
//     The clock is left out of that, since listening longer does not better it; but where it alone leaves no room
//     between the guard bands for a mean to pass, that is said at once.
//
// What was heard is enough when every limit it concerns is, or when the run fails already.
func Judge(q Question) Answer {
	if len(q.Limits.Limits) == 0 {
		return Answer{Standing: NothingToJudge, Text: "There are no rate limits to decide by."}
	}
	reading := Reading(q.Result, q.Position, q.HoursAfterWinding, q.Recorder, "", timeless)
	if len(reading.Problems()) > 0 {
		return Answer{Standing: KeepListening, Text: "The figures are not steady yet."}
	}
	j := timing.Judge(q.runWith(reading), q.Limits, q.Rule, q.instruments())
	perfect := timing.Judge(q.runWith(withoutUncertainty(reading)), q.Limits, q.Rule, q.instruments())
	a := Answer{Judgement: &j}
	for i, limit := range j.Limits {
		if c, concerned := q.criterion(reading, limit, perfect.Limits[i]); concerned {
			a.Criteria = append(a.Criteria, c)
		}
	}
	a.Standing, a.Text = conclude(a.Criteria, j)
	return a
}

func (q Question) runWith(r timing.Reading) timing.Run {
	run := q.Run
	cell := timing.CellName(r.Position, r.HoursAfterWinding)
	run.Readings = slices.DeleteFunc(slices.Clone(run.Readings), func(old timing.Reading) bool {
		return old.Repeat == 0 && timing.CellName(old.Position, old.HoursAfterWinding) == cell
	})
	run.Readings = append(run.Readings, r)
	return run
}

// instruments adds the recorder's clock to what is known.
func (q Question) instruments() timing.Instruments {
	known := q.Instruments
	known.ClockStdSPerDay = map[string]float64{q.Recorder: q.Clock.StdPPM * timing.SPerDayPerPPM}
	for name, u := range q.Instruments.ClockStdSPerDay {
		known.ClockStdSPerDay[name] = math.Max(u, known.ClockStdSPerDay[name])
	}
	return known
}

func withoutUncertainty(r timing.Reading) timing.Reading {
	for _, quantity := range timing.Quantities() {
		if f := r.Figure(quantity); f != nil {
			r.SetFigure(quantity, &timing.Figure{Value: f.Value})
		}
	}
	return r
}

// criterion judges one limit as far as this reading can; concerned is false when the reading does not enter it.
func (q Question) criterion(r timing.Reading, limit, perfect timing.JudgedLimit) (c Criterion, concerned bool) {
	s, known := scopes[limit.Limit.Key]
	if !known || !s.concerns(q) {
		return c, false
	}
	c = Criterion{Limit: limit.Limit, Verdict: limit.Verdict, Text: limit.Text, Standing: Enough}
	switch {
	case limit.Verdict == metrology.Pass || limit.Verdict == metrology.Fail:
		return c, true
	case limit.Verdict == metrology.Undecided:
		if c.Standing = KeepListening; perfect.Verdict == metrology.Undecided {
			c.Standing = Barred
			c.Text = fmt.Sprintf("Undecided, and listening longer here will not change it: %s against %s. %s",
				limit.Statistic.Text(),
				limit.Limit.Text(), s.remedy)
		}
		return c, true
	case s.end != 0:
		return q.single(r, limit.Limit, s), true
	}
	return q.several(r, limit.Limit, s), true
}

func conclude(criteria []Criterion, j timing.Judgement) (Standing, string) {
	count := map[Standing]int{}
	failed := j.Verdict == metrology.Fail
	for _, c := range criteria {
		count[c.Standing]++
		failed = failed || c.Verdict == metrology.Fail
	}
	first := func(s Standing) string {
		return criteria[slices.IndexFunc(criteria, func(c Criterion) bool { return c.Standing == s })].Text
	}
	switch {
	case failed:
		return Enough, "Good enough to decide: the run fails. " + failText(criteria, j)
	case len(criteria) == 0:
		return NothingToJudge, "None of the rate limits concerns this position at this state of wind."
	case count[KeepListening] > 0:
		return KeepListening, first(KeepListening)
	case count[Barred] > 0:
		return Barred, first(Barred)
	case j.Verdict == metrology.Pass:
		return Enough, "Good enough to decide. " + j.Text
	}
	return Enough, "Good enough to decide: nothing is left open by this position."
}

func failText(criteria []Criterion, j timing.Judgement) string {
	for _, c := range criteria {
		if c.Verdict == metrology.Fail {
			return c.Text
		}
	}
	return j.Text
}
