package chart

import (
	"math"
	"slices"

	"ledgerwheel/domain/acoustic"
)

// roundBeat is a beat on the round.
type roundBeat struct {
	at float64 // of the turn, 0 to 1
	ms float64 // off the mean of its turn, late positive
}

// roundLayout places the chart's parts.
type roundLayout struct {
	BeatRound
	turn    float64        // beats of one turn
	slots   int            // pieces of the turn that have a median each
	used    [2][]roundBeat // by swing
	outside []roundBeat    // not used
	median  []float64      // of a slot; NaN where nothing was heard
	strokes [][2]float64   // from the 5th to the 95th of 100 of a slot, where beats are not drawn one by one
	reach   float64        // ms from the middle circle to rim and hub
	beyond  int            // of the beats used, how many lie further off
}

func (l *roundLayout) count() int { return len(l.used[0]) + len(l.used[1]) + len(l.outside) }

func (c BeatRound) layout() *roundLayout {
	l := &roundLayout{BeatRound: c, turn: float64(2 * c.Teeth), slots: 2 * c.Teeth}
	if c.Teeth == 0 {
		l.turn, l.slots = c.Result.BeatsPerHour/60, secondsOfTurn
	}
	if !(l.turn >= 1) || !finite(l.turn) {
		return l
	}
	l.place(shownBeats(c.Result.Beats, c.LastS))
	l.average()
	l.scale()
	return l
}

// shownBeats leaves the beats of the last seconds that can be drawn; the slice is its own.
func shownBeats(beats []acoustic.Beat, lastS float64) []acoustic.Beat {
	kept := slices.DeleteFunc(slices.Clone(beats), func(b acoustic.Beat) bool { return !finite(b.TimeS) || !finite(b.ResidualMs) })
	if n := len(kept); lastS > 0 && n > 0 {
		from := kept[n-1].TimeS - lastS
		kept = slices.DeleteFunc(kept, func(b acoustic.Beat) bool { return b.TimeS < from })
	}
	return kept
}

// place takes the mean of each turn, or of as many beats of a thinned recording, from its beats, so that a rate that
// wanders does not hide what the wheel repeats.
func (l *roundLayout) place(beats []acoustic.Beat) {
	each := max(int(math.Round(l.turn)), 8)
	for from := 0; from < len(beats); {
		to := from
		sum, n := 0.0, 0
		for ; to < len(beats) && n < each; to++ {
			if beats[to].Used {
				sum += beats[to].ResidualMs
				n++
			}
		}
		rest := 0
		for _, b := range beats[to:] {
			if b.Used {
				rest++
			}
			if rest >= each/2 {
				break
			}
		}
		if rest < each/2 { // too few for a mean of their own
			for ; to < len(beats); to++ {
				if beats[to].Used {
					sum += beats[to].ResidualMs
					n++
				}
			}
		}
		mean := 0.0
		if n > 0 {
			mean = sum / float64(n)
		}
		for _, b := range beats[from:to] {
			l.put(b, mean)
		}
		from = to
	}
}

func (l *roundLayout) put(b acoustic.Beat, mean float64) {
	at := math.Mod(float64(b.Number-l.From), l.turn) / l.turn
	if at < 0 {
		at++
	}
	p := roundBeat{at, b.ResidualMs - mean}
	if !b.Used {
		l.outside = append(l.outside, p)
		return
	}
	l.used[b.Swing()] = append(l.used[b.Swing()], p)
}

// slot is the piece of the turn that a beat falls into.
func (l *roundLayout) slot(p roundBeat) int {
	if l.Teeth > 0 {
		return int(math.Round(p.at*float64(l.slots))) % l.slots
	}
	return min(int(p.at*float64(l.slots)), l.slots-1)
}

// average takes the median of each slot, of the beats not used too where there are several: those of a bent tooth lie too
// far off to be used, and it is they that should show.
func (l *roundLayout) average() {
	by, all := make([][]float64, l.slots), make([][]float64, l.slots)
	for _, swing := range l.used {
		for _, p := range swing {
			by[l.slot(p)] = append(by[l.slot(p)], p.ms)
			all[l.slot(p)] = append(all[l.slot(p)], p.ms)
		}
	}
	for _, p := range l.outside {
		all[l.slot(p)] = append(all[l.slot(p)], p.ms)
	}
	many := l.manyBeats()
	l.median = make([]float64, l.slots)
	l.strokes = make([][2]float64, l.slots)
	for i, list := range by {
		l.median[i] = math.NaN()
		if len(all[i]) >= leastOfMedian {
			list = all[i]
		}
		if len(list) == 0 {
			continue
		}
		slices.Sort(list)
		l.median[i] = (list[(len(list)-1)/2] + list[len(list)/2]) / 2
		if many {
			l.strokes[i] = [2]float64{list[len(list)/20], list[(len(list)-1)*19/20]}
		}
	}
}

func (l *roundLayout) manyBeats() bool {
	return len(l.used[0]) > roundDots || len(l.used[1]) > roundDots
}

// scale takes the least of 1, 2 and 5 times a power of ten that holds what is drawn: 99 in 100 of single beats or the
// strokes, the medians and the band.
func (l *roundLayout) scale() {
	most := math.Max(leastRoundSpan, l.halfBandMs())
	var sizes []float64
	for _, swing := range l.used {
		for _, p := range swing {
			sizes = append(sizes, math.Abs(p.ms))
		}
	}
	slices.Sort(sizes)
	if n := len(sizes); n > 0 && !l.manyBeats() {
		most = math.Max(most, sizes[(n-1)*99/100])
	}
	for _, s := range l.strokes {
		most = math.Max(most, math.Max(-s[0], s[1]))
	}
	for _, m := range l.median {
		if !math.IsNaN(m) {
			most = math.Max(most, math.Abs(m))
		}
	}
	l.reach = niceStep(most)
	for _, size := range sizes {
		if size > l.reach && !l.manyBeats() {
			l.beyond++
		}
	}
}

// halfBandMs is what 95 % of single beats lie within, 0 where that is not known.
func (l *roundLayout) halfBandMs() float64 {
	if us := l.Result.BeatScatterUs; finite(us) && us > 0 {
		return 2 * us / 1000
	}
	return 0
}
