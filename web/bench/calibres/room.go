// Package calibres keeps the movements that the shop knows.
package calibres

import (
	"context"
	"time"

	"ledgerwheel/domain/photo"
	"ledgerwheel/domain/watch"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
)

// Store is what this room asks of the record.
type Store interface {
	AddCalibre(ctx context.Context, c store.CalibreChange, k watch.Calibre) (int64, error)
	AddCalibreDrawings(ctx context.Context, by store.Actor, at time.Time, id int64, caption string,
		pictures []photo.Picture) error
	Calibre(ctx context.Context, id int64) (watch.Calibre, int64, error)
	CalibreDrawing(ctx context.Context, id int64) (store.CalibreDrawing, error)
	CalibreRecord(ctx context.Context, id int64) (store.CalibreRecord, error)
	Calibres(ctx context.Context) ([]watch.Calibre, error)
	ImportCalibres(ctx context.Context, c store.CalibreChange, decide func(known []watch.Calibre) ([]watch.Calibre,
		error)) (added, changed int, err error)
	NewestLimits(ctx context.Context) ([]store.LimitsVersion, error)
	SaveCalibre(ctx context.Context, c store.CalibreChange, k watch.Calibre, version int64) error
	StrikeCalibreDrawing(ctx context.Context, by store.Actor, at time.Time, calibre, id int64) error
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
	return s.calibreRoutes()
}
