package acoustic

import (
	"math"
	"slices"

	"ledgerwheel/domain/metrology"
)

// keptBeats bounds the beats that are kept for the eye.
const keptBeats = 20000

// summary is what is kept of a closed piece.
type summary struct {
	startS, endS  float64
	first, last   int64   // numbers of the first and the last beat
	firstS, lastS float64 // their drops
	middle        float64 // a beat number
	middleS       float64 // when the balance passed then
	middleStdS    float64
	periodS       float64
	periodStdS    float64
	errorS        float64
	errorStdS     float64
	errorUnknown  bool
	liftS         float64 // 0: not heard
	liftStdS      float64
	beats         int
	scatterS      float64
	snrDB         float64
}

// gathered is what was heard in all pieces so far.
type gathered struct {
	settings     Settings
	rateHz       float64
	beatsPerHour float64 // of the first piece heard
	pieces       []summary
	beats        []keptBeat
	thin         int64 // one beat pair in so many is kept
	voices       [2]Voice
	voiceSNR     float64
	deaf         int     // pieces in which no watch was heard
	other        float64 // beats per hour of a second watch
	quartz       bool
	looped       int // pieces that repeat to the sample
	knocked      int
	channel      channel
	twins        int          // beats of pieces whose swings are hardly told apart
	manners      [manners]int // beats by how the escapement sounded
}

// channel is what was found of the way from the watch to here.
type channel struct {
	edgeHz                float64 // where the band ends; 0: beyond the watch's voice
	coded, echoes, narrow bool
	rides                 bool // the recorder rides the gain
}

// keptBeat is a beat as kept: its passage is fitted by piece, its residual against the whole is found at the end.
type keptBeat struct {
	number   int64
	dropS    float64
	passageS float64 // drop less half of the lift's departure from its mean
	liftS    float64
	wild     bool
}

func (g *gathered) copy() *gathered {
	c := *g
	c.pieces = slices.Clone(g.pieces)
	c.beats = slices.Clone(g.beats)
	return &c
}

// add takes a piece, if a watch was heard in it.
func (g *gathered) add(p piece, ok bool) {
	if !ok {
		g.deaf++
		return
	}
	if g.beatsPerHour == 0 {
		g.beatsPerHour = nominal(3600 / p.fit.periodS)
	}
	offset := g.number(&p)
	var first, last *heardBeat
	used := 0
	for i := range p.beats {
		b := &p.beats[i]
		if b.wild {
			continue
		}
		if first == nil {
			first = b
		}
		last = b
		used++
	}
	if used < 6 {
		g.deaf++
		return
	}
	middle := math.Round(float64(first.number+last.number) / 2)
	s := summary{
		startS: p.startS, endS: p.endS, first: first.number + offset, last: last.number + offset, firstS: first.drop,
		lastS:  last.drop,
		middle: middle + float64(offset), middleS: p.fit.startS + p.fit.periodS*middle,
		middleStdS: math.Hypot(p.fit.scatterS/math.Sqrt(float64(used)), p.phaseStdS),
		periodS:    p.fit.periodS, periodStdS: p.fit.periodStdS, errorS: p.fit.errorS, errorStdS: p.errorStdS,
		errorUnknown: p.errorUnknown,
		beats:        used, scatterS: p.fit.scatterS,
	}
	swap := offset&1 == 1
	if swap {
		s.errorS = -s.errorS
	}
	if p.liftTold() {
		s.liftS, s.liftStdS = p.liftS, p.liftStdS
	}
	peak := (p.heard.swings[0].peak + p.heard.swings[1].peak) / 2
	if p.heard.manner == inOneSwing {
		peak = p.heard.swings[Tick].peak
	}
	s.snrDB = 20 * math.Log10(math.Max(peak, 1e-12)/math.Max(p.rawNoise, 1e-12))
	g.pieces = append(g.pieces, s)
	g.keep(&p, offset)
	if len(g.pieces) == 1 || s.snrDB > g.voiceSNR {
		g.voiceSNR = s.snrDB
		for i := range g.voices {
			to := i
			if swap {
				to = 1 - i
			}
			g.voices[to] = p.heard.swings[i].voice(g.rateHz, p.liftTold())
		}
	}
	if c := p.heard.company; c.beatsPerHour > 0 {
		g.other = c.beatsPerHour
	}
	if p.heard.looped {
		g.looped++
	}
	g.channel = p.heard.channel
	g.manners[p.heard.manner] += used
	if p.heard.twins {
		g.twins += used
	}
	g.quartz = g.quartz || p.heard.company.quartz
	g.knocked += p.heard.swings[0].knocked + p.heard.swings[1].knocked
}

// number returns what has to be added to the piece's beat numbers so that they go on from those before. The first
// beat heard has number 0.
func (g *gathered) number(p *piece) int64 {
	firstNumber := int64(0)
	for _, b := range p.beats {
		if !b.wild {
			firstNumber = b.number
			break
		}
	}
	if len(g.pieces) == 0 {
		return -firstNumber
	}
	last := g.pieces[len(g.pieces)-1]
	period := (last.periodS + p.fit.periodS) / 2
	// Both by the line of passages, so that the beat error does not count.
	ahead := (p.fit.startS + p.fit.periodS*float64(firstNumber) - last.middleS) / period
	return int64(math.Round(last.middle+ahead)) - firstNumber
}

// keep keeps the beats of a piece for the eye, thinned when they are too many.
func (g *gathered) keep(p *piece, offset int64) {
	mean := liftOffsets(usedOf(p.beats))
	if g.thin == 0 {
		g.thin = 1
	}
	for i, b := range p.beats {
		n := b.number + offset
		if n/2%g.thin != 0 {
			continue
		}
		k := keptBeat{number: n, dropS: b.drop, passageS: b.drop, wild: b.wild}
		if i < len(p.fit.lifts) && !math.IsNaN(p.fit.lifts[i]) {
			k.passageS -= (p.fit.lifts[i] - mean[b.number&1]) / 2
		}
		if !math.IsNaN(b.lift) {
			k.liftS = b.lift
		}
		g.beats = append(g.beats, k)
	}
	if len(g.beats) > keptBeats {
		g.thin *= 2
		g.beats = slices.DeleteFunc(g.beats, func(k keptBeat) bool { return k.number/2%g.thin != 0 })
	}
}

func usedOf(beats []heardBeat) []heardBeat {
	var used []heardBeat
	for _, b := range beats {
		if !b.wild {
			used = append(used, b)
		}
	}
	return used
}

// period returns the period of a beat over all pieces, its standard uncertainty, and when the balance passed at beat
// 0: of one piece its own; of several, the line through the middles of the pieces by weighted least squares. Where they
// lie further from it than their uncertainties, the rate itself moved, and the uncertainty grows as much.
func (g *gathered) period() (periodS, stdS, startS float64) {
	if len(g.pieces) == 1 {
		s := g.pieces[0]
		return s.periodS, s.periodStdS, s.middleS - s.periodS*s.middle
	}
	base := g.pieces[0]
	var sw, sx, sy, sxx, sxy float64
	for _, s := range g.pieces {
		w := 1 / (s.middleStdS * s.middleStdS)
		x, y := s.middle-base.middle, s.middleS-base.middleS-base.periodS*(s.middle-base.middle)
		sw += w
		sx += w * x
		sy += w * y
		sxx += w * x * x
		sxy += w * x * y
	}
	d := sw*sxx - sx*sx
	slope := (sw*sxy - sx*sy) / d
	at := (sy - slope*sx) / sw
	var chi float64
	for _, s := range g.pieces {
		x, y := s.middle-base.middle, s.middleS-base.middleS-base.periodS*(s.middle-base.middle)
		r := (y - at - slope*x) / s.middleStdS
		chi += r * r
	}
	std := math.Sqrt(sw / d)
	if n := len(g.pieces); n > 2 {
		std *= math.Sqrt(math.Max(1, chi/float64(n-2)))
	}
	periodS = base.periodS + slope
	return periodS, std, base.middleS + at - periodS*base.middle
}

// rate returns the rate in s/d of a watch made for beatsPerHour whose beat lasts periodS by the recorder's clock: what
// its hands gain in a day of 86400 s, in which it makes 86400/P beats of 3600/bph seconds of its own each.
func (g *gathered) rate(periodS, stdS float64) (sPerDay, fitStd float64) {
	true_ := periodS / (1 + g.settings.Clock.PPM*1e-6)
	nominalS := 3600 / g.beatsPerHour
	return secondsPerDay * (nominalS/true_ - 1), secondsPerDay * nominalS / true_ * stdS / periodS
}

// clockStdSPerDay is the standard uncertainty that the recorder's clock gives every rate.
func (g *gathered) clockStdSPerDay() float64 { return g.settings.Clock.StdPPM * 1e-6 * secondsPerDay }

// amplitude returns the amplitude of a lift in degrees, nil when there is none. The relative uncertainty of the
// amplitude is that of the lift time but for the sine's curvature.
func (g *gathered) amplitude(liftS, stdS float64) *metrology.Value {
	if liftS <= 0 {
		return nil
	}
	liftS /= 1 + g.settings.Clock.PPM*1e-6
	a := amplitudeDeg(liftS, g.settings.LiftAngleDeg, g.beatsPerHour)
	x := math.Pi * g.beatsPerHour / 7200 * liftS
	return &metrology.Value{Value: a, StdUncertainty: a * stdS / liftS * x / math.Tan(x), Unit: "°"}
}

// result makes the figures.
func (g *gathered) result(f *front) (Result, error) {
	if len(g.pieces) == 0 {
		return Result{}, ErrNoWatch
	}
	if g.settings.BeatsPerHour != 0 {
		g.beatsPerHour = g.settings.BeatsPerHour
	}
	r := Result{
		BeatsPerHour: g.beatsPerHour, BeatsPerHourStated: g.settings.BeatsPerHour != 0, LiftAngleDeg: g.settings.LiftAngleDeg,
		Seconds: float64(f.samples) / g.rateHz, Voices: g.voices,
	}
	periodS, stdS, startS := g.period()
	rate, fitStd := g.rate(periodS, stdS)
	r.Rate = metrology.Value{Value: rate, StdUncertainty: math.Hypot(fitStd, g.clockStdSPerDay()), Unit: "s/d"}
	r.RateFitStdSPerDay = fitStd
	first, last := g.pieces[0], g.pieces[len(g.pieces)-1]
	r.StartS, r.EndS = first.firstS, last.lastS
	g.means(&r)
	r.SplitMs = g.split() * 1e3
	r.BeatsMissed = max(0, int(last.last-first.first)+1-r.BeatsUsed-g.manners[inOneSwing])
	g.residuals(&r, periodS, startS)
	for _, s := range g.pieces {
		r.Stretches = append(r.Stretches, g.stretch(s))
	}
	if g.thin == 1 {
		r.Wheel = wheelPattern(r.Beats)
	}
	r.Notes = g.notes(&r, f)
	return r, nil
}

// means averages beat error, lift, scatter and signal to noise over the pieces, by their beats.
func (g *gathered) means(r *Result) {
	var n, told, lifted, errorS, errorVar, liftS, liftVar, scatter, snr float64
	for _, s := range g.pieces {
		w := float64(s.beats)
		n += w
		if !s.errorUnknown {
			told += w
			errorS += w * s.errorS
			errorVar += w * w * s.errorStdS * s.errorStdS
		}
		scatter += w * s.scatterS * s.scatterS
		snr += w * s.snrDB
		if s.liftS > 0 {
			lifted += w
			liftS += w * s.liftS
			liftVar += w * w * s.liftStdS * s.liftStdS
		}
		r.BeatsUsed += s.beats
	}
	if told > n/2 {
		r.BeatError = beatError(errorS/told, math.Sqrt(errorVar)/told)
	}
	r.BeatScatterUs = math.Sqrt(scatter/n) * 1e6
	r.SNRdB = snr / n
	if lifted > n/2 {
		r.Amplitude = g.amplitude(liftS/lifted, math.Sqrt(liftVar)/lifted)
	}
}

func beatError(errorS, stdS float64) *metrology.Value {
	return &metrology.Value{Value: errorS * 1e3, StdUncertainty: stdS * 1e3, Unit: "ms"}
}

// residuals fills in the beats.
func (g *gathered) residuals(r *Result, periodS, startS float64) {
	half := r.SplitMs / 2 * 1e-3
	r.Beats = make([]Beat, len(g.beats))
	for i, k := range g.beats {
		sign := float64(2*(k.number&1) - 1)
		r.Beats[i] = Beat{
			TimeS: k.dropS, Number: k.number, LiftMs: k.liftS * 1e3, Used: !k.wild,
			ResidualMs: (k.passageS - startS - periodS*float64(k.number) - sign*half) * 1e3,
		}
	}
}

// split is the difference between the drops of tocks and of ticks, less the period, whatever sounds they are.
func (g *gathered) split() float64 {
	var sum, n float64
	for _, s := range g.pieces {
		sum += float64(s.beats) * s.errorS
		n += float64(s.beats)
	}
	return sum / n
}

func (g *gathered) stretch(s summary) Stretch {
	// Without the clock, which all stretches share.
	rate, std := g.rate(s.periodS, s.periodStdS)
	var split *metrology.Value
	if !s.errorUnknown {
		split = beatError(s.errorS, s.errorStdS)
	}
	return Stretch{
		StartS: s.firstS, EndS: s.lastS, Beats: s.beats,
		Rate:      metrology.Value{Value: rate, StdUncertainty: std, Unit: "s/d"},
		Amplitude: g.amplitude(s.liftS, s.liftStdS),
		BeatError: split,
	}
}
