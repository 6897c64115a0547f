package web

import (
	"context"
	"encoding/binary"
	"encoding/json"
	"math"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/coder/websocket"

	"ledgerwheel/domain/acoustic/simulate"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/recorder"
	"ledgerwheel/domain/timing"
	"ledgerwheel/store"
	"ledgerwheel/web/listening"
)

const listenRateHz = 44100

// microphone is a page's end of the line.
type microphone struct {
	t    *testing.T
	conn *websocket.Conn
	next int64
	// session is its id.
	session string
}

// dialListen opens the line as a page of the site does, with its cookie.
func (c *client) dialListen(path, origin string) (*websocket.Conn, *http.Response, error) {
	u, _ := url.Parse(c.url)
	header := http.Header{}
	if origin != "" {
		header.Set("Origin", origin)
	}
	for _, cookie := range c.http.Jar.Cookies(u) {
		header.Add("Cookie", cookie.String())
	}
	return websocket.Dial(c.t.Context(), c.url+path, &websocket.DialOptions{HTTPHeader: header})
}

// listens opens a line and says hello.
func (c *client) listens(t *testing.T, path string) *microphone {
	t.Helper()
	conn, _, err := c.dialListen(path, c.url)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { conn.CloseNow() })
	conn.SetReadLimit(1 << 20)
	m := &microphone{t: t, conn: conn}
	m.say(map[string]any{"type": "hello", "rate_hz": listenRateHz})
	m.session = m.until("welcome", nil)["session"].(string)
	return m
}

func (m *microphone) say(message any) {
	m.t.Helper()
	data, err := json.Marshal(message)
	if err != nil {
		m.t.Fatal(err)
	}
	if err := m.conn.Write(m.t.Context(), websocket.MessageText, data); err != nil {
		m.t.Fatal(err)
	}
}

func (m *microphone) start(fields map[string]string) {
	m.t.Helper()
	all := map[string]string{"position": "CH", "hours": "0", "mode": "one", "settle": "0", "most": "60"}
	for name, text := range fields {
		all[name] = text
	}
	m.say(map[string]any{"type": "start", "fields": all})
}

func (m *microphone) hears(sound []float32) {
	m.t.Helper()
	for chunk := range slices.Chunk(sound, 4096) {
		data := binary.LittleEndian.AppendUint64(nil, uint64(m.next))
		for _, x := range chunk {
			data = binary.LittleEndian.AppendUint32(data, math.Float32bits(x))
		}
		if err := m.conn.Write(m.t.Context(), websocket.MessageBinary, data); err != nil {
			m.t.Fatal(err)
		}
		m.next += int64(len(chunk))
	}
}

// until reads messages of a kind until one pleases.
func (m *microphone) until(kind string, pleases func(map[string]any) bool) map[string]any {
	m.t.Helper()
	ctx, cancel := context.WithTimeout(m.t.Context(), 20*time.Second)
	defer cancel()
	for {
		_, data, err := m.conn.Read(ctx)
		if err != nil {
			m.t.Fatalf("waiting for %q: %v", kind, err)
		}
		var got map[string]any
		if err := json.Unmarshal(data, &got); err != nil {
			m.t.Fatal(err)
		}
		if got["type"] == kind && (pleases == nil || pleases(got)) {
			return got
		}
	}
}

// hearsAll sends the sound and waits until figures were made of it; the number of the take is returned.
func (m *microphone) hearsAll(sound []float32) string {
	m.t.Helper()
	m.hears(sound)
	report := m.until("report", func(r map[string]any) bool { return r["acked"].(float64) == float64(m.next) && r["watch"] == true })
	return strconv.Itoa(int(report["take"].(float64)))
}

// takenIn waits until the session has all that was sent.
func (m *microphone) takenIn(session *listening.Session) {
	m.t.Helper()
	for deadline := time.Now().Add(20 * time.Second); ; time.Sleep(time.Millisecond) {
		r, _ := session.Report()
		if r.Acked >= m.next {
			return
		}
		if time.Now().After(deadline) {
			m.t.Fatalf("%d of %d samples were taken in", r.Acked, m.next)
		}
	}
}

func leverSound(seed uint64) ([]float32, simulate.Truth) {
	w := simulate.Lever()
	w.RateSPerDay = 3.4
	return simulate.Sound(w, simulate.Room{SNRdB: 30, PeakDBFS: -12}, listenRateHz, 15, seed)
}

// onBench is a docket of a watch in regulation.
func (s *site) onBench() string {
	s.t.Helper()
	number := s.noted()
	if _, err := s.store.Pool().Exec(s.t.Context(), `UPDATE docket SET stage = 'regulation' WHERE number = $1`, number); err != nil {
		s.t.Fatal(err)
	}
	return number
}

func (s *site) addRecorder(name string, ppm float64) int64 {
	s.t.Helper()
	id, err := s.store.AddRecorder(s.t.Context(), recorder.Recorder{Name: name, UsualRateHz: 48000}, store.Actor{StaffID: s.watchmaker.ID}, testNow)
	if err != nil {
		s.t.Fatal(err)
	}
	if _, err := s.store.KeepCalibration(s.t.Context(), id, recorder.Calibration{PPM: ppm, StdPPM: 0.5, Method: recorder.Typed, At: testNow.Add(-time.Hour),
		Note: "certificate 17", ByID: s.watchmaker.ID, KeptAt: testNow}); err != nil {
		s.t.Fatal(err)
	}
	return id
}

func (s *site) runsOf(number string) []store.RunRecord {
	s.t.Helper()
	n, err := docket.ParseNumber(number)
	if err != nil {
		s.t.Fatal(err)
	}
	sheet, err := s.store.RegulationSheet(s.t.Context(), n)
	if err != nil {
		s.t.Fatal(err)
	}
	return sheet.Runs
}

// What is heard lands in the grid with the program's own figures, corrected for the recorder's clock; the next position
// is offered, and goes into the same run.
func TestListenAndKeep(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	number := s.onBench()
	const ppm = 20
	rec := s.addRecorder("Bench microphone", ppm)
	c := s.as(s.watchmaker)
	path := "/dockets/" + number + "/listen"
	page := c.get(path).want(http.StatusOK)
	if got := page.text("listen-start"); got != "Start listening" {
		t.Errorf("the button says %q", got)
	}
	m := c.listens(t, path+"/socket")
	m.start(map[string]string{"recorder": itoa(rec), "run": "new:after service"})
	sound, truth := leverSound(1)
	take := m.hearsAll(sound)

	fields := url.Values{"session": {m.session}, "take": {take}, "run": {"new:after service"}, "version": {page.hidden("version")}, "keep_sound": {"yes"},
		"rate": {"999"}} // figures of the page's own are not looked at
	kept := c.post(path+"/keep", fields).want(http.StatusSeeOther)
	runs := s.runsOf(number)
	if len(runs) != 1 || runs[0].Sheet.Run.Kind != timing.AfterService {
		t.Fatalf("runs %+v", runs)
	}
	reading, found := runs[0].Sheet.Run.Reading(timing.DialUp, 0)
	if !found || reading.RateSPerDay == nil {
		t.Fatal("there is no reading in CH at full wind")
	}
	// 20 ppm fast counts too many samples: the watch seems to lose 1.73 s/d and is given them back.
	want := truth.RateSPerDay + ppm*timing.SPerDayPerPPM
	if d := reading.RateSPerDay.Value - want; math.Abs(d) > 4*reading.RateSPerDay.StdUncertainty+0.05 {
		t.Errorf("rate %v, want %.2f", *reading.RateSPerDay, want)
	}
	if reading.Instrument != "Bench microphone" {
		t.Errorf("the instrument is %q", reading.Instrument)
	}
	if to := kept.location(); !strings.Contains(to, "run="+itoa(runs[0].ID)) || !strings.Contains(to, "position=FH") {
		t.Errorf("leads to %s", to)
	}
	next := c.get(kept.location()).want(http.StatusOK)
	if !strings.Contains(next.text("flash"), "CH, full wind") {
		t.Errorf("said %q", next.text("flash"))
	}

	m.start(map[string]string{"recorder": itoa(rec), "run": itoa(runs[0].ID), "position": "FH"})
	sound, _ = leverSound(2)
	second := url.Values{"session": {m.session}, "take": {m.hearsAll(sound)}, "run": {itoa(runs[0].ID)}, "version": {next.hidden("version")}}
	answer := c.postJSON(path+"/keep", second).want(http.StatusOK)
	var said kept2
	if err := json.Unmarshal([]byte(answer.body), &said); err != nil || said.Next != "3H" || said.Run != itoa(runs[0].ID) {
		t.Errorf("the script is told %s (%v)", answer.body, err)
	}
	if runs = s.runsOf(number); len(runs) != 1 || len(runs[0].Sheet.Run.Readings) != 2 {
		t.Errorf("the second reading went elsewhere: %+v", runs)
	}
}

type kept2 struct{ Next, Run, Version string }

func (c *client) postJSON(path string, fields url.Values) *answer {
	c.t.Helper()
	req, err := http.NewRequest(http.MethodPost, c.url+path, strings.NewReader(fields.Encode()))
	if err != nil {
		c.t.Fatal(err)
	}
	req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	req.Header.Set("Accept", "application/json")
	return c.do(req)
}

// Nobody keeps what another heard, what was not heard, or into a run that is not there; a docket that moved on is shown.
func TestKeepRefuses(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	number := s.onBench()
	path := "/dockets/" + number + "/listen"
	c := s.as(s.watchmaker)
	version := c.get(path).want(http.StatusOK).hidden("version")
	m := c.listens(t, path+"/socket")
	m.start(map[string]string{"run": "new:after service"})
	sound, _ := leverSound(1)
	good := url.Values{"session": {m.session}, "take": {m.hearsAll(sound)}, "run": {"new:after service"}, "version": {version}}
	for name, tt := range map[string]struct {
		as      *client
		field   string
		value   string
		explain string
	}{
		"another person":     {s.as(s.owner), "", "", "no longer here"},
		"no session":         {c, "session", "XYZ", "no longer here"},
		"no such take":       {c, "take", "77", "no longer here"},
		"nothing ticked":     {c, "take", "", "no longer here"},
		"no such run":        {c, "run", "4711", "Choose the run"},
		"no kind of run":     {c, "run", "new:sideways", "Choose as received"},
		"a kind now passed":  {c, "run", "new:as received", "as received"},
		"a run of no number": {c, "run", "x", "Choose the run"},
	} {
		fields := url.Values{}
		for key, values := range good {
			fields[key] = values
		}
		if tt.field != "" {
			fields.Set(tt.field, tt.value)
		}
		got := tt.as.postJSON(path+"/keep", fields).want(http.StatusUnprocessableEntity)
		if !strings.Contains(got.body, tt.explain) {
			t.Errorf("%s: %s", name, got.body)
		}
		tt.as.post(path+"/keep", fields).want(http.StatusUnprocessableEntity)
	}
	if runs := s.runsOf(number); len(runs) != 0 {
		t.Fatalf("kept all the same: %+v", runs)
	}
	if _, err := s.store.Pool().Exec(t.Context(), `UPDATE docket SET version = version + 1 WHERE number = $1`, number); err != nil {
		t.Fatal(err)
	}
	c.post(path+"/keep", good).want(http.StatusConflict)
	if _, err := s.store.Pool().Exec(t.Context(), `UPDATE docket SET stage = 'handed-over', open = false WHERE number = $1`, number); err != nil {
		t.Fatal(err)
	}
	good.Set("version", s.version(number)) // the newest: it is refused for being closed and for nothing else
	if got := c.postJSON(path+"/keep", good).want(http.StatusUnprocessableEntity).body; !strings.Contains(got,
		"has left the shop") {
		t.Errorf("a closed docket says %s", got)
	}
	if got := c.get(path).want(http.StatusOK).text("no-run"); !strings.Contains(got, "left the shop") {
		t.Errorf("a closed docket's page says %q", got)
	}
}

// The line opens to a page of this site alone, and to those who take readings.
func TestListenLineIsGuarded(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	number := s.onBench()
	bench := s.as(s.watchmaker)
	for name, tt := range map[string]struct {
		as     *client
		path   string
		origin string
		want   int
	}{
		"from elsewhere":        {bench, "/listen/socket", "https://elsewhere.example", http.StatusForbidden},
		"from nowhere":          {bench, "/listen/socket", "", http.StatusForbidden},
		"from another port":     {bench, "/listen/socket", "http://127.0.0.1:1", http.StatusForbidden},
		"a sandboxed page":      {bench, "/listen/socket", "null", http.StatusForbidden},
		"the clerk":             {s.as(s.clerk), "/listen/socket", s.url, http.StatusForbidden},
		"the clerk at a docket": {s.as(s.clerk), "/dockets/" + number + "/listen/socket", s.url, http.StatusForbidden},
		"a stranger":            {s.stranger(), "/listen/socket", s.url, http.StatusOK}, // led to the sign-in page
		"no such docket":        {bench, "/dockets/26-99999-X/listen/socket", s.url, http.StatusNotFound},
	} {
		conn, resp, err := tt.as.dialListen(tt.path, tt.origin)
		if err == nil {
			conn.CloseNow()
			t.Errorf("%s: the line opens", name)
			continue
		}
		if resp == nil || resp.StatusCode != tt.want && resp.StatusCode != http.StatusSeeOther {
			t.Errorf("%s: %v", name, err)
		}
	}
	for _, m := range s.everyone() {
		if m.ID == s.clerk.ID {
			continue
		}
		s.as(m).listens(t, "/listen/socket")
	}
}

// Who loses the right while the line is open starts nothing more.
func TestListenStopsForTheDisabled(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	m := s.as(s.watchmaker).listens(t, "/listen/socket")
	if _, err := s.store.Pool().Exec(t.Context(), `UPDATE staff SET disabled_at = now(), session_epoch = session_epoch + 1 WHERE id = $1`, s.watchmaker.ID); err != nil {
		t.Fatal(err)
	}
	m.start(nil)
	ctx, cancel := context.WithTimeout(t.Context(), 10*time.Second)
	defer cancel()
	for {
		if _, _, err := m.conn.Read(ctx); err != nil {
			if ctx.Err() != nil {
				t.Fatal("the line stays open")
			}
			return
		}
	}
}

// What is typed wrongly is refused by field, over the line.
func TestListenStartRefuses(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	number := s.onBench()
	m := s.as(s.watchmaker).listens(t, "/dockets/"+number+"/listen/socket")
	for field, text := range map[string]string{"position": "4H", "hours": "soon", "settle": "x", "most": "1", "recorder": "4711",
		"beats_per_hour": "12", "lift_angle": "300", "run": "4711"} {
		m.start(map[string]string{field: text})
		problems := m.until("refused", nil)["problems"].(map[string]any)
		if problems[field] == nil || len(problems) != 1 {
			t.Errorf("%s %q: %v", field, text, problems)
		}
	}
}

// A page names its own sockets in its policy, and nothing that a forged host could add.
func TestSocketOrigins(t *testing.T) {
	t.Parallel()
	for host, want := range map[string]string{
		"bench.example:8443": " ws://bench.example:8443 wss://bench.example:8443",
		"[::1]:80":           " ws://[::1]:80 wss://[::1]:80",
		"x; script-src *":    "",
		"a b":                "",
		"":                   "",
	} {
		if got := socketOrigins(host); got != want {
			t.Errorf("%q gives %q, want %q", host, got, want)
		}
	}
}

// A session of over ten minutes tells the recorder's clock; a shorter one is refused with the time that is to come.
func TestKeepClock(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	rec := s.addRecorder("Desk microphone", 5)
	c := s.as(s.watchmaker)
	m := c.listens(t, "/listen/socket")
	m.hears(make([]float32, listenRateHz))
	m.until("report", func(r map[string]any) bool { return r["acked"].(float64) == listenRateHz })
	fields := url.Values{"session": {m.session}, "recorder": {itoa(rec)}}
	if got := c.postJSON("/listen/clock", fields).want(http.StatusUnprocessableEntity).body; !strings.Contains(got, "10 minutes") {
		t.Errorf("refused with %s", got)
	}
	const fastPPM = 30.0
	step := 5 * float64(time.Second) / (1 + fastPPM*1e-6)
	session := s.srv.hub.Find(listening.Owner{StaffID: s.watchmaker.ID}, m.session)
	for range 14 * 12 { // five seconds of sound each, by a clock that runs fast
		s.pass(time.Duration(step))
		m.hears(make([]float32, 5*listenRateHz))
		m.takenIn(session)
	}
	c.postJSON("/listen/clock", fields).want(http.StatusOK)
	kept, err := s.store.Recorder(t.Context(), rec)
	if err != nil {
		t.Fatal(err)
	}
	if k := kept.Calibration; k == nil || k.Method != recorder.ByServerClock || math.Abs(k.PPM-fastPPM) > 4*k.StdPPM {
		t.Errorf("kept %+v, want about %v ppm", k, fastPPM)
	}
}
