package page

import (
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"maps"
	"mime"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"sync"
	"time"

	"ledgerwheel/domain"
	"ledgerwheel/store"
)

// Sendings knows what was sent before.
type Sendings interface {
	SentBefore(ctx context.Context, key [32]byte) (location string, done bool, err error)
	Answered(ctx context.Context, key [32]byte, location string) error
}

// stamp is what a sent form said of itself, and of the request in which it was sent.
type stamp struct {
	host      *Host
	key, page string
	sending   store.Sending
	underway  chan struct{} // closed when the request is answered; nil before it has a key
	own       bool          // the form was shown to whoever is signed in
}

type stampKey struct{}

func stampOf(r *http.Request) *stamp {
	if st, ok := r.Context().Value(stampKey{}).(*stamp); ok {
		return st
	}
	return &stamp{}
}

// underway are the sendings that are being answered, by key: an equal one waits, so that it finds what the first made.
type underway struct {
	mu  sync.Mutex
	all map[[32]byte]chan struct{}
}

// enter waits until no equal sending is being answered, and is then the one that is.
func (u *underway) enter(ctx context.Context, key [32]byte) (chan struct{}, error) {
	for {
		u.mu.Lock()
		other, busy := u.all[key]
		if !busy {
			mine := make(chan struct{})
			if u.all == nil {
				u.all = map[[32]byte]chan struct{}{}
			}
			u.all[key] = mine
			u.mu.Unlock()
			return mine, nil
		}
		u.mu.Unlock()
		select {
		case <-other:
		case <-ctx.Done():
			return nil, ctx.Err()
		}
	}
}

func (u *underway) leave(key [32]byte, mine chan struct{}) {
	u.mu.Lock()
	delete(u.all, key)
	u.mu.Unlock()
	close(mine)
}

// withStamp gives a posted request a place for its stamp. A form without files is read at once.
func (s *Host) withStamp(w http.ResponseWriter, r *http.Request) (*http.Request, *stamp, error) {
	st := &stamp{host: s}
	ctx := store.WithSending(context.WithValue(r.Context(), stampKey{}, st), &st.sending)
	r = r.WithContext(ctx)
	if kind, _, _ := mime.ParseMediaType(r.Header.Get("Content-Type")); kind == "application/x-www-form-urlencoded" {
		r.Body = http.MaxBytesReader(w, r.Body, maxFormBytes)
		if err := r.ParseForm(); err != nil {
			return r, st, BadRequest(err)
		}
		if err := Sent(r, r.PostForm); err != nil {
			return r, st, err
		}
	}
	return r, st, nil
}

// Sent takes the stamp out of the fields of a form and finds whether the same was sent before: the error is then
// domain.ErrSentTwice, and the answer to the first is the answer. more is what was sent besides the fields, such as
// the sums of files. The same is: by the same person, from the same drawing of a page, to the same address, every
// field alike.
func Sent(r *http.Request, fields url.Values, more ...string) error {
	st := stampOf(r)
	key, at := fields.Get(formKeyField), fields.Get(formPageField)
	fields.Del(formKeyField)
	fields.Del(formPageField)
	v, ok := ViewerOf(r.Context())
	if st.host == nil || key == "" || st.underway != nil || !ok {
		return nil
	}
	st.key, st.page = key, LocalPath(at)
	shownTo, genuine := personOfKey(v.Shop.LinkSecret, key)
	switch {
	case !genuine:
		return nil
	case shownTo != v.Member.ID:
		return &otherPersonError{fields}
	}
	if st.own = true; strings.Contains(r.Header.Get("Accept"), "application/json") {
		return nil // a script that keeps count itself, and can't follow to a page
	}
	st.sending.Key = sumOf(key, r.URL.RequestURI(), fields, more)
	var err error
	if st.underway, err = st.host.underway.enter(r.Context(), st.sending.Key); err != nil {
		return err
	}
	if _, done, err := st.host.Viewers.SentBefore(r.Context(), st.sending.Key); err != nil {
		return err
	} else if done {
		return domain.ErrSentTwice
	}
	return nil
}

func sumOf(key, to string, fields url.Values, more []string) [32]byte {
	h := sha256.New()
	fmt.Fprintf(h, "%q %q %q\n", key, to, more)
	for _, name := range slices.Sorted(maps.Keys(fields)) {
		fmt.Fprintf(h, "%q %q\n", name, fields[name])
	}
	return [32]byte(h.Sum(nil))
}

// otherPersonError reports a form that was shown to somebody else than who is signed in now.
type otherPersonError struct{ fields url.Values }

func (*otherPersonError) Error() string { return "the form was shown to another person" }

// sentAgain answers what was sent twice as the first was answered.
func (s *Host) sentAgain(w http.ResponseWriter, r *http.Request, st *stamp) error {
	const tries, pause = 20, 50 * time.Millisecond // for an answer that another process still gives
	for range tries {
		location, done, err := s.Viewers.SentBefore(r.Context(), st.sending.Key)
		if err != nil {
			return err
		}
		if done && location != "" {
			return SeeOther(w, r, location)
		}
		time.Sleep(pause)
	}
	s.Say(r.Context(), "This was sent twice and saved once.")
	return SeeOther(w, r, withKept(st.page, ""))
}

// savedCookie names the form that was saved last, so that the browser forgets what was typed into it.
const savedCookie = "form_saved"

// answering watches how a post is answered.
type answering struct {
	http.ResponseWriter
	host    *Host
	r       *http.Request
	st      *stamp
	written bool
	status  int
}

func (a *answering) WriteHeader(status int) {
	if !a.written {
		a.written, a.status = true, status
		if a.saved() {
			http.SetCookie(a.ResponseWriter, &http.Cookie{Name: a.host.CookieName(savedCookie), Value: a.st.key, Path: "/", MaxAge: 120,
				SameSite: http.SameSiteLaxMode, Secure: a.host.Sessions.Cookie.Secure})
		}
	}
	a.ResponseWriter.WriteHeader(status)
}

func (a *answering) Write(b []byte) (int, error) {
	if !a.written {
		a.WriteHeader(http.StatusOK)
	}
	return a.ResponseWriter.Write(b)
}

// Unwrap lets deadlines be set on what lies below.
func (a *answering) Unwrap() http.ResponseWriter { return a.ResponseWriter }

// saved reports whether the answer says that what was sent is kept.
func (a *answering) saved() bool {
	return a.st.key != "" && (a.status == http.StatusSeeOther || a.st.sending.Done() && a.status < 300)
}

// answerPost lets a handler answer a post, and what was sent twice once.
func (s *Host) answerPost(w http.ResponseWriter, r *http.Request, h Handler) error {
	r, st, err := s.withStamp(w, r)
	defer func() {
		if st.underway != nil {
			s.underway.leave(st.sending.Key, st.underway)
		}
	}()
	a := &answering{ResponseWriter: w, host: s, r: r, st: st}
	if err == nil {
		err = h(a, r)
	}
	var other *otherPersonError
	switch {
	case errors.Is(err, domain.ErrSentTwice):
		return s.sentAgain(w, r, st)
	case errors.As(err, &other):
		return s.keepForViewer(w, r, st, other.fields)
	case err != nil:
		return err
	}
	if !a.saved() {
		return nil
	}
	ctx := context.WithoutCancel(r.Context())
	if st.sending.Done() {
		err = s.Viewers.Answered(ctx, st.sending.Key, w.Header().Get("Location"))
	}
	if id := keptIn(st.page); id != "" {
		v, _ := ViewerOf(ctx)
		err = errors.Join(err, s.Viewers.DropForm(ctx, v.Member.ID, id))
	}
	if err != nil { // what was sent is saved and answered; only the repetition of it would not be
		s.Log.Error("after what was sent", "id", RequestIDOf(ctx), "error", err)
	}
	return nil
}
