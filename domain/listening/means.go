package listening

import (
	"math"

	"ledgerwheel/domain/acoustic"
	"ledgerwheel/domain/metrology"
)

// MeanS is the length of the means that are shown while listening, seconds.
const MeanS = 10

// meanLengths are the lengths of means, seconds, from which the shortest is taken that makes few enough.
var meanLengths = []float64{MeanS, 30, 60, 300, 600, 1800, 3600, 4 * 3600}

// leastOfMean are the fewest beats of each swing that a mean is made of.
const leastOfMean = 6

// Mean is a watch's figures in one short piece of time.
type Mean struct {
	FromS, ToS float64 // from the start of the sound
	// Each is stated against the other pieces: the clock, the lift angle and where the listener hears the unlocking begin,
	// which all share, are left to the figures of the whole.
	Rate      metrology.Value
	Amplitude *metrology.Value
	BeatError *metrology.Value // signed as in acoustic.Result
	Beats     int
}

// Means returns the figures of successive whole pieces of what was heard, at most so many of them, all of one length;
// the last piece, which is not whole yet, is left out, and so are pieces with hardly a beat.
func Means(r acoustic.Result, most int) []Mean {
	length := meanLengths[len(meanLengths)-1]
	for _, l := range meanLengths {
		if r.Seconds/l < float64(most)+1 {
			length = l
			break
		}
	}
	return MeansOf(r, length)
}

// MeansOf returns the figures of successive whole pieces of lengthS seconds of what was heard.
func MeansOf(r acoustic.Result, lengthS float64) []Mean {
	var out []Mean
	lifts := meanLifts(r.Beats)
	for i := 0; i < len(r.Beats); {
		piece := math.Floor(r.Beats[i].TimeS / lengthS)
		from := i
		for i < len(r.Beats) && r.Beats[i].TimeS < (piece+1)*lengthS {
			i++
		}
		if (piece+1)*lengthS > r.Seconds {
			break
		}
		if m, ok := meanOf(r, r.Beats[from:i], lifts); ok {
			m.FromS, m.ToS = piece*lengthS, (piece+1)*lengthS
			out = append(out, m)
		}
	}
	return out
}

// meanOf takes the figures of a piece. The rate is that of a line through the instants at which the balance passed,
// drop less half the lift, since residuals already have the listener's idea of how the lift walked in them. The beat
// error differs from the whole's by the difference of the swings' residuals; the amplitude as the mean lift time does.
func meanOf(r acoustic.Result, beats []acoustic.Beat, whole [2]average) (Mean, bool) {
	lifts := meanLifts(beats)
	periodMs := 3.6e6 / r.BeatsPerHour / (1 + r.Rate.Value/86400)
	passages, ok := fitLine(beats, func(b acoustic.Beat) float64 {
		lift := b.LiftMs
		if lift <= 0 {
			lift = lifts[b.Swing()].mean
		}
		return 1e3*(b.TimeS-beats[0].TimeS) - periodMs*float64(b.Number-beats[0].Number) - lift/2
	})
	if !ok {
		return Mean{}, false
	}
	m := Mean{Beats: passages.n}
	m.Rate = metrology.Value{Value: (86400+r.Rate.Value)/(1+passages.slope/periodMs) - 86400, Unit: r.Rate.Unit,
		StdUncertainty: 86400 * passages.slopeStd / periodMs}
	residuals, _ := fitLine(beats, func(b acoustic.Beat) float64 { return b.ResidualMs })
	if e := r.BeatError; e != nil {
		m.BeatError = &metrology.Value{Value: e.Value + residuals.level[1] - residuals.level[0], Unit: e.Unit,
			StdUncertainty: math.Hypot(e.StdUncertainty, residuals.differenceStd)}
	}
	m.Amplitude = amplitudeOf(r, lifts, whole)
	return m, true
}

// line is a line in ms against the beat's number, of one slope and a level for each swing.
type line struct {
	slope, slopeStd float64 // ms a beat
	level           [2]float64
	differenceStd   float64
	n               int
}

// fitLine fits a line to what is measured of the beats used. Its noise need not be independent from beat to beat.
func fitLine(beats []acoustic.Beat, measured func(acoustic.Beat) float64) (l line, ok bool) {
	type point struct {
		swing acoustic.Swing
		x, y  float64
	}
	var points []point
	var count, x, y [2]float64
	for _, b := range beats {
		if b.Used {
			p := point{b.Swing(), float64(b.Number - beats[0].Number), measured(b)}
			points = append(points, p)
			count[p.swing]++
			x[p.swing] += p.x
			y[p.swing] += p.y
		}
	}
	if count[0] < leastOfMean || count[1] < leastOfMean {
		return l, false
	}
	for s := range count {
		x[s], y[s] = x[s]/count[s], y[s]/count[s]
	}
	var sxx, sxy, syy float64
	for i, p := range points {
		p.x, p.y = p.x-x[p.swing], p.y-y[p.swing]
		points[i] = p
		sxx, sxy, syy = sxx+p.x*p.x, sxy+p.x*p.y, syy+p.y*p.y
	}
	l.n = len(points)
	l.slope = sxy / sxx
	variance := math.Max(0, syy-sxy*sxy/sxx) / float64(l.n-3)
	scores := make([]float64, l.n)
	for i, p := range points {
		scores[i] = p.x * (p.y - l.slope*p.x)
	}
	kin := min(kinBeats, l.n/3)
	l.slopeStd = math.Sqrt(math.Max(variance/sxx, together(scores, kin)/(sxx*sxx)) * float64(l.n) / float64(l.n-kin))
	middle := (x[0]*count[0] + x[1]*count[1]) / float64(l.n)
	for s := range l.level {
		l.level[s] = y[s] - l.slope*(x[s]-middle)
	}
	l.differenceStd = math.Sqrt(variance * (1/count[0] + 1/count[1]))
	return l, true
}

// kinBeats is over how many beats what is measured is alike: the listener follows the lift from beat to beat, and a
// watch's rate wanders.
const kinBeats = 12

// together is the variance of the sum of scores that are not independent over a number of lags: Newey and West, A Simple,
// Positive Semi-definite, Heteroskedasticity and Autocorrelation Consistent Covariance Matrix, Econometrica 55 (1987),
// 703–708.
func together(scores []float64, lags int) float64 {
	sum := 0.0
	for lag := range lags + 1 {
		weight := 2 * (1 - float64(lag)/float64(lags+1))
		if lag == 0 {
			weight = 1
		}
		for i := lag; i < len(scores); i++ {
			sum += weight * scores[i] * scores[i-lag]
		}
	}
	return math.Max(0, sum)
}

// average is a mean with its standard uncertainty by the scatter alone.
type average struct {
	mean, std float64
	n         int
}

// meanLifts are the mean times from unlocking to drop of each swing, ms.
func meanLifts(beats []acoustic.Beat) (out [2]average) {
	var sum, square [2]float64
	for _, b := range beats {
		if b.Used && b.LiftMs > 0 {
			s := b.Swing()
			out[s].n++
			sum[s] += b.LiftMs
			square[s] += b.LiftMs * b.LiftMs
		}
	}
	for s := range out {
		if n := float64(out[s].n); n > 1 {
			out[s].mean = sum[s] / n
			out[s].std = math.Sqrt(math.Max(0, square[s]/n-out[s].mean*out[s].mean) / (n - 1))
		}
	}
	return out
}

// kinLifts is how many times greater the variance of a mean of lifts is than that of independent ones: counted.
const kinLifts = 9

// amplitudeOf moves the whole's amplitude by what the lifts of a piece differ by from the whole's: with
// A = (lift/2)/sin(x), x = π f t, dA = −A cot(x) dx = −A (x/tan x) dt/t.
func amplitudeOf(r acoustic.Result, piece, whole [2]average) *metrology.Value {
	if r.Amplitude == nil {
		return nil
	}
	var moved, variance, lift float64
	for s := range piece {
		if piece[s].n < leastOfMean {
			return nil
		}
		moved += (piece[s].mean - whole[s].mean) / 2
		variance += piece[s].std * piece[s].std / 4
		lift += whole[s].mean / 2
	}
	x := math.Asin(math.Min(1, r.LiftAngleDeg/2/r.Amplitude.Value))
	share := x / math.Tan(x) / lift
	return &metrology.Value{Value: r.Amplitude.Value * (1 - share*moved), Unit: r.Amplitude.Unit,
		StdUncertainty: math.Hypot(r.Amplitude.StdUncertainty, r.Amplitude.Value*share*math.Sqrt(kinLifts*variance))}
}
