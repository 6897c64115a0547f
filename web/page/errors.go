package page

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net/http"
	"net/url"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/health"
	"ledgerwheel/store/files"
	"ledgerwheel/web/view"
)

var (
	errSignIn    = errors.New("nobody is signed in")
	errEnrol     = errors.New("a second factor has to be set up first")
	ErrForbidden = errors.New("the role does not reach this far")
)

// badRequestError reports a request that no form of ours makes.
type badRequestError struct{ cause error }

func (e *badRequestError) Error() string { return "bad request: " + e.cause.Error() }
func (e *badRequestError) Unwrap() error { return e.cause }

func BadRequest(cause error) error { return &badRequestError{cause} }

// Fail answers for err: the one place that maps errors to pages. What a person reads never holds
// the error's own text; the log line does, under the same request id.
func (s *Host) Fail(w http.ResponseWriter, r *http.Request, err error) {
	if errors.Is(err, errSignIn) {
		s.askToSignIn(w, r)
		return
	}
	if errors.Is(err, errEnrol) {
		s.leadToEnrol(w, r)
		return
	}
	status, said := explain(s.withCause(err))
	level := slog.LevelWarn
	if status >= 500 {
		level = slog.LevelError
	}
	v, _ := ViewerOf(r.Context()) // 0 for nobody known
	s.Log.LogAttrs(r.Context(), level, "request failed",
		slog.String("id", RequestIDOf(r.Context())), slog.Int("status", status), slog.String("method", r.Method),
		slog.String("path", loggedPath(r)), slog.Int64("staff", v.Member.ID), slog.String("from", s.ClientAddress(r)),
		slog.Any("error", err))
	if errors.Is(r.Context().Err(), context.Canceled) {
		return // nobody is listening any more
	}
	said.RequestID = RequestIDOf(r.Context())
	s.RenderPlain(w, r, status, said.Title, view.ErrorPage(said))
}

// withCause names why the records can't be reached, where the disk says so: a database that has no room left, or whose
// folder is gone, may only be seen not to answer.
func (s *Host) withCause(err error) error {
	if health.Of(err) != health.Unreachable {
		return err
	}
	for _, t := range s.troubles() {
		if t.Stops() {
			return fmt.Errorf("%w: %w", t.Err(), err)
		}
	}
	return err
}

// explain gives the status and the plain words for an error.
func explain(err error) (int, view.ErrorText) {
	var tooLarge *http.MaxBytesError
	var bad *badRequestError
	var invalid *domain.InvalidError
	switch {
	case errors.As(err, &tooLarge):
		return http.StatusRequestEntityTooLarge, view.ErrorText{Title: "That is too large",
			Text: "What was sent is over the limit and nothing was saved. Go back, choose fewer or smaller files, and send again."}
	case errors.As(err, &bad):
		return http.StatusBadRequest, view.ErrorText{Title: "That request can't be read",
			Text: "The address or the form is damaged. Nothing was saved. Go back and try again from the page itself."}
	case errors.Is(err, ErrForbidden):
		return http.StatusForbidden, view.ErrorText{Title: "Not yours to do",
			Text: "Your role in the shop does not include this. Ask the owner if it should."}
	case errors.Is(err, files.ErrAltered):
		return http.StatusInternalServerError, view.ErrorText{Title: "The file was altered",
			Text: "What lies on the disk is not what was kept, so it is not shown as that. Send the same picture or sound in again: " +
				"it then takes its place. Or take it from a backup."}
	case errors.Is(err, domain.ErrNotFound):
		return http.StatusNotFound, view.ErrorText{Title: "Nothing here",
			Text: "There is no such page or record, or a link has expired. Check the number, or look for it with the find box."}
	case errors.Is(err, domain.ErrChanged):
		return http.StatusConflict, view.ErrorText{Title: "Someone else saved first",
			Text: "The record was changed while you were working on it. Nothing of yours was saved. Go back: what you typed " +
				"is still in the form. Reload the record in another tab to see what changed."}
	case errors.As(err, &invalid):
		text := "Nothing was saved. Go back and correct what the form says."
		for _, why := range invalid.Problems {
			text = why + " Nothing was saved; go back and correct it."
			break
		}
		return http.StatusUnprocessableEntity, view.ErrorText{Title: "That can't be saved as it is", Text: text}
	case errors.Is(err, domain.ErrUnavailable):
		t := health.Of(err)
		return http.StatusServiceUnavailable, view.ErrorText{Title: t.Title(),
			Text: t.Sentence() + " Nothing was saved. Go back: what you typed is still in the form. Then send it again."}
	}
	return http.StatusInternalServerError, view.ErrorText{Title: "Something broke",
		Text: "The program could not finish this, and nothing half-done was saved. Tell the owner the request id below; " +
			"the log says more under it."}
}

// askToSignIn sends a stranger to the sign-in page and remembers where they wanted to go.
func (s *Host) askToSignIn(w http.ResponseWriter, r *http.Request) {
	target := "/sign-in"
	switch {
	case r.Method == http.MethodGet && r.URL.Path != "/":
		target += "?" + url.Values{"next": {r.URL.RequestURI()}}.Encode()
	case r.Method == http.MethodPost && r.Header.Get("Sec-Fetch-Dest") != "empty": // a script keeps its page
		id, err := s.keepTyped(w, r)
		if err != nil {
			s.Fail(w, r, err)
			return
		}
		if id != "" {
			target += "?" + url.Values{keptQuery: {id}}.Encode()
		}
	}
	http.Redirect(w, r, target, http.StatusSeeOther)
}

// RefusedStatus tells what one's role may not do from what can't be done yet.
func RefusedStatus(refusal *docket.Refusal) int {
	if refusal.Forbidden {
		return http.StatusForbidden
	}
	return http.StatusUnprocessableEntity
}
