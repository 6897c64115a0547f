package hearing_test

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
	"ledgerwheel/web/bench/hearing/listening"
	"ledgerwheel/web/page"
	"ledgerwheel/web/webtest"
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
func dialListen(c *webtest.Client, path, origin string) (*websocket.Conn, *http.Response, error) {
	u, _ := url.Parse(c.URL)
	header := http.Header{}
	if origin != "" {
		header.Set("Origin", origin)
	}
	for _, cookie := range c.HTTP.Jar.Cookies(u) {
		header.Add("Cookie", cookie.String())
	}
	return websocket.Dial(c.T.Context(), c.URL+path, &websocket.DialOptions{HTTPHeader: header})
}

// listens opens a line and says hello.
func listens(c *webtest.Client, t *testing.T, path string) *microphone {
	t.Helper()
	conn, _, err := dialListen(c, path, c.URL)
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
	report := m.until("report", func(r map[string]any) bool {
		return r["acked"].(float64) == float64(m.next) &&
			r["watch"] == true
	})
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
func onBench(s *webtest.Site) string {
	s.T.Helper()
	number := s.Noted()
	if _, err := s.Store.Pool().Exec(s.T.Context(), `UPDATE docket SET stage = 'regulation' WHERE number = $1`,
		number); err != nil {
		s.T.Fatal(err)
	}
	return number
}

func addRecorder(s *webtest.Site, name string, ppm float64) int64 {
	s.T.Helper()
	id, err := s.Store.AddRecorder(s.T.Context(), recorder.Recorder{Name: name, UsualRateHz: 48000},
		store.Actor{StaffID: s.Watchmaker.ID}, webtest.Now)
	if err != nil {
		s.T.Fatal(err)
	}
	if _, err := s.Store.KeepCalibration(s.T.Context(), id, recorder.Calibration{PPM: ppm, StdPPM: 0.5,
		Method: recorder.Typed, At: webtest.Now.Add(-time.Hour),
		Note: "certificate 17", ByID: s.Watchmaker.ID, KeptAt: webtest.Now}); err != nil {
		s.T.Fatal(err)
	}
	return id
}

func runsOf(s *webtest.Site, number string) []store.RunRecord {
	s.T.Helper()
	n, err := docket.ParseNumber(number)
	if err != nil {
		s.T.Fatal(err)
	}
	sheet, err := s.Store.RegulationSheet(s.T.Context(), n)
	if err != nil {
		s.T.Fatal(err)
	}
	return sheet.Runs
}

// What is heard lands in the grid with the program's own figures, corrected for the recorder's clock; the next position
// is offered, and goes into the same run.
func TestListenAndKeep(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	number := onBench(s)
	const ppm = 20
	rec := addRecorder(s, "Bench microphone", ppm)
	c := s.As(s.Watchmaker)
	path := "/dockets/" + number + "/listen"
	page := c.Get(path).Want(http.StatusOK)
	if got := page.Text("listen-start"); got != "Start listening" {
		t.Errorf("the button says %q", got)
	}
	m := listens(c, t, path+"/socket")
	m.start(map[string]string{"recorder": webtest.Itoa(rec), "run": "new:after service"})
	sound, truth := leverSound(1)
	take := m.hearsAll(sound)

	fields := url.Values{"session": {m.session}, "take": {take}, "run": {"new:after service"},
		"version": {page.Hidden("version")}, "keep_sound": {"yes"},
		"rate": {"999"}} // figures of the page's own are not looked at
	kept := c.Post(path+"/keep", fields).Want(http.StatusSeeOther)
	runs := runsOf(s, number)
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
	if to := kept.Location(); !strings.Contains(to, "run="+webtest.Itoa(runs[0].ID)) ||
		!strings.Contains(to, "position=FH") {
		t.Errorf("leads to %s", to)
	}
	next := c.Get(kept.Location()).Want(http.StatusOK)
	if !strings.Contains(next.Text("flash"), "CH, full wind") {
		t.Errorf("said %q", next.Text("flash"))
	}

	m.start(map[string]string{"recorder": webtest.Itoa(rec), "run": webtest.Itoa(runs[0].ID), "position": "FH"})
	sound, _ = leverSound(2)
	second := url.Values{"session": {m.session}, "take": {m.hearsAll(sound)}, "run": {webtest.Itoa(runs[0].ID)},
		"version": {next.Hidden("version")}}
	answer := postJSON(c, path+"/keep", second).Want(http.StatusOK)
	var said kept2
	if err := json.Unmarshal([]byte(answer.Body), &said); err != nil || said.Next != "3H" ||
		said.Run != webtest.Itoa(runs[0].ID) {
		t.Errorf("the script is told %s (%v)", answer.Body, err)
	}
	if runs = runsOf(s, number); len(runs) != 1 || len(runs[0].Sheet.Run.Readings) != 2 {
		t.Errorf("the second reading went elsewhere: %+v", runs)
	}
}

type kept2 struct{ Next, Run, Version string }

func postJSON(c *webtest.Client, path string, fields url.Values) *webtest.Answer {
	c.T.Helper()
	req, err := http.NewRequest(http.MethodPost, c.URL+path, strings.NewReader(fields.Encode()))
	if err != nil {
		c.T.Fatal(err)
	}
	req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	req.Header.Set("Accept", "application/json")
	return c.Do(req)
}

// Nobody keeps what another heard, what was not heard, or into a run that is not there; a docket that moved on is
// shown.
func TestKeepRefuses(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	number := onBench(s)
	path := "/dockets/" + number + "/listen"
	c := s.As(s.Watchmaker)
	version := c.Get(path).Want(http.StatusOK).Hidden("version")
	m := listens(c, t, path+"/socket")
	m.start(map[string]string{"run": "new:after service"})
	sound, _ := leverSound(1)
	good := url.Values{"session": {m.session}, "take": {m.hearsAll(sound)}, "run": {"new:after service"},
		"version": {version}}
	for name, tt := range map[string]struct {
		as      *webtest.Client
		field   string
		value   string
		explain string
	}{
		"another person":     {s.As(s.Owner), "", "", "no longer here"},
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
		got := postJSON(tt.as, path+"/keep", fields).Want(http.StatusUnprocessableEntity)
		if !strings.Contains(got.Body, tt.explain) {
			t.Errorf("%s: %s", name, got.Body)
		}
		tt.as.Post(path+"/keep", fields).Want(http.StatusUnprocessableEntity)
	}
	if runs := runsOf(s, number); len(runs) != 0 {
		t.Fatalf("kept all the same: %+v", runs)
	}
	if _, err := s.Store.Pool().Exec(t.Context(), `UPDATE docket SET version = version + 1 WHERE number = $1`,
		number); err != nil {
		t.Fatal(err)
	}
	c.Post(path+"/keep", good).Want(http.StatusConflict)
	if _, err := s.Store.Pool().Exec(t.Context(),
		`UPDATE docket SET stage = 'handed-over', open = false WHERE number = $1`, number); err != nil {
		t.Fatal(err)
	}
	good.Set("version", s.Version(number)) // the newest: it is refused for being closed and for nothing else
	if got := postJSON(c, path+"/keep", good).Want(http.StatusUnprocessableEntity).Body; !strings.Contains(got,
		"has left the shop") {
		t.Errorf("a closed docket says %s", got)
	}
	if got := c.Get(path).Want(http.StatusOK).Text("no-run"); !strings.Contains(got, "left the shop") {
		t.Errorf("a closed docket's page says %q", got)
	}
}

// The line opens to a page of this site alone, and to those who take readings.
func TestListenLineIsGuarded(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	number := onBench(s)
	bench := s.As(s.Watchmaker)
	for name, tt := range map[string]struct {
		as     *webtest.Client
		path   string
		origin string
		want   int
	}{
		"from elsewhere":        {bench, "/listen/socket", "https://elsewhere.example", http.StatusForbidden},
		"from nowhere":          {bench, "/listen/socket", "", http.StatusForbidden},
		"from another port":     {bench, "/listen/socket", "http://127.0.0.1:1", http.StatusForbidden},
		"a sandboxed page":      {bench, "/listen/socket", "null", http.StatusForbidden},
		"the clerk":             {s.As(s.Clerk), "/listen/socket", s.URL, http.StatusForbidden},
		"the clerk at a docket": {s.As(s.Clerk), "/dockets/" + number + "/listen/socket", s.URL, http.StatusForbidden},
		"a stranger":            {s.Stranger(), "/listen/socket", s.URL, http.StatusOK}, // led to the sign-in page
		"no such docket":        {bench, "/dockets/26-99999-X/listen/socket", s.URL, http.StatusNotFound},
	} {
		conn, resp, err := dialListen(tt.as, tt.path, tt.origin)
		if err == nil {
			conn.CloseNow()
			t.Errorf("%s: the line opens", name)
			continue
		}
		if resp == nil || resp.StatusCode != tt.want && resp.StatusCode != http.StatusSeeOther {
			t.Errorf("%s: %v", name, err)
		}
	}
	for _, m := range s.Everyone() {
		if m.ID == s.Clerk.ID {
			continue
		}
		listens(s.As(m), t, "/listen/socket")
	}
}

// Who loses the right while the line is open starts nothing more.
func TestListenStopsForTheDisabled(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	m := listens(s.As(s.Watchmaker), t, "/listen/socket")
	if _, err := s.Store.Pool().Exec(t.Context(),
		`UPDATE staff SET disabled_at = now(), session_epoch = session_epoch + 1 WHERE id = $1`,
		s.Watchmaker.ID); err != nil {
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
	s := webtest.NewSite(t)
	number := onBench(s)
	m := listens(s.As(s.Watchmaker), t, "/dockets/"+number+"/listen/socket")
	for field, text := range map[string]string{"position": "4H", "hours": "soon", "settle": "x", "most": "1",
		"recorder":       "4711",
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
		if got := page.SocketOrigins(host); got != want {
			t.Errorf("%q gives %q, want %q", host, got, want)
		}
	}
}

// A session of over ten minutes tells the recorder's clock; a shorter one is refused with the time that is to come.
func TestKeepClock(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	rec := addRecorder(s, "Desk microphone", 5)
	c := s.As(s.Watchmaker)
	m := listens(c, t, "/listen/socket")
	m.hears(make([]float32, listenRateHz))
	m.until("report", func(r map[string]any) bool { return r["acked"].(float64) == listenRateHz })
	fields := url.Values{"session": {m.session}, "recorder": {webtest.Itoa(rec)}}
	if got := postJSON(c, "/listen/clock", fields).Want(http.StatusUnprocessableEntity).Body; !strings.Contains(got,
		"10 minutes") {
		t.Errorf("refused with %s", got)
	}
	const fastPPM = 30.0
	step := 5 * float64(time.Second) / (1 + fastPPM*1e-6)
	session := s.Srv.Hearing.Hub().Find(listening.Owner{StaffID: s.Watchmaker.ID}, m.session)
	for range 14 * 12 { // five seconds of sound each, by a clock that runs fast
		s.Pass(time.Duration(step))
		m.hears(make([]float32, 5*listenRateHz))
		m.takenIn(session)
	}
	postJSON(c, "/listen/clock", fields).Want(http.StatusOK)
	kept, err := s.Store.Recorder(t.Context(), rec)
	if err != nil {
		t.Fatal(err)
	}
	if k := kept.Calibration; k == nil || k.Method != recorder.ByServerClock || math.Abs(k.PPM-fastPPM) > 4*k.StdPPM {
		t.Errorf("kept %+v, want about %v ppm", k, fastPPM)
	}
}
