// Package persons is where people's data are looked after: two records of one person merged, everything about somebody
// exported, and erased on request.
package persons

import (
	"context"
	"net/http"
	"slices"
	"time"

	"ledgerwheel/domain/customer"
	"ledgerwheel/domain/docket"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/sheet"
)

// Store is what this room asks of the record.
type Store interface {
	AlikeCustomers(ctx context.Context, c customer.Customer) ([]store.CustomerMatch, error)
	ClearPictures(ctx context.Context, remove func(sum [32]byte) error) error
	Customer(ctx context.Context, id int64) (c customer.Customer, version int64, err error)
	EraseCustomer(ctx context.Context, e store.Erasing) error
	ErasedIDs(ctx context.Context) ([]store.ErasedID, error)
	ErasureHelp(ctx context.Context, id int64, today time.Time) (store.ErasureHelp, error)
	ExportDocket(ctx context.Context, n docket.Number) (store.DocketExport, error)
	ExportPerson(ctx context.Context, id int64, by store.Actor, at time.Time) (store.PersonExport, error)
	FindCustomers(ctx context.Context, typed, region string, limit int) (list []store.CustomerRow, more bool, err error)
	MergeCustomers(ctx context.Context, m store.Merging) error
	MergedInto(ctx context.Context, id int64) (int64, error)
}

// Papers makes the paper that stands at a path, as a PDF for whoever asks with r. ok is false where there is none.
type Papers func(r *http.Request, path string) (pdf []byte, ok bool, err error)

// Room answers this door's requests.
type Room struct {
	*sheet.Frame
	store  Store
	papers Papers
	// noteErased keeps beside the record whose data were erased, for the day on which an older record is restored.
	noteErased func([]store.ErasedID) error
}

// New returns the room over a record.
func New(frame *sheet.Frame, record Store, papers Papers, noteErased func([]store.ErasedID) error) *Room {
	return &Room{Frame: frame, store: record, papers: papers, noteErased: noteErased}
}

// Routes are the rows of the table of routes that lead here.
func (s *Room) Routes() []page.Route {
	return slices.Concat(s.mergeRoutes(), s.exportRoutes(), s.eraseRoutes())
}
