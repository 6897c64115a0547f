// Package regulation is where runs are taken, judged, compared and advised on, and the rate limits kept.
package regulation

import (
	"context"
	"slices"
	"time"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/timing"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/sheet"
)

// Store is what this room asks of the record.
type Store interface {
	AddGrade(ctx context.Context, l timing.RateLimits, by store.Actor, at time.Time) (string, error)
	ChangeRun(ctx context.Context, c store.Change, id int64, version int, sheet timing.Sheet) error
	ChangesSince(ctx context.Context, n docket.Number, version int64) ([]docket.Entry, error)
	GradeLimits(ctx context.Context, grade string) ([]store.LimitsVersion, error)
	JudgeRuns(ctx context.Context, c store.Change, grade string) error
	NewestLimits(ctx context.Context) ([]store.LimitsVersion, error)
	PublishLimits(ctx context.Context, l timing.RateLimits, by store.Actor, at time.Time) error
	RecordRun(ctx context.Context, c store.Change, in store.RunEntry) (int64, error)
	RegulationSheet(ctx context.Context, n docket.Number) (store.RegulationSheet, error)
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
	return slices.Concat(s.regulationRoutes(), s.adviceRoutes(), s.rateLimitsRoutes())
}
