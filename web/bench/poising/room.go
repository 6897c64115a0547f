// Package poising guides the poising of a balance by rates: a round is read, it says what to correct by how little, and
// is read again until it says to stop.
package poising

import (
	"context"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/oscillator"
	"ledgerwheel/domain/poising"
	"ledgerwheel/domain/staff"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/sheet"
)

// Store is what this room asks of the record.
type Store interface {
	AddPoising(ctx context.Context, c store.Change, r poising.Round, b oscillator.Balance, lastSeen int64) (int64, error)
	CorrectPoising(ctx context.Context, c store.Change, id int64, r poising.Round, b oscillator.Balance) error
	PoisingSheet(ctx context.Context, n docket.Number) (store.PoisingSheet, error)
	RegulationSheet(ctx context.Context, n docket.Number) (store.RegulationSheet, error)
	StrikePoising(ctx context.Context, c store.Change, id int64) error
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
		page.Get("/dockets/{number}/poising", page.Needs(staff.ViewDockets), s.showPoising),
		page.Post("/dockets/{number}/poising", page.Needs(staff.TakeReadings), s.addRound),
		page.Get("/dockets/{number}/poising/{id}", page.Needs(staff.TakeReadings), s.showRound),
		page.Post("/dockets/{number}/poising/{id}", page.Needs(staff.TakeReadings), s.correctRound),
	}
}
