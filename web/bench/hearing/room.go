// Package hearing listens to watches, live and from recordings.
package hearing

import (
	"context"
	"slices"
	"time"

	"ledgerwheel/domain/acoustic"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/heard"
	"ledgerwheel/domain/recorder"
	"ledgerwheel/store"
	"ledgerwheel/web/bench/hearing/listening"
	"ledgerwheel/web/page"
	"ledgerwheel/web/sheet"
)

// Store is what this room asks of the record.
type Store interface {
	AddRecording(ctx context.Context, in store.NewRecording) (int64, error)
	CorrectRecording(ctx context.Context, id int64, f heard.Facts) error
	DiscardRecording(ctx context.Context, id int64) ([][32]byte, error)
	ExpireRecordings(ctx context.Context, now time.Time) ([][32]byte, error)
	Head(ctx context.Context, n docket.Number) (store.Head, error)
	HeardSheet(ctx context.Context, n docket.Number, id int64) (store.HeardSheet, error)
	KeepCalibration(ctx context.Context, recorderID int64, c recorder.Calibration) (int64, error)
	KeepHeard(ctx context.Context, c store.Change, in store.HeardReading) (int64, error)
	KeepRunDown(ctx context.Context, c store.Change, in store.RunDown) (int64, error)
	KeptSound(ctx context.Context, id int64) (store.Heard, error)
	Recorder(ctx context.Context, id int64) (recorder.Recorder, error)
	Recorders(ctx context.Context) ([]recorder.Recorder, error)
	Recording(ctx context.Context, id int64) (store.Recording, error)
	RecordingHeardAs(ctx context.Context, id int64, r acoustic.Result, f heard.Facts) error
	RecordingRefusedFor(ctx context.Context, id int64, reason string) error
	RecordingSheet(ctx context.Context, n docket.Number, id int64) (store.RecordingSheet, error)
	RecordingsOf(ctx context.Context, staffID int64, now time.Time) ([]store.Recording, error)
	RegulationSheet(ctx context.Context, n docket.Number) (store.RegulationSheet, error)
	SoundNamed(ctx context.Context, sum [32]byte) (bool, error)
	TakeRecording(ctx context.Context, id int64, n docket.Number) error
	Viewer(ctx context.Context, id int64, session string) (store.Viewer, error)
}

// Room answers this door's requests.
type Room struct {
	*sheet.Frame
	store   Store
	hearing *hearing
	hub     *listening.Hub // those who listen live
}

// New returns the room over a record.
func New(frame *sheet.Frame, store Store) *Room {
	return &Room{Frame: frame, store: store, hearing: newHearing(), hub: listening.NewHub(frame.Now, nil, liveRound)}
}

// Routes are the rows of the table of routes that lead here.
func (s *Room) Routes() []page.Route {
	return slices.Concat(s.listenRoutes(), s.heardRoutes())
}
