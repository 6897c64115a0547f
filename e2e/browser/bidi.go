package browser

import (
	"context"
	"encoding/json"
	"fmt"
	"sync"

	"github.com/coder/websocket"
	"github.com/coder/websocket/wsjson"
)

// bidi is the line to a browser that speaks WebDriver BiDi: commands with numbers, their answers, and events.
type bidi struct {
	conn *websocket.Conn

	mu      sync.Mutex
	last    int // number of the last command
	waiting map[int]chan answer
	heard   map[string]func(event) // who hears of a window
	ended   error                  // why nothing comes any more
}

type params map[string]any

type answer struct {
	result json.RawMessage
	err    error
}

// event is what the browser tells unasked; which fields are there depends on the method.
type event struct {
	Method string
	Params struct {
		Context string `json:"context"`
		Source  struct {
			Context string `json:"context"`
		} `json:"source"`
		Level     string `json:"level"`
		Type      string `json:"type"`
		Text      string `json:"text"`
		ErrorText string `json:"errorText"`
		Request   struct {
			URL string `json:"url"`
		} `json:"request"`
		Response struct {
			URL        string `json:"url"`
			Status     int    `json:"status"`
			StatusText string `json:"statusText"`
		} `json:"response"`
	}
}

// dialBiDi opens a session in which questions of pages, such as whether to leave them, are answered with yes.
func dialBiDi(ctx context.Context, address string) (*bidi, error) {
	dialled, cancel := context.WithTimeout(ctx, patience)
	defer cancel()
	conn, _, err := websocket.Dial(dialled, address, nil)
	if err != nil {
		return nil, err
	}
	conn.SetReadLimit(64 << 20) // pictures come as text
	b := &bidi{conn: conn, waiting: map[int]chan answer{}, heard: map[string]func(event){}}
	go b.read(context.WithoutCancel(ctx))
	if _, err = ask[any](dialled, b, "session.new", params{"capabilities": params{"alwaysMatch": params{
		"unhandledPromptBehavior": params{"default": "accept"}}}}); err == nil {
		_, err = ask[any](dialled, b, "session.subscribe", params{"events": []string{"log.entryAdded",
			"network.responseCompleted", "network.fetchError", "browsingContext.userPromptOpened"}})
	}
	if err != nil {
		b.close()
		return nil, err
	}
	return b, nil
}

func (b *bidi) close() { _ = b.conn.CloseNow() }

// follow has a function hear the events of a window; nil ends it.
func (b *bidi) follow(window string, hear func(event)) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if hear == nil {
		delete(b.heard, window)
		return
	}
	b.heard[window] = hear
}

// read takes what comes until the line ends.
func (b *bidi) read(ctx context.Context) {
	for {
		var m struct {
			Type, Error, Message, Method string
			ID                           int
			Result, Params               json.RawMessage
		}
		if err := wsjson.Read(ctx, b.conn, &m); err != nil {
			b.end(err)
			return
		}
		switch m.Type {
		case "event":
			b.tell(m.Method, m.Params)
		case "success":
			b.answer(m.ID, answer{result: m.Result})
		case "error":
			b.answer(m.ID, answer{err: fmt.Errorf("%s: %s", m.Error, m.Message)})
		}
	}
}

func (b *bidi) end(err error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.ended = fmt.Errorf("the line to the browser ended: %w", err)
	for id, waits := range b.waiting {
		waits <- answer{err: b.ended}
		delete(b.waiting, id)
	}
}

func (b *bidi) answer(id int, a answer) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if waits := b.waiting[id]; waits != nil {
		waits <- a
		delete(b.waiting, id)
	}
}

func (b *bidi) tell(method string, text json.RawMessage) {
	e := event{Method: method}
	if json.Unmarshal(text, &e.Params) != nil {
		return // an event of a kind that nobody asked for
	}
	b.mu.Lock()
	hear := b.heard[e.Params.Context]
	if hear == nil {
		hear = b.heard[e.Params.Source.Context]
	}
	b.mu.Unlock()
	if hear != nil {
		hear(e)
	}
}

// ask sends a command and waits for its answer.
func ask[T any](ctx context.Context, b *bidi, method string, p params) (T, error) {
	var got T
	if p == nil {
		p = params{}
	}
	waits := make(chan answer, 1)
	b.mu.Lock()
	if b.ended != nil {
		b.mu.Unlock()
		return got, b.ended
	}
	b.last++
	id := b.last
	b.waiting[id] = waits
	b.mu.Unlock()
	text, err := json.Marshal(params{"id": id, "method": method, "params": p})
	if err != nil {
		return got, err
	}
	// A command is written whole or not at all: a context that ends while one is written would end the line.
	if err := b.conn.Write(context.WithoutCancel(ctx), websocket.MessageText, text); err != nil {
		return got, err
	}
	select {
	case a := <-waits:
		if a.err != nil {
			return got, fmt.Errorf("%s: %w", method, a.err)
		}
		return got, json.Unmarshal(a.result, &got)
	case <-ctx.Done():
		b.mu.Lock()
		defer b.mu.Unlock()
		delete(b.waiting, id)
		return got, fmt.Errorf("%s: %w", method, context.Cause(ctx))
	}
}
