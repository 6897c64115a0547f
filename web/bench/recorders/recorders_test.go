package recorders_test

import (
	"bytes"
	"encoding/binary"
	"math"
	"math/rand/v2"
	"mime/multipart"
	"net/http"
	"net/url"
	"strings"
	"sync"
	"testing"
	"time"

	"ledgerwheel/domain/recorder"
	"ledgerwheel/store"
	"ledgerwheel/web/webtest"
)

// recorderPage adds a recorder and returns the path of its page.
func recorderPage(s *webtest.Site, c *webtest.Client) string {
	s.T.Helper()
	return c.Post("/recorders/new", url.Values{"name": {"Desk microphone"}, "note": {"contact microphone"},
		"usual_rate": {"48 kHz"}}).
		Want(http.StatusSeeOther).Location()
}

func TestRecordersAreListed(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	bench := s.As(s.Watchmaker)
	webtest.Contains(t, "empty", webtest.TextOf(bench.Get("/recorders").Want(http.StatusOK).Document), "No recorders yet",
		"±4.3 s/d")
	if got := bench.Get("/recorders/new").Want(http.StatusOK).Value("usual_rate"); got != "48000" {
		t.Errorf("usual rate is offered as %q", got)
	}
	a := bench.Post("/recorders/new", url.Values{"name": {" "}, "usual_rate": {"fast"},
		"note": {"on the bench"}}).Want(http.StatusUnprocessableEntity)
	if a.Problem("name") == "" || a.Problem("usual_rate") == "" || a.Value("usual_rate") != "fast" ||
		strings.TrimSpace(a.Value("note")) != "on the bench" {
		t.Errorf("refusal: %q, %q, kept %q", a.Problem("name"), a.Problem("usual_rate"), a.Value("usual_rate"))
	}
	path := recorderPage(s, bench)
	if a = bench.Post("/recorders/new", url.Values{"name": {"desk microphone"},
		"usual_rate": {"48000"}}).Want(http.StatusUnprocessableEntity); a.Problem("name") == "" {
		t.Error("a second of the same name: no reason beside the field")
	}
	webtest.Contains(t, "list", bench.Get("/recorders").Want(http.StatusOK).Text("recorders"), "Desk microphone",
		"contact microphone", "never calibrated: ±50 ppm")
	page := bench.Get(path).Want(http.StatusOK)
	webtest.Contains(t, "page", page.Text("clock-state"), "never calibrated: ±50 ppm")
	webtest.Contains(t, "history", page.Text("recorder-history"), "Emrys Vale", "Added, usually at 48000")
	webtest.Contains(t, "server's clock", page.Text("server-clock-note"), "NTP", "±5 ms", "10 minutes: about ±14 ppm",
		"1 hour: about ±2.3 ppm")
	webtest.Contains(t, "owner's page", webtest.TextOf(s.As(s.Owner).Get("/owner").Document), "Recorders")

	clerk := s.As(s.Clerk)
	page = clerk.Get(path).Want(http.StatusOK)
	for _, form := range []string{"sound-form", "typed-form", "describe-form", "retire-form"} {
		if len(page.All(form)) > 0 {
			t.Errorf("the clerk is offered %s", form)
		}
	}
	clerk.Get("/recorders/new").Want(http.StatusForbidden)
	clerk.Post(path+"/typed", typedCalibration()).Want(http.StatusForbidden)
	bench.Get("/recorders/4711471147").Want(http.StatusNotFound)
	bench.Post("/recorders/4711471147/typed", typedCalibration()).Want(http.StatusNotFound)
}

func typedCalibration() url.Values {
	return url.Values{"ppm": {"−12,5"}, "uncertainty": {"0.4"}, "made_on": {"2026-11-20"}, "typed_redo_by": {""},
		"typed_note": {"certificate 26-118"}}
}

func TestTypedCalibration(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	bench := s.As(s.Watchmaker)
	path := recorderPage(s, bench)
	bad := url.Values{"ppm": {"fast"}, "uncertainty": {"0"}, "made_on": {"2027-01-01"}, "typed_note": {""}}
	a := bench.Post(path+"/typed", bad).Want(http.StatusUnprocessableEntity)
	for _, field := range []string{"ppm", "uncertainty", "made_on", "typed_note"} {
		if a.Problem(field) == "" {
			t.Errorf("%s: no reason beside the field", field)
		}
	}
	if a.Value("ppm") != "fast" || webtest.Attr(a.One("typed-calibration"), "open") != "" &&
		a.Value("made_on") != "2027-01-01" {
		t.Errorf("typed text is kept as %q and %q", a.Value("ppm"), a.Value("made_on"))
	}
	for field, text := range map[string]string{"uncertainty": "200", "ppm": "4000", "typed_redo_by": "2020-01-01",
		"made_on": ""} {
		f := typedCalibration()
		f.Set(field, text)
		if a := bench.Post(path+"/typed", f).Want(http.StatusUnprocessableEntity); a.Problem(field) == "" {
			t.Errorf("%s %q: no reason beside the field", field, text)
		}
	}
	bench.Post(path+"/typed", typedCalibration()).Want(http.StatusSeeOther)
	page := bench.Get(path).Want(http.StatusOK)
	// 0.4 ppm is k = 2; with the allowance for temperature of ±1 ppm, 2·√(0.2² + 1²/3) = 1.22.
	webtest.Contains(t, "state", page.Text("clock-state"), "calibrated, ±1.2 ppm, redo by 20 Nov 2027")
	webtest.Contains(t, "clock", page.Text("clock"), "−12.5 ± 1.2 ppm", "+1.08 ± 0.11 s/d")
	webtest.Contains(t, "calibration", page.Text("calibration"), "−12.50 ± 0.40 ppm", "in force", "certificate 26-118",
		"Emrys Vale", "Fri 20 Nov 2026")
	s.Pass(400 * 24 * time.Hour)
	webtest.Contains(t, "a year later", bench.Get("/recorders").Text("recorders"), "overdue since 20 Nov 2027, now ±")
}

// A calibration far from the one before it, or surer than a quartz is steady, is asked about, kept when it is confirmed,
// and marked.
func TestCalibrationAsksAboutSlips(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	bench := s.As(s.Watchmaker)
	path := recorderPage(s, bench)
	bench.Post(path+"/typed", typedCalibration()).Want(http.StatusSeeOther)
	f := typedCalibration()
	f.Set("ppm", "24.5")
	f.Set("uncertainty", "0.000079")
	asked := bench.Post(path+"/typed", f).Want(http.StatusUnprocessableEntity)
	webtest.Contains(t, "37 ppm off", asked.Problem("ppm"), "37 ppm from the calibration before it")
	webtest.Contains(t, "too sure", asked.Problem("uncertainty"), "surer than a quartz is steady")
	if asked.Value("ppm") != "24.5" || strings.TrimSpace(asked.Value("typed_note")) != "certificate 26-118" {
		t.Error("what was typed is lost")
	}
	f.Set("sure-ppm", "24.5")
	f.Set("sure-uncertainty", "0.000079")
	bench.Post(path+"/typed", f).Want(http.StatusSeeOther)
	page := bench.Get(path)
	webtest.Contains(t, "calibration", page.Text("calibrations"), "Asked when typed", "Confirmed by Emrys Vale.")
	webtest.Contains(t, "history", page.Text("recorder-history"), "Confirmed by Emrys Vale.")
}

func TestCalibrationsAndRecordersAreRetired(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	bench := s.As(s.Watchmaker)
	path := recorderPage(s, bench)
	bench.Post(path+"/typed", typedCalibration()).Want(http.StatusSeeOther)
	record, err := s.Store.Recorders(t.Context())
	if err != nil || len(record) != 1 || record[0].Calibration == nil {
		t.Fatalf("%+v, %v", record, err)
	}
	id := webtest.Itoa(record[0].Calibration.ID)
	retire := path + "/calibrations/" + id + "/retire"
	if a := bench.Post(retire, nil).Want(http.StatusUnprocessableEntity); a.Problem("why-"+id) == "" {
		t.Error("no reason beside the field")
	}
	bench.Post(retire, url.Values{"why-" + id: {"another sound card"}}).Want(http.StatusSeeOther)
	page := bench.Get(path).Want(http.StatusOK)
	webtest.Contains(t, "calibration", page.Text("calibration"), "retired", "another sound card")
	webtest.Contains(t, "state", page.Text("clock-state"), "never calibrated")

	bench.Post(path+"/describe", url.Values{"note": {"new cable"}, "usual_rate": {"96000"}}).Want(http.StatusSeeOther)
	if a := bench.Post(path+"/describe", url.Values{"note": {"x"},
		"usual_rate": {"1"}}).Want(http.StatusUnprocessableEntity); a.Problem("usual_rate") == "" ||
		strings.TrimSpace(a.Value("note")) != "x" {
		t.Error("an absurd rate: no reason beside the field, or what was typed is gone")
	}
	if a := bench.Post(path+"/retire", nil).Want(http.StatusUnprocessableEntity); a.Problem("why") == "" {
		t.Error("out of use without a reason")
	}
	bench.Post(path+"/retire", url.Values{"why": {"dropped"}}).Want(http.StatusSeeOther)
	page = bench.Get(path).Want(http.StatusOK)
	webtest.Contains(t, "retired", page.Text("retired"), "dropped", "Emrys Vale")
	if len(page.All("typed-form")) > 0 {
		t.Error("a retired recorder can be calibrated")
	}
	bench.Post(path+"/use", nil).Want(http.StatusSeeOther)
	if len(bench.Get(path).All("retired")) > 0 {
		t.Error("still out of use")
	}
}

// clicking is a WAV of 16 bits, 8000 samples a second: a click each second by a reference, as a recorder counts them
// that is off by so many ppm.
func clicking(seconds int, ppm float64, every float64) []byte {
	const rate = 8000
	r := rand.New(rand.NewPCG(5, 5))
	samples := make([]int16, rate*seconds)
	for i := range samples {
		samples[i] = int16(20 * r.NormFloat64())
	}
	for k := 0; ; k++ {
		at := (0.3 + every*float64(k)) * (1 + ppm*1e-6)
		first := int(at*rate) + 1
		if first+80 >= len(samples) {
			break
		}
		for i := first; i < first+80; i++ {
			x := float64(i)/rate - at
			samples[i] += int16(12000 * (1 - math.Exp(-x/0.4e-3)) * math.Exp(-x/2e-3) * math.Sin(2*math.Pi*1900*x))
		}
	}
	var w bytes.Buffer
	w.WriteString("RIFF")
	binary.Write(&w, binary.LittleEndian, uint32(36+2*len(samples)))
	w.WriteString("WAVEfmt ")
	for _, v := range []any{uint32(16), uint16(1), uint16(1), uint32(rate), uint32(2 * rate), uint16(2), uint16(16)} {
		binary.Write(&w, binary.LittleEndian, v)
	}
	w.WriteString("data")
	binary.Write(&w, binary.LittleEndian, uint32(2*len(samples)))
	binary.Write(&w, binary.LittleEndian, samples)
	return w.Bytes()
}

// sendReference posts a recording of a reference.
func sendReference(c *webtest.Client, path string, sound []byte, fields url.Values) *webtest.Answer {
	c.T.Helper()
	var body bytes.Buffer
	w := multipart.NewWriter(&body)
	for name := range fields {
		w.WriteField(name, fields.Get(name))
	}
	if sound != nil {
		part, err := w.CreateFormFile("sound", "reference.wav")
		if err != nil {
			c.T.Fatal(err)
		}
		part.Write(sound)
	}
	w.Close()
	req, err := http.NewRequest(http.MethodPost, c.URL+path+"/sound", &body)
	if err != nil {
		c.T.Fatal(err)
	}
	req.Header.Set("Content-Type", w.FormDataContentType())
	return c.Do(req)
}

func TestCalibrationFromARecording(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	bench := s.As(s.Watchmaker)
	path := recorderPage(s, bench)
	// A watch that gains 0.864 s/d steps 10 ppm early: by a recorder fast by 30 ppm it comes every 1.00002 s.
	sound := clicking(90, 30, 1/(1+10e-6))
	watch := url.Values{"reference": {"quartz watch"}, "reference_rate": {"+0,864"}, "reference_u95": {"0.1"}}
	at := sendReference(bench, path, sound, watch).Want(http.StatusSeeOther).Location()
	if at != path+"#calibrations" {
		t.Errorf("leads to %s", at)
	}
	page := bench.Get(path).Want(http.StatusOK)
	webtest.Contains(t, "said", page.Text("flash"), "runs fast by +30.0 ± 1.2 ppm (k = 2)", "Desk microphone")
	webtest.Contains(t, "calibration", page.Text("calibration"), "+30.0 ± 1.2 ppm", "in force",
		"quartz watch of known rate", "pulses over", "8 000 samples a second", "+0.86 ± 0.10 s/d")
	kept, err := s.Store.Recorders(t.Context())
	if err != nil || kept[0].Calibration == nil {
		t.Fatal(err)
	}
	// The reference's 0.1 s/d (k = 2) is 0.58 ppm, and the pulses add next to nothing.
	if c := kept[0].Calibration; math.Abs(c.PPM-30) > 0.2 || math.Abs(c.StdPPM-0.05/0.0864) > 0.02 ||
		c.Method != recorder.ByQuartzWatch || c.Used < 85 {
		t.Errorf("kept %+v", c)
	}
}

// TestCalibrationSentAtOnceIsOne: the same recording sent four times at the same moment is one calibration, another in the
// same form is another.
func TestCalibrationSentAtOnceIsOne(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	bench := s.As(s.Watchmaker)
	path := recorderPage(s, bench)
	fields := url.Values{"reference": {"pulses"}, "form_key": {bench.Get(path).Want(http.StatusOK).Hidden("form_key")}, "form_page": {path}}
	kept := func() (n int) {
		t.Helper()
		if err := s.Store.Pool().QueryRow(t.Context(), `SELECT count(*) FROM recorder_calibration`).Scan(&n); err != nil {
			t.Fatal(err)
		}
		return n
	}
	sound := clicking(40, 5, 1)
	var all sync.WaitGroup
	for range 4 {
		all.Go(func() {
			if a := sendReference(bench, path, sound, fields); a.Status != http.StatusSeeOther || a.Location() != path+"#calibrations" {
				t.Errorf("answered %d, leads to %q", a.Status, a.Location())
			}
		})
	}
	if all.Wait(); kept() != 1 {
		t.Errorf("%d calibrations", kept())
	}
	sendReference(bench, path, clicking(41, 5, 1), fields).Want(http.StatusSeeOther)
	if kept() != 2 {
		t.Errorf("with another recording there are %d", kept())
	}
}

func TestCalibrationFromARecordingRefuses(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	bench := s.As(s.Watchmaker)
	path := recorderPage(s, bench)
	pulses := url.Values{"reference": {"pulses"}}
	good := clicking(45, 5, 1)
	for _, tc := range []struct {
		name   string
		sound  []byte
		fields url.Values
		field  string
		words  string
	}{
		{"no recording", nil, pulses, "sound", "Choose a recording"},
		{"not a recording", []byte("<html>"), pulses, "sound", "neither a WAV nor a FLAC"},
		{"a cut header", good[:20], pulses, "sound", ""},
		{"too short", clicking(20, 5, 1), pulses, "sound", "at least 30"},
		{"a mechanical watch", clicking(40, 5, 0.125), pulses, "sound", "More than one pulse a second"},
		{"nothing steady", clicking(40, 5, 1.37), pulses, "sound", "No steady pulse"},
		{"not said what", good, url.Values{}, "reference", "Say what was recorded"},
		{"a watch of no rate", good, url.Values{"reference": {"quartz watch"}}, "reference_rate", "gains"},
		{"a watch known exactly", good, url.Values{"reference": {"quartz watch"}, "reference_rate": {"1"},
			"reference_u95": {"0"}}, "reference_u95", "exactly"},
		{"a rate that is none", good, url.Values{"reference": {"quartz watch"}, "reference_rate": {"some"},
			"reference_u95": {"1"}}, "reference_rate", "number"},
		{"an absurd watch", good, url.Values{"reference": {"quartz watch"}, "reference_rate": {"900"},
			"reference_u95": {"1"}}, "reference_rate", "−30 to +30"},
		{"pulses that gain", good, url.Values{"reference": {"pulses"}, "reference_rate": {"2"}}, "reference_rate",
			"True pulses gain nothing"},
	} {
		a := sendReference(bench, path, tc.sound, tc.fields).Want(http.StatusUnprocessableEntity)
		if got := a.Problem(tc.field); got == "" || !strings.Contains(got, tc.words) {
			t.Errorf("%s: beside %s stands %q", tc.name, tc.field, got)
		}
	}
	bench.Post(path+"/sound", url.Values{"reference": {"pulses"}}).Want(http.StatusBadRequest) // no multipart form
	list, err := s.Store.Recorders(t.Context())
	if err != nil || list[0].Calibration != nil {
		t.Errorf("something was kept: %+v, %v", list[0].Calibration, err)
	}
	if err := s.Store.RetireRecorder(t.Context(), list[0].ID, "dropped", store.Actor{StaffID: s.Owner.ID},
		s.Clock()); err != nil {
		t.Fatal(err)
	}
	a := sendReference(bench, path, good, pulses).Want(http.StatusUnprocessableEntity)
	webtest.Contains(t, "out of use", webtest.TextOf(a.Document), "out of use; put it back in use first")
}
