package web

import (
	"context"
	"fmt"
	"net/http"
	"slices"
	"time"

	"ledgerwheel/domain/health"
)

// health answers the supervisor: 503 while nothing can be saved, else 200, and a line for each thing that is wrong.
func (s *Server) health(w http.ResponseWriter, r *http.Request) {
	ctx, cancel := context.WithTimeout(r.Context(), 3*time.Second)
	defer cancel()
	var troubles []health.Trouble
	if s.Troubles != nil {
		troubles = s.Troubles()
	}
	if err := s.store.Ping(ctx); err != nil {
		troubles = slices.Insert(slices.Clone(troubles), 0, health.Unreachable)
		slices.SortStableFunc(troubles, func(a, b health.Trouble) int { return stopsFirst(a) - stopsFirst(b) })
	}
	w.Header().Set("Content-Type", "text/plain; charset=utf-8")
	w.Header().Set("Cache-Control", "no-store")
	if len(troubles) > 0 && troubles[0].Stops() {
		w.WriteHeader(http.StatusServiceUnavailable)
	} else {
		fmt.Fprintln(w, "ok")
	}
	for _, t := range troubles {
		fmt.Fprintln(w, t)
	}
}

// stopsFirst orders what stops the work before what warns, and of the first the cause before what it makes unreachable.
func stopsFirst(t health.Trouble) int {
	switch {
	case t == health.Unreachable:
		return 1
	case t.Stops():
		return 0
	}
	return 2
}
