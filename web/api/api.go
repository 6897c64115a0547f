// Package api answers other programs: the record as JSON, read-only but for runs of readings, which an instrument's own
// software may send. What it has is described as OpenAPI 3.1 at its own address; who may read what is decided by access tokens
// (domain/token).
package api

import (
	"context"
	"net/http"
	"time"

	"github.com/danielgtaylor/huma/v2"
	"github.com/danielgtaylor/huma/v2/adapters/humachi"
	"github.com/go-chi/chi/v5"
	"github.com/go-chi/httprate"

	"ledgerwheel/domain/customer"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/token"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
)

// Path is where the API begins.
const Path = "/api/v1"

// Store is what the API asks of the record.
type Store interface {
	ProgramOf(ctx context.Context, secret string, at time.Time) (store.Program, error)
	ProgramDockets(ctx context.Context, f store.ProgramFilter) ([]store.ProgramDocket, bool, error)
	ProgramDocket(ctx context.Context, n docket.Number) (store.ProgramDocket, error)
	ProgramCustomers(ctx context.Context, after int64, limit int) ([]customer.Customer, bool, error)
	ProgramParts(ctx context.Context, after string, limit int) ([]store.CatalogueRow, bool, error)
	PriceList(ctx context.Context) ([]store.JobRow, error)
	RegulationSheet(ctx context.Context, n docket.Number) (store.RegulationSheet, error)
	RecordRun(ctx context.Context, c store.Change, in store.RunEntry) (int64, error)
	SentRun(ctx context.Context, sent store.RunSent) (runID int64, same bool, err error)
}

// askedPerMinute is how often one token may ask; wrongPerMinute how often one machine may ask without one that serves.
const (
	askedPerMinute = 240
	wrongPerMinute = 30
)

// API answers other programs.
type API struct {
	host  *page.Host
	store Store
	huma  huma.API
	asked *httprate.RateLimiter
	wrong *httprate.RateLimiter
}

// Mount adds the API to a router of the whole program.
func Mount(r chi.Router, host *page.Host, s Store) {
	r.Route(Path, func(r chi.Router) { newAPI(r, host, s) })
}

func newAPI(r chi.Router, host *page.Host, s Store) *API {
	refuse := httprate.WithLimitHandler(func(http.ResponseWriter, *http.Request) {}) // said by authorise
	a := &API{host: host, store: s, asked: httprate.NewRateLimiter(askedPerMinute, time.Minute, refuse),
		wrong: httprate.NewRateLimiter(wrongPerMinute, time.Minute, refuse)}
	r.Use(neverKept)
	config := huma.DefaultConfig("The record of a watch repair shop", "1.0.0")
	config.Info.Description = describes
	config.Servers = []*huma.Server{{URL: host.PublicURL + Path}}
	config.DocsPath, config.SchemasPath, config.CreateHooks = "", "", nil
	config.RejectUnknownQueryParameters = true
	config.Components.SecuritySchemes = map[string]*huma.SecurityScheme{scheme: {Type: "http", Scheme: "bearer",
		Description: "An access token that the owner of the shop made (RFC 6750). Beside each operation stands what the token must allow."}}
	a.huma = humachi.New(r, config)
	a.huma.UseMiddleware(a.authorise)
	a.readDockets()
	a.readPeople()
	a.readLists()
	a.sendRuns()
	r.NotFound(a.notThere)
	r.MethodNotAllowed(a.notThere)
	return a
}

const describes = `Read-only but for runs of readings. Lists come in pages: where an answer has "next", give it as "cursor" for what follows; a
list has ended where "next" is missing. Errors are problem details (RFC 9457). Days are civil days in the shop's time zone; moments
are UTC (RFC 3339). Amounts are whole minor units of an ISO 4217 currency, and the same as a decimal. Rates are in seconds a day,
above zero where the watch gains. A position is given by its ISO 3158 symbol. At most 240 requests a minute are answered for a token.`

// neverKept keeps answers out of every cache: they are the shop's own.
func neverKept(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		w.Header().Set("Cache-Control", "no-store")
		next.ServeHTTP(w, r)
	})
}

// notThere answers where the API has nothing.
func (a *API) notThere(w http.ResponseWriter, r *http.Request) {
	ctx := humachi.NewContext(&huma.Operation{}, r, w)
	_ = huma.WriteErr(a.huma, ctx, http.StatusNotFound, "There is no such thing here; see "+Path+"/openapi.json.") // logs its own failure
}

// operation describes one thing that may be asked.
func operation(method, path, id, summary string, needs token.Scope, failures ...int) huma.Operation {
	op := huma.Operation{Method: method, Path: path, OperationID: id, Summary: summary,
		Errors: append([]int{http.StatusUnauthorized, http.StatusForbidden, http.StatusTooManyRequests}, failures...)}
	op.Security = []map[string][]string{{scheme: {}}}
	if needs != "" {
		op.Description = "Needs a token that may " + needs.Words() + "."
		op.Metadata = map[string]any{scopeKey: needs}
		op.Extensions = map[string]any{"x-needs": string(needs)}
	}
	return op
}
