package web

import (
	"bytes"
	"context"
	"errors"
	"net/http"
	"net/url"
	"strings"

	"github.com/go-chi/chi/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/staff"
	"ledgerwheel/web/page"
)

// paperRouter finds the route that makes a paper.
func (s *Server) paperRouter() chi.Router {
	papers := chi.NewRouter()
	for _, rt := range s.Routes() {
		if rt.Method == http.MethodGet && strings.Contains(rt.Pattern, "/papers/") && strings.HasSuffix(rt.Pattern, ".pdf") {
			papers.Get(rt.Pattern, func(w http.ResponseWriter, r *http.Request) { w.(*keptPaper).answer(r, rt) })
		}
	}
	return papers
}

// paperAt makes the paper at a path as its own route does, for whoever asks with r. ok is false where there is no such
// paper, or where r may not have it.
func (s *Server) paperAt(r *http.Request, path string) (pdf []byte, ok bool, err error) {
	own := r.Clone(context.WithValue(r.Context(), chi.RouteCtxKey, chi.NewRouteContext()))
	own.Method, own.Body, own.URL, own.RequestURI = http.MethodGet, http.NoBody, &url.URL{Path: path}, path
	kept := &keptPaper{header: http.Header{}, status: http.StatusOK}
	s.papers.ServeHTTP(kept, own)
	switch {
	case errors.Is(kept.err, domain.ErrNotFound), errors.Is(kept.err, page.ErrForbidden):
		return nil, false, nil
	case kept.err != nil:
		return nil, false, kept.err
	}
	return kept.body.Bytes(), kept.status == http.StatusOK && bytes.HasPrefix(kept.body.Bytes(), []byte("%PDF-")), nil
}

// keptPaper is the answer of a route that makes a paper, kept instead of sent.
type keptPaper struct {
	header http.Header
	status int
	body   bytes.Buffer
	err    error
}

func (k *keptPaper) Header() http.Header         { return k.header }
func (k *keptPaper) WriteHeader(status int)      { k.status = status }
func (k *keptPaper) Write(b []byte) (int, error) { return k.body.Write(b) }

// answer lets a route answer, if it admits whoever asks.
func (k *keptPaper) answer(r *http.Request, rt page.Route) {
	v, ok := page.ViewerOf(r.Context())
	if !ok || !staff.Can(v.Member.Role, rt.Who.Perm) {
		k.err = page.ErrForbidden
		return
	}
	k.err = rt.Handle(k, r)
}
