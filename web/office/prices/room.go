// Package prices keeps the shop's price list: its own jobs, what each costs from which day on, and what each usually
// needs.
package prices

import (
	"context"
	"time"

	"ledgerwheel/domain/pricelist"
	"ledgerwheel/domain/staff"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
)

// Store is what this room asks of the record.
type Store interface {
	EndJob(ctx context.Context, id int64, by store.Actor, at time.Time) error
	Job(ctx context.Context, id int64) (store.JobRow, error)
	PriceList(ctx context.Context) ([]store.JobRow, error)
	SaveJob(ctx context.Context, j pricelist.Job, version int64, by store.Actor, at time.Time) (int64, error)
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
	return []page.Route{
		page.Get("/prices", page.Needs(staff.ViewDockets), s.showPrices),
		page.Get("/prices/new", page.Needs(staff.ManagePrices), s.showNew),
		page.Post("/prices/new", page.Needs(staff.ManagePrices), s.addJob),
		page.Get("/prices/{id}", page.Needs(staff.ManagePrices), s.showJob),
		page.Post("/prices/{id}", page.Needs(staff.ManagePrices), s.saveJob),
		page.Post("/prices/{id}/end", page.Needs(staff.ManagePrices), s.endJob),
	}
}
