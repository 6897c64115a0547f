package calibres_test

import (
	"math"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"ledgerwheel/domain/figure"
	"ledgerwheel/web/webtest"
)

// liftSeen is about 51° at 18000 beats, read at 180°.
func liftSeen() url.Values {
	return url.Values{"way": {"seen"}, "seen_amplitude_deg": {"180"}, "seen_amplitude_u95_deg": {"3"},
		"seen_time_ms": {"18,101"}, "seen_time_u95_ms": {"0.1"}}
}

// TestLiftAngleIsDeterminedAndKept goes both ways from the page of a calibre: worked out, compared, kept, in its history.
func TestLiftAngleIsDeterminedAndKept(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	bench := s.As(s.Watchmaker)
	at := bench.Post("/calibres/new", calibreTyped()).Want(http.StatusSeeOther).Location()
	webtest.Contains(t, "fold", bench.Get(at).Want(http.StatusOK).Text("lift-angle"),
		"now 52°, nobody determined it: ± 2° is taken")
	// The lift time by the formula of the amplitude, A = L/2 / sin(π·F·t), with F = 2.5 Hz.
	ms := func(liftDeg, amplitudeDeg float64) float64 {
		return math.Asin(liftDeg/2/amplitudeDeg) / (2.5 * math.Pi) * 1000
	}
	typed := liftSeen()
	typed.Set("seen_time_ms", figure.Plain(ms(51, 180)))
	a := bench.Post(at+"/lift-angle", typed).Want(http.StatusOK)
	// 51°, its 1.67 % of the amplitude and 0.55 % of the time in quadrature: ± 0.89°.
	if got := a.Text("lift-found"); got != "51.00° ± 0.89°" {
		t.Errorf("worked out %q", got)
	}
	webtest.Contains(t, "comparison", a.Text("lift-against"), "−1.0° ± 2.2°, within what the two leave open.")
	if k := calibreAt(s, at); k.LiftAngleDeg != 52 || k.LiftAngleU95Deg != 0 {
		t.Errorf("working it out kept %v ± %v", k.LiftAngleDeg, k.LiftAngleU95Deg)
	}
	typed.Set("keep", "yes")
	typed.Set("version", a.Hidden("version"))
	bench.Post(at+"/lift-angle", typed).Want(http.StatusSeeOther)
	if k := calibreAt(s, at); k.LiftAngleDeg != 51 || k.LiftAngleU95Deg != 0.89 ||
		!strings.HasPrefix(k.LiftAngleHow, "Amplitude seen 180° ± 3°, lift time 18.098 ± 0.1 ms") {
		t.Errorf("kept %v ± %v, %q", k.LiftAngleDeg, k.LiftAngleU95Deg, k.LiftAngleHow)
	}
	shown := bench.Get(at).Want(http.StatusOK)
	webtest.Contains(t, "fold", shown.Text("lift-angle"), "now 51.00° ± 0.89°")
	webtest.Contains(t, "history", webtest.TextOf(shown.One("calibre-history")), "Lift angle, °: 52 → 51", "Amplitude seen 180°")
	// Somebody else saved first.
	bench.Post(at+"/lift-angle", typed).Want(http.StatusConflict)

	two := url.Values{"way": {"two"}, "two_difference_deg": {"140"}, "two_difference_u95_deg": {"2"},
		"two_greater_time_ms": {figure.Plain(ms(47, 280))}, "two_lesser_time_ms": {figure.Plain(ms(47, 140))},
		"two_time_u95_ms": {"0.05"}}
	a = bench.Post(at+"/lift-angle", two).Want(http.StatusOK)
	webtest.Contains(t, "the other way", a.Text("lift-found"), "47.")
	webtest.Contains(t, "comparison", a.Text("lift-against"), "more than the two leave open")
	two.Set("keep", "yes")
	two.Set("version", a.Hidden("version"))
	bench.Post(at+"/lift-angle", two).Want(http.StatusSeeOther)
	if k := calibreAt(s, at); math.Abs(k.LiftAngleDeg-47) > 0.01 || !(k.LiftAngleU95Deg > 0.5 && k.LiftAngleU95Deg < 1) ||
		!strings.HasPrefix(k.LiftAngleHow, "Two amplitudes 140°") {
		t.Errorf("kept %v ± %v, %q", k.LiftAngleDeg, k.LiftAngleU95Deg, k.LiftAngleHow)
	}
	// It goes out with the list, and comes back as it was.
	before := calibreAt(s, at)
	file := bench.Get("/calibres/calibres.csv").Want(http.StatusOK).Body
	if !strings.Contains(file, "lift_angle_u95_deg (°)") || !strings.Contains(file, "lift_angle_how") {
		t.Errorf("the file has no such columns: %.200s", file)
	}
	sendFile(bench, "/calibres/file", "file", webtest.SentFile{Name: "c.csv", Data: []byte(file)}).Want(http.StatusSeeOther)
	if after := calibreAt(s, at); after.LiftAngleU95Deg != before.LiftAngleU95Deg || after.LiftAngleHow != before.LiftAngleHow {
		t.Errorf("read back %+v", after)
	}
}

// TestLiftAngleRefused: what can't be is said beside its field, what was typed stays, and nothing is kept.
func TestLiftAngleRefused(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	bench := s.As(s.Watchmaker)
	at := bench.Post("/calibres/new", calibreTyped()).Want(http.StatusSeeOther).Location()
	for _, c := range []struct {
		field, typed, says string
	}{
		{"seen_amplitude_deg", "wide", "Give a number of degrees above 0."},
		{"seen_amplitude_deg", "400", "The amplitude must lie above 60° and below 350°."},
		{"seen_amplitude_u95_deg", "", "Give a number of degrees above 0."},
		{"seen_time_ms", "400", "The lift time must be more than zero"},
		{"seen_time_u95_ms", "0", "Give a number of milliseconds above 0."},
	} {
		typed := liftSeen()
		typed.Set(c.field, c.typed)
		typed.Set("keep", "yes")
		typed.Set("version", "1")
		a := bench.Post(at+"/lift-angle", typed).Want(http.StatusUnprocessableEntity)
		if got := a.Problem(c.field); !strings.Contains(got, c.says) || a.Value(c.field) != c.typed {
			t.Errorf("%s %q: says %q, keeps %q", c.field, c.typed, got, a.Value(c.field))
		}
		if len(a.All("lift-result")) > 0 {
			t.Errorf("%s %q has a result", c.field, c.typed)
		}
	}
	alike := url.Values{"way": {"two"}, "two_difference_deg": {"10"}, "two_difference_u95_deg": {"2"},
		"two_greater_time_ms": {"18.1"}, "two_lesser_time_ms": {"18.2"}, "two_time_u95_ms": {"0.1"}}
	if got := bench.Post(at+"/lift-angle", alike).Want(http.StatusUnprocessableEntity).Problem("two_difference_deg"); !strings.Contains(got,
		"let the watch down further") {
		t.Errorf("two alike: %q", got)
	}
	bench.Post(at+"/lift-angle", url.Values{"way": {"third"}}).Want(http.StatusUnprocessableEntity)
	s.As(s.Clerk).Post(at+"/lift-angle", liftSeen()).Want(http.StatusForbidden)
	record, err := s.Store.CalibreRecord(t.Context(), calibreAt(s, at).ID)
	if err != nil || record.Version != 1 || record.Calibre.LiftAngleU95Deg != 0 {
		t.Errorf("half was kept: version %d, %+v, %v", record.Version, record.Calibre, err)
	}
}
