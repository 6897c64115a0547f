package metrology_test

import (
	"math"
	"slices"
	"testing"

	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/published"
)

// TestPublishedRows holds the package to testdata/published.json.
func TestPublishedRows(t *testing.T) {
	t.Parallel()
	published.Hold(t, "testdata/published.json", map[string]published.Check{
		"GUM-443": checkTypeA, "GUM-RECT": checkHalfWidth, "GUM-H1": checkEndGauge, "GUM-H2": checkImpedance,
		"JCGM106-[12]": checkConformity, "JCGM106-Z-*": checkQuantile, "JCGM106-W": checkAcceptanceLimit,
		"JCGM106-RATE-[12]": checkRateDecision,
		"ADEV-9":            checkNinePoints, "ADEV-1000": checkThousandPoints, "ADEV-1000-EDF": checkErrorBars,
	}, map[string]string{
		"GUM-H1 nu_eff":            "no degrees of freedom are carried: k = 2 is stated with every figure",
		"GUM-H1 [kU]_99":           "as above: no level but that of k = 2 is stated",
		"GUM-H1 with_second_order": "uncertainty is carried by first derivatives only, as Linear says",
	})
}

func near(t published.T, what string, got, want, tol float64) {
	t.Helper()
	published.Near(t, what, got, want, tol)
}

// checkTypeA: JCGM 100:2008, 4.4.3 and Table 1: twenty temperatures (data from memory; they reproduce the printed
// results).
func checkTypeA(t published.T, row published.Row) {
	var in struct {
		T []float64 `json:"twenty_temperatures_degC"`
	}
	var want struct {
		Mean  float64 `json:"mean"`
		S     float64 `json:"s"`
		UMean float64 `json:"u_mean"`
	}
	row.Read(t, &in, &want)
	got := observed(t, in.T)
	near(t, "mean", got.Value, want.Mean, 0.0005) // printed rounding
	near(t, "u", got.StdUncertainty, want.UMean, 0.0005)
	near(t, "s", got.StdUncertainty*math.Sqrt(float64(len(in.T))), want.S, 0.0005)
}

func observed(t published.T, data []float64) metrology.Value {
	t.Helper()
	v, err := metrology.FromObservations(data, "")
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// checkImpedance: JCGM 100:2008, H.2.4, the second approach: resistance, reactance and impedance of each of the five
// sets of observations, R = V/I·cos φ, X = V/I·sin φ, Z = V/I, and their means with their standard uncertainties.
func checkImpedance(t published.T, row published.Row) {
	var in struct{ V, I, Phi []float64 }
	var want map[string][]float64
	row.Read(t, &in, &want)
	of := map[string]func(z, phi float64) float64{
		"R": func(z, phi float64) float64 { return z * math.Cos(phi) },
		"X": func(z, phi float64) float64 { return z * math.Sin(phi) },
		"Z": func(z, _ float64) float64 { return z },
	}
	for name, f := range of {
		var list []float64
		for k := range in.V {
			list = append(list, f(in.V[k]/in.I[k], in.Phi[k]))
		}
		got := observed(t, list)
		near(t, name, got.Value, want[name][0], 0.0005) // printed rounding
		near(t, "u("+name+")", got.StdUncertainty, want[name][1], 0.0005)
	}
}

// JCGM 100:2008, H.2: five simultaneous observations of voltage, current and phase. The printed means and their
// standard uncertainties (Table H.2, from memory): 4.9990 V, 0.0032 V; 19.6610 mA, 0.0095 mA; 1.04446 rad, 0.00075 rad.
func TestFromObservationsAgreesWithGUMH2(t *testing.T) {
	t.Parallel()
	list := published.Rows(t, "testdata/published.json")
	row := list[slices.IndexFunc(list, func(r published.Row) bool { return r.ID == "GUM-H2" })]
	var in struct{ V, I, Phi []float64 }
	row.Read(t, &in, nil)
	for _, tc := range []struct {
		name             string
		data             []float64
		mean, u, mTol, t float64 // tolerances: half the last printed digit
	}{
		{"V", in.V, 4.9990, 0.0032, 0.00005, 0.00005},
		{"I", in.I, 0.0196610, 0.0000095, 0.00000005, 0.00000005},
		{"phi", in.Phi, 1.04446, 0.00075, 0.000005, 0.000005},
	} {
		got := observed(t, tc.data)
		near(t, tc.name, got.Value, tc.mean, tc.mTol)
		near(t, "u("+tc.name+")", got.StdUncertainty, tc.u, tc.t)
	}
}

func checkHalfWidth(t published.T, row published.Row) {
	var in struct {
		HalfWidth float64 `json:"half_width"`
	}
	var want struct{ U float64 }
	row.Read(t, &in, &want)
	near(t, "a/√3", metrology.FromHalfWidth(in.HalfWidth), want.U, 0.00005)
	near(t, "d/√12", metrology.FromResolution(2*in.HalfWidth), want.U, 0.00005)
}

// checkEndGauge: JCGM 100:2008, H.1: l = l_s + d - l_s(δα·θ + α_s·δθ), linearised with sensitivities 1, 1, -l_s·θ,
// -l_s·α_s. Inputs read from a data set that carries the example; printed results from memory: components 25, 9.7,
// 2.9 and 16.6 nm, combined 32 nm.
func checkEndGauge(t published.T, row published.Row) {
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
	row.Read(t, &in, &want)
	ud := metrology.Quadrature(in.UD...)
	near(t, "u(d)", ud, want.Components[1], 0.05)
	standardPart := metrology.Term{Coefficient: 1, Value: in.LS, StdUncertainty: in.ULS}
	alphaPart := metrology.Term{Coefficient: -in.LS * in.ThetaBar, StdUncertainty: in.UDeltaAlpha}
	thetaPart := metrology.Term{Coefficient: -in.LS * in.AlphaS, StdUncertainty: in.UDeltaTheta}
	near(t, "u(l_s) part", metrology.Linear("nm", standardPart).StdUncertainty, want.Components[0], 0.5)
	near(t, "u(δα) part", metrology.Linear("nm", alphaPart).StdUncertainty, want.Components[2], 0.05)
	// The printed 16.6 nm comes from an unrounded u(δθ); the given 0.029 °C gives 16.68 nm.
	near(t, "u(δθ) part", metrology.Linear("nm", thetaPart).StdUncertainty, want.Components[3], 0.1)
	got := metrology.Linear("nm", standardPart, metrology.Term{Coefficient: 1, Value: in.D, StdUncertainty: ud},
		alphaPart, thetaPart)
	near(t, "l", got.Value, want.L, 0.5)
	near(t, "u_c(l)", got.StdUncertainty, want.U, 0.5)
}

// checkConformity: JCGM 106:2012, clause 7: the breakdown voltage and the burst strength (from memory).
func checkConformity(t published.T, row published.Row) {
	var in struct {
		Y, U  float64
		Upper *float64 `json:"upper_limit"`
		Lower *float64 `json:"lower_limit"`
	}
	var want struct {
		P float64 `json:"conformance_probability"`
	}
	row.Read(t, &in, &want)
	l := metrology.Limits{Lower: in.Lower, Upper: in.Upper}
	_, got := metrology.Decide(metrology.Value{Value: in.Y, StdUncertainty: in.U}, l, metrology.Simple)
	near(t, "probability", got, want.P, 0.005) // printed rounding
}

// checkQuantile: one-sided probability of conformity at a distance of z standard uncertainties: JCGM 106, Table 1, by
// the normal quantile. The distance to the limit is (upper - y)/u.
func checkQuantile(t published.T, row published.Row) {
	var in struct {
		P float64 `json:"one_sided_conformance_probability"`
	}
	var want struct{ Z float64 }
	row.Read(t, &in, &want)
	y := metrology.Value{Value: 10 - 0.5*want.Z, StdUncertainty: 0.5}
	near(t, "upper", metrology.ProbabilityOfConformity(y, metrology.AtMost(10)), in.P, 1e-5)
	mirrored := metrology.Value{Value: -y.Value, StdUncertainty: 0.5}
	near(t, "lower", metrology.ProbabilityOfConformity(mirrored, metrology.AtLeast(-10)), in.P, 1e-5)
}

// checkAcceptanceLimit: at the acceptance limit of a guard band w = U the probability is Φ(2).
func checkAcceptanceLimit(t published.T, row published.Row) {
	var want struct {
		P float64 `json:"conformance_probability_at_acceptance_limit"`
	}
	row.Read(t, nil, &want)
	y := metrology.Value{Value: 5.5, StdUncertainty: 0.25, Unit: "s/d"}
	verdict, p := metrology.Decide(y, metrology.AtMost(6), metrology.Guarded)
	if verdict != metrology.Pass {
		t.Errorf("at the acceptance limit: got %v, want pass", verdict)
	}
	near(t, "p", p, want.P, 0.00005)
}

// checkRateDecision: a rate against an upper limit with a guard band; what lies at the acceptance limit passes, and
// what lies above it does not.
func checkRateDecision(t published.T, row published.Row) {
	var in map[string]float64 // "U" and "u" differ in case only, which struct tags do not tell apart
	var want struct {
		Limit  float64 `json:"acceptance_limit"`
		Accept bool    `json:"accept_with_guard_band"`
		P      float64 `json:"conformance_probability"`
	}
	row.Read(t, &in, &want)
	limits := metrology.AtMost(in["upper_limit_s_per_d"])
	at := func(rate float64) metrology.Value {
		return metrology.Value{Value: rate, StdUncertainty: in["u"], Unit: "s/d"}
	}
	near(t, "U", at(0).Expanded(), in["U"], 1e-12)
	verdict, p := metrology.Decide(at(in["measured"]), limits, metrology.Guarded)
	if (verdict == metrology.Pass) != want.Accept {
		t.Errorf("got %v, want accepted %v", verdict, want.Accept)
	}
	near(t, "probability", p, want.P, 0.00005)
	if v, _ := metrology.Decide(at(want.Limit), limits, metrology.Guarded); v != metrology.Pass {
		t.Errorf("at the acceptance limit %v: %v", want.Limit, v)
	}
	if v, _ := metrology.Decide(at(want.Limit+1e-6), limits, metrology.Guarded); v == metrology.Pass {
		t.Errorf("above the acceptance limit %v: %v", want.Limit, v)
	}
}
