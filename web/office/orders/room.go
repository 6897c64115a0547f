// Package orders gathers what dockets and drawers need, sends it to suppliers, and writes down what comes.
package orders

import (
	"context"
	"time"

	"ledgerwheel/domain/purchase"
	"ledgerwheel/domain/staff"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
)

// Store is what this room asks of the record.
type Store interface {
	Catalogue(ctx context.Context, typed, after string, short bool) (store.Catalogue, error)
	DropDraft(ctx context.Context, c store.OrderChange) error
	Gather(ctx context.Context, picks []store.Pick, today time.Time, by store.Actor, at time.Time) (store.Gathered, error)
	LateLines(ctx context.Context, today time.Time) ([]store.LateLine, bool, error)
	Needs(ctx context.Context) (store.Needs, error)
	Order(ctx context.Context, id int64) (store.Order, error)
	Orders(ctx context.Context, f store.OrdersFilter, today time.Time) (store.OrderList, error)
	Promise(ctx context.Context, c store.Change, day time.Time) error
	PutRight(ctx context.Context, c store.OrderChange, m store.Miscount) error
	SaveOrder(ctx context.Context, c store.OrderChange, lines []purchase.Line, said string) error
	SendOrder(ctx context.Context, c store.OrderChange, way purchase.Way, letter store.OrderLetter) error
	SendOrderAgain(ctx context.Context, c store.OrderChange, way purchase.Way, letter store.OrderLetter) error
	StartOrder(ctx context.Context, supplierID int64, today time.Time, by store.Actor, at time.Time) (int64, error)
	WriteDown(ctx context.Context, c store.OrderChange, list []store.Happening) error
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
		page.Get("/orders", page.Needs(staff.ViewDockets), s.showOrders),
		page.Get("/orders/late", page.Needs(staff.ViewDockets), s.showLate),
		page.Get("/orders/needs", page.Needs(staff.ViewDockets), s.showNeeds),
		page.Post("/orders/needs", page.Needs(staff.ManageStock), s.gather),
		page.Post("/orders/new", page.Needs(staff.ManageStock), s.start),
		page.Get("/orders/{id}", page.Needs(staff.ViewDockets), s.showOrder),
		page.Post("/orders/{id}", page.Needs(staff.ManageStock), s.saveDraft),
		page.Post("/orders/{id}/drop", page.Needs(staff.ManageStock), s.drop),
		page.Post("/orders/{id}/again", page.Needs(staff.ManageStock), s.sendAgain),
		page.Post("/orders/{id}/came", page.Needs(staff.OrderParts), s.came),
		page.Post("/orders/{id}/wrong", page.Needs(staff.OrderParts), s.cameWrong),
		page.Post("/orders/{id}/heard", page.Needs(staff.OrderParts), s.heard),
		page.Post("/orders/{id}/kept", page.Needs(staff.OrderParts), s.settleKept),
		page.Post("/orders/{id}/miscounted", page.Needs(staff.OrderParts), s.miscounted),
		page.Post("/orders/{id}/promise", page.Needs(staff.TakeIn), s.promise),
		page.Get("/orders/{id}/order.pdf", page.Needs(staff.ViewDockets), s.sendPaper),
		page.Get("/orders/{id}/order.csv", page.Needs(staff.ViewDockets), s.sendTable),
	}
}
