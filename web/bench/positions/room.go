// Package positions is the bench view of regulation: one position of the watch at a time, its three figures large, worked
// by keys, a pedal or a hand-held scanner.
package positions

import (
	"context"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/recorder"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/timing"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/sheet"
)

// Store is what this room asks of the record.
type Store interface {
	ChangeRun(ctx context.Context, c store.Change, id int64, version int, sheet timing.Sheet) error
	Recorders(ctx context.Context) ([]recorder.Recorder, error)
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
	return []page.Route{
		page.Get("/dockets/{number}/positions", page.Needs(staff.TakeReadings), s.showBench),
		page.Post("/dockets/{number}/positions", page.Needs(staff.TakeReadings), s.actAtBench),
		page.Get("/bench-sheet", page.Needs(staff.TakeReadings), s.showBenchSheet),
		page.Get("/bench-sheet.pdf", page.Needs(staff.TakeReadings), s.sendBenchSheet),
	}
}
