package page

import (
	"net/http"
	"time"

	"github.com/go-chi/httprate"

	"ledgerwheel/web/view"
)

// Bound is how often something may be asked, and what is said to whoever asks more often.
type Bound struct {
	Times       int
	Within      time.Duration
	Title, Text string
	// Refuse answers whoever asks more often, in place of Title and Text; nil leaves it to them.
	Refuse http.HandlerFunc
}

// PerMachine bounds how often one machine may ask, counted over all handlers that the result wraps.
func (s *Host) PerMachine(b Bound) func(Handler) Handler {
	limit := httprate.LimitBy(b.Times, b.Within, func(r *http.Request) (string, error) { return s.ClientAddress(r), nil },
		httprate.WithLimitHandler(func(w http.ResponseWriter, r *http.Request) { s.tooOften(w, r, b) }))
	return func(h Handler) Handler {
		inner := limit(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
			if err := h(w, r); err != nil {
				s.Fail(w, r, err)
			}
		}))
		return func(w http.ResponseWriter, r *http.Request) error { inner.ServeHTTP(w, r); return nil }
	}
}

func (s *Host) tooOften(w http.ResponseWriter, r *http.Request, b Bound) {
	if b.Refuse != nil {
		b.Refuse(w, r)
		return
	}
	said := view.ErrorText{Title: b.Title, Text: b.Text, RequestID: RequestIDOf(r.Context())}
	s.RenderPlain(w, r, http.StatusTooManyRequests, said.Title, view.ErrorPage(said))
}

// Guesses bounds wrong answers: only those are counted.
type Guesses struct {
	bound   Bound
	limit   *httprate.RateLimiter
	counter httprate.LimitCounter
}

// NewGuesses allows as many wrong answers for each key as the bound says.
func NewGuesses(b Bound) *Guesses {
	// The counter's windows must be known here, to take a claim back: those of one given are cut from the clock.
	counter := httprate.NewLocalLimitCounter(b.Within)
	return &Guesses{b, httprate.NewRateLimiter(b.Times, b.Within, httprate.WithLimitCounter(counter)), counter}
}

// claim counts a wrong answer before it is known whether it is one, so that many sent at once are no way around.
func (g *Guesses) claim(w http.ResponseWriter, r *http.Request, key string) bool {
	return !g.limit.OnLimit(w, r, key)
}

// takeBack takes a claim back.
func (g *Guesses) takeBack(key string) {
	g.counter.IncrementBy(key, time.Now().UTC().Truncate(g.bound.Within), -1) // this counter returns no error, as it documents
}

// Guess is one answer under a bound's key.
type Guess struct {
	Of  *Guesses
	Key string
}

// Guess reports whether there may be one more answer under all of the keys; where not, that is said to whoever asks. right
// is called where the answer was right: it is then not counted.
func (s *Host) Guess(w http.ResponseWriter, r *http.Request, all ...Guess) (right func(), ok bool) {
	for i, g := range all {
		if !g.Of.claim(w, r, g.Key) {
			for _, before := range all[:i] {
				before.Of.takeBack(before.Key)
			}
			s.tooOften(w, r, g.Of.bound)
			return nil, false
		}
	}
	return func() {
		for _, g := range all {
			g.Of.takeBack(g.Key)
		}
	}, true
}
