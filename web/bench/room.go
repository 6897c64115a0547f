// Package bench is the watchmaker's door: diagnosis, parts, service and the final test.
package bench

import (
	"context"
	"slices"
	"time"

	"ledgerwheel/domain/diagnosis"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/finaltest"
	"ledgerwheel/domain/photo"
	"ledgerwheel/domain/service"
	"ledgerwheel/domain/stock"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/sheet"
)

// Store is what this room asks of the record.
type Store interface {
	AcknowledgeHazard(ctx context.Context, c store.Change, h diagnosis.Hazard) error
	AddFinding(ctx context.Context, c store.Change, f diagnosis.Finding) (int64, error)
	AddHazard(ctx context.Context, c store.Change, h diagnosis.Hazard, why string) error
	Catalogue(ctx context.Context, typed, after string, short bool) (store.Catalogue, error)
	AddPart(ctx context.Context, c store.Change, p stock.PartLine) (int64, error)
	AddPhotos(ctx context.Context, c store.Change, label photo.Label, pictures []photo.Picture) ([]int64,
		error)
	AddWork(ctx context.Context, c store.Change, w service.Work) (int64, error)
	ArriveParts(ctx context.Context, by store.Actor, at time.Time, parts []store.PartKey) (int, error)
	CorrectFinding(ctx context.Context, c store.Change, id int64, f diagnosis.Finding) error
	CorrectPart(ctx context.Context, c store.Change, id int64, p stock.PartLine) error
	CorrectWork(ctx context.Context, c store.Change, id int64, w service.Work) error
	DiagnosisSheet(ctx context.Context, n docket.Number) (store.DiagnosisSheet, error)
	FinalTestSheet(ctx context.Context, n docket.Number) (store.FinalTestSheet, error)
	MovePart(ctx context.Context, c store.Change, id int64, m store.PartMove) error
	OutstandingParts(ctx context.Context, f store.OutstandingFilter) (store.Outstanding, error)
	PartsSheet(ctx context.Context, n docket.Number) (store.PartsSheet, error)
	SetPartPayer(ctx context.Context, c store.Change, id int64, m stock.Money) error
	RecordFinalTest(ctx context.Context, c store.Change, sheet finaltest.Sheet, note string) (finaltest.Outcome, error)
	ServiceSheet(ctx context.Context, n docket.Number) (store.ServiceSheet, error)
	SetOldPart(ctx context.Context, c store.Change, id int64, o stock.OldPart) error
	StrikeFinding(ctx context.Context, c store.Change, id int64, why string) error
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
	return slices.Concat(s.diagnosisRoutes(), s.partsRoutes(), s.serviceRoutes(), s.finalTestRoutes())
}
