// Package comebacks says why watches came back under warranty, whether that is covered, and what it cost.
package comebacks

import (
	"context"

	"ledgerwheel/domain/comeback"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/staff"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/sheet"
)

// Store is what this room asks of the record.
type Store interface {
	Comebacks(ctx context.Context, f store.ComebackFilter) (store.ComebackList, error)
	ComebackSheet(ctx context.Context, n docket.Number) (store.ComebackSheet, error)
	SayComeback(ctx context.Context, c store.Change, said comeback.Said) error
}

// Room answers this door's requests.
type Room struct {
	*sheet.Frame
	store Store
}

// New returns the room over a record.
func New(frame *sheet.Frame, store Store) *Room { return &Room{Frame: frame, store: store} }

// Routes are the rows of the table of routes that lead here.
func (s *Room) Routes() []page.Route {
	return []page.Route{
		page.Get("/comebacks", page.Needs(staff.ViewFigures), s.showList),
		page.Get("/dockets/{number}/comeback", page.Needs(staff.ViewDockets), s.show),
		page.Post("/dockets/{number}/comeback", page.Needs(staff.DecideCover), s.say),
	}
}
