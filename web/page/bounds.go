package page

import (
	"net"
	"net/http"
	"net/netip"
	"strings"
	"time"

	"github.com/go-chi/httprate"

	"ledgerwheel/domain/staff"
	"ledgerwheel/web/view"
)

// Bound is how often something may be asked, and what is said to whoever asks more often.
type Bound struct {
	Times       int
	Within      time.Duration
	Title, Text string
}

// PerMachine bounds how often one machine may ask, counted over all handlers that the result wraps.
func (s *Host) PerMachine(b Bound) func(Handler) Handler {
	return s.bounded(b, func(r *http.Request) (string, error) { return clientAddress(r), nil })
}

// PerName bounds attempts on one e-mail address, from however many machines.
func (s *Host) PerName(b Bound) func(Handler) Handler {
	return s.bounded(b, func(r *http.Request) (string, error) {
		return staff.NormalEmail(r.PostFormValue("email")), nil
	})
}

func (s *Host) bounded(b Bound, key httprate.KeyFunc) func(Handler) Handler {
	limit := httprate.LimitBy(b.Times, b.Within, key,
		httprate.WithLimitHandler(func(w http.ResponseWriter, r *http.Request) {
			said := view.ErrorText{Title: b.Title, Text: b.Text, RequestID: RequestIDOf(r.Context())}
			s.RenderPlain(w, r, http.StatusTooManyRequests, said.Title, view.ErrorPage(said))
		}))
	return func(h Handler) Handler {
		inner := limit(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
			if err := h(w, r); err != nil {
				s.Fail(w, r, err)
			}
		}))
		return func(w http.ResponseWriter, r *http.Request) error { inner.ServeHTTP(w, r); return nil }
	}
}

// clientAddress is the machine that asks. A proxy on this machine or in a private network is believed in the
// last address that it adds; what stands before that is the visitor's own word and is not.
func clientAddress(r *http.Request) string {
	host, _, err := net.SplitHostPort(r.RemoteAddr)
	if err != nil {
		return r.RemoteAddr
	}
	addr, err := netip.ParseAddr(host)
	if err == nil && (addr.IsLoopback() || addr.IsPrivate()) {
		hops := strings.Split(r.Header.Get("X-Forwarded-For"), ",")
		if last := strings.TrimSpace(hops[len(hops)-1]); last != "" {
			host = last
		}
	}
	return httprate.CanonicalizeIP(host)
}

// LimitBody bounds what is read before anything looks at the form.
func LimitBody(h Handler) Handler {
	return func(w http.ResponseWriter, r *http.Request) error {
		r.Body = http.MaxBytesReader(w, r.Body, maxFormBytes)
		return h(w, r)
	}
}
