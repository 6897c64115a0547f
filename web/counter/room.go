// Package counter is the clerk's door: watches are taken in, customers and watches kept, photographs added.
package counter

import (
	"context"
	"time"

	"ledgerwheel/domain/customer"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/photo"
	"ledgerwheel/domain/shop"
	"ledgerwheel/domain/visit"
	"ledgerwheel/domain/watch"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/sheet"
)

// Store is what this room asks of the record.
type Store interface {
	AtRisk(ctx context.Context) (store.AtRisk, error)
	AlikeCustomers(ctx context.Context, c customer.Customer) ([]store.CustomerMatch, error)
	AddPhotos(ctx context.Context, c store.Change, label photo.Label, pictures []photo.Picture) ([]int64,
		error)
	ShowPhoto(ctx context.Context, c store.Change, id int64, customerSees bool) error
	RemovePhoto(ctx context.Context, c store.Change, id int64, why string) error
	ClearPictures(ctx context.Context, remove func(sum [32]byte) error) error
	CaptionPhoto(ctx context.Context, c store.Change, id int64, caption string) error
	CorrectIntake(ctx context.Context, c store.Change, said docket.Intake) error
	Customer(ctx context.Context, id int64) (c customer.Customer, version int64, err error)
	CustomerSheet(ctx context.Context, id, before int64) (store.CustomerSheet, error)
	Customers(ctx context.Context, after store.CustomerMark) (list []store.CustomerRow, more bool, err error)
	Find(ctx context.Context, q store.FindQuery) (store.Found, error)
	FindCustomers(ctx context.Context, typed, region string, limit int) (list []store.CustomerRow, more bool, err error)
	Head(ctx context.Context, n docket.Number) (store.Head, error)
	IntakeHelp(ctx context.Context, q store.IntakeQuestion) (store.IntakeHelp, error)
	IntakeSheet(ctx context.Context, n docket.Number) (store.IntakeSheet, error)
	MailAddressGood(ctx context.Context, customerID int64, by store.Actor, at time.Time) error
	MailCameBack(ctx context.Context, customerID int64, why string, by store.Actor, at time.Time) error
	StopMail(ctx context.Context, customerID int64, stop bool, by store.Actor, at time.Time) error
	NoteCondition(ctx context.Context, c store.Change, typed store.ConditionTyped) ([]watch.Part, error)
	Photo(ctx context.Context, id int64) (store.Photo, error)
	Promises(ctx context.Context, sh shop.Shop, now time.Time) (store.Promises, error)
	SaveCustomer(ctx context.Context, by store.Actor, at time.Time, c customer.Customer, version int64) error
	SaveWatch(ctx context.Context, c store.WatchChange) error
	TakeIn(ctx context.Context, in store.TakingIn) (docket.Number, error)
	Visit(ctx context.Context, n visit.Number) (store.Visit, error)
	VisitOf(ctx context.Context, n docket.Number) (store.Visit, error)
	WatchSheet(ctx context.Context, id, before int64) (store.WatchSheet, error)
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
	return s.intakeRoutes()
}
