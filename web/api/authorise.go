package api

import (
	"context"
	"errors"
	"log/slog"
	"net/http"
	"strconv"
	"strings"

	"github.com/danielgtaylor/huma/v2"
	"github.com/danielgtaylor/huma/v2/adapters/humachi"

	"ledgerwheel/domain"
	"ledgerwheel/domain/health"
	"ledgerwheel/domain/token"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
)

const (
	scheme   = "token" // of the OpenAPI document
	scopeKey = "scope"
)

type programKey struct{}

// programOf is who asks; authorise has let it in.
func programOf(ctx context.Context) store.Program {
	p, _ := ctx.Value(programKey{}).(store.Program)
	return p
}

// authorise lets in the bearer of a token that serves and allows what the operation needs (RFC 6750).
func (a *API) authorise(ctx huma.Context, next func(huma.Context)) {
	r, w := humachi.Unwrap(ctx)
	p, err := a.store.ProgramOf(ctx.Context(), bearer(r), a.host.Now())
	switch {
	case errors.Is(err, domain.ErrNotFound):
		if a.wrong.OnLimit(w, r, a.host.ClientAddress(r)) {
			a.refuse(ctx, http.StatusTooManyRequests, "Too often without a token that serves. Wait a minute.")
			return
		}
		ctx.SetHeader("WWW-Authenticate", `Bearer realm="ledgerwheel"`)
		a.refuse(ctx, http.StatusUnauthorized, "Send an access token that serves: Authorization: Bearer lwt_…")
		return
	case err != nil:
		a.fail(ctx, err)
		return
	}
	if a.asked.OnLimit(w, r, strconv.FormatInt(p.Token.ID, 10)) {
		a.refuse(ctx, http.StatusTooManyRequests, "This token has asked too often. Wait a minute.")
		return
	}
	needs, _ := ctx.Operation().Metadata[scopeKey].(token.Scope)
	if needs != "" && !p.Token.Has(needs) {
		ctx.SetHeader("WWW-Authenticate", `Bearer realm="ledgerwheel", error="insufficient_scope", scope="`+string(needs)+`"`)
		a.refuse(ctx, http.StatusForbidden, "This token may not "+needs.Words()+".")
		return
	}
	next(huma.WithValue(ctx, programKey{}, p))
}

// bearer is the token of a request, "" for none.
func bearer(r *http.Request) string {
	kind, secret, _ := strings.Cut(r.Header.Get("Authorization"), " ")
	if !strings.EqualFold(kind, "Bearer") {
		return ""
	}
	return strings.TrimSpace(secret)
}

func (a *API) refuse(ctx huma.Context, status int, words string) {
	_ = huma.WriteErr(a.huma, ctx, status, words) // logs its own failure
}

func (a *API) fail(ctx huma.Context, err error) {
	e := a.explain(ctx.Context(), err)
	a.refuse(ctx, e.GetStatus(), e.Error())
}

// explain turns an error of the record into a problem, and writes what nobody outside needs to know into the log.
func (a *API) explain(ctx context.Context, err error) huma.StatusError {
	switch {
	case errors.Is(err, domain.ErrNotFound):
		return huma.Error404NotFound("There is no such docket.")
	case errors.Is(err, domain.ErrClosed):
		return huma.Error409Conflict("The watch has left the shop, so its docket takes no more runs.")
	case errors.Is(err, domain.ErrChanged):
		return huma.Error409Conflict("The docket was changed meanwhile. Send it again.")
	}
	a.host.Log.LogAttrs(ctx, slog.LevelError, "request of another program failed", slog.String("request", page.RequestIDOf(ctx)), slog.Any("error", err))
	if health.Of(err) != "" {
		return huma.Error503ServiceUnavailable("The record can't be reached just now. Send it again later: the same Idempotency-Key is done once.")
	}
	return huma.Error500InternalServerError("Something went wrong; it is in the program's log.")
}
