package metrology_test

import (
	"encoding/json"
	"math"
	"os"
	"testing"

	"gonum.org/v1/gonum/floats/scalar"

	"ledgerwheel/domain/metrology"
)

// published is one row of testdata/published.json. Each row names its source and whether the number was read there,
// recalled ("memory") or computed from the formula named ("derived").
type published struct {
	ID         string
	Inputs     json.RawMessage
	Expected   json.RawMessage
	Source     string
	Confidence string
}

// rows returns the published rows by id.
func rows(t *testing.T) map[string]published {
	t.Helper()
	raw, err := os.ReadFile("testdata/published.json")
	if err != nil {
		t.Fatal(err)
	}
	var list []published
	if err := json.Unmarshal(raw, &list); err != nil {
		t.Fatal(err)
	}
	byID := map[string]published{}
	for _, r := range list {
		byID[r.ID] = r
	}
	return byID
}

func (r published) decode(t *testing.T, inputs, expected any) {
	t.Helper()
	if r.ID == "" {
		t.Fatal("no such published row")
	}
	t.Logf("%s: %s (%s)", r.ID, r.Source, r.Confidence)
	if err := json.Unmarshal(r.Inputs, inputs); err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(r.Expected, expected); err != nil {
		t.Fatal(err)
	}
}

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !scalar.EqualWithinAbs(got, want, tol) {
		t.Errorf("%s: got %v, want %v within %v", what, got, want, tol)
	}
}

// JCGM 100:2008, 4.4.3 and Table 1: twenty temperatures (data from memory; they reproduce the printed results).
func TestFromObservationsAgreesWithGUMTable1(t *testing.T) {
	t.Parallel()
	var in struct {
		T []float64 `json:"twenty_temperatures_degC"`
	}
	var want struct {
		Mean  float64 `json:"mean"`
		UMean float64 `json:"u_mean"`
	}
	rows(t)["GUM-443"].decode(t, &in, &want)
	got, err := metrology.FromObservations(in.T, "°C")
	if err != nil {
		t.Fatal(err)
	}
	near(t, "mean", got.Value, want.Mean, 0.0005) // printed rounding
	near(t, "u", got.StdUncertainty, want.UMean, 0.0005)
}

// JCGM 100:2008, H.2: five simultaneous observations of voltage, current and phase. The printed means and their
// standard uncertainties (Table H.2, from memory): 4.9990 V, 0.0032 V; 19.6610 mA, 0.0095 mA; 1.04446 rad, 0.00075 rad.
func TestFromObservationsAgreesWithGUMH2(t *testing.T) {
	t.Parallel()
	var in struct{ V, I, Phi []float64 }
	var unused any
	rows(t)["GUM-H2"].decode(t, &in, &unused)
	for _, tc := range []struct {
		name             string
		data             []float64
		mean, u, mTol, t float64 // tolerances: half the last printed digit
	}{
		{"V", in.V, 4.9990, 0.0032, 0.00005, 0.00005},
		{"I", in.I, 0.0196610, 0.0000095, 0.00000005, 0.00000005},
		{"phi", in.Phi, 1.04446, 0.00075, 0.000005, 0.000005},
	} {
		got, err := metrology.FromObservations(tc.data, "")
		if err != nil {
			t.Fatal(err)
		}
		near(t, tc.name, got.Value, tc.mean, tc.mTol)
		near(t, "u("+tc.name+")", got.StdUncertainty, tc.u, tc.t)
	}
}

func TestFromHalfWidthAgreesWithFormula(t *testing.T) {
	t.Parallel()
	var in struct {
		HalfWidth float64 `json:"half_width"`
	}
	var want struct{ U float64 }
	rows(t)["GUM-RECT"].decode(t, &in, &want)
	near(t, "a/√3", metrology.FromHalfWidth(in.HalfWidth), want.U, 0.00005)
	near(t, "d/√12", metrology.FromResolution(2*in.HalfWidth), want.U, 0.00005)
}

// JCGM 100:2008, H.1, end-gauge calibration: l = l_s + d - l_s(δα·θ + α_s·δθ), linearised with sensitivities
// 1, 1, -l_s·θ, -l_s·α_s. Inputs read from a data set that carries the example; printed results from memory:
// components 25, 9.7, 2.9 and 16.6 nm, combined 32 nm.
func TestLinearAgreesWithGUMH1(t *testing.T) {
	t.Parallel()
	var in struct {
		LS          float64   `json:"l_s_nm"`
		ULS         float64   `json:"u_ls"`
		D           float64   `json:"d_nm"`
		UD          []float64 `json:"u_d"`
		AlphaS      float64   `json:"alpha_s"`
		UDeltaAlpha float64   `json:"u_delta_alpha"`
		ThetaBar    float64   `json:"theta_bar"`
		UDeltaTheta float64   `json:"u_delta_theta"`
	}
	var want struct {
		L          float64   `json:"l_nm"`
		Components []float64 `json:"components_nm"`
		U          float64   `json:"u_c"`
	}
	rows(t)["GUM-H1"].decode(t, &in, &want)
	ud := metrology.Quadrature(in.UD...)
	near(t, "u(d)", ud, want.Components[1], 0.05)
	alphaPart := metrology.Term{Coefficient: -in.LS * in.ThetaBar, StdUncertainty: in.UDeltaAlpha}
	thetaPart := metrology.Term{Coefficient: -in.LS * in.AlphaS, StdUncertainty: in.UDeltaTheta}
	near(t, "u(δα) part", metrology.Linear("nm", alphaPart).StdUncertainty, want.Components[2], 0.05)
	// The printed 16.6 nm comes from an unrounded u(δθ); the given 0.029 °C gives 16.68 nm.
	near(t, "u(δθ) part", metrology.Linear("nm", thetaPart).StdUncertainty, want.Components[3], 0.1)
	got := metrology.Linear("nm",
		metrology.Term{Coefficient: 1, Value: in.LS, StdUncertainty: in.ULS},
		metrology.Term{Coefficient: 1, Value: in.D, StdUncertainty: ud},
		alphaPart, thetaPart)
	near(t, "l", got.Value, want.L, 0.5)
	near(t, "u_c(l)", got.StdUncertainty, want.U, 0.5)
}

// JCGM 106:2012, clause 7: the breakdown voltage and the burst strength (from memory).
func TestProbabilityAgreesWithJCGM106(t *testing.T) {
	t.Parallel()
	for _, id := range []string{"JCGM106-1", "JCGM106-2"} {
		var in struct {
			Y, U  float64
			Upper *float64 `json:"upper_limit"`
			Lower *float64 `json:"lower_limit"`
		}
		var want struct {
			P float64 `json:"conformance_probability"`
		}
		rows(t)[id].decode(t, &in, &want)
		l := metrology.Limits{Lower: in.Lower, Upper: in.Upper}
		_, got := metrology.Decide(metrology.Value{Value: in.Y, StdUncertainty: in.U}, l, metrology.Simple)
		near(t, id, got, want.P, 0.005) // printed rounding
	}
}

// One-sided probability of conformity at a distance of z standard uncertainties: JCGM 106, Table 1, by the normal
// quantile. The distance to the limit is (upper - y)/u.
func TestProbabilityAgreesWithNormalQuantiles(t *testing.T) {
	t.Parallel()
	for _, id := range []string{"JCGM106-Z-0.8", "JCGM106-Z-0.9", "JCGM106-Z-0.95", "JCGM106-Z-0.99", "JCGM106-Z-0.999"} {
		var in struct {
			P float64 `json:"one_sided_conformance_probability"`
		}
		var want struct{ Z float64 }
		rows(t)[id].decode(t, &in, &want)
		y := metrology.Value{Value: 10 - 0.5*want.Z, StdUncertainty: 0.5}
		near(t, id, metrology.ProbabilityOfConformity(y, metrology.AtMost(10)), in.P, 1e-5)
		mirrored := metrology.Value{Value: -y.Value, StdUncertainty: 0.5}
		near(t, id+" lower", metrology.ProbabilityOfConformity(mirrored, metrology.AtLeast(-10)), in.P, 1e-5)
	}
}

// At the acceptance limit of a guard band w = U the probability is Φ(2).
func TestProbabilityAtAcceptanceLimit(t *testing.T) {
	t.Parallel()
	var want struct {
		P float64 `json:"conformance_probability_at_acceptance_limit"`
	}
	var in any
	rows(t)["JCGM106-W"].decode(t, &in, &want)
	y := metrology.Value{Value: 5.5, StdUncertainty: 0.25, Unit: "s/d"}
	verdict, p := metrology.Decide(y, metrology.AtMost(6), metrology.Guarded)
	if verdict != metrology.Pass {
		t.Errorf("at the acceptance limit: got %v, want pass", verdict)
	}
	near(t, "p", p, want.P, 0.00005)
}

func TestDecideAgreesWithDerivedRateRows(t *testing.T) {
	t.Parallel()
	for _, id := range []string{"JCGM106-RATE-1", "JCGM106-RATE-2"} {
		var in struct {
			Upper    float64 `json:"upper_limit_s_per_d"`
			Expanded float64 `json:"U"`
			Measured float64
			StdU     float64 `json:"u"`
		}
		var want struct {
			Accept bool    `json:"accept_with_guard_band"`
			P      float64 `json:"conformance_probability"`
		}
		var fields map[string]float64 // "U" and "u" differ in case only, which struct tags do not tell apart
		rows(t)[id].decode(t, &fields, &want)
		in.Upper, in.Measured, in.StdU = fields["upper_limit_s_per_d"], fields["measured"], fields["u"]
		y := metrology.Value{Value: in.Measured, StdUncertainty: in.StdU, Unit: "s/d"}
		near(t, id+" U", y.Expanded(), fields["U"], 1e-12)
		verdict, p := metrology.Decide(y, metrology.AtMost(in.Upper), metrology.Guarded)
		if (verdict == metrology.Pass) != want.Accept {
			t.Errorf("%s: got %v, want accepted %v", id, verdict, want.Accept)
		}
		near(t, id, p, want.P, 0.00005)
		if math.Abs(in.Upper-fields["U"]-5.5) > 1e-12 {
			t.Errorf("%s: acceptance limit %v, want 5.5", id, in.Upper-fields["U"])
		}
	}
}
