package listening

import (
	"context"
	"encoding/binary"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"time"

	"github.com/coder/websocket"

	"ledgerwheel/domain/listening"
)

// The line between page and program. The page sends
//
//	text    {"type":"hello","rate_hz":48000,"session":"…"}   first of all; without a session a new one is opened
//	text    {"type":"start","fields":{"position":"CH",…}}     and "skip", "stop", "still"
//	binary  number of the first sample, 64 bit; then samples, 32-bit floats of full scale ±1; all little endian
//
// and is sent, as text: "welcome" with the session and the number of the sample that is awaited, "report" several times
// a second, "refused" with what is wrong with a start, and "error" before the line is closed.
const (
	headerBytes   = 8
	mostSamples   = 8192 // of one message
	mostTextBytes = 4096
	mostBytes     = headerBytes + 4*mostSamples

	helloWithin = 10 * time.Second
	writeWithin = 10 * time.Second
	reportEvery = 250 * time.Millisecond
	pingEvery   = 10 * time.Second
)

// Choose checks what a person asked to listen to. What is wrong is said by form field.
type Choose func(ctx context.Context, fields map[string]string) (b Begin, problems map[string]string, err error)

// message is what a page says in words.
type message struct {
	Type    string            `json:"type"`
	Session string            `json:"session"`
	RateHz  float64           `json:"rate_hz"`
	Fields  map[string]string `json:"fields"`
}

// farewell is said before the line is closed.
type farewell struct {
	Type string `json:"type"` // "error"
	Code string `json:"code"`
	Text string `json:"text"`
}

func (f *farewell) Error() string { return f.Code + ": " + f.Text }

func goodbye(code, text string) error { return &farewell{Type: "error", Code: code, Text: text} }

// socket is one connection of a session.
type socket struct {
	conn    *websocket.Conn
	hub     *Hub
	owner   Owner
	choose  Choose
	session *Session
	line    int
}

// Serve listens to a page until the line breaks or is closed. It closes the connection. The error is what a log should
// know; nil when the page went away as pages do.
func Serve(ctx context.Context, conn *websocket.Conn, h *Hub, owner Owner, choose Choose) error {
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	defer conn.CloseNow()
	conn.SetReadLimit(mostBytes)
	s := &socket{conn: conn, hub: h, owner: owner, choose: choose}
	err := s.greet(ctx)
	if err == nil {
		defer s.session.Detach(s.line)
		go s.tell(ctx, cancel)
		err = s.listen(ctx)
	}
	var f *farewell
	if errors.As(err, &f) {
		_ = s.say(ctx, f) // the page may be gone already
		_ = conn.Close(websocket.StatusPolicyViolation, f.Code)
		return err
	}
	if websocket.CloseStatus(err) == websocket.StatusMessageTooBig {
		return err
	}
	return nil
}

// greet reads the hello and opens or finds the session.
func (s *socket) greet(ctx context.Context) error {
	ctx, cancel := context.WithTimeout(ctx, helloWithin)
	defer cancel()
	kind, data, err := s.conn.Read(ctx)
	if err != nil {
		return err
	}
	m, err := parse(kind, data)
	if err != nil || m.Type != "hello" {
		return goodbye("hello", "The page did not say what it sends.")
	}
	resumed := false
	if m.Session != "" {
		s.session = s.hub.Find(s.owner, m.Session)
		if resumed = s.session != nil; !resumed {
			return goodbye("gone", "The session is no longer there: the line was down for too long. Begin again.")
		}
		if s.session.RateHz != m.RateHz {
			return goodbye("rate", "The microphone now gives another number of samples a second. Begin again.")
		}
	} else if s.session, err = s.hub.Open(s.owner, m.RateHz); err != nil {
		if errors.Is(err, errFull) {
			return goodbye("full", fmt.Sprintf("You are listening in %d other windows, or %d in the whole shop. Close one "+
				"and try again.",
				listening.MostOfOnePerson, listening.MostInAll))
		}
		return goodbye("rate", "The microphone can't be used: "+err.Error())
	}
	var next int64
	s.line, next = s.session.Attach()
	return s.say(ctx, struct {
		Type    string `json:"type"`
		Session string `json:"session"`
		Acked   int64  `json:"acked"`
		Resumed bool   `json:"resumed"`
	}{"welcome", s.session.ID, next, resumed})
}

func parse(kind websocket.MessageType, data []byte) (message, error) {
	var m message
	if kind != websocket.MessageText || len(data) > mostTextBytes {
		return m, errors.New("not a message in words, or too long a one")
	}
	err := json.Unmarshal(data, &m)
	return m, err
}

// listen reads until the line breaks.
func (s *socket) listen(ctx context.Context) error {
	samples := make([]float32, 0, mostSamples)
	for {
		kind, data, err := s.read(ctx)
		if err != nil {
			return err
		}
		if kind == websocket.MessageText {
			if err := s.obey(ctx, data); err != nil {
				return err
			}
			continue
		}
		first, ok := decode(data, &samples)
		if !ok {
			return goodbye("sound", "The page sent something that is no sound.")
		}
		wait, current, err := s.session.feed(s.line, first, samples)
		switch {
		case !current:
			return goodbye("taken", "Listening goes on in another window.")
		case errors.Is(err, listening.ErrGap):
			return goodbye("gap", "Too much sound was lost on the way. Begin again.")
		case err != nil:
			return goodbye("long", "This has been listened to for as long as one session may last. Begin again.")
		}
		if err := rest(ctx, wait); err != nil {
			return err
		}
	}
}

// rest lets a page that sends faster than sound can come wait: what it sends is not read meanwhile.
func rest(ctx context.Context, wait time.Duration) error {
	if wait <= 0 {
		return nil
	}
	t := time.NewTimer(wait)
	defer t.Stop()
	select {
	case <-t.C:
		return nil
	case <-ctx.Done():
		return ctx.Err()
	}
}

func (s *socket) read(ctx context.Context) (websocket.MessageType, []byte, error) {
	ctx, cancel := context.WithTimeout(ctx, listening.IdleFor)
	defer cancel()
	return s.conn.Read(ctx)
}

// decode reads samples into those given, whose room is reused.
func decode(data []byte, samples *[]float32) (first int64, ok bool) {
	if len(data) < headerBytes || (len(data)-headerBytes)%4 != 0 {
		return 0, false
	}
	number := binary.LittleEndian.Uint64(data)
	if number > math.MaxInt64/2 {
		return 0, false
	}
	*samples = (*samples)[:0]
	for data = data[headerBytes:]; len(data) > 0; data = data[4:] {
		*samples = append(*samples, math.Float32frombits(binary.LittleEndian.Uint32(data)))
	}
	return int64(number), true
}

// obey does what the page says in words.
func (s *socket) obey(ctx context.Context, data []byte) error {
	m, err := parse(websocket.MessageText, data)
	if err != nil {
		return goodbye("words", "The page said something that can't be read.")
	}
	switch m.Type {
	case "start":
		return s.start(ctx, m.Fields)
	case "skip":
		s.session.skip()
	case "stop":
		s.session.stop()
	case "still": // the page is there and does not listen
	default:
		return goodbye("words", "The page said something that can't be read.")
	}
	return nil
}

func (s *socket) start(ctx context.Context, fields map[string]string) error {
	b, problems, err := s.choose(ctx, fields)
	if err != nil {
		return err
	}
	if len(problems) == 0 {
		b.Source.SampleRateHz, b.Started = s.session.RateHz, fields["started"]
		if err := s.session.start(b); err == nil {
			return nil
		} else {
			problems = map[string]string{"": err.Error()}
		}
	}
	return s.say(ctx, struct {
		Type     string            `json:"type"`
		Problems map[string]string `json:"problems"`
	}{"refused", problems})
}

func (s *socket) say(ctx context.Context, what any) error {
	data, err := json.Marshal(what)
	if err != nil {
		return err
	}
	ctx, cancel := context.WithTimeout(ctx, writeWithin)
	defer cancel()
	return s.conn.Write(ctx, websocket.MessageText, data)
}

// tell reports to the page and makes sure that it is still there. A page that does not read is cut off.
func (s *socket) tell(ctx context.Context, cut func()) {
	defer cut()
	tick, ping := time.NewTicker(reportEvery), time.NewTicker(pingEvery)
	defer tick.Stop()
	defer ping.Stop()
	told, acked, drawn := -1, int64(-1), 0
	for {
		select {
		case <-ctx.Done():
			return
		case <-ping.C:
			wait, cancel := context.WithTimeout(ctx, writeWithin)
			err := s.conn.Ping(wait)
			cancel()
			if err != nil {
				return
			}
		case <-tick.C:
			r, version := s.session.Report()
			if version == told && r.Acked == acked {
				continue
			}
			if r.Round != nil && r.Round.Number == drawn {
				r.Round = nil
			} else if r.Round != nil {
				drawn = r.Round.Number
			}
			if err := s.say(ctx, r); err != nil {
				return
			}
			told, acked = version, r.Acked
		}
	}
}
