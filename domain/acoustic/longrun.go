package acoustic

import (
	"math"
	"slices"

	"ledgerwheel/domain/metrology"
)

// Run is what a long recording says of the watch as its mainspring lets down.
type Run struct {
	// Stopped says that the watch stopped in the recording; RanS is then how long it ran before, which is the power
	// reserve if it was fully wound as the recording began. Otherwise RanS is how long it was heard, still running.
	Stopped bool
	StopS   float64 // the last beat, from the start of the recording; 0 unless Stopped
	RanS    float64 // from the first beat to the last

	// RateTrend, AmplitudeTrend and BeatErrorTrend are the figures against hours from the start of the recording, nil
	// below three stretches: Slope is in the figure's unit per hour.
	RateTrend, AmplitudeTrend, BeatErrorTrend *Line
	// RateOnAmplitude is the rate against the amplitude in degrees: isochronism in the one position heard. Nil below
	// three stretches with an amplitude, or when their amplitudes don't differ by more than their uncertainty.
	RateOnAmplitude *Line

	// Stability is the overlapping Allan deviation of the rate as fractional frequency (rate/86400): at averaging
	// times below one stretch from the beats, from there on from the rates of the stretches, which are free of the
	// drop's shift with the amplitude. The instability of the recorder's clock is in it.
	Stability []metrology.Stability
}

// LongRun returns what stretches and the beats of their result say of a long recording. Stretches with a figure that
// is not finite are passed over.
func LongRun(stretches []Stretch, r Result) Run {
	run := Run{Stopped: isNoted(r.Notes, NoteStops), RanS: math.Max(0, r.EndS-r.StartS)}
	if run.Stopped {
		run.StopS = r.EndS
	}
	stretches = reckonable(stretches)
	run.RateTrend = fitTrend(stretches, func(s Stretch) *metrology.Value { return &s.Rate })
	run.AmplitudeTrend = fitTrend(stretches, func(s Stretch) *metrology.Value { return s.Amplitude })
	run.BeatErrorTrend = fitTrend(stretches, func(s Stretch) *metrology.Value { return s.BeatError })
	run.RateOnAmplitude = rateOnAmplitude(stretches)
	run.Stability = runStability(stretches, r)
	return run
}

func isNoted(notes []Note, code NoteCode) bool {
	return slices.ContainsFunc(notes, func(n Note) bool { return n.Code == code })
}

// reckonable returns the stretches whose figures can be reckoned with, in order of time.
func reckonable(stretches []Stretch) []Stretch {
	var out []Stretch
	for _, s := range stretches {
		if s.Rate.Check() == nil && (s.BeatError == nil || s.BeatError.Check() == nil) &&
			(s.Amplitude == nil || s.Amplitude.Check() == nil) &&
			s.EndS > s.StartS && !math.IsInf(s.EndS-s.StartS, 0) {
			out = append(out, s)
		}
	}
	slices.SortStableFunc(out, func(a, b Stretch) int {
		switch {
		case a.StartS < b.StartS:
			return -1
		case a.StartS > b.StartS:
			return 1
		}
		return 0
	})
	return out
}

// MiddleS is the middle of the stretch, in seconds from the start of the recording.
func (s Stretch) MiddleS() float64 { return (s.StartS + s.EndS) / 2 }

const (
	hourS = 3600.0
	dayS  = 86400.0
)

// fitTrend fits a figure against the hours; figure returns nil where a stretch has none.
func fitTrend(stretches []Stretch, figure func(Stretch) *metrology.Value) *Line {
	var points []linePoint
	for _, s := range stretches {
		if v := figure(s); v != nil {
			points = append(points, linePoint{x: s.MiddleS() / hourS, y: v.Value, yStd: v.StdUncertainty, unit: v.Unit})
		}
	}
	return fitLine(points)
}

func rateOnAmplitude(stretches []Stretch) *Line {
	var points []linePoint
	for _, s := range stretches {
		if s.Amplitude != nil {
			points = append(points, linePoint{x: s.Amplitude.Value, xStd: s.Amplitude.StdUncertainty,
				y: s.Rate.Value, yStd: s.Rate.StdUncertainty, unit: s.Rate.Unit})
		}
	}
	if !spreadBeyondErrors(points) {
		return nil
	}
	return fitLine(points)
}

// spreadBeyondErrors reports whether the x of the points vary at least twice as much as their errors alone would
// make them; below that a slope says more of the errors than of the watch.
func spreadBeyondErrors(points []linePoint) bool {
	mean, errors := 0.0, 0.0
	for i, p := range points {
		mean += (p.x - mean) / float64(i+1)
		errors += p.xStd * p.xStd
	}
	spread := 0.0
	for _, p := range points {
		spread += (p.x - mean) * (p.x - mean)
	}
	return spread > 0 && spread >= 4*errors
}

// Pair is the rate at an amplitude, for the isochronism of a watch.
type Pair struct {
	AtS             float64 // the middle of the time it is of, from the start of the recording
	Amplitude, Rate metrology.Value
	Beats           int
}

// IsochronismPairs gathers the stretches that have an amplitude into at most so many successive groups of like size
// and returns the mean amplitude and rate of each, weighted by the rate's certainty. The rate's uncertainty is never
// less than what the rates of the group scatter; a watch whose rate follows its amplitude along a line keeps that line.
// Each pair makes one reading of the position heard, at its own hours after winding.
func IsochronismPairs(stretches []Stretch, most int) []Pair {
	var having []Stretch
	for _, s := range reckonable(stretches) {
		if s.Amplitude != nil {
			having = append(having, s)
		}
	}
	groups := min(most, len(having))
	var pairs []Pair
	for i := range groups {
		pairs = append(pairs, pairOf(having[i*len(having)/groups:(i+1)*len(having)/groups]))
	}
	return pairs
}

// pairOf averages a group of stretches. Every weight is of the rate alone, so that rate and amplitude are means over
// the same times.
func pairOf(group []Stretch) Pair {
	least, exact := leastStd(len(group), func(i int) float64 { return group[i].Rate.StdUncertainty })
	p := Pair{Amplitude: metrology.Value{Unit: group[0].Amplitude.Unit}, Rate: metrology.Value{Unit: group[0].Rate.Unit}}
	sum, amplitudeVariance := 0.0, 0.0
	for _, s := range group {
		w := 1 / math.Pow(math.Max(s.Rate.StdUncertainty, least), 2)
		sum += w
		p.AtS += w * s.MiddleS()
		p.Rate.Value += w * s.Rate.Value
		p.Amplitude.Value += w * s.Amplitude.Value
		amplitudeVariance += w * w * s.Amplitude.StdUncertainty * s.Amplitude.StdUncertainty
		p.Beats += s.Beats
	}
	p.AtS, p.Rate.Value, p.Amplitude.Value = p.AtS/sum, p.Rate.Value/sum, p.Amplitude.Value/sum
	p.Amplitude.StdUncertainty = math.Sqrt(amplitudeVariance) / sum
	p.Rate.StdUncertainty = 1 / math.Sqrt(sum)
	if exact {
		p.Rate.StdUncertainty = 0
	}
	if n := float64(len(group)); n > 2 {
		p.Rate.StdUncertainty = math.Max(p.Rate.StdUncertainty, groupScatter(group)/math.Sqrt(n))
	}
	return p
}

// groupScatter is the standard deviation of the rates about their straight course through the group.
func groupScatter(group []Stretch) float64 {
	var points []linePoint
	for i, s := range group {
		points = append(points, linePoint{x: float64(i), y: s.Rate.Value, yStd: 1})
	}
	line := fitLine(points)
	if line == nil {
		return 0
	}
	return math.Sqrt(line.residualSquare)
}

// runStability joins the Allan deviation of the beats with that of the stretches.
func runStability(stretches []Stretch, r Result) []metrology.Stability {
	long, tauS := stretchInstability(stretches)
	var curve []metrology.Stability
	for _, p := range beatInstability(r) {
		if len(long) == 0 || p.TauS < tauS*(1-1e-9) {
			curve = append(curve, p)
		}
	}
	return append(curve, long...)
}

// stretchInstability lays the rates of stretches of one length on an even grid; what is missing stays a gap, and a
// stretch of another length, as the last one may be, is left out. Simplified: a stretch's rate is a regression, which
// weighs the middle of the stretch more than a mean would.
func stretchInstability(stretches []Stretch) (curve []metrology.Stability, tauS float64) {
	if len(stretches) == 0 {
		return nil, 0
	}
	var lengths []float64
	for _, s := range stretches {
		lengths = append(lengths, s.EndS-s.StartS)
	}
	slices.Sort(lengths)
	tauS = lengths[len(lengths)/2]
	first := stretches[0].StartS
	slots := math.Round((stretches[len(stretches)-1].StartS-first)/tauS) + 1
	if slots > maxGaps*float64(len(stretches)) {
		return nil, tauS
	}
	frequencies := make([]float64, int(slots))
	for i := range frequencies {
		frequencies[i] = math.NaN()
	}
	for _, s := range stretches {
		if math.Abs(s.EndS-s.StartS-tauS) < tauS/20 {
			frequencies[int(math.Round((s.StartS-first)/tauS))] = s.Rate.Value / dayS
		}
	}
	series, err := metrology.FrequencySeries(frequencies, tauS)
	if err != nil {
		return nil, tauS // too few
	}
	return series.Curve(metrology.OverlappingAllan), tauS
}

// maxGaps is how many times as long as its figures a grid may be: beyond it, it is mostly gaps.
const maxGaps = 8

// beatInstability takes the mean time of the two beats of each oscillation as phase, so that the beat error cancels.
// Beats not used, and oscillations that lack one, are gaps.
func beatInstability(r Result) []metrology.Stability {
	if len(r.Beats) == 0 || !(r.BeatsPerHour > 0) {
		return nil
	}
	count := r.Beats[len(r.Beats)-1].Number/2 + 1
	if count < 4 || float64(count) > maxGaps*float64(len(r.Beats)) {
		return nil
	}
	beatS := hourS / r.BeatsPerHour
	phases := make([]float64, count)
	halves := make([]uint8, count)
	for _, b := range r.Beats {
		i := b.Number / 2
		if !b.Used || b.Number < 0 || i >= count || math.IsNaN(b.TimeS) || math.IsInf(b.TimeS, 0) {
			continue
		}
		phases[i] += (float64(b.Number)*beatS - b.TimeS) / 2 // early is ahead
		halves[i] |= 1 << b.Swing()
	}
	for i := range phases {
		if halves[i] != 3 {
			phases[i] = math.NaN()
		}
	}
	series, err := metrology.PhaseSeries(phases, 2*beatS)
	if err != nil {
		return nil
	}
	return series.Curve(metrology.OverlappingAllan)
}
