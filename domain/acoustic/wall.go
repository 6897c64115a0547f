package acoustic

import "math"

// A codec or a recorder of low rate ends the band like a wall. The sharper the wall, the longer everything rings at
// its frequency, before a sound as well as after it: onsets seem earlier than they are, loud ones more than soft ones.
// Where the wall lies within the watch's voice the sound is passed through a gentle filter below it, which is causal
// and so lets nothing sound before its beginning.
const (
	// wallBelowHz is the frequency below which a wall matters.
	wallBelowHz = 17000
	// wallDB is the fall that makes a wall, within wallShare of its frequency.
	wallDB    = 18
	wallShare = 0.12
	// narrowHz is the end of a band in which the three sounds of a beat can't be told apart: most of the resonances of a
	// movement lie above it, and the loudest sound left need not be the drop. Counted at 3.4 kHz.
	narrowHz = 5000
	// wallFrame is the length of the spectra, in samples.
	wallFrame = 1024
	// belowWall is the gentle filter's frequency over the wall's.
	belowWall = 0.6
)

// wall returns the frequency at which the sound ends, 0 if it goes on to where a good recorder's does, and whether it
// ends well below what the sampling rate allows: that is a codec's work. A few frames tell where there is none.
func (b *block) wall() (hz float64, coded bool) {
	const few, many = 16, 128
	if hz, _ = b.ends(few, wallDB/2); hz > 0 {
		var holes float64
		if hz, holes = b.ends(many, wallDB); hz >= wallBelowHz+2000 && holes < codecHoles {
			hz = 0 // resampled once, or hardly compressed
		}
	}
	if hz > 0 {
		return hz, true
	}
	if nyquist := b.rateHz / 2; nyquist < wallBelowHz {
		return 0.95 * nyquist, false
	}
	return 0, false
}

// codecHoles is the share of what lies just below a wall that is a hundredth of what is usual, or less: of noise it is
// 0.7 %, of what a codec has left out of the top of its band several.
const codecHoles = 0.02

// ends returns the frequency at which the usual spectrum of some frames falls by fallDB, 0 where it does not, and the
// share of holes just below it.
func (b *block) ends(frames int, fallDB float64) (hz, holes float64) {
	power, left := b.usualSpectrum(frames)
	if power == nil {
		return 0, 0
	}
	perHz := float64(wallFrame) / b.rateHz
	top := int(openBand * float64(len(power)-1))
	loudestAbove := power[top]
	for i := top - 1; float64(i)/perHz > 2*highPassHz; i-- {
		from := int(float64(i) * (1 - wallShare))
		if 10*math.Log10(mean(power[from:max(from+1, i-2)])/math.Max(loudestAbove, 1e-30)) > fallDB {
			b.edgeHz = float64(edge(power, from, i)) / perHz
			return float64(i) / perHz, mean(left[from:max(from+1, i-2)])
		}
		loudestAbove = math.Max(loudestAbove, power[i])
	}
	return 0, 0
}

// edge returns the last line of a wall between two lines that is not far below the band's power.
func edge(power []float64, from, to int) int {
	for to > from && power[to] < power[from]/10 {
		to--
	}
	return to
}

// openBand is the share of half the sampling rate up to which a recorder's band reaches at least: its own filter ends
// there.
const openBand = 0.9

func mean(x []float64) float64 {
	sum := 0.0
	for _, v := range x {
		sum += v
	}
	return sum / float64(len(x))
}

// usualSpectrum returns the median power of the sound by line, of most frames or a few more, in a Hann window: a codec
// opens the band now and then. Beside it the share of holes by line.
func (b *block) usualSpectrum(most int) (power, holes []float64) {
	frames := len(b.y) / wallFrame
	if frames == 0 {
		return nil, nil
	}
	plan := plans.take(wallFrame)
	defer plans.give(plan)
	step := max(1, frames/most)
	each := (frames + step - 1) / step
	powers := make([]float64, len(plan.coefficients)*each) // by line, then by frame
	for f := range each {
		y := b.y[f*step*wallFrame:][:wallFrame]
		for i, v := range y {
			plan.padded[i] = float64(v) * hann[i]
		}
		for i, v := range plan.fft.Coefficients(plan.coefficients, plan.padded) {
			powers[i*each+f] = real(v)*real(v) + imag(v)*imag(v)
		}
	}
	power, holes = make([]float64, len(plan.coefficients)), make([]float64, len(plan.coefficients))
	for i := range power {
		line := powers[i*each : (i+1)*each]
		power[i] = median(line)
		for _, v := range line {
			if v < power[i]/100 {
				holes[i] += 1 / float64(each)
			}
		}
	}
	return power, holes
}

// hann is the window of a frame.
var hann = func() (w [wallFrame]float64) {
	for i := range w {
		w[i] = 0.5 - 0.5*math.Cos(2*math.Pi*float64(i)/wallFrame)
	}
	return w
}()

// soften passes the sound through the gentle filter below a wall.
func (b *block) soften(wallHz float64) {
	p, q := lowPass(belowWall*wallHz, butterworth4[0], b.rateHz), lowPass(belowWall*wallHz, butterworth4[1], b.rateHz)
	y := make([]float32, len(b.y))
	for i, v := range b.y {
		y[i] = float32(q.step(p.step(float64(v))))
	}
	b.y = y
	b.bins = binEnergies(y, int(math.Round(b.rateHz/b.binHz)), len(b.bins))
}
