package web

import (
	"bytes"
	"encoding/binary"
	"math"
	"math/rand/v2"
	"mime/multipart"
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"ledgerwheel/domain/recorder"
	"ledgerwheel/store"
)

// recorderPage adds a recorder and returns the path of its page.
func (s *site) recorderPage(c *client) string {
	s.t.Helper()
	return c.post("/recorders/new", url.Values{"name": {"Desk microphone"}, "note": {"contact microphone"}, "usual_rate": {"48 kHz"}}).
		want(http.StatusSeeOther).location()
}

func TestRecordersAreListed(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	bench := s.as(s.watchmaker)
	contains(t, "empty", textOf(bench.get("/recorders").want(http.StatusOK).document), "No recorders yet", "±4.3 s/d")
	if got := bench.get("/recorders/new").want(http.StatusOK).value("usual_rate"); got != "48000" {
		t.Errorf("usual rate is offered as %q", got)
	}
	a := bench.post("/recorders/new", url.Values{"name": {" "}, "usual_rate": {"fast"}, "note": {"on the bench"}}).want(http.StatusUnprocessableEntity)
	if a.problem("name") == "" || a.problem("usual_rate") == "" || a.value("usual_rate") != "fast" || strings.TrimSpace(a.value("note")) != "on the bench" {
		t.Errorf("refusal: %q, %q, kept %q", a.problem("name"), a.problem("usual_rate"), a.value("usual_rate"))
	}
	path := s.recorderPage(bench)
	if a = bench.post("/recorders/new", url.Values{"name": {"desk microphone"}, "usual_rate": {"48000"}}).want(http.StatusUnprocessableEntity); a.problem("name") == "" {
		t.Error("a second of the same name: no reason beside the field")
	}
	contains(t, "list", bench.get("/recorders").want(http.StatusOK).text("recorders"), "Desk microphone", "contact microphone", "never calibrated: ±50 ppm")
	page := bench.get(path).want(http.StatusOK)
	contains(t, "page", page.text("clock-state"), "never calibrated: ±50 ppm")
	contains(t, "history", page.text("recorder-history"), "Emrys Vale", "Added, usually at 48000")
	contains(t, "server's clock", page.text("server-clock-note"), "NTP", "±5 ms", "10 minutes: about ±14 ppm", "1 hour: about ±2.3 ppm")
	contains(t, "owner's page", textOf(s.as(s.owner).get("/owner").document), "Recorders")

	clerk := s.as(s.clerk)
	page = clerk.get(path).want(http.StatusOK)
	for _, form := range []string{"sound-form", "typed-form", "describe-form", "retire-form"} {
		if len(page.all(form)) > 0 {
			t.Errorf("the clerk is offered %s", form)
		}
	}
	clerk.get("/recorders/new").want(http.StatusForbidden)
	clerk.post(path+"/typed", typedCalibration()).want(http.StatusForbidden)
	bench.get("/recorders/4711471147").want(http.StatusNotFound)
	bench.post("/recorders/4711471147/typed", typedCalibration()).want(http.StatusNotFound)
}

func typedCalibration() url.Values {
	return url.Values{"ppm": {"−12,5"}, "uncertainty": {"0.4"}, "made_on": {"2026-11-20"}, "typed_redo_by": {""}, "typed_note": {"certificate 26-118"}}
}

func TestTypedCalibration(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	bench := s.as(s.watchmaker)
	path := s.recorderPage(bench)
	bad := url.Values{"ppm": {"fast"}, "uncertainty": {"0"}, "made_on": {"2027-01-01"}, "typed_note": {""}}
	a := bench.post(path+"/typed", bad).want(http.StatusUnprocessableEntity)
	for _, field := range []string{"ppm", "uncertainty", "made_on", "typed_note"} {
		if a.problem(field) == "" {
			t.Errorf("%s: no reason beside the field", field)
		}
	}
	if a.value("ppm") != "fast" || attr(a.one("typed-calibration"), "open") != "" && a.value("made_on") != "2027-01-01" {
		t.Errorf("typed text is kept as %q and %q", a.value("ppm"), a.value("made_on"))
	}
	for field, text := range map[string]string{"uncertainty": "200", "ppm": "4000", "typed_redo_by": "2020-01-01", "made_on": ""} {
		f := typedCalibration()
		f.Set(field, text)
		if a := bench.post(path+"/typed", f).want(http.StatusUnprocessableEntity); a.problem(field) == "" {
			t.Errorf("%s %q: no reason beside the field", field, text)
		}
	}
	bench.post(path+"/typed", typedCalibration()).want(http.StatusSeeOther)
	page := bench.get(path).want(http.StatusOK)
	// 0.4 ppm is k = 2; with the allowance for temperature of ±1 ppm, 2·√(0.2² + 1²/3) = 1.22.
	contains(t, "state", page.text("clock-state"), "calibrated, ±1.2 ppm, redo by 20 Nov 2027")
	contains(t, "clock", page.text("clock"), "−12.5 ± 1.2 ppm", "+1.08 ± 0.11 s/d")
	contains(t, "calibration", page.text("calibration"), "−12.50 ± 0.40 ppm", "in force", "certificate 26-118", "Emrys Vale", "Fri 20 Nov 2026")
	s.pass(400 * 24 * time.Hour)
	contains(t, "a year later", bench.get("/recorders").text("recorders"), "overdue since 20 Nov 2027, now ±")
}

func TestCalibrationsAndRecordersAreRetired(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	bench := s.as(s.watchmaker)
	path := s.recorderPage(bench)
	bench.post(path+"/typed", typedCalibration()).want(http.StatusSeeOther)
	record, err := s.store.Recorders(t.Context())
	if err != nil || len(record) != 1 || record[0].Calibration == nil {
		t.Fatalf("%+v, %v", record, err)
	}
	id := itoa(record[0].Calibration.ID)
	retire := path + "/calibrations/" + id + "/retire"
	if a := bench.post(retire, nil).want(http.StatusUnprocessableEntity); a.problem("why-"+id) == "" {
		t.Error("no reason beside the field")
	}
	bench.post(retire, url.Values{"why-" + id: {"another sound card"}}).want(http.StatusSeeOther)
	page := bench.get(path).want(http.StatusOK)
	contains(t, "calibration", page.text("calibration"), "retired", "another sound card")
	contains(t, "state", page.text("clock-state"), "never calibrated")

	bench.post(path+"/describe", url.Values{"note": {"new cable"}, "usual_rate": {"96000"}}).want(http.StatusSeeOther)
	if a := bench.post(path+"/describe", url.Values{"note": {"x"}, "usual_rate": {"1"}}).want(http.StatusUnprocessableEntity); a.problem("usual_rate") == "" || strings.TrimSpace(a.value("note")) != "x" {
		t.Error("an absurd rate: no reason beside the field, or what was typed is gone")
	}
	if a := bench.post(path+"/retire", nil).want(http.StatusUnprocessableEntity); a.problem("why") == "" {
		t.Error("out of use without a reason")
	}
	bench.post(path+"/retire", url.Values{"why": {"dropped"}}).want(http.StatusSeeOther)
	page = bench.get(path).want(http.StatusOK)
	contains(t, "retired", page.text("retired"), "dropped", "Emrys Vale")
	if len(page.all("typed-form")) > 0 {
		t.Error("a retired recorder can be calibrated")
	}
	bench.post(path+"/use", nil).want(http.StatusSeeOther)
	if len(bench.get(path).all("retired")) > 0 {
		t.Error("still out of use")
	}
}

// clicking is a WAV of 16 bits, 8000 samples a second: a click each second by a reference, as a recorder counts them that
// is off by so many ppm.
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
func (c *client) sendReference(path string, sound []byte, fields url.Values) *answer {
	c.t.Helper()
	var body bytes.Buffer
	w := multipart.NewWriter(&body)
	for name := range fields {
		w.WriteField(name, fields.Get(name))
	}
	if sound != nil {
		part, err := w.CreateFormFile("sound", "reference.wav")
		if err != nil {
			c.t.Fatal(err)
		}
		part.Write(sound)
	}
	w.Close()
	req, err := http.NewRequest(http.MethodPost, c.url+path+"/sound", &body)
	if err != nil {
		c.t.Fatal(err)
	}
	req.Header.Set("Content-Type", w.FormDataContentType())
	return c.do(req)
}

func TestCalibrationFromARecording(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	bench := s.as(s.watchmaker)
	path := s.recorderPage(bench)
	// A watch that gains 0.864 s/d steps 10 ppm early: by a recorder fast by 30 ppm it comes every 1.00002 s.
	sound := clicking(90, 30, 1/(1+10e-6))
	watch := url.Values{"reference": {"quartz watch"}, "reference_rate": {"+0,864"}, "reference_u95": {"0.1"}}
	at := bench.sendReference(path, sound, watch).want(http.StatusSeeOther).location()
	if at != path+"#calibrations" {
		t.Errorf("leads to %s", at)
	}
	page := bench.get(path).want(http.StatusOK)
	contains(t, "said", page.text("flash"), "runs fast by +30.0 ± 1.2 ppm (k = 2)", "Desk microphone")
	contains(t, "calibration", page.text("calibration"), "+30.0 ± 1.2 ppm", "in force", "quartz watch of known rate", "pulses over", "8 000 samples a second", "+0.86 ± 0.10 s/d")
	kept, err := s.store.Recorders(t.Context())
	if err != nil || kept[0].Calibration == nil {
		t.Fatal(err)
	}
	// The reference's 0.1 s/d (k = 2) is 0.58 ppm, and the pulses add next to nothing.
	if c := kept[0].Calibration; math.Abs(c.PPM-30) > 0.2 || math.Abs(c.StdPPM-0.05/0.0864) > 0.02 || c.Method != recorder.ByQuartzWatch || c.Used < 85 {
		t.Errorf("kept %+v", c)
	}
}

func TestCalibrationFromARecordingRefuses(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	bench := s.as(s.watchmaker)
	path := s.recorderPage(bench)
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
		{"a watch known exactly", good, url.Values{"reference": {"quartz watch"}, "reference_rate": {"1"}, "reference_u95": {"0"}}, "reference_u95", "exactly"},
		{"a rate that is none", good, url.Values{"reference": {"quartz watch"}, "reference_rate": {"some"}, "reference_u95": {"1"}}, "reference_rate", "number"},
		{"an absurd watch", good, url.Values{"reference": {"quartz watch"}, "reference_rate": {"900"}, "reference_u95": {"1"}}, "reference_rate", "−30 to +30"},
		{"pulses that gain", good, url.Values{"reference": {"pulses"}, "reference_rate": {"2"}}, "reference_rate", "True pulses gain nothing"},
	} {
		a := bench.sendReference(path, tc.sound, tc.fields).want(http.StatusUnprocessableEntity)
		if got := a.problem(tc.field); got == "" || !strings.Contains(got, tc.words) {
			t.Errorf("%s: beside %s stands %q", tc.name, tc.field, got)
		}
	}
	bench.post(path+"/sound", url.Values{"reference": {"pulses"}}).want(http.StatusBadRequest) // no multipart form
	list, err := s.store.Recorders(t.Context())
	if err != nil || list[0].Calibration != nil {
		t.Errorf("something was kept: %+v, %v", list[0].Calibration, err)
	}
	if err := s.store.RetireRecorder(t.Context(), list[0].ID, "dropped", store.Actor{StaffID: s.owner.ID}, s.clock()); err != nil {
		t.Fatal(err)
	}
	a := bench.sendReference(path, good, pulses).want(http.StatusUnprocessableEntity)
	contains(t, "out of use", textOf(a.document), "out of use; put it back in use first")
}
