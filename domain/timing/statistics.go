package timing

import (
	"slices"

	"ledgerwheel/domain/metrology"
)

// Key names a statistic in code, form fields and tables.
type Key string

// The statistics. Those of a run compare two states of wind; the others belong to one state.
const (
	MeanRate                 Key = "mean_rate"
	DeltaRate                Key = "delta"
	HorizontalMeanRate       Key = "horizontal_mean"
	VerticalMeanRate         Key = "vertical_mean"
	HorizontalLessVertical   Key = "horizontal_less_vertical"
	HorizontalDelta          Key = "horizontal_delta"
	VerticalDelta            Key = "vertical_delta"
	HorizontalAmplitude      Key = "horizontal_amplitude"
	VerticalAmplitude        Key = "vertical_amplitude"
	AmplitudeLoss            Key = "amplitude_loss"
	LeastHorizontalAmplitude Key = "least_horizontal_amplitude"
	LeastVerticalAmplitude   Key = "least_vertical_amplitude"
	GreatestAmplitude        Key = "greatest_amplitude"
	GreatestBeatError        Key = "greatest_beat_error"
	AmplitudeLoss24h         Key = "amplitude_loss_24h" // of a run
	Isochronism              Key = "isochronism"        // of a run
)

// Statistic is one computed figure, or the reason why it cannot be computed.
type Statistic struct {
	Key    Key
	Label  string
	Signed bool            // printed with a plus sign when positive
	Value  metrology.Value // zero when Why is set
	Why    string          // "" when computed; else why not, as "needs …"
	Over   []Position      // the positions that entered
}

// Computable reports whether the statistic was computed.
func (s Statistic) Computable() bool { return s.Why == "" }

// Text returns the figure with its expanded uncertainty (k = 2) and unit, or the reason why there is none.
func (s Statistic) Text() string {
	if !s.Computable() {
		return s.Why
	}
	return format(s.Value, s.Signed)
}

// StateStatistics are the statistics of one state of wind.
type StateStatistics struct {
	HoursAfterWinding float64

	Mean                   Statistic // of all positions, s/d
	Delta                  Statistic // greatest less least of all positions, s/d
	HorizontalMean         Statistic // of CH and FH, s/d
	VerticalMean           Statistic // of 3H to 12H, s/d
	HorizontalLessVertical Statistic // difference of those two means, s/d
	HorizontalDelta        Statistic // greatest less least within CH and FH, s/d
	VerticalDelta          Statistic // greatest less least within 3H to 12H, s/d

	HorizontalAmplitude      Statistic // mean of CH and FH, degrees
	VerticalAmplitude        Statistic // mean of 3H to 12H, degrees
	AmplitudeLoss            Statistic // horizontal mean less vertical mean: loss from dial to crown, degrees
	LeastHorizontalAmplitude Statistic // degrees
	LeastVerticalAmplitude   Statistic // degrees
	GreatestAmplitude        Statistic // of all positions measured, degrees
	GreatestBeatError        Statistic // of all positions measured, ms
}

// List returns the state's statistics in the order a table shows them.
func (s StateStatistics) List() []Statistic {
	return []Statistic{s.Mean, s.Delta, s.HorizontalMean, s.VerticalMean, s.HorizontalLessVertical,
		s.HorizontalDelta, s.VerticalDelta, s.HorizontalAmplitude, s.VerticalAmplitude, s.AmplitudeLoss,
		s.LeastHorizontalAmplitude, s.LeastVerticalAmplitude, s.GreatestAmplitude, s.GreatestBeatError}
}

// Statistics are all that is computed from a run.
type Statistics struct {
	Positions        []Position // that all-position statistics need
	States           []StateStatistics
	AmplitudeLoss24h Statistic // full wind less after 24 h, mean over positions measured at both, degrees
	Isochronism      Statistic // rate after 24 h less rate at full wind, mean over positions measured at both, s/d
}

// At returns the statistics of one state of wind; ok is false when nothing was measured at it.
func (s Statistics) At(hours float64) (state StateStatistics, ok bool) {
	for _, state := range s.States {
		if sameHours(state.HoursAfterWinding, hours) {
			return state, true
		}
	}
	return StateStatistics{}, false
}

// Options say how statistics are taken.
type Options struct {
	Positions   []Position // that the all-position statistics need; nil for all six
	Instruments Instruments
}

// hoursAfterADay is the state of wind that isochronism and the loss of amplitude are taken at.
const hoursAfterADay = 24

// StatisticsOf computes the statistics of a run that passes Problems; it panics on figures that are not finite.
// Uncertainties are propagated by metrology.Linear: what readings share through their instrument stays whole in a
// mean and cancels in a difference. The uncertainty of a delta is that of its two extreme readings; that they were
// chosen as the extremes is left out, as is common practice. Repeated readings count by their mean: see Run.Averaged.
func StatisticsOf(run Run, o Options) Statistics {
	run = run.Averaged()
	set := o.Positions
	if len(set) == 0 {
		set = Positions()
	}
	out := Statistics{Positions: among(set, Position.Valid)}
	for _, hours := range run.States() {
		c := column{readings: map[Position]Reading{}, set: out.Positions, instruments: o.Instruments}
		for _, r := range run.Readings {
			if sameHours(r.HoursAfterWinding, hours) {
				c.readings[r.Position] = r
			}
		}
		out.States = append(out.States, c.statistics(hours))
	}
	out.Isochronism = change(run, out.Positions, Rate, o.Instruments)
	out.Isochronism.Key, out.Isochronism.Label = Isochronism, "isochronism, 24 h less full wind"
	out.Isochronism.Signed = true
	out.AmplitudeLoss24h = negated(change(run, out.Positions, Amplitude, o.Instruments))
	out.AmplitudeLoss24h.Key, out.AmplitudeLoss24h.Label = AmplitudeLoss24h, "amplitude lost over 24 h"
	return out
}

// change returns the mean, over the positions measured at both, of the figure after 24 h less that at full wind.
func change(run Run, set []Position, q Quantity, instruments Instruments) Statistic {
	type pair struct{ full, later Reading }
	var pairs []pair
	var over []Position
	for _, p := range set {
		full, ok0 := run.Reading(p, 0)
		later, ok1 := run.Reading(p, hoursAfterADay)
		if ok0 && ok1 && full.Figure(q) != nil && later.Figure(q) != nil {
			pairs = append(pairs, pair{full, later})
			over = append(over, p)
		}
	}
	if len(pairs) == 0 {
		return Statistic{Why: "needs the " + q.Label() + " at full wind and after 24 h in at least one position"}
	}
	var terms []metrology.Term
	share := 1 / float64(len(pairs))
	for _, p := range pairs {
		terms = append(terms, instruments.term(p.later, q, share), instruments.term(p.full, q, -share))
	}
	return Statistic{Value: metrology.Linear(q.Unit(), terms...), Over: over}
}

func negated(s Statistic) Statistic {
	if s.Value.Value != 0 {
		s.Value.Value = -s.Value.Value
	}
	return s
}

// withBoth returns the union of two sets of positions in grid order.
func withBoth(a, b []Position) []Position {
	return among(slices.Concat(a, b), Position.Valid)
}
