package main

import (
	"context"
	"fmt"
	"log/slog"
	"net/http"
	"time"

	"ledgerwheel/store"
)

// deps is what the web side and the demo's data are made from.
type deps struct {
	Store     *store.Store
	Uploads   string // folder for photographs
	PublicURL string // where customers reach the program, without a final slash
	SetupKey  string // asked of other machines when the first owner is made
	Demo      bool
	Log       *slog.Logger
}

// SignIn is one of the demo shop's people.
type SignIn struct {
	Role, Email, Password string
}

// buildHandler makes the web side.
func buildHandler(_ context.Context, d deps) (http.Handler, error) {
	mux := http.NewServeMux()
	mux.HandleFunc("GET /healthz", func(w http.ResponseWriter, r *http.Request) {
		ctx, cancel := context.WithTimeout(r.Context(), 3*time.Second)
		defer cancel()
		w.Header().Set("Content-Type", "text/plain; charset=utf-8")
		if err := d.Store.Ping(ctx); err != nil {
			w.WriteHeader(http.StatusServiceUnavailable)
			fmt.Fprintln(w, "the records can't be reached")
			return
		}
		fmt.Fprintln(w, "ok")
	})
	return mux, nil
}

// seedDemo fills the demo shop unless it is filled already, and returns its people's sign-ins.
func seedDemo(_ context.Context, _ deps) ([]SignIn, error) {
	return nil, nil
}
