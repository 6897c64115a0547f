// Package today answers what is to be done next, and finds and lists dockets.
package today

import (
	"context"

	"ledgerwheel/domain/visit"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
)

// Store is what this room asks of the record.
type Store interface {
	Dockets(ctx context.Context, f store.DocketFilter) (store.DocketList, error)
	Find(ctx context.Context, q store.FindQuery) (store.Found, error)
	VisitKnown(ctx context.Context, n visit.Number) (bool, error)
	Today(ctx context.Context) (store.Today, error)
}

// Room answers this door's requests.
type Room struct {
	*page.Host
	store Store
}

// New returns the room over a record.
func New(host *page.Host, store Store) *Room { return &Room{Host: host, store: store} }

// Routes are the rows of the table of routes that lead here.
func (s *Room) Routes() []page.Route {
	return s.todayRoutes()
}
