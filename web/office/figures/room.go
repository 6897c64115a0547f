// Package figures shows the owner what the shop's dockets come to: one question a page, each with its chart, its table, the table as
// CSV, and the dockets behind it.
package figures

import (
	"context"

	"ledgerwheel/domain/figures"
	"ledgerwheel/domain/staff"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
)

// Store is what this room asks of the record.
type Store interface {
	Figures(ctx context.Context, measures []figures.Measure, by figures.Dimension, from, to figures.Month) (store.FigureSheet, error)
	WorkInProgress(ctx context.Context, by figures.Dimension) ([]store.InProgress, map[string]string, error)
	FigureDockets(ctx context.Context, q store.FigureQuery) ([]store.FigureDocket, bool, error)
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
	may := page.Needs(staff.ViewFigures)
	routes := []page.Route{page.Get("/figures", may, s.showIndex)}
	for _, f := range all {
		routes = append(routes, page.Get(f.path(), may, s.show(f)), page.Get(f.path()+".csv", may, s.send(f)))
		if f.behind != "" {
			routes = append(routes, page.Get(f.path()+"/dockets", may, s.dockets(f)))
		}
	}
	return routes
}
