// Package estimates is where an estimate is priced, sent and answered at the counter.
package estimates

import (
	"context"
	"time"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/estimate"
	"ledgerwheel/domain/ledger"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/sheet"
)

// Store is what this room asks of the record.
type Store interface {
	AnswerEstimate(ctx context.Context, c store.Change, a estimate.Answer, today time.Time) error
	DiscardDraft(ctx context.Context, c store.Change) error
	EndLink(ctx context.Context, c store.Change) error
	EstimateSheet(ctx context.Context, n docket.Number) (store.EstimateSheet, error)
	Head(ctx context.Context, n docket.Number) (store.Head, error)
	MakeLink(ctx context.Context, c store.Change) error
	PartsNumbered(ctx context.Context, typed []string) ([]ledger.Part, error)
	SaveAndSend(ctx context.Context, c store.Change, content estimate.Revision, today time.Time) (int, error)
	SaveDraft(ctx context.Context, c store.Change, content estimate.Revision) (int, error)
	SendEstimate(ctx context.Context, c store.Change, number int, today time.Time) error
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
	return s.estimateRoutes()
}
