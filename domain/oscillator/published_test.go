package oscillator_test

import (
	"math"
	"testing"

	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/oscillator"
	"ledgerwheel/domain/published"
)

func exact(x float64) metrology.Value { return metrology.Value{Value: x} }

// TestPublishedRows holds the package to testdata/published.json; balance, spring and temperature have a file of
// their own.
func TestPublishedRows(t *testing.T) {
	t.Parallel()
	published.Hold(t, "testdata/published.json", map[string]published.Check{
		"PO-J-*": checkPoiseFactor, "PO-ZERO": checkNeutralAmplitude, "PO-BENCH": checkBenchRule,
		"PO-EX-*": checkPoiseRates,
		"PO-KL":   checkPoiseEffects, "PO-VERT": checkVerticals, "BE-[123]": checkBeat, "HS-K-I*": checkStiffness,
		"HS-TEMP-*": checkThermal,
	}, nil)
}

func near(t published.T, what string, got, want, tol float64) {
	t.Helper()
	published.Near(t, what, got, want, tol)
}

func checkPoiseFactor(t published.T, r published.Row) {
	var in struct {
		A float64 `json:"amplitude_deg"`
	}
	want := map[string]float64{}
	r.Read(t, &in, &want)
	near(t, "J1(A)/A", oscillator.PoiseFactor(in.A), want["J1(A)/A"], 5e-7)
}

func checkNeutralAmplitude(t published.T, r published.Row) {
	want := map[string]float64{}
	r.Read(t, nil, &want)
	near(t, "degrees", oscillator.NeutralAmplitudeDeg, want["deg"], 5e-4)
	near(t, "radians", oscillator.NeutralAmplitudeDeg*math.Pi/180, want["rad"], 5e-7)
}

// checkBenchRule: the bench says 220.
func checkBenchRule(t published.T, r published.Row) {
	var want float64
	r.Read(t, nil, &want)
	near(t, "degrees", oscillator.NeutralAmplitudeDeg, want, 0.5)
}

func TestPoiseFactor(t *testing.T) {
	t.Parallel()
	near(t, "zero", oscillator.PoiseFactor(oscillator.NeutralAmplitudeDeg), 0, 1e-15)
	// Bessel's integral by quadrature, and the standard library, against one another (A&S 9.1.21).
	for a := 1.0; a < 360; a += 7 {
		rad := a * math.Pi / 180
		near(t, "J1 by its integral", oscillator.PoiseFactor(a), besselJ1(rad)/rad, 1e-12)
	}
}

func checkPoiseRates(t published.T, r published.Row) {
	fromTop := map[string]float64{"bottom": 180, "top": 0, "side": 90}
	var in struct {
		I     float64   `json:"I_kgm2"`
		Hz    float64   `json:"Hz"`
		Spot  string    `json:"heavy_spot"`
		Sizes []float64 `json:"amplitudes_deg"`
	}
	var want []float64
	r.Read(t, &in, &want)
	k, ok := oscillator.Balance{BeatsPerHour: int(in.Hz * 7200), InertiaMgCm2: in.I * 1e10}.StiffnessNmPerRad()
	if !ok {
		t.Fatal("no stiffness")
	}
	s := 40e-12 * oscillator.StandardGravity / k // 10 µg at 4 mm
	for i, a := range in.Sizes {
		near(t, "rate", poiseRateSPerDay(s, fromTop[in.Spot], a), want[i], 0.02)
	}
}

// checkPoiseEffects: Kleinlein counts the total swing, so that 1½ turns are 270°. At his neutral 225° a rate is left
// that is less than a fifth of either other, since the true one is 219.5°.
func checkPoiseEffects(t published.T, r published.Row) {
	var in struct {
		Turns []float64 `json:"motion_turns"`
	}
	var want struct {
		AmplitudeDeg []float64 `json:"amplitude_deg"`
		Effect       []string
	}
	r.Read(t, &in, &want)
	for i, turns := range in.Turns {
		near(t, "amplitude", turns/2*360, want.AmplitudeDeg[i], 0)
		rate := poiseRateSPerDay(1e-3, 180, want.AmplitudeDeg[i])
		effect := "gains"
		switch {
		case math.Abs(rate) < math.Abs(poiseRateSPerDay(1e-3, 180, 270))/5:
			effect = "none"
		case rate < 0:
			effect = "loses"
		}
		if effect != want.Effect[i] {
			t.Errorf("%v turns: %v s/d, %s, want %s", turns, rate, effect, want.Effect[i])
		}
	}
}

// checkVerticals transcribes the law that the row states and holds the closed form to it: θ is the hour that is
// uppermost, d where the heavy spot lies, both as angles of the dial, and a the rate with the spot uppermost.
func checkVerticals(t published.T, r published.Row) {
	var law string
	r.Read(t, nil, &law)
	if law != "the four vertical rates are M + a cos(d - theta_i); opposite positions sum to 2M" {
		t.Fatalf("another law: %q", law)
	}
	const s, amplitude, mean = 4e-4, 250, 3.0
	a := poiseRateSPerDay(s, 0, amplitude)
	for d := 0.0; d < 360; d += 25 {
		rate := map[float64]float64{}
		for theta := 0.0; theta < 360; theta += 90 {
			rate[theta] = mean + poiseRateSPerDay(s, d-theta, amplitude)
			near(t, "rate", rate[theta], mean+a*math.Cos((d-theta)*math.Pi/180), 1e-9)
		}
		near(t, "12H and 6H", rate[0]+rate[180], 2*mean, 1e-9)
		near(t, "3H and 9H", rate[90]+rate[270], 2*mean, 1e-9)
	}
}

func checkBeat(t published.T, r published.Row) {
	var in struct {
		A   float64 `json:"amplitude_deg"`
		Hz  float64
		Off float64 `json:"rest_offset_deg"`
	}
	want := map[string]float64{}
	r.Read(t, &in, &want)
	got, err := oscillator.BeatAngle(exact(in.A), exact(want["beat_error_ms"]), int(in.Hz*7200))
	if err != nil {
		t.Fatal(err)
	}
	near(t, "angle", got.Value, in.Off, 5e-4) // the row's four digits
}

func TestTemperatureOf(t *testing.T) {
	t.Parallel()
	point := func(c, r float64) oscillator.TemperaturePoint {
		return oscillator.TemperaturePoint{TemperatureC: c, Rate: metrology.Value{Value: r, StdUncertainty: 1}}
	}
	got, err := oscillator.TemperatureOf([]oscillator.TemperaturePoint{point(38, -6), point(8, 0), point(23, 2)})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "coefficient", got.Coefficient.Value, -0.2, 1e-12)
	near(t, "its u", got.Coefficient.StdUncertainty, math.Sqrt2/30, 1e-12)
	near(t, "secondary", got.Secondary.Value, 5, 1e-12)
	near(t, "its u", got.Secondary.StdUncertainty, math.Sqrt(1.5), 1e-12)
	for _, bad := range [][]oscillator.TemperaturePoint{nil, {point(8, 1)}, {point(8, 1), point(9, 1)},
		{point(8, math.NaN()), point(23, 1)}} {
		if _, err := oscillator.TemperatureOf(bad); err == nil {
			t.Errorf("%v was taken", bad)
		}
	}
}

// poiseRateSPerDay returns what a heavy spot adds to the daily rate in a vertical position, in s/d:
//
//	−86400 · S · cos(b) · J1(A)/A
//
// S = m·g·r/k (pure number), b the angle of the spot from straight up with the balance at rest and A the amplitude,
// both in degrees. Low amplitude and the spot at the bottom gain. First order in S.
func poiseRateSPerDay(s, fromTopDeg, amplitudeDeg float64) float64 {
	return -oscillator.SecondsPerDay * s * math.Cos(fromTopDeg*math.Pi/180) * oscillator.PoiseFactor(amplitudeDeg)
}
