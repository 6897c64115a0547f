package listening_test

import (
	"context"
	"encoding/binary"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"net/http"
	"net/http/httptest"
	"runtime"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/coder/websocket"

	"ledgerwheel/domain/acoustic"
	"ledgerwheel/domain/acoustic/simulate"
	"ledgerwheel/domain/heard"
	rules "ledgerwheel/domain/listening"
	"ledgerwheel/domain/timing"
	"ledgerwheel/web/bench/hearing/listening"
)

const rateHz = 44100

// room is a hub with a line into it for one person.
type room struct {
	t     *testing.T
	hub   *listening.Hub
	url   string
	owner listening.Owner
	ended chan error
}

func newRoom(t *testing.T, now func() time.Time) *room {
	t.Helper()
	r := &room{t: t, hub: listening.NewHub(now, nil, drawing), owner: listening.Owner{StaffID: 1}, ended: make(chan error, 100)}
	srv := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, req *http.Request) {
		conn, err := websocket.Accept(w, req, nil)
		if err != nil {
			return
		}
		owner := r.owner
		if req.URL.RawQuery != "" {
			fmt.Sscan(req.URL.RawQuery, &owner.StaffID)
		}
		r.ended <- listening.Serve(context.Background(), conn, r.hub, owner, choose)
	}))
	t.Cleanup(srv.Close)
	r.url = srv.URL
	return r
}

// choose listens to whatever position is named, at once, or through two positions.
func choose(_ context.Context, fields map[string]string) (listening.Begin, map[string]string, error) {
	b := listening.Begin{Plan: rules.Plan{Positions: []timing.Position{timing.Position(fields["position"])}, MostS: 60},
		Source: heard.Source{Recorder: "bench", Clock: acoustic.UncalibratedClock()}, Words: func(p timing.Position) string {
			return p.Words(3)
		}}
	if fields["mode"] == "through" {
		b.Plan.Positions, b.Plan.Through, b.Plan.SettleS, b.Plan.MostS = []timing.Position{"CH", "6H"}, true, 3, 11
		b.Plan.LeastS = 10
	}
	return b, b.Plan.Problems(), nil
}

// page is the other end of the line.
type page struct {
	t    *testing.T
	conn *websocket.Conn
}

func (r *room) dial(query string) *page {
	r.t.Helper()
	conn, _, err := websocket.Dial(r.t.Context(), r.url+"/"+query, nil)
	if err != nil {
		r.t.Fatal(err)
	}
	conn.SetReadLimit(1 << 20)
	r.t.Cleanup(func() { conn.CloseNow() })
	return &page{r.t, conn}
}

func (p *page) say(text string) error {
	return p.conn.Write(p.t.Context(), websocket.MessageText, []byte(text))
}

func (p *page) hello(session string) map[string]any {
	p.t.Helper()
	if err := p.say(fmt.Sprintf(`{"type":"hello","rate_hz":%d,"session":%q}`, rateHz, session)); err != nil {
		p.t.Fatal(err)
	}
	return p.next("welcome")
}

// next reads until a message of the type comes; "" is any.
func (p *page) next(kind string) map[string]any {
	p.t.Helper()
	m, err := p.read(kind)
	if err != nil {
		p.t.Fatalf("waiting for %q: %v", kind, err)
	}
	return m
}

func (p *page) read(kind string) (map[string]any, error) {
	ctx, cancel := context.WithTimeout(p.t.Context(), 20*time.Second)
	defer cancel()
	for {
		_, data, err := p.conn.Read(ctx)
		if err != nil {
			return nil, err
		}
		var m map[string]any
		if err := json.Unmarshal(data, &m); err != nil {
			return nil, err
		}
		if kind == "" || m["type"] == kind {
			return m, nil
		}
	}
}

func frame(first int64, samples []float32) []byte {
	data := binary.LittleEndian.AppendUint64(nil, uint64(first))
	for _, x := range samples {
		data = binary.LittleEndian.AppendUint32(data, math.Float32bits(x))
	}
	return data
}

// send sends samples from..to of a sound that begins at the session's first sample.
func (p *page) send(sound []float32, from, to int) error {
	for from < to {
		n := min(4096, to-from)
		if err := p.conn.Write(p.t.Context(), websocket.MessageBinary, frame(int64(from), sound[from:from+n])); err != nil {
			return err
		}
		from += n
	}
	return nil
}

// reports reads reports until one pleases. Reports come all the time, so their coming is no sign of getting on: the
// whole wait has an end.
func (p *page) reports(pleases func(map[string]any) bool) map[string]any {
	p.t.Helper()
	for deadline := time.Now().Add(time.Minute); time.Now().Before(deadline); {
		if r := p.next("report"); pleases(r) {
			return r
		}
	}
	p.t.Fatal("no report pleases within a minute")
	return nil
}

// heardUpTo reads reports until all samples before the number have arrived.
func (p *page) heardUpTo(number int) map[string]any {
	p.t.Helper()
	return p.reports(func(r map[string]any) bool { return int(r["acked"].(float64)) >= number && r["watch"] == true })
}

func lever() ([]float32, simulate.Truth) {
	return simulate.Sound(simulate.Lever(), simulate.Room{SNRdB: 30, PeakDBFS: -12}, rateHz, 24, 3)
}

// A line that breaks in the middle loses nothing: what was not acknowledged comes again, and the beats are counted on.
func TestBrokenLineGoesOn(t *testing.T) {
	t.Parallel()
	sound, truth := lever()
	r := newRoom(t, time.Now)
	first := r.dial("")
	session := first.hello("")["session"].(string)
	if err := first.say(`{"type":"start","fields":{"position":"CH"}}`); err != nil {
		t.Fatal(err)
	}
	half := len(sound) / 2
	if err := first.send(sound, 0, half); err != nil {
		t.Fatal(err)
	}
	first.heardUpTo(half)
	before := r.lastBeat(session)
	first.conn.CloseNow()
	<-r.ended

	second := r.dial("")
	welcome := second.hello(session)
	if welcome["resumed"] != true || int(welcome["acked"].(float64)) != half {
		t.Fatalf("welcomed back with %v, want sample %d", welcome, half)
	}
	if err := second.send(sound, half-9000, len(sound)); err != nil { // some of it comes twice
		t.Fatal(err)
	}
	after := second.heardUpTo(len(sound))
	if lost := after["lost_s"].(float64); lost != 0 {
		t.Errorf("%v s are lost", lost)
	}
	if last := r.lastBeat(session); last <= before+80 {
		t.Errorf("the last beat was %v and is %v: not counted on", before, last)
	}
	take, ok := r.hub.Find(r.owner, session).Take(1)
	if !ok {
		t.Fatal("no take")
	}
	agrees(t, take.Result, truth)
	for i, b := range take.Result.Beats[1:] {
		if b.Number <= take.Result.Beats[i].Number {
			t.Fatal("a beat's number comes twice")
		}
	}
}

// drawing stands for the picture: it says what is to be drawn.
func drawing(p listening.Picture) string {
	return fmt.Sprintf("%d beats, %d teeth, from %d", len(p.Result.Beats), p.Wheel.Teeth, p.From)
}

// lastBeat is the number of the last beat heard so far.
func (r *room) lastBeat(session string) int64 {
	take, ok := r.hub.Find(r.owner, session).Take(1)
	if !ok {
		r.t.Fatal("no take")
	}
	return take.Result.Beats[len(take.Result.Beats)-1].Number
}

// agrees compares with the truth to four standard uncertainties, so that a false alarm is rarer than one in ten
// thousand.
func agrees(t *testing.T, r acoustic.Result, truth simulate.Truth) {
	t.Helper()
	if d := r.Rate.Value - truth.RateSPerDay; math.Abs(d) > 4*r.RateFitStdSPerDay+0.05 {
		t.Errorf("rate %v, truth %v", r.Rate, truth.RateSPerDay)
	}
	if r.Amplitude == nil || math.Abs(r.Amplitude.Value-truth.AmplitudeDeg) > 4*r.Amplitude.StdUncertainty+2 {
		t.Errorf("amplitude %v, truth %v", r.Amplitude, truth.AmplitudeDeg)
	}
}

// Sound that is truly lost counts as silence, so that what comes after keeps its time.
func TestLostSoundIsSilence(t *testing.T) {
	t.Parallel()
	sound, truth := lever()
	r := newRoom(t, time.Now)
	p := r.dial("")
	session := p.hello("")["session"].(string)
	if err := p.say(`{"type":"start","fields":{"position":"CH"}}`); err != nil {
		t.Fatal(err)
	}
	if err := p.send(sound, 0, 10*rateHz); err != nil {
		t.Fatal(err)
	}
	if err := p.send(sound, 13*rateHz, len(sound)); err != nil {
		t.Fatal(err)
	}
	report := p.heardUpTo(len(sound))
	if lost := report["lost_s"].(float64); math.Abs(lost-3) > 1e-9 {
		t.Errorf("%v s are lost, want 3", lost)
	}
	take, _ := r.hub.Find(r.owner, session).Take(1)
	agrees(t, take.Result, truth)
	last := take.Result.Beats[len(take.Result.Beats)-1]
	if want := math.Round(last.TimeS * 8); math.Abs(float64(last.Number)-want) > 4 {
		t.Errorf("the beat at %.2f s has number %d, want about %v", last.TimeS, last.Number, want)
	}
}

// A buffer that was dropped before anything numbered it is no stop of the watch: the page is told what was lost, and the beats
// are counted on.
func TestDroppedBufferIsNoStop(t *testing.T) {
	t.Parallel()
	for _, lostMs := range []int{61, 101} {
		sound, truth := lever()
		at := 7*rateHz + 1234
		sound = slices.Concat(sound[:at], sound[at+lostMs*rateHz/1000:])
		r := newRoom(t, time.Now)
		p := r.dial("")
		session := p.hello("")["session"].(string)
		if err := p.say(`{"type":"start","fields":{"position":"CH"}}`); err != nil {
			t.Fatal(err)
		}
		if err := p.send(sound, 0, len(sound)); err != nil {
			t.Fatal(err)
		}
		p.heardUpTo(len(sound))
		take, _ := r.hub.Find(r.owner, session).Take(1)
		var codes []acoustic.NoteCode
		for _, n := range take.Result.Notes {
			codes = append(codes, n.Code)
		}
		if !slices.Contains(codes, acoustic.NoteSoundLost) || slices.Contains(codes, acoustic.NoteStops) {
			t.Errorf("%d ms: notes %v", lostMs, take.Result.Notes)
		}
		if r := take.Result; r.EndS-r.StartS < 0.9*float64(len(sound))/rateHz || math.Abs(r.Rate.Value-truth.RateSPerDay) > 1.5 {
			t.Errorf("%d ms: heard from %.1f to %.1f s, rate %v, truth %v", lostMs, r.StartS, r.EndS, r.Rate, truth.RateSPerDay)
		}
	}
}

// Whatever a page sends that no page of ours sends, it is cut off with a word, and the program goes on.
func TestHostilePagesAreCutOff(t *testing.T) {
	t.Parallel()
	r := newRoom(t, time.Now)
	text, binary := websocket.MessageText, websocket.MessageBinary
	started := func(p *page) { p.hello("") }
	nothing := func(*page) {}
	for name, tt := range map[string]struct {
		before func(*page)
		kind   websocket.MessageType
		data   []byte
	}{
		"sound before hello":     {nothing, binary, frame(0, make([]float32, 100))},
		"no words":               {nothing, text, []byte("{")},
		"another hello":          {started, text, []byte(`{"type":"hello","rate_hz":44100}`)},
		"a rate of nothing":      {nothing, text, []byte(`{"type":"hello","rate_hz":0}`)},
		"a rate beyond all":      {nothing, text, []byte(`{"type":"hello","rate_hz":1e300}`)},
		"a session of no one":    {nothing, text, []byte(`{"type":"hello","rate_hz":44100,"session":"XYZ"}`)},
		"words without end":      {started, text, []byte(`{"type":"` + strings.Repeat("x", 5000) + `"}`)},
		"a message without end":  {started, binary, make([]byte, 1<<20)},
		"three bytes":            {started, binary, []byte{1, 2, 3}},
		"half a sample":          {started, binary, append(frame(0, nil), 1, 2)},
		"a far sample":           {started, binary, frame(1<<40, make([]float32, 8))},
		"a sample beyond all":    {started, binary, frame(-1, make([]float32, 8))},
		"a gap of three minutes": {started, binary, frame(180*rateHz, make([]float32, 8))},
		"unknown words":          {started, text, []byte(`{"type":"sing"}`)},
	} {
		t.Run(name, func(t *testing.T) {
			p := r.dial("")
			p.t = t
			tt.before(p)
			_ = p.conn.Write(t.Context(), tt.kind, tt.data)
			for {
				if _, err := p.read(""); err != nil {
					if errors.Is(err, context.DeadlineExceeded) {
						t.Error("it was left alone")
					}
					break
				}
			}
		})
	}
	if n := r.hub.Len(); n > rules.MostOfOnePerson {
		t.Errorf("%d sessions are left", n)
	}
}

// Sound that is no sound, at full scale or no number at all, makes no figures and no fault.
func TestSenselessSound(t *testing.T) {
	t.Parallel()
	r := newRoom(t, time.Now)
	p := r.dial("")
	p.hello("")
	if err := p.say(`{"type":"start","fields":{"position":"FH"}}`); err != nil {
		t.Fatal(err)
	}
	sound := make([]float32, 8*rateHz)
	for i := range sound {
		switch i % 4 {
		case 0:
			sound[i] = float32(math.NaN())
		case 1:
			sound[i] = float32(math.Inf(1))
		case 2:
			sound[i] = math.MaxFloat32
		}
	}
	if err := p.send(sound, 0, len(sound)); err != nil {
		t.Fatal(err)
	}
	p.reports(func(r map[string]any) bool {
		if r["watch"] == true {
			t.Fatal("a watch was heard in noise without sense")
		}
		return int(r["acked"].(float64)) == len(sound)
	})
}

// However fast a page sends and however little it reads, the program takes no more than four times real time after a
// first burst, and holds no more memory for it.
func TestFloodIsHeldBack(t *testing.T) {
	t.Parallel()
	r := newRoom(t, time.Now)
	p := r.dial("")
	session := p.hello("")["session"].(string)
	if err := p.say(`{"type":"start","fields":{"position":"CH"}}`); err != nil {
		t.Fatal(err)
	}
	began := time.Now()
	ctx, cancel := context.WithTimeout(t.Context(), 6*time.Second)
	defer cancel()
	quiet := make([]float32, 8192)
	sent := int64(0)
	for ctx.Err() == nil {
		if err := p.conn.Write(ctx, websocket.MessageBinary, frame(sent, quiet)); err != nil {
			break
		}
		sent += int64(len(quiet))
	}
	took := time.Since(began).Seconds()
	report, _ := r.hub.Find(r.owner, session).Report()
	if most := int64(rateHz*(rules.MostCatchUpS+rules.MostSpeed*took)) + 2*8192; report.Acked > most {
		t.Errorf("%d samples were taken in %.1f s, at most %d may be", report.Acked, took, most)
	}
	var m runtime.MemStats
	runtime.GC()
	runtime.ReadMemStats(&m)
	// A minute of 16-bit sound is held, 5 MB; the rest is the listener's and the test's own.
	if m.HeapAlloc > 256<<20 {
		t.Errorf("%d MB are held", m.HeapAlloc>>20)
	}
}

// One person has two sessions and the shop eight; those whose page is gone make room, and are forgotten in time.
func TestSessionsAreBounded(t *testing.T) {
	t.Parallel()
	now := time.Date(2026, 11, 24, 9, 0, 0, 0, time.UTC)
	hub := listening.NewHub(func() time.Time { return now }, nil, nil)
	var open []*listening.Session
	for staff := int64(1); staff <= rules.MostInAll/rules.MostOfOnePerson; staff++ {
		for range rules.MostOfOnePerson {
			s, err := hub.Open(listening.Owner{StaffID: staff}, rateHz)
			if err != nil {
				t.Fatal(err)
			}
			s.Attach()
			open = append(open, s)
		}
		if _, err := hub.Open(listening.Owner{StaffID: staff}, rateHz); err == nil {
			t.Fatal("a third session of one person is opened")
		}
	}
	if _, err := hub.Open(listening.Owner{StaffID: 99}, rateHz); err == nil {
		t.Fatal("a ninth session is opened")
	}
	open[0].Detach(1)
	if _, err := hub.Open(listening.Owner{StaffID: 1}, rateHz); err != nil {
		t.Errorf("a session whose page is gone makes no room: %v", err)
	}
	if hub.Find(open[0].Owner, open[0].ID) != nil {
		t.Error("the session that made room is still there")
	}
	if hub.Find(listening.Owner{StaffID: 2}, open[1].ID) != nil ||
		hub.Find(listening.Owner{StaffID: 1, Docket: "26-00001-X"}, open[1].ID) != nil {
		t.Error("somebody else, or another docket, finds a session")
	}
	open[1].Detach(1)
	now = now.Add(rules.KeptFor - time.Second)
	if hub.Find(open[1].Owner, open[1].ID) == nil {
		t.Error("a session is forgotten before its time")
	}
	now = now.Add(2 * time.Second)
	if hub.Find(open[1].Owner, open[1].ID) != nil {
		t.Error("a session is not forgotten")
	}
}

// A second window takes the session over; the first is told.
func TestAnotherWindowTakesOver(t *testing.T) {
	t.Parallel()
	r := newRoom(t, time.Now)
	first := r.dial("")
	session := first.hello("")["session"].(string)
	second := r.dial("")
	second.hello(session)
	if err := first.send(make([]float32, 100), 0, 100); err != nil {
		t.Fatal(err)
	}
	if m := first.next("error"); m["code"] != "taken" {
		t.Errorf("the first window is told %v", m)
	}
	if err := second.send(make([]float32, 4096), 0, 4096); err != nil {
		t.Fatal(err)
	}
	second.reports(func(r map[string]any) bool { return int(r["acked"].(float64)) >= 4096 })
}

// What can't be listened to is refused by field, and the line stays.
func TestRefusedStart(t *testing.T) {
	t.Parallel()
	r := newRoom(t, time.Now)
	p := r.dial("")
	p.hello("")
	if err := p.say(`{"type":"start","fields":{"position":"4H"}}`); err != nil {
		t.Fatal(err)
	}
	if m := p.next("refused"); m["problems"].(map[string]any)["position"] == nil {
		t.Errorf("refused with %v", m)
	}
}

// Going through positions, each is left by itself, nothing is measured while the next is called out, and what was heard
// of each is there in the end.
func TestThroughPositions(t *testing.T) {
	t.Parallel()
	w := simulate.Lever()
	sound, truth := simulate.Sound(w, simulate.Room{SNRdB: 30, PeakDBFS: -12}, rateHz, 2*(3+11)+2, 5)
	for i := 14 * rateHz; i < 17*rateHz; i++ { // the tones of the second position
		sound[i] = float32(0.9 * math.Sin(float64(i)*2*math.Pi*880/rateHz))
	}
	r := newRoom(t, time.Now)
	p := r.dial("")
	session := p.hello("")["session"].(string)
	if err := p.say(`{"type":"start","fields":{"mode":"through"}}`); err != nil {
		t.Fatal(err)
	}
	go func() { _ = p.send(sound, 0, len(sound)) }()
	last := p.reports(func(r map[string]any) bool {
		if r["phase"] == "settling" && r["watch"] == true {
			t.Fatal("something is heard while the watch is turned")
		}
		return r["phase"] == "over"
	})
	takes := last["takes"].([]any)
	if len(takes) != 2 {
		t.Fatalf("heard %v, want two positions", takes)
	}
	for i, position := range []timing.Position{"CH", "6H"} {
		take, ok := r.hub.Find(r.owner, session).Take(i + 1)
		if !ok || take.Position != position {
			t.Fatalf("take %d is %v", i+1, take.Position)
		}
		agrees(t, take.Result, truth)
		if wav, seconds, err := take.Sound(); err != nil || len(wav) == 0 || math.Abs(seconds-11) > 1.5 {
			t.Errorf("%s: %d bytes of sound, %.1f s, %v", position, len(wav), seconds, err)
		}
		if s := take.Result.Seconds; s > 11.5 {
			t.Errorf("%s was measured for %.1f s, at most 11 were asked for", position, s)
		}
	}
}
