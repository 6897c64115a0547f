package oscillator_test

import (
	"encoding/json"
	"math"
	"os"
	"strings"
	"testing"

	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/oscillator"
)

func exact(x float64) metrology.Value { return metrology.Value{Value: x} }

// published is one row of testdata/published.json with its source and whether the number was read there, recalled
// ("memory") or computed from the formula named ("derived"). The rows of balance and spring are in
// testdata/balancespring.json. Rows not used here: Airy's impulse rows, since escapement error is not told apart from
// isochronism; amplitude from lift time, which belongs to the reading of sound; rules of thumb that disagree with one
// another and are the shop's to set; field strengths and shocks, which are no arithmetic of the balance.
type published struct {
	ID                       string
	Inputs, Expected         json.RawMessage
	Source, Confidence, Note string
}

func rows(t *testing.T, prefix string, use func(r published)) {
	t.Helper()
	raw, err := os.ReadFile("testdata/published.json")
	if err != nil {
		t.Fatal(err)
	}
	var all []published
	if err := json.Unmarshal(raw, &all); err != nil {
		t.Fatal(err)
	}
	found := false
	for _, r := range all {
		if strings.HasPrefix(r.ID, prefix) {
			found = true
			t.Logf("%s: %s (%s)", r.ID, r.Source, r.Confidence)
			use(r)
		}
	}
	if !found {
		t.Fatalf("no row %s", prefix)
	}
}

func (r published) read(t *testing.T, inputs, expected any) {
	t.Helper()
	if err := json.Unmarshal(r.Inputs, inputs); err != nil {
		t.Fatal(r.ID, err)
	}
	if expected == nil {
		return
	}
	if err := json.Unmarshal(r.Expected, expected); err != nil {
		t.Fatal(r.ID, err)
	}
}

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s: got %v, want %v within %v", what, got, want, tol)
	}
}

func TestPublishedPoiseFactor(t *testing.T) {
	t.Parallel()
	rows(t, "PO-J-", func(r published) {
		var in struct {
			A float64 `json:"amplitude_deg"`
		}
		want := map[string]float64{}
		r.read(t, &in, &want)
		near(t, r.ID, oscillator.PoiseFactor(in.A), want["J1(A)/A"], 5e-7)
	})
	rows(t, "PO-ZERO", func(r published) {
		want := map[string]float64{}
		r.read(t, new(any), &want)
		near(t, r.ID, oscillator.NeutralAmplitudeDeg, want["deg"], 5e-4)
	})
	rows(t, "PO-BENCH", func(r published) {
		var want float64
		r.read(t, new(any), &want)
		near(t, r.ID, oscillator.NeutralAmplitudeDeg, want, 5)
	})
	near(t, "zero", oscillator.PoiseFactor(oscillator.NeutralAmplitudeDeg), 0, 1e-15)
	// Bessel's integral by quadrature, and the standard library, against one another (A&S 9.1.21).
	for a := 1.0; a < 360; a += 7 {
		rad := a * math.Pi / 180
		near(t, "J1 by its integral", oscillator.PoiseFactor(a), besselJ1(rad)/rad, 1e-12)
	}
}

func TestPublishedPoiseRates(t *testing.T) {
	t.Parallel()
	fromTop := map[string]float64{"bottom": 180, "top": 0, "side": 90}
	rows(t, "PO-EX-", func(r published) {
		var in struct {
			I     float64   `json:"I_kgm2"`
			Hz    float64   `json:"Hz"`
			Spot  string    `json:"heavy_spot"`
			Sizes []float64 `json:"amplitudes_deg"`
		}
		var want []float64
		r.read(t, &in, &want)
		k, ok := oscillator.Balance{BeatsPerHour: int(in.Hz * 7200), InertiaMgCm2: in.I * 1e10}.StiffnessNmPerRad()
		if !ok {
			t.Fatal("no stiffness")
		}
		s := 40e-12 * oscillator.StandardGravity / k // 10 µg at 4 mm
		for i, a := range in.Sizes {
			near(t, r.ID, poiseRateSPerDay(s, fromTop[in.Spot], a), want[i], 0.02)
		}
	})
	rows(t, "PO-KL", func(published) { // total swing of 1½ turns loses, 1 turn gains, heavy spot low
		if poiseRateSPerDay(1e-3, 180, 270) >= 0 || poiseRateSPerDay(1e-3, 180, 180) <= 0 {
			t.Error("signs are not Kleinlein's")
		}
	})
}

func TestPublishedStiffness(t *testing.T) {
	t.Parallel()
	rows(t, "HS-K-I", func(r published) {
		var in struct{ I_mg_cm2, Hz float64 }
		var want float64
		r.read(t, &in, &want)
		k, _ := oscillator.Balance{BeatsPerHour: int(in.Hz * 7200), InertiaMgCm2: in.I_mg_cm2}.StiffnessNmPerRad()
		near(t, r.ID, k, want, 1e-5*want)
	})
}

func TestPublishedBeat(t *testing.T) {
	t.Parallel()
	for _, id := range []string{"BE-1", "BE-2", "BE-3"} {
		rows(t, id, func(r published) {
			var in struct {
				A   float64 `json:"amplitude_deg"`
				Hz  float64
				Off float64 `json:"rest_offset_deg"`
			}
			want := map[string]float64{}
			r.read(t, &in, &want)
			got, err := oscillator.BeatAngle(exact(in.A), exact(want["beat_error_ms"]), int(in.Hz*7200))
			if err != nil {
				t.Fatal(err)
			}
			near(t, r.ID, got.Value, in.Off, 5e-4) // the row's four digits
		})
	}
}

func TestPublishedTemperature(t *testing.T) {
	t.Parallel()
	for id, got := range map[string]float64{
		"HS-TEMP-D":  oscillator.ThermalRatePerC(-240e-6, 11e-6, 19e-6),
		"HS-TEMP-BR": oscillator.ThermalRatePerC(0, 0, 19e-6),
		"HS-TEMP-ST": oscillator.ThermalRatePerC(0, 0, 11e-6),
		"HS-TEMP-11": oscillator.ThermalRatePerC(-240e-6, 11e-6, 19e-6),
	} {
		rows(t, id, func(r published) {
			var want float64
			r.read(t, new(any), &want)
			tol := map[string]float64{"HS-TEMP-D": 5e-4, "HS-TEMP-11": 1}[id]
			near(t, id, got, want, math.Max(tol, 5e-3))
		})
	}
	rows(t, "HS-TEMP-ZERO", func(published) {
		near(t, "self-compensating", oscillator.ThermalRatePerC(1e-5, 8e-6, 17e-6), 0, 0.05e-5*43200)
	})
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
	for _, bad := range [][]oscillator.TemperaturePoint{nil, {point(8, 1)}, {point(8, 1), point(9, 1)}, {point(8, math.NaN()), point(23, 1)}} {
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
