package acoustic

import (
	"math"
	"slices"
)

// piece is what a block contributes to the figures: its beats fitted, in seconds from the start of the recording.
type piece struct {
	startS, endS float64 // of the sound
	beats        []heardBeat
	fit          fitted
	liftFound    bool
	liftS        float64 // mean
	liftStdS     float64 // of the mean, with the onsets'
	errorStdS    float64 // of the beat error, with the onsets'
	errorUnknown bool    // it cannot be told
	phaseStdS    float64
	rawNoise     float64
	heard        heardBlock
}

// liftTold reports whether the lift found is that of a lever, from which an amplitude follows.
func (p *piece) liftTold() bool {
	return p.liftFound && !p.heard.liftDoubted && p.heard.manner == asLever
}

// beatsOf joins the beats of the two swings in order of time, in seconds from the block's start.
func (h *heardBlock) beatsOf(rateHz float64) []heardBeat {
	var beats []heardBeat
	for i := range h.swings {
		s := &h.swings[i]
		for k, n := range s.beats {
			if s.loud[k] <= 0 {
				continue
			}
			b := heardBeat{number: int64(n), drop: s.drop[k] / rateHz, lift: math.NaN(), loud: s.loud[k], wild: !s.heard[k]}
			if s.lift != nil && s.lift[k] > 0 && !h.liftFixed {
				b.lift = s.lift[k] / rateHz
			}
			beats = append(beats, b)
		}
	}
	slices.SortFunc(beats, func(a, b heardBeat) int { return int(a.number - b.number) })
	return beats
}

// Onsets are found in averaged sound as it rises out of the noise, a little after they begin. How much later depends on
// the voice, and differs between two sounds by half a sample or so, more when they rise slowly or are weak: counted on
// simulated watches of many voices.
const (
	onsetStdS = 13e-6
	riseTimes = 2.5 // of the width of the onset's likelihood
	// weakOnsetS is what an onset that hardly stands out, with a log-likelihood ratio of weakRatio, is uncertain by.
	weakOnsetS = 0.4e-3
	weakRatio  = 20.0
	// murkyStdS is what a codec or echoes move an onset by, differently for every sound.
	murkyStdS = 0.05e-3
	// unsureErrorS is the uncertainty of the beat error from which, under a codec or echoes, the drop may be another sound;
	// noErrorS that from which a beat error says nothing.
	unsureErrorS = 0.27e-3
	noErrorS     = 0.3e-3
)

// onsetStd returns the standard uncertainty, in seconds, of the place of an onset.
func onsetStd(p place, rateHz float64) float64 {
	width := math.Sqrt(math.Max(0, p.std*p.std-1.0/12)) / rateHz
	return math.Hypot(math.Hypot(onsetStdS, riseTimes*width), weakOnsetS*math.Pow(weakRatio/math.Max(p.ratio, weakRatio), 0.75))
}

// fit turns what was heard in a block into a piece.
func (b *block) fit(h heardBlock, liftAngleDeg float64) (piece, bool) {
	p := piece{heard: h, beats: h.beatsOf(b.rateHz), liftFound: h.liftFound}
	s := &h.swings
	dropNoiseS := math.Hypot(s[0].dropNoise, s[1].dropNoise) / math.Sqrt2 / b.rateHz
	unlockNoiseS := math.Hypot(s[0].unlockNoise, s[1].unlockNoise) / math.Sqrt2 / b.rateHz
	if h.manner == inOneSwing {
		dropNoiseS = s[Tick].dropNoise / b.rateHz
	}
	markWild(p.beats)
	if h.manner == inOneSwing && !p.even() {
		return piece{}, false
	}
	fit, ok := fitBeats(p.beats, dropNoiseS, unlockNoiseS)
	if !ok {
		return piece{}, false
	}
	p.fit = fit
	var drop, unlock [2]float64
	for i := range s {
		drop[i] = onsetStd(s[i].dropOnset, b.rateHz)
		unlock[i] = onsetStd(s[i].unlocking, b.rateHz)
		if h.murky {
			drop[i], unlock[i] = math.Hypot(drop[i], murkyStdS), math.Hypot(unlock[i], murkyStdS)
		}
	}
	if h.manner == inOneSwing {
		drop[Tock] = drop[Tick]
	}
	p.phaseStdS = math.Hypot(drop[0], drop[1]) / 2
	p.errorStdS = math.Sqrt(drop[0]*drop[0] + drop[1]*drop[1] + fit.errorStdS*fit.errorStdS)
	p.errorUnknown = h.channel.narrow || h.manner != asLever || p.errorStdS > noErrorS || h.murky && p.errorStdS > unsureErrorS
	if h.murky && p.errorUnknown {
		p.liftFound = false
	}
	if p.liftFound {
		p.liftS = h.meanLiftS(b.rateHz)
		var onsets, weights float64
		for i := range s {
			w := s[i].liftWeight() // as in meanLiftS
			onsets += w * w * (drop[i]*drop[i] + unlock[i]*unlock[i])
			weights += w
		}
		p.liftStdS = math.Hypot(math.Sqrt(onsets)/weights, fit.liftStdS)
		// The weaker the unlockings, the more of a drift may have gone unseen.
		ratio := s[0].unlocking.ratio + s[1].unlocking.ratio
		weak := weakRatio
		if b.wallHz > 0 {
			weak *= 4 // a slip of a whole cycle is likelier the narrower the band
		}
		unseen := math.Min(1, math.Sqrt(weak/math.Max(ratio, 1)))
		if h.liftFixed {
			unseen = 1
		}
		p.fit.periodStdS = math.Hypot(p.fit.periodStdS, unseen*unseenDrift(p, liftAngleDeg))
	} else {
		p.fit.periodStdS = math.Hypot(p.fit.periodStdS, unseenDrift(p, liftAngleDeg))
	}
	return p, true
}

// unseenDriftDeg is what the amplitude may drift in the course of a recording without being seen, as a standard
// deviation: common practice, a watch on the bench breathes by a few degrees.
const unseenDriftDeg = 2.6

// unseenDrift returns the standard uncertainty of the period by a drift of the lift that could not be heard.
func unseenDrift(p piece, liftAngleDeg float64) float64 {
	if len(p.beats) < 2 {
		return 0
	}
	bph := 3600 / p.fit.periodS
	perDeg := liftTimeS(usualAmplitudeDeg-0.5, liftAngleDeg, bph) - liftTimeS(usualAmplitudeDeg+0.5, liftAngleDeg, bph)
	beats := float64(p.beats[len(p.beats)-1].number - p.beats[0].number)
	return unseenDriftDeg * perDeg / 2 / math.Max(1, beats)
}

// markWild leaves beats out that lie far from the line and their neighbours: knocks, and cycles slipped.
func markWild(beats []heardBeat) {
	var used []heardBeat
	for _, b := range beats {
		if !b.wild {
			used = append(used, b)
		}
	}
	if len(used) < 6 {
		return
	}
	l, _ := robustLine(used, func(b heardBeat) float64 { return b.drop })
	lags, use := make([]float64, len(beats)), make([]bool, len(beats))
	for i, b := range beats {
		lags[i], use[i] = b.drop-l.at(b), !b.wild
	}
	smooth := smoothLags(lags, use)
	off := make([]float64, 0, len(beats))
	for i := range beats {
		if use[i] {
			off = append(off, lags[i]-smooth[i])
		}
	}
	bound := math.Max(4.5*spread(off), 20e-6)
	for i := range beats {
		if math.Abs(lags[i]-smooth[i]) > bound {
			beats[i].wild = true
		}
	}
}
