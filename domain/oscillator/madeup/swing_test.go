package madeup

import (
	"math"
	"math/cmplx"
	"testing"
)

// firstOrderPoise is the textbook's rate of a heavy spot (the first-order term, after Phillips): it vanishes at the
// first zero of J1, 219.5°.
func firstOrderPoise(heavy, up, amplitude float64) float64 {
	return -secondsPerDay * heavy * math.Cos(up) * math.J1(amplitude) / amplitude
}

func TestPeriodOfAHeavySpotIsTheFirstOrderTermWhereItIsSmall(t *testing.T) {
	t.Parallel()
	for _, deg := range []float64{100, 150, 180, 210, 219.5, 240, 270, 300, 330} {
		for _, up := range []float64{0, 45, 90, 135, 180, 270} {
			s := swing{heavy: 50 * ppm, heavyUp: up * rad}
			want := firstOrderPoise(s.heavy, s.heavyUp, deg*rad)
			if got := s.rateSPerDay(deg); math.Abs(got-want) > 2e-3 {
				t.Errorf("at %g°, spot %g° from up: %.5f s/d, first order %.5f", deg, up, got, want)
			}
		}
	}
	low := swing{heavy: 1000 * ppm, heavyUp: math.Pi}
	if low.rateSPerDay(180) <= 0 || low.rateSPerDay(260) >= 0 {
		t.Error("a spot at the bottom must gain below 220° and lose above")
	}
}

// TestPeriodOfThePendulum: a pendulum's period is 4·K(sin(A/2)) = 2π/AGM(1, cos(A/2)) (Gauss).
func TestPeriodOfThePendulum(t *testing.T) {
	t.Parallel()
	for _, deg := range []float64{1, 30, 90, 120, 150} {
		a, b := 1.0, math.Cos(deg*rad/2)
		for range 30 {
			a, b = (a+b)/2, math.Sqrt(a*b)
		}
		want := 2 * math.Pi / a
		got := period(func(x float64) float64 { return -math.Cos(x) }, deg*rad, 128)
		if math.Abs(got/want-1) > 1e-10 {
			t.Errorf("at %g°: %.12f, elliptic integral %.12f", deg, got, want)
		}
	}
}

// TestPeriodByMarching holds the quadrature against the equation of motion marched in small steps of time.
func TestPeriodByMarching(t *testing.T) {
	t.Parallel()
	for _, s := range []swing{
		{heavy: 5000 * ppm, heavyUp: 2.5, quartic: 3e-5},
		{spring: 3e-4, springUp: 1, shape: ElasticCoils.shape(1)},
		{heavy: 2000 * ppm, heavyUp: 0.3, spring: 2e-4, springUp: 4, shape: TurningCoils.shape(2)},
	} {
		for _, deg := range []float64{150, 220, 290} {
			want := secondsPerDay * (2*math.Pi/marched(s, deg*rad) - 1)
			if got := s.rateSPerDay(deg); math.Abs(got-want) > 1e-3 {
				t.Errorf("%+v at %g°: %.5f s/d, marched %.5f", s.heavy, deg, got, want)
			}
		}
	}
}

// marched lets the balance go from one turning point and waits until it is back, by Runge-Kutta of fourth order.
func marched(s swing, amplitude float64) float64 {
	const dt = 1e-3
	torque := func(x float64) float64 { return -(s.energy(x+1e-4) - s.energy(x-1e-4)) / 2e-4 }
	x, v, at := centre(s.energy, amplitude)+amplitude, 0.0, 0.0
	for {
		k1, l1 := v, torque(x)
		k2, l2 := v+dt/2*l1, torque(x+dt/2*k1)
		k3, l3 := v+dt/2*l2, torque(x+dt/2*k2)
		k4, l4 := v+dt*l3, torque(x+dt*k3)
		before := v
		x, v = x+dt/6*(k1+2*k2+2*k3+k4), v+dt/6*(l1+2*l2+2*l3+l4)
		at += dt
		if before > 0 && v <= 0 { // back: the speed passes zero within the last step
			return at - dt*(-v)/(before-v)
		}
	}
}

func TestQuadratureHasConverged(t *testing.T) {
	t.Parallel()
	for i := range spirals {
		for _, deg := range []float64{120, 220, 350} {
			s := swing{heavy: 6000 * ppm, heavyUp: 1, spring: 3e-4, springUp: 2, shape: ElasticCoils.shape(i), quartic: 1e-4}
			fine := period(s.energy, deg*rad, swingNodes)
			if rough := period(s.energy, deg*rad, swingNodes/2); math.Abs(rough/fine-1)*secondsPerDay > 1e-6 {
				t.Errorf("spiral %d at %g°: %g s/d apart", i, deg, (rough/fine-1)*secondsPerDay)
			}
		}
	}
}

// TestSeriesOfTheCoils holds the tabulated centre of mass against the solution between the nodes, and checks that the
// clamped ends are met and the mesh is fine enough.
func TestSeriesOfTheCoils(t *testing.T) {
	t.Parallel()
	s := spirals[1]
	r := newRod(s)
	rest := r.under(load{})
	if got := cmplx.Abs(complex(rest.x, rest.y) - cmplx.Rect(s.inner, 2*math.Pi*s.coils)); got > 1e-6 {
		t.Errorf("the rod at rest ends %g from the spiral", got)
	}
	series := s.elastic(24)
	var l load
	for _, theta := range []float64{0.3, 1.1, 2.3, 3.1, 4.2, 5.3, 6.1} {
		var c complex128
		l, c = r.solve(theta, l, rest)
		f := r.miss(r.under(l), rest, theta)
		if math.Abs(f[0])+math.Abs(f[1])+math.Abs(f[2]) > 1e-9 {
			t.Errorf("at %g rad the collet is missed by %g", theta, f)
		}
		if got := series.height(theta); cmplx.Abs(got-c) > 1e-7 {
			t.Errorf("at %g rad the series says %v, the rod %v", theta, got, c)
		}
		if got := TurningCoils.shape(1).(tabulated).height(theta); cmplx.Abs(got-s.turning(theta)) > 1e-7 {
			t.Errorf("at %g rad the series says %v, the coils %v", theta, got, s.turning(theta))
		}
	}
}
