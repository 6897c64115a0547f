// Package parcels takes in what comes by post and sends watches back by it; the owner keeps the carriers here.
package parcels

import (
	"context"
	"fmt"
	"time"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/money"
	"ledgerwheel/domain/parcel"
	"ledgerwheel/domain/photo"
	"ledgerwheel/domain/staff"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/sheet"
)

// Store is what this room asks of the record.
type Store interface {
	Carriers(ctx context.Context) ([]parcel.Carrier, error)
	EndCarrier(ctx context.Context, id int64, by store.Actor, at time.Time) error
	GiveParcel(ctx context.Context, c store.Change, given parcel.Posting, old docket.OldParts, reason string, today time.Time) error
	KeepCarrier(ctx context.Context, c parcel.Carrier, by store.Actor, at time.Time) error
	KeepParcelIn(ctx context.Context, a parcel.Arrival, pictures []photo.Picture, by store.Actor, at time.Time) (int64, error)
	ParcelIn(ctx context.Context, id int64) (store.ParcelIn, error)
	ParcelPhoto(ctx context.Context, id int64) (store.ParcelPhoto, error)
	ParcelsIn(ctx context.Context, before int64) ([]store.ParcelIn, error)
	PostSheet(ctx context.Context, n docket.Number) (store.PostSheet, error)
	PrepareParcel(ctx context.Context, c store.Change, p parcel.Dispatch, today time.Time) error
	WithdrawParcel(ctx context.Context, c store.Change) error
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
		page.Get("/parcels", page.Needs(staff.ViewDockets), s.showParcels),
		page.Get("/parcels/new", page.Needs(staff.TakeIn), s.newParcel),
		page.Post("/parcels/new", page.Needs(staff.TakeIn), s.keepParcel),
		page.Get("/parcels/{id}", page.Needs(staff.ViewDockets), s.showParcel),
		page.Get("/parcels/photos/{photo}/{size}", page.Needs(staff.ViewDockets), s.showPhoto),
		page.Get("/carriers", page.Needs(staff.ManageSettings), s.showCarriers),
		page.Post("/carriers", page.Needs(staff.ManageSettings), s.keepCarrier),
		page.Post("/carriers/{id}/end", page.Needs(staff.ManageSettings), s.endCarrier),
		page.Get("/dockets/{number}/post", page.Needs(staff.ViewDockets), s.showPost),
		page.Post("/dockets/{number}/post", page.Needs(staff.HandOver), s.prepare),
		page.Post("/dockets/{number}/post/withdraw", page.Needs(staff.HandOver), s.withdraw),
		page.Post("/dockets/{number}/post/give", page.Needs(staff.HandOver), s.give),
		page.Get("/dockets/{number}/papers/address-label", page.Needs(staff.PrintPapers), s.showLabel),
		page.Get("/dockets/{number}/papers/address-label.pdf", page.Needs(staff.PrintPapers), s.sendLabel),
	}
}

// readAmount reads an amount of a currency in minor units; 0 for a field left empty.
func readAmount(f *page.Form, name, currency, locale string) int64 {
	typed := f.Text(name)
	if typed == "" {
		return 0
	}
	minor, err := money.Parse(typed, currency, locale)
	if err != nil {
		f.Fail(name, money.Problem(err, currency))
	}
	return minor
}

// errNoParcel answers for a label of nothing.
var errNoParcel = fmt.Errorf("no parcel is ready: %w", domain.ErrNotFound)
