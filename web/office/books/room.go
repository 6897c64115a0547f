// Package books shows what the shop billed, took and is owed, month by month, and exports it for book-keeping.
package books

import (
	"context"
	"time"

	"ledgerwheel/domain/books"
	"ledgerwheel/domain/staff"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
)

// Store is what this room asks of the record.
type Store interface {
	BookAccounts(ctx context.Context) (store.Books, error)
	Debts(ctx context.Context, before int64) ([]store.Debt, bool, error)
	Books(ctx context.Context, currency string, from, to time.Time) (store.Books, error)
	NameAccounts(ctx context.Context, list []books.Named, version int64, by store.Actor, at time.Time) error
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
		page.Get("/books", page.Needs(staff.SeeBooks), s.showYear),
		page.Get("/owed", page.Needs(staff.SeeBooks), s.showOwed),
		page.Get("/books/accounts", page.Needs(staff.SeeBooks), s.showAccounts),
		page.Post("/books/accounts", page.Needs(staff.SeeBooks), s.nameAccounts),
		page.Get("/books/{month}", page.Needs(staff.SeeBooks), s.showMonth),
		page.Get("/books/{month}/lines.csv", page.Needs(staff.SeeBooks), s.sendLines),
		page.Get("/books/{month}/days.csv", page.Needs(staff.SeeBooks), s.sendDays),
	}
}
