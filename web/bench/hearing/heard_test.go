package hearing_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"math"
	"mime/multipart"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"ledgerwheel/domain/acoustic"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/recorder"
	"ledgerwheel/domain/recording"
	"ledgerwheel/domain/timing"
	"ledgerwheel/store"
	"ledgerwheel/store/storetest"
	"ledgerwheel/web/webtest"
)

// aWatch is what a listener hears of a watch in good order.
func aWatch() acoustic.Result {
	amplitude := metrology.Value{Value: 281.4, StdUncertainty: 0.6, Unit: timing.UnitDegree}
	r := acoustic.Result{BeatsPerHour: 21600, LiftAngleDeg: 52, RateFitStdSPerDay: 0.05, BeatsUsed: 178, BeatsMissed: 2,
		SNRdB: 24.5, Seconds: 30,
		Rate: metrology.Value{Value: 3.25, StdUncertainty: 0.06, Unit: timing.UnitSPerDay}, Amplitude: &amplitude,
		BeatError: &metrology.Value{Value: -0.21, StdUncertainty: 0.01, Unit: timing.UnitMs}, BeatScatterUs: 14, EndS: 29.9,
		Notes: []acoustic.Note{{Code: acoustic.NoteHum, Text: "A tone of 50 Hz is in the sound."}}}
	for i := range r.Voices {
		r.Voices[i] = acoustic.Voice{RateHz: 4000, StartMs: -20, UnlockingMs: -9.87, ImpulseMs: -5.1, Beats: 90}
		for j := range 160 {
			at := -20 + float64(j)/4
			r.Voices[i].Envelope = append(r.Voices[i].Envelope, math.Exp(-math.Abs(at))+0.2*math.Exp(-2*math.Abs(at+9.87))+0.01)
		}
	}
	for i := range 180 {
		r.Beats = append(r.Beats, acoustic.Beat{TimeS: float64(i) / 6, Number: int64(i),
			ResidualMs: 0.01 * math.Sin(float64(i)), LiftMs: 9.8, Used: i != 7})
	}
	return r
}

// ears are what the program hears with in a test.
type ears struct {
	result acoustic.Result
	err    error
	hold   chan struct{} // the listening ends only when it is closed; nil does not wait
}

func (e *ears) listen(ctx context.Context, r *recording.Reader, s acoustic.Settings,
	progress func(int64)) (acoustic.Result, error) {
	progress(int64(r.Info().RateHz * 65))
	if e.hold != nil {
		<-e.hold
	}
	result := e.result
	result.BeatsPerHourStated = s.BeatsPerHour != 0 && s.BeatsPerHour == result.BeatsPerHour
	result.LiftAngleDeg = s.LiftAngleDeg
	if s.BeatsPerHour != 0 && !result.BeatsPerHourStated { // near other beats nothing of it is heard
		return acoustic.Result{}, acoustic.ErrNoWatch
	}
	return result, e.err
}

// hears gives a site such ears.
func hears(s *webtest.Site, e *ears) {
	s.Srv.Hearing.HearWith(e.listen)
}

// wav is a second of silence with a click in it.
func wav(t testing.TB) []byte {
	t.Helper()
	samples := make([]float32, 8000)
	samples[4000] = 0.5
	var b bytes.Buffer
	if err := recording.WriteWAV(&b, 8000, samples); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// sendSound posts a recording as a browser without scripts does.
func sendSound(c *webtest.Client, path, name string, data []byte, fields ...string) *webtest.Answer {
	c.T.Helper()
	var body bytes.Buffer
	w := multipart.NewWriter(&body)
	for i := 0; i < len(fields); i += 2 {
		w.WriteField(fields[i], fields[i+1])
	}
	part, err := w.CreateFormFile("sound", name)
	if err != nil {
		c.T.Fatal(err)
	}
	part.Write(data)
	w.Close()
	return sendBody(c, path, w.FormDataContentType(), body.Bytes())
}

func sendBody(c *webtest.Client, path, contentType string, body []byte) *webtest.Answer {
	c.T.Helper()
	req, err := http.NewRequest(http.MethodPost, c.URL+path, bytes.NewReader(body))
	if err != nil {
		c.T.Fatal(err)
	}
	req.Header.Set("Content-Type", contentType)
	return c.Do(req)
}

// sounds counts the sounds on the disk.
func sounds(s *webtest.Site) int {
	s.T.Helper()
	found, err := filepath.Glob(filepath.Join(folder(s), "*", "*.sound"))
	if err != nil {
		s.T.Fatal(err)
	}
	left, _ := filepath.Glob(filepath.Join(folder(s), ".new-*"))
	return len(found) + len(left)
}

// folder is where the uploads lie: that of a sound put there for the purpose.
func folder(s *webtest.Site) string {
	s.T.Helper()
	sound, err := s.Srv.Uploads.PutSound([]byte("RIFF where"))
	if err != nil {
		s.T.Fatal(err)
	}
	f, err := s.Srv.Uploads.OpenSound(sound.Sum())
	if err != nil {
		s.T.Fatal(err)
	}
	defer f.Close()
	defer s.Srv.Uploads.RemoveSound(sound.Sum())
	return filepath.Dir(filepath.Dir(f.Name()))
}

var askedFields = []string{"recorder", "0", "beats_per_hour", "21600", "lift_angle", "52", "position", "6H", "hours",
	"24"}

// A recording becomes a reading: sent in, looked at, kept with its sound, found again from the grid.
func TestRecordingBecomesAReading(t *testing.T) {
	t.Parallel()
	g := webtest.NewRegulation(t, docket.StageRegulation)
	hears(g.Site, &ears{result: aWatch()})
	id, err := g.Store.AddRecorder(t.Context(), recorder.Recorder{Name: "Bench microphone", UsualRateHz: 48000},
		webtest.ActorOf(g.Watchmaker), webtest.Now)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := g.Store.KeepCalibration(t.Context(), id, recorder.Calibration{PPM: 1.5, StdPPM: 0.2,
		Method: recorder.Typed, Note: "certificate 12", At: webtest.Now, RedoBy: webtest.Now.AddDate(1, 0,
			0).Truncate(24 * time.Hour), KeptAt: webtest.Now, ByID: g.Watchmaker.ID}); err != nil {
		t.Fatal(err)
	}
	base := "/dockets/" + g.Number.String()
	form := g.Bench.Get(base + "/listen/upload").Want(http.StatusOK)
	if form.Value("lift_angle") != "" || form.Value("hours") != "0" {
		t.Errorf("form begins with lift %q, hours %q", form.Value("lift_angle"), form.Value("hours"))
	}
	sound := wav(t)
	fields := append([]string{}, askedFields...)
	fields[1] = webtest.Itoa(id)
	at := sendSound(g.Bench, base+"/listen/upload", "six up.wav", sound, fields...).Want(http.StatusSeeOther).Location()
	page := g.Bench.Get(at).Want(http.StatusOK)
	for testID, want := range map[string]string{"heard-rate": "+3.25 ± 0.12", "heard-amplitude": "281.4 ± 1.2",
		"heard-beat-error": "−0.210 ± 0.020", "heard-beats": "21600"} {
		if got := page.Text(testID); !strings.Contains(got, want) {
			t.Errorf("%s reads %q, want %q in it", testID, got, want)
		}
	}
	for _, testID := range []string{"beat-round", "voices", "heard-notes", "sound-player", "heard-verdict", "beat-table"} {
		page.One(testID)
	}
	if page.Value("hours") != "24" || page.Value("tick_unlocking") != "-9.87" {
		t.Errorf("keep at %q h, tick unlocks at %q", page.Value("hours"), page.Value("tick_unlocking"))
	}
	to := g.Bench.Post(at+"/keep", url.Values{"run": {"new:final"}, "position": {"6H"}, "hours": {"24"},
		"keep_sound": {"yes"}}).Want(http.StatusSeeOther).Location()
	grid := g.Bench.Get(to).Want(http.StatusOK)
	if got := grid.Text("rate-6H-24"); got != "+3.2" { // to the place of its uncertainty
		t.Errorf("grid reads %q", got)
	}
	facts := g.Bench.Get(webtest.Attr(grid.One("heard-rate-6H-24"), "href")).Want(http.StatusOK)
	if text := webtest.TextOf(facts.Document); !strings.Contains(text, "Bench microphone") ||
		!strings.Contains(text, "+1.50 ppm") || !strings.Contains(text, "178 of 180") {
		t.Errorf("facts page says %.900s", text)
	}
	for _, testID := range []string{"beat-round", "voices", "beat-table"} {
		facts.One(testID)
	}
	heardAgain := g.Bench.Get(webtest.Attr(facts.One("sound-download"), "href")).Want(http.StatusOK)
	if heardAgain.Body != string(sound) || heardAgain.Header.Get("Content-Type") != "audio/wav" {
		t.Errorf("%d bytes of %s", len(heardAgain.Body), heardAgain.Header.Get("Content-Type"))
	}
	g.As(g.Clerk).Get(webtest.Attr(grid.One("heard-rate-6H-24"), "href")).Want(http.StatusOK)
	run := g.Sheet().Runs[0]
	if r := run.Sheet.Run.Readings[0]; r.Instrument != "Bench microphone" ||
		run.Sheet.Instruments().ClockStdSPerDay["Bench microphone"] < 0.2*timing.SPerDayPerPPM {
		t.Errorf("reading by %q, clocks %v", r.Instrument, run.Sheet.Instruments())
	}
	// Throwing the recording away leaves the reading and its sound.
	g.Bench.PostSure(at+"/discard", nil).Want(http.StatusSeeOther)
	g.Bench.Get(at).Want(http.StatusNotFound)
	g.Bench.Get(webtest.Attr(facts.One("sound-download"), "href")).Want(http.StatusOK)
}

func TestRefusedRecordingsKeepWhatWasTyped(t *testing.T) {
	t.Parallel()
	g := webtest.NewRegulation(t, docket.StageRegulation)
	quiet := &ears{err: acoustic.ErrNoWatch}
	hears(g.Site, quiet)
	whole := wav(t)
	mp3, err := os.ReadFile("../../../domain/recording/testdata/lossy/clicks-44100.mp3")
	if err != nil {
		t.Fatal(err)
	}
	base := "/dockets/" + g.Number.String() + "/listen/upload"
	for name, tc := range map[string]struct {
		data   []byte
		change [2]string
		field  string
		says   string
	}{
		"nothing heard":      {whole, [2]string{}, "sound", "No watch was heard"},
		"no sound at all":    {[]byte("GIF89a and so on, a picture"), [2]string{}, "sound", ""},
		"an empty file":      {nil, [2]string{}, "sound", ""},
		"a header cut off":   {whole[:20], [2]string{}, "sound", ""},
		"a lying FLAC":       {append([]byte("fLaC\x00\x00\x00\x22"), make([]byte, 40)...), [2]string{}, "sound", ""},
		"an MP3 as it is":    {mp3, [2]string{}, "sound", "WAV"},
		"beats no watch has": {whole, [2]string{"beats_per_hour", "12"}, "beats_per_hour", "3600"},
		"a lift in words":    {whole, [2]string{"lift_angle", "half"}, "lift_angle", "52"},
		"no such recorder":   {whole, [2]string{"recorder", "4711"}, "recorder", "Choose"},
		"no such position":   {whole, [2]string{"position", "4H"}, "position", "Choose"},
		"hours before time":  {whole, [2]string{"hours", "-2"}, "hours", "Give hours from 0 to 1000"},
	} {
		fields := append([]string{}, askedFields...)
		for i := 0; i < len(fields); i += 2 {
			if fields[i] == tc.change[0] {
				fields[i+1] = tc.change[1]
			}
		}
		a := sendSound(g.Bench, base, "a.wav", tc.data, fields...).Want(http.StatusUnprocessableEntity)
		if got := a.Problem(tc.field); got == "" || !strings.Contains(got, tc.says) {
			t.Errorf("%s: beside %s stands %q", name, tc.field, got)
		}
		if a.Value("hours") != fields[9] || a.Value("beats_per_hour") != fields[3] || a.Value("lift_angle") != fields[5] {
			t.Errorf("%s: what was typed is lost", name)
		}
	}
	if n := sounds(g.Site); n != 0 {
		t.Errorf("%d sounds of refused recordings stay", n)
	}
	if mine, _ := g.Store.RecordingsOf(t.Context(), g.Watchmaker.ID, webtest.Now); len(mine) != 0 {
		t.Errorf("%d recordings", len(mine))
	}
}

// A request that no form of ours makes is refused and leaves nothing behind.
func TestHostileUploads(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	hears(s, &ears{result: aWatch()})
	c := s.As(s.Watchmaker)
	const part = "--b\r\nContent-Disposition: form-data; name=\"sound\"; filename=\"a.wav\"\r\n\r\n"
	for name, body := range map[string]string{
		"no parts":        "",
		"cut in the file": part + "RIFFxxxx",
		"cut in a header": "--b\r\nContent-Disposition: form-da",
		"a field without end": "--b\r\nContent-Disposition: form-data; name=\"hours\"\r\n\r\n" + strings.Repeat("9",
			200<<10) + "\r\n--b--\r\n",
		"a thousand fields": strings.Repeat("--b\r\nContent-Disposition: form-data; name=\"x\"\r\n\r\n"+strings.Repeat("y",
			100)+"\r\n", 1000) + "--b--\r\n",
	} {
		if a := sendBody(c, "/listen/upload", "multipart/form-data; boundary=b",
			[]byte(body)); a.Status != http.StatusBadRequest && a.Status != http.StatusUnprocessableEntity {
			t.Errorf("%s: %d", name, a.Status)
		}
	}
	c.Post("/listen/upload", url.Values{"hours": {"0"}}).Want(http.StatusBadRequest)
	// Two sounds in one form: the first counts, the second is passed over.
	two := part + string(wav(t)) + "\r\n" + part + "RIFF\r\n--b--\r\n"
	sendBody(c, "/listen/upload", "multipart/form-data; boundary=b", []byte(two)).Want(http.StatusSeeOther)
	if n := sounds(s); n != 1 {
		t.Errorf("%d sounds stay, want the one that was heard", n)
	}
	// The name of a file is its sender's: it is shown as text and never becomes a path or a header.
	a := sendSound(c, "/listen/upload", "../../<b>\"x\r\n.wav", wav(t), "recorder", "0").Want(http.StatusSeeOther)
	if page := c.Get(a.Location()).Want(http.StatusOK); strings.Contains(page.Body, "<b>") {
		t.Error("a file name is shown as markup")
	}
	if got := c.Get(a.Location() + "/sound").Want(http.StatusOK).Header.Get("Content-Disposition"); strings.Contains(got,
		"b>") {
		t.Errorf("disposition %q", got)
	}
}

// A long recording has a page that looks again; when the program ended meanwhile, the page says so.
func TestLongRecording(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	e := &ears{result: aWatch(), hold: make(chan struct{})}
	hears(s, e)
	s.Srv.Hearing.WaitFor(time.Millisecond)
	c := s.As(s.Watchmaker)
	at := sendSound(c, "/listen/upload", "night.wav", wav(t), "recorder", "0").Want(http.StatusSeeOther).Location()
	page := c.Get(at).Want(http.StatusOK)
	if page.Header.Get("Refresh") != "3" || !strings.Contains(page.Text("progress"), "Heard so far: 65 s of 1 s") &&
		!strings.Contains(page.Text("progress"), "turn") {
		t.Errorf("refresh %q, %q", page.Header.Get("Refresh"), page.Text("progress"))
	}
	if list := c.Get("/listen/upload").Want(http.StatusOK).Text("recording-list"); !strings.Contains(list, "night.wav") ||
		!strings.Contains(list, "being listened to") {
		t.Errorf("list reads %q", list)
	}
	done := s.Srv.Hearing.Done(1)
	remember := s.Srv.Hearing.Forget()
	if said := c.Get(at).Want(http.StatusOK).Text("no-figures"); !strings.Contains(said,
		"The program ended while it listened") {
		t.Errorf("after a restart the page says %q", said)
	}
	remember()
	close(e.hold)
	<-done
	if page := c.Get(at).Want(http.StatusOK); page.Header.Get("Refresh") != "" ||
		!strings.Contains(page.Text("heard-rate"), "+3.25") {
		t.Errorf("at the end: %q", page.Text("heard"))
	}
}

// Whatever befalls the listening, the recording's page says why and the program goes on.
func TestListeningThatFailsLater(t *testing.T) {
	t.Parallel()
	for name, tc := range map[string]struct {
		listen func(context.Context, *recording.Reader, acoustic.Settings, func(int64)) (acoustic.Result, error)
		says   string
	}{
		"a panic": {func(context.Context, *recording.Reader, acoustic.Settings, func(int64)) (acoustic.Result, error) {
			panic("slice")
		}, "Tell the owner"},
		"a damaged end": {func(context.Context, *recording.Reader, acoustic.Settings, func(int64)) (acoustic.Result, error) {
			return acoustic.Result{}, fmt.Errorf("The FLAC file is damaged%w", errors.Join(recording.ErrUnreadable))
		}, "damaged"},
		"no time left": {func(context.Context, *recording.Reader, acoustic.Settings, func(int64)) (acoustic.Result, error) {
			return acoustic.Result{}, context.DeadlineExceeded
		}, "given up"},
		"figures that are none": {func(context.Context, *recording.Reader, acoustic.Settings, func(int64)) (acoustic.Result,
			error) {
			r := aWatch()
			r.SNRdB = math.Inf(1)
			return r, nil
		}, "Tell the owner"},
	} {
		s := webtest.NewSite(t)
		s.Srv.Hearing.WaitFor(0)
		held := make(chan struct{})
		s.Srv.Hearing.HearWith(func(ctx context.Context, r *recording.Reader, set acoustic.Settings,
			p func(int64)) (acoustic.Result, error) {
			<-held
			return tc.listen(ctx, r, set, p)
		})
		c := s.As(s.Watchmaker)
		at := sendSound(c, "/listen/upload", "a.wav", wav(t), "recorder", "0").Want(http.StatusSeeOther).Location()
		done := s.Srv.Hearing.Done(1)
		close(held)
		<-done
		page := c.Get(at).Want(http.StatusOK)
		if said := page.Text("no-figures"); !strings.Contains(said, tc.says) {
			t.Errorf("%s: %q", name, said)
		}
	}
}

func TestCorrectInstants(t *testing.T) {
	t.Parallel()
	g := webtest.NewRegulation(t, docket.StageRegulation)
	hears(g.Site, &ears{result: aWatch()})
	at := sendSound(g.Bench, "/dockets/"+g.Number.String()+"/listen/upload", "a.wav", wav(t),
		askedFields...).Want(http.StatusSeeOther).Location()
	bad := g.Bench.Post(at+"/instants", url.Values{"tick_unlocking": {"5"}, "tick_drop": {"0"}, "tock_unlocking": {"-9.8"},
		"tock_drop": {"late"}}).Want(http.StatusUnprocessableEntity)
	if !strings.Contains(bad.Problem("tick_unlocking"), "before the drop") || bad.Problem("tock_drop") == "" ||
		bad.Value("tock_drop") != "late" {
		t.Errorf("problems %q, %q", bad.Problem("tick_unlocking"), bad.Problem("tock_drop"))
	}
	good := url.Values{"tick_unlocking": {"-9.50"}, "tick_drop": {"0"}, "tock_unlocking": {"−9,50"}, "tock_drop": {"0.10"}}
	g.Bench.Post(at+"/instants", good).Want(http.StatusSeeOther)
	page := g.Bench.Get(at).Want(http.StatusOK)
	if said := page.Text("corrected"); !strings.Contains(said, "Emrys Vale") || !strings.Contains(said, "281°") ||
		!strings.Contains(said, "−0.21 ms") {
		t.Errorf("said %q", said)
	}
	// The tock's drop moved 0.1 ms later moves the beat error by as much.
	if got := page.Text("heard-beat-error"); !strings.Contains(got, "−0.11") {
		t.Errorf("beat error %q", got)
	}
	g.Bench.Post(at+"/keep", url.Values{"run": {"new:final"}, "position": {"CH"},
		"hours": {"0"}}).Want(http.StatusSeeOther)
	r := g.Sheet().Runs[0].Sheet.Run.Readings[0]
	if r.BeatErrorMs.Value != 0.11 || r.AmplitudeDeg.Value == 281.4 {
		t.Errorf("kept %s", r.Text())
	}
	kept := g.Bench.Get("/dockets/" + g.Number.String() + "/heard/" +
		webtest.Itoa(g.Sheet().Runs[0].Heard["CH-0"])).Want(http.StatusOK)
	if text := kept.Text("corrected"); !strings.Contains(text, "−9.87 ms as found, −9.50 ms as corrected") {
		t.Errorf("facts %q", text)
	}
	// Back to the instants as found.
	g.Bench.Post(at+"/instants", url.Values{"as_found": {"yes"}}).Want(http.StatusSeeOther)
	if got := g.Bench.Get(at).Want(http.StatusOK); len(got.All("corrected")) != 0 ||
		!strings.Contains(got.Text("heard-amplitude"), "281.4") {
		t.Error("the instants as found are not back")
	}
}

func TestRecordingIsTakenToADocket(t *testing.T) {
	t.Parallel()
	g := webtest.NewRegulation(t, docket.StageRegulation)
	hears(g.Site, &ears{result: aWatch()})
	at := sendSound(g.Bench, "/listen/upload", "a.wav", wav(t), "recorder", "0", "position",
		"CH").Want(http.StatusSeeOther).Location()
	for _, wrong := range []string{"", "26-00099-X", "so"} {
		if a := g.Bench.Post(at+"/docket", url.Values{
			"docket": {wrong}}).Want(http.StatusUnprocessableEntity); a.Problem("docket") == "" || a.Value("docket") != wrong {
			t.Errorf("%q: %q", wrong, a.Problem("docket"))
		}
	}
	to := g.Bench.Post(at+"/docket", url.Values{"docket": {g.Number.Compact()}}).Want(http.StatusSeeOther).Location()
	g.Bench.Get(to).Want(http.StatusOK).One("keep-form")
	g.Bench.Get(at).Want(http.StatusNotFound)
	refused := g.Bench.Post(to+"/keep", url.Values{"run": {"new:as received"}, "position": {""}, "hours": {"x"},
		"keep_sound": {"yes"}}).Want(http.StatusUnprocessableEntity)
	for _, field := range []string{"run", "position", "hours"} {
		if refused.Problem(field) == "" {
			t.Errorf("%s is taken", field)
		}
	}
	if refused.Value("hours") != "x" {
		t.Error("what was typed is lost")
	}
}

// What nobody kept is cleared away after a week, sound and all, when the next recording comes.
func TestRecordingsAreClearedAway(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	hears(s, &ears{result: aWatch()})
	c := s.As(s.Watchmaker)
	old := sendSound(c, "/listen/upload", "a.wav", wav(t), "recorder", "0").Want(http.StatusSeeOther).Location()
	s.Pass(store.RecordingsKept + time.Hour)
	c = s.As(s.Watchmaker)
	other := wav(t)
	other[len(other)-1] = 7
	sendSound(c, "/listen/upload", "b.wav", other, "recorder", "0").Want(http.StatusSeeOther)
	c.Get(old).Want(http.StatusNotFound)
	if n := sounds(s); n != 1 {
		t.Errorf("%d sounds, want the new one", n)
	}
}

// The pages of recordings ask the database as seldom as others do.
func TestRecordingPagesTakeFewRoundTrips(t *testing.T) {
	t.Parallel()
	g := webtest.NewRegulation(t, docket.StageRegulation)
	hears(g.Site, &ears{result: aWatch()})
	loose := sendSound(g.Bench, "/listen/upload", "a.wav", wav(t), "recorder", "0").Want(http.StatusSeeOther).Location()
	base := "/dockets/" + g.Number.String()
	tied := sendSound(g.Bench, base+"/listen/upload", "a.wav", wav(t), askedFields...).Want(http.StatusSeeOther).Location()
	g.Bench.Post(tied+"/keep", url.Values{"run": {"new:final"}, "position": {"CH"}, "hours": {"0"},
		"keep_sound": {"yes"}}).Want(http.StatusSeeOther)
	g.Bench.Get(base).Want(http.StatusOK) // what was said is said
	kept := base + "/heard/" + webtest.Itoa(g.Sheet().Runs[0].Heard["CH-0"])
	for _, path := range []string{loose, loose + "/sound", tied, tied + "/sound", kept, kept + "/sound", "/listen/upload",
		base + "/listen/upload"} {
		ctx, count := storetest.CountRoundTrips(t.Context())
		if status := g.Bench.Serve(ctx, g.Site, path); status != http.StatusOK || count.Trips() > webtest.MaxRoundTrips {
			t.Errorf("%s answers %d after %d round trips", path, status, count.Trips())
		}
	}
	if status := g.Bench.Get("/dockets/" + g.Number.String() + "/heard/4711/sound").Status; status != http.StatusNotFound {
		t.Errorf("a sound that is not there: %d", status)
	}
}
