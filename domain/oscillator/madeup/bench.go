package madeup

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strconv"
	"strings"

	"ledgerwheel/domain/timing"
)

// Bench is how a shop reads: its instrument, its lift angle, and how well a position repeats.
type Bench struct {
	LiftAngleRel         float64 // the lift angle in use over the true one, less 1: shared by all amplitudes
	RepeatabilitySPerDay float64 // standard deviation of a rate, anew at each reading
	RateStepSPerDay      float64 // of the display
	AmplitudeNoiseDeg    float64 // standard deviation
	AmplitudeStepDeg     float64
	BeatNoiseMs          float64
	BeatStepMs           float64
	Repeats              int // further readings of each position
}

// NewBench draws one: lift angle 2 % (standard deviation), repeatability 0.5 to 2.5 s/d, tenths or whole seconds,
// amplitudes within 1 to 3° and in whole degrees, beat error in tenths.
func NewBench(rng *rand.Rand) Bench {
	b := Bench{LiftAngleRel: 0.02 * rng.NormFloat64(), RepeatabilitySPerDay: between(rng, 0.5, 2.5),
		RateStepSPerDay: 0.1, AmplitudeNoiseDeg: between(rng, 1, 3), AmplitudeStepDeg: 1, BeatNoiseMs: 0.05,
		BeatStepMs: 0.1}
	if rng.IntN(2) == 0 {
		b.RateStepSPerDay = 1
	}
	return b
}

// Row is one reading, as a line of a file. NaN stands for what was not read.
type Row struct {
	Run                                    string
	Hours                                  float64
	Position                               timing.Position
	RateSPerDay, AmplitudeDeg, BeatErrorMs float64
}

// Read reads a watch in all six positions, at each state of wind in turn.
func (b Bench) Read(w Watch, run string, states []State, rng *rand.Rand) []Row {
	var rows []Row
	for _, s := range states {
		for range 1 + b.Repeats {
			for _, p := range timing.Positions() {
				rows = append(rows, b.row(w, run, p, s, rng))
			}
		}
	}
	return rows
}

// greatestShownDeg is what an instrument shows at most.
const greatestShownDeg = 359

// row reads one position.
func (b Bench) row(w Watch, run string, p timing.Position, s State, rng *rand.Rand) Row {
	a := w.AmplitudeDeg(p, s)
	scatter := math.Hypot(b.RepeatabilitySPerDay, w.Magnetism.ScatterSPerDay)
	return Row{
		Run: run, Hours: s.HoursAfterWinding, Position: p,
		RateSPerDay: shown(w.RateSPerDay(p, s)+scatter*rng.NormFloat64(), b.RateStepSPerDay),
		AmplitudeDeg: min(shown(a*(1+b.LiftAngleRel)+b.AmplitudeNoiseDeg*rng.NormFloat64(), b.AmplitudeStepDeg),
			greatestShownDeg),
		BeatErrorMs: shown(math.Abs(w.BeatError(a)+b.BeatNoiseMs*rng.NormFloat64()), b.BeatStepMs),
	}
}

// shown rounds to the display's step.
func shown(x, step float64) float64 {
	if step <= 0 {
		return x
	}
	return math.Round(x/step) * step
}

// Runs makes runs of rows, in the order of their first rows. A row's Run is a run's title: "as received", "after
// service", "after adjustment 2", "final".
func (b Bench) Runs(rows []Row, crownHour int) []timing.Run {
	var runs []timing.Run
	at := map[string]int{}
	for _, r := range rows {
		i, known := at[r.Run]
		if !known {
			i = len(runs)
			at[r.Run] = i
			kind, n := kindOf(r.Run)
			runs = append(runs, timing.Run{Kind: kind, Adjustment: n, CrownHour: crownHour})
		}
		reading := timing.Reading{Position: r.Position, HoursAfterWinding: r.Hours, Instrument: "made up"}
		reading.RateSPerDay = figureOf(r.RateSPerDay, b.RateStepSPerDay)
		reading.AmplitudeDeg = figureOf(r.AmplitudeDeg, b.AmplitudeStepDeg)
		reading.BeatErrorMs = figureOf(r.BeatErrorMs, b.BeatStepMs)
		runs[i].Readings = append(runs[i].Readings, reading)
	}
	return runs
}

func figureOf(x, step float64) *timing.Figure {
	if math.IsNaN(x) {
		return nil
	}
	return &timing.Figure{Value: x, Step: step}
}

// AsReceived, AfterService and Final are the titles of runs; AfterAdjustment makes the others.
const (
	AsReceived   = string(timing.AsReceived)
	AfterService = string(timing.AfterService)
	Final        = string(timing.Final)
)

// AfterAdjustment is the title of an adjustment's run.
func AfterAdjustment(n int) string { return fmt.Sprintf("after adjustment %d", n) }

// kindOf reads a title.
func kindOf(title string) (timing.Kind, int) {
	for n := range 20 {
		if title == AfterAdjustment(n+1) {
			return timing.Adjustment, n + 1
		}
	}
	return timing.Kind(title), 0
}

// CSV writes rows as a file of readings.
func CSV(rows []Row) string {
	var out strings.Builder
	out.WriteString("run,hours,position,rate_s_per_day,amplitude_deg,beat_error_ms\n")
	for _, r := range rows {
		fmt.Fprintf(&out, "%s,%s,%s,%s,%s,%s\n", r.Run, cell(r.Hours), r.Position, cell(r.RateSPerDay),
			cell(r.AmplitudeDeg), cell(r.BeatErrorMs))
	}
	return out.String()
}

func cell(x float64) string {
	if math.IsNaN(x) {
		return ""
	}
	return strconv.FormatFloat(math.Round(x*1000)/1000, 'f', -1, 64)
}

// between draws evenly.
func between(rng *rand.Rand, low, high float64) float64 { return low + (high-low)*rng.Float64() }

// logBetween draws evenly in the logarithm.
func logBetween(rng *rand.Rand, low, high float64) float64 {
	return math.Exp(between(rng, math.Log(low), math.Log(high)))
}

// either draws a sign.
func either(rng *rand.Rand) float64 { return float64(2*rng.IntN(2) - 1) }
