// Package told is what customers were told about a docket, what is still to be told, and the log of calls and notes.
package told

import (
	"context"
	"slices"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/message"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/sheet"
)

// Store is what this room asks of the record.
type Store interface {
	MessageTold(ctx context.Context, c store.Change, id int64, said string) error
	TellNow(ctx context.Context, c store.Change, topic message.Topic, question string) error
	TellOtherwise(ctx context.Context, c store.Change, id int64, way message.Way, done bool) error
	ToldSheet(ctx context.Context, n docket.Number) (store.ToldSheet, error)
	WithdrawMessage(ctx context.Context, c store.Change, id int64, why string) error
	WriteContact(ctx context.Context, c store.Change, k message.Contact) error
}

// Room answers this door's requests.
type Room struct {
	*sheet.Frame
	store Store
}

// New returns the room over a record.
func New(frame *sheet.Frame, store Store) *Room { return &Room{Frame: frame, store: store} }

// Routes are the rows of the table of routes that lead here.
func (s *Room) Routes() []page.Route { return slices.Concat(s.toldRoutes(), s.letterRoutes()) }
