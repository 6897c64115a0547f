// Package uncollected is where the shop looks after watches that nobody collects: how long they have waited, the profile of
// the place by which the days are counted, the letters with the proof of their posting, and what stands against them.
package uncollected

import (
	"context"
	"slices"
	"time"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/uncollected"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/sheet"
)

// Store is what this room asks of the record.
type Store interface {
	ConfirmProfile(ctx context.Context, p uncollected.Profile, by store.Actor, at time.Time) error
	LiftBlock(ctx context.Context, c store.Change, id int64, why string) error
	NoteBlock(ctx context.Context, c store.Change, kind uncollected.BlockKind, words string) error
	PlaceProfile(ctx context.Context) (store.ConfirmedProfile, error)
	PostNotice(ctx context.Context, c store.Change, id int64, p uncollected.Posting) error
	UncollectedSheet(ctx context.Context, n docket.Number) (store.UncollectedSheet, error)
	WriteNotice(ctx context.Context, c store.Change, l uncollected.Letter) error
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
	return slices.Concat(s.docketRoutes(), s.profileRoutes())
}
