package oscillator_test

import (
	"fmt"
	"math"
	"testing"

	"ledgerwheel/domain/oscillator"
)

// motion integrates φ″ = −φ − s·sin(φ + δ), the balance's equation of motion in units of its free angular frequency,
// from a turning point to the next but one by the classical Runge-Kutta method, and returns the period and the
// amplitude as half the swing from end to end. It shares nothing with the package.
func motion(s, delta, start float64) (period, amplitude float64) {
	const h = 2 * math.Pi / 4000
	force := func(x float64) float64 { return -x - s*math.Sin(x+delta) }
	step := func(x, v, h float64) (float64, float64) {
		k1, l1 := v, force(x)
		k2, l2 := v+h/2*l1, force(x+h/2*k1)
		k3, l3 := v+h/2*l2, force(x+h/2*k2)
		k4, l4 := v+h*l3, force(x+h*k3)
		return x + h/6*(k1+2*k2+2*k3+k4), v + h/6*(l1+2*l2+2*l3+l4)
	}
	x, v, t := start, 0.0, 0.0
	turned, least := false, 0.0
	for {
		nx, nv := step(x, v, h)
		if t > 0 && (v < 0) != (nv < 0) {
			low, high := 0.0, h
			for range 60 {
				mid := (low + high) / 2
				if _, mv := step(x, v, mid); (mv < 0) == (v < 0) {
					low = mid
				} else {
					high = mid
				}
			}
			end, _ := step(x, v, low)
			if turned {
				return t + low, (start - least) / 2
			}
			turned, least = true, end
		}
		x, v, t = nx, nv, t+h
	}
}

// TestClosedFormAgainstMotion holds the closed form to its stated order, 86400·S² s/d, over amplitudes, all twelve
// hours and two sizes; and the sign with it.
func TestClosedFormAgainstMotion(t *testing.T) {
	t.Parallel()
	worst := 0.0
	for _, s := range []float64{0.0005, 0.002, 0.006} {
		for amp := 120.0; amp <= 320; amp += 20 {
			for fromTop := 0.0; fromTop < 360; fromTop += 30 {
				period, swing := motion(s, math.Pi-fromTop*math.Pi/180, amp*math.Pi/180)
				want := 86400 * (2*math.Pi/period - 1)
				got := poiseRateSPerDay(s, fromTop, swing*180/math.Pi)
				off := math.Abs(got-want) / (86400 * s * s)
				worst = math.Max(worst, off)
				if off > 1 {
					t.Errorf("S %v, %v° from top, amplitude %v°: closed form %.4f, motion %.4f s/d", s, fromTop, amp, got, want)
				}
			}
		}
	}
	t.Logf("greatest error: %.3f of 86400·S²", worst)
}

// TestBeatAngleAgainstMotion swings about a point of rest off by β and times the passages of the line of centres.
func TestBeatAngleAgainstMotion(t *testing.T) {
	t.Parallel()
	for _, beta := range []float64{0.3, 1, 4} {
		for _, amp := range []float64{120, 220, 300} {
			t.Run(fmt.Sprint(beta, amp), func(t *testing.T) {
				t.Parallel()
				var at []float64 // passages of the line, in s
				const f, dt = 3.0, 1e-6
				pos := func(t float64) float64 { return beta + amp*math.Sin(2*math.Pi*f*t) }
				for x := 0.01; len(at) < 3; x += dt {
					if a, b := pos(x), pos(x+dt); (a < 0) != (b < 0) {
						at = append(at, x+dt*a/(a-b))
					}
				}
				e := math.Abs((at[1]-at[0])-(at[2]-at[1])) / 2 * 1000
				got, err := oscillator.BeatAngle(exact(amp), exact(e), 21600)
				if err != nil || math.Abs(got.Value-beta) > 1e-5 {
					t.Errorf("beat error %v ms: angle %v, %v; want %v", e, got.Value, err, beta)
				}
			})
		}
	}
}
