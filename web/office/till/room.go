// Package till keeps the shop's day of money: what was taken by which way, cash that moved otherwise, and the cash that is
// counted at closing.
package till

import (
	"context"
	"time"

	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/till"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
)

// Store is what this room asks of the record.
type Store interface {
	CloseTill(ctx context.Context, c store.TillClosing, by store.Actor, at time.Time) error
	ClosedDay(ctx context.Context, currency string, on time.Time) (store.TillCloseRow, error)
	MoveTill(ctx context.Context, currency string, m till.Move, by store.Actor, at time.Time) (time.Time, error)
	Till(ctx context.Context, currency string, today, before time.Time) (store.Till, error)
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
		page.Get("/till", page.Needs(staff.CloseTill), s.showTill),
		page.Get("/till/move", page.Needs(staff.MoveTill), s.showMove),
		page.Post("/till/move", page.Needs(staff.MoveTill), s.move),
		page.Post("/till/moves/{id}/back", page.Needs(staff.MoveTill), s.takeBack),
		page.Get("/till/count", page.Needs(staff.CloseTill), s.showCount),
		page.Post("/till/count", page.Needs(staff.CloseTill), s.count),
		page.Get("/till/days/{day}", page.Needs(staff.CloseTill), s.showDay),
		page.Get("/till/days/{day}/sheet.pdf", page.Needs(staff.CloseTill), s.sendDay),
	}
}
