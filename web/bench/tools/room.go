// Package tools shows the bench tools, each alone or from a docket, and keeps what they answer.
package tools

import (
	"context"

	"ledgerwheel/domain/diagnosis"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/stock"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/sheet"
)

// Store is what this room asks of the record.
type Store interface {
	BenchSheet(ctx context.Context, n docket.Number) (store.BenchSheet, error)
	KeepBenchCorrection(ctx context.Context, c store.Change, r store.BenchResult, calibreID, version int64,
		fields map[string]string) error
	KeepBenchFinding(ctx context.Context, c store.Change, r store.BenchResult, f diagnosis.Finding) (int64, error)
	KeepBenchPart(ctx context.Context, c store.Change, r store.BenchResult, p stock.PartLine) (int64, error)
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
	return s.benchRoutes()
}
