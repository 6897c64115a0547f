// Package promises shows the owner how promised days were kept, and keeps the holidays by which they are proposed.
package promises

import (
	"context"
	"time"

	"ledgerwheel/domain/shop"
	"ledgerwheel/domain/staff"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
)

// Store is what this room asks of the record.
type Store interface {
	AddHoliday(ctx context.Context, h shop.Holiday, by store.Actor, at time.Time) error
	Holidays(ctx context.Context) ([]shop.Holiday, error)
	PromisesKept(ctx context.Context, sh shop.Shop, now time.Time) (store.PromisesKept, error)
	RemoveHoliday(ctx context.Context, id int64, by store.Actor, at time.Time) error
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
		page.Get("/promises", page.Needs(staff.ViewFigures), s.showPromises),
		page.Get("/promises.csv", page.Needs(staff.ViewFigures), s.sendPromises),
		page.Get("/settings/holidays", page.Needs(staff.ManageSettings), s.showHolidays),
		page.Post("/settings/holidays", page.Needs(staff.ManageSettings), s.addHoliday),
		page.Post("/settings/holidays/{id}/remove", page.Needs(staff.ManageSettings), s.removeHoliday),
	}
}
