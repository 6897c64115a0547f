package simulate

import (
	"math"
	"math/rand/v2"
)

// pinkPoles are one-pole filters, each with its share, whose sum falls by 3 dB an octave to within a
// decibel over the audible band at the usual sample rates (P. Kellet's well-known set, from memory).
var pinkPoles = [...]struct{ pole, share float64 }{
	{0.99886, 0.0555179}, {0.99332, 0.0750759}, {0.96900, 0.1538520},
	{0.86650, 0.3104856}, {0.55000, 0.5329522}, {-0.7616, -0.0168980},
}

const pinkDirect = 0.5362

// pinkRMS is the rms of that filter's output for white noise of unit rms: the energy of its response to one sample.
var pinkRMS = func() float64 {
	var state [len(pinkPoles)]float64
	energy := 0.0
	for i := range 20000 {
		x := 0.0
		if i == 0 {
			x = 1
		}
		y := x * pinkDirect
		for k, p := range pinkPoles {
			state[k] = p.pole*state[k] + p.share*x
			y += state[k]
		}
		energy += y * y
	}
	return math.Sqrt(energy)
}()

const rumbleHz = 150

// noise is the room's: white, pink and rumbling in the wanted shares of its power.
type noise struct {
	rng                 *rand.Rand
	white, pink, rumble float64 // heights
	state               [len(pinkPoles)]float64
	rumbleKeep, low     float64
}

func newNoise(room Room, rms, rateHz float64, rng *rand.Rand) *noise {
	pink := max(0, min(1, room.PinkShare))
	rumble := max(0, min(1-pink, room.RumbleShare))
	n := &noise{rng: rng}
	n.white = rms * math.Sqrt(max(0, 1-pink-rumble))
	n.pink = rms * math.Sqrt(pink) / pinkRMS
	n.rumbleKeep = math.Exp(-2 * math.Pi * rumbleHz / rateHz)
	n.rumble = rms * math.Sqrt(rumble*(1-n.rumbleKeep*n.rumbleKeep))
	return n
}

func (n *noise) add(block []float64) {
	if n.white > 0 {
		for i := range block {
			block[i] += n.white * n.rng.NormFloat64()
		}
	}
	if n.pink > 0 {
		for i := range block {
			x := n.pink * n.rng.NormFloat64()
			y := x * pinkDirect
			for k := range pinkPoles {
				n.state[k] = pinkPoles[k].pole*n.state[k] + pinkPoles[k].share*x
				y += n.state[k]
			}
			block[i] += y
		}
	}
	if n.rumble > 0 {
		for i := range block {
			n.low = n.rumbleKeep*n.low + n.rumble*n.rng.NormFloat64()
			block[i] += n.low
		}
	}
}

// hum is the mains'.
type hum struct {
	hz, height, phase []float64
	rateHz            float64
}

// newHum makes the hum ready; height is that of the fundamental.
func newHum(h *Hum, height, rateHz float64, rng *rand.Rand) *hum {
	made := &hum{rateHz: rateHz}
	if h == nil {
		return made
	}
	for k := 1; k <= max(1, h.Harmonics); k++ {
		hz := h.Hz * float64(k)
		if hz > bandShare*rateHz {
			break
		}
		made.hz = append(made.hz, hz)
		made.height = append(made.height, height*math.Pow(float64(k), -h.Fall))
		made.phase = append(made.phase, 2*math.Pi*rng.Float64())
	}
	return made
}

// add adds the hum to the block that begins with sample number first. The phase is found anew for each block, so that
// nothing adds up over a day.
func (h *hum) add(block []float64, first int64) {
	for k, hz := range h.hz {
		step := 2 * math.Pi * hz / h.rateHz
		cycles := hz * float64(first) / h.rateHz
		angle := 2*math.Pi*(cycles-math.Floor(cycles)) + h.phase[k]
		y1, y2 := h.height[k]*math.Sin(angle), h.height[k]*math.Sin(angle-step)
		c1 := 2 * math.Cos(step)
		for i := range block {
			block[i] += y1
			y1, y2 = c1*y1-y2, y1
		}
	}
}
