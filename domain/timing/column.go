package timing

import (
	"fmt"
	"strings"

	"ledgerwheel/domain/metrology"
)

// column is what was measured at one state of wind, and the positions that statistics over all positions need.
type column struct {
	readings    map[Position]Reading
	set         []Position
	instruments Instruments
}

func (c column) statistics(hours float64) StateStatistics {
	horizontal, vertical := among(c.set, Position.Horizontal), among(c.set, Position.Vertical)
	// Beat error and the greatest amplitude are read best lying flat; the hanging positions enter when measured.
	flat := horizontal
	if len(flat) == 0 {
		flat = c.set
	}
	return StateStatistics{
		HoursAfterWinding: hours,

		Mean:            named(c.mean(Rate, c.set), MeanRate, "mean rate", true),
		Delta:           named(c.delta(c.set), DeltaRate, "delta, greatest less least", false),
		HorizontalMean:  named(c.mean(Rate, horizontal), HorizontalMeanRate, "horizontal mean", true),
		VerticalMean:    named(c.mean(Rate, vertical), VerticalMeanRate, "vertical mean", true),
		HorizontalDelta: named(c.delta(horizontal), HorizontalDelta, "delta within horizontal", false),
		VerticalDelta:   named(c.delta(vertical), VerticalDelta, "delta within vertical", false),
		HorizontalLessVertical: named(c.difference(Rate, horizontal, vertical),
			HorizontalLessVertical, "horizontal less vertical", true),

		HorizontalAmplitude: named(c.mean(Amplitude, horizontal), HorizontalAmplitude, "horizontal amplitude", false),
		VerticalAmplitude:   named(c.mean(Amplitude, vertical), VerticalAmplitude, "vertical amplitude", false),
		AmplitudeLoss: named(c.difference(Amplitude, horizontal, vertical),
			AmplitudeLoss, "amplitude lost, dial to crown", false),
		LeastHorizontalAmplitude: named(c.extreme(Amplitude, horizontal, horizontal, less),
			LeastHorizontalAmplitude, "least horizontal amplitude", false),
		LeastVerticalAmplitude: named(c.extreme(Amplitude, vertical, vertical, less),
			LeastVerticalAmplitude, "least vertical amplitude", false),
		GreatestAmplitude: named(c.extreme(Amplitude, flat, c.set, greater),
			GreatestAmplitude, "greatest amplitude", false),
		GreatestBeatError: named(c.extreme(BeatError, flat, c.set, greater),
			GreatestBeatError, "greatest beat error", false),
	}
}

func named(s Statistic, key Key, label string, signed bool) Statistic {
	s.Key, s.Label, s.Signed = key, label, signed
	return s
}

func less(a, b float64) bool    { return a < b }
func greater(a, b float64) bool { return a > b }

// mean returns the mean of q over positions, all of which are needed.
func (c column) mean(q Quantity, positions []Position) Statistic {
	if why := c.missing(q, positions); why != "" {
		return Statistic{Why: why}
	}
	return Statistic{Value: metrology.Linear(q.Unit(), c.meanTerms(q, positions, 1)...), Over: positions}
}

// difference returns the mean of q over the minuend positions less that over the subtrahend, all needed.
func (c column) difference(q Quantity, minuend, subtrahend []Position) Statistic {
	both := withBoth(minuend, subtrahend)
	if len(minuend) == 0 || len(subtrahend) == 0 {
		return Statistic{Why: "needs horizontal and vertical positions"}
	}
	if why := c.missing(q, both); why != "" {
		return Statistic{Why: why}
	}
	terms := append(c.meanTerms(q, minuend, 1), c.meanTerms(q, subtrahend, -1)...)
	return Statistic{Value: metrology.Linear(q.Unit(), terms...), Over: both}
}

func (c column) meanTerms(q Quantity, positions []Position, sign float64) []metrology.Term {
	terms := make([]metrology.Term, 0, len(positions))
	for _, p := range positions {
		terms = append(terms, c.instruments.term(c.readings[p], q, sign/float64(len(positions))))
	}
	return terms
}

// delta returns the greatest rate less the least over positions, all of which are needed.
func (c column) delta(positions []Position) Statistic {
	if len(positions) < 2 {
		return Statistic{Why: "needs two positions or more"}
	}
	if why := c.missing(Rate, positions); why != "" {
		return Statistic{Why: why}
	}
	// First of the greatest and last of the least: two different readings even when all are equal.
	high, low := positions[0], positions[len(positions)-1]
	for i := range positions {
		if p := positions[i]; c.rate(p) > c.rate(high) {
			high = p
		}
		if p := positions[len(positions)-1-i]; c.rate(p) < c.rate(low) {
			low = p
		}
	}
	value := metrology.Linear(UnitSPerDay,
		c.instruments.term(c.readings[high], Rate, 1), c.instruments.term(c.readings[low], Rate, -1))
	return Statistic{Value: value, Over: positions}
}

func (c column) rate(p Position) float64 { return c.readings[p].RateSPerDay.Value }

// extreme returns the figure of q that stands before all others among positions; those of needed must be measured.
func (c column) extreme(q Quantity, needed, positions []Position, before func(a, b float64) bool) Statistic {
	if why := c.missing(q, needed); why != "" {
		return Statistic{Why: why}
	}
	var best *Reading
	var over []Position
	for _, p := range positions {
		r, taken := c.readings[p]
		if !taken || r.Figure(q) == nil {
			continue
		}
		over = append(over, p)
		if best == nil || before(r.Figure(q).Value, best.Figure(q).Value) {
			best = &r
		}
	}
	value, _ := c.instruments.Value(*best, q) // best has the figure, or it would not be best
	return Statistic{Value: value, Over: over}
}

// missing says which of the needed positions lack the figure of q, or "" when none does.
func (c column) missing(q Quantity, needed []Position) string {
	if len(needed) == 0 {
		return "needs positions that this run is not taken in"
	}
	var absent []string
	for _, p := range needed {
		if r, taken := c.readings[p]; !taken || r.Figure(q) == nil {
			absent = append(absent, string(p))
		}
	}
	if len(absent) == 0 {
		return ""
	}
	verb := "is"
	if len(absent) > 1 {
		verb = "are"
	}
	return fmt.Sprintf("needs the %s in %s; %s %s missing", q.Label(), setWords(needed), andList(absent), verb)
}

var countWords = [...]string{"no", "one", "two", "three", "four", "five", "six"}

// setWords names a set of positions: "all six positions", "both horizontal positions", "CH, 6H and 9H".
func setWords(set []Position) string {
	horizontal, vertical := len(among(set, Position.Horizontal)), len(among(set, Position.Vertical))
	switch {
	case horizontal == 2 && vertical == 4:
		return "all six positions"
	case horizontal == 2 && vertical == 0:
		return "both horizontal positions"
	case horizontal == 0 && vertical == 4:
		return "all four vertical positions"
	}
	names := make([]string, 0, len(set))
	for _, p := range set {
		names = append(names, string(p))
	}
	if len(names) == 1 {
		return names[0]
	}
	return fmt.Sprintf("the %s positions %s", countWords[len(names)], andList(names))
}

// andList joins words as a sentence does: "a", "a and b", "a, b and c".
func andList(words []string) string {
	if len(words) < 2 {
		return strings.Join(words, "")
	}
	last := len(words) - 1
	return strings.Join(words[:last], ", ") + " and " + words[last]
}
