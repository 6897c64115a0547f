// Package trials is the chronometer trial of fifteen days.
package trials

import (
	"context"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/trial"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/sheet"
)

// Store is what this room asks of the record.
type Store interface {
	AbandonTrial(ctx context.Context, c store.Change, id int64, reason string) error
	BeginTrial(ctx context.Context, c store.Change, p trial.Plan) (int64, error)
	EndTrial(ctx context.Context, c store.Change, id int64) (metrology.Verdict, error)
	NoteTrialDay(ctx context.Context, c store.Change, id int64, in store.TrialNote) error
	TrialSheet(ctx context.Context, n docket.Number, id int64) (store.TrialSheet, error)
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
	return s.trialRoutes()
}
