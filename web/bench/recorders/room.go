// Package recorders keeps the microphones and the clocks that recordings are measured by.
package recorders

import (
	"context"
	"time"

	"ledgerwheel/domain/recorder"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
)

// Store is what this room asks of the record.
type Store interface {
	AddRecorder(ctx context.Context, r recorder.Recorder, by store.Actor, at time.Time) (int64, error)
	DescribeRecorder(ctx context.Context, id int64, note string, usualRateHz int, by store.Actor, at time.Time) error
	KeepCalibration(ctx context.Context, recorderID int64, c recorder.Calibration) (int64, error)
	Recorder(ctx context.Context, id int64) (recorder.Recorder, error)
	RecorderRecord(ctx context.Context, id int64) (store.RecorderRecord, error)
	Recorders(ctx context.Context) ([]recorder.Recorder, error)
	RetireCalibration(ctx context.Context, recorderID, id int64, why string, by store.Actor, at time.Time) error
	RetireRecorder(ctx context.Context, id int64, why string, by store.Actor, at time.Time) error
	UseRecorder(ctx context.Context, id int64, by store.Actor, at time.Time) error
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
	return s.recorderRoutes()
}
