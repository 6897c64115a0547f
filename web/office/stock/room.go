// Package stock keeps the catalogue of parts and the ledger of what is in the drawers.
package stock

import (
	"context"
	"time"

	"ledgerwheel/domain/ledger"
	"ledgerwheel/domain/purchase"
	"ledgerwheel/domain/staff"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
)

// Store is what this room asks of the record.
type Store interface {
	Catalogue(ctx context.Context, typed, after string, short bool) (store.Catalogue, error)
	CountStock(ctx context.Context, partID int64, counts []ledger.Count, seen int64, by store.Actor, at time.Time) error
	MoveStock(ctx context.Context, partID int64, moves []ledger.Move, by store.Actor, at time.Time) error
	BeginStocktake(ctx context.Context, by store.Actor, at time.Time) error
	BookTaken(ctx context.Context, partID int64, why string, by store.Actor, at time.Time) error
	CountDrawer(ctx context.Context, partID int64, counts []ledger.Count, seen int64, by store.Actor, at time.Time) ([]ledger.Taken, error)
	EndStocktake(ctx context.Context, by store.Actor, at time.Time) error
	Stocktake(ctx context.Context, label string) (store.Stocktake, error)
	PartStock(ctx context.Context, id, before int64) (store.PartStock, error)
	ReceiveStock(ctx context.Context, partID int64, pieces int, l ledger.Lot, today time.Time, by store.Actor, at time.Time) error
	SaveSupplier(ctx context.Context, p purchase.Supplier, version int64, by store.Actor, at time.Time) (int64, error)
	StockValue(ctx context.Context, now time.Time) (store.StockValue, error)
	Suppliers(ctx context.Context) ([]store.SupplierRow, error)
	SavePart(ctx context.Context, p ledger.Part, version int64, by store.Actor, at time.Time) (int64, error)
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
	return []page.Route{
		page.Get("/stock", page.Needs(staff.ViewDockets), s.showCatalogue),
		page.Get("/stock/new", page.Needs(staff.ManageStock), s.showNew),
		page.Post("/stock/new", page.Needs(staff.ManageStock), s.addPart),
		page.Get("/stock/value", page.Needs(staff.ViewFigures), s.showValue),
		page.Get("/stock/value.csv", page.Needs(staff.ViewFigures), s.sendDead),
		page.Get("/stock/labels", page.Needs(staff.PrintPapers), s.showLabels),
		page.Get("/stock/labels.pdf", page.Needs(staff.PrintPapers), s.sendLabels),
		page.Get("/stock/stocktake", page.Needs(staff.ManageStock), s.showStocktake),
		page.Post("/stock/stocktake/begin", page.Needs(staff.ManageStock), s.beginStocktake),
		page.Post("/stock/stocktake/count", page.Needs(staff.ManageStock), s.countDrawer),
		page.Post("/stock/stocktake/book", page.Needs(staff.ManageStock), s.bookTaken),
		page.Post("/stock/stocktake/end", page.Needs(staff.ManageStock), s.endStocktake),
		page.Get("/stock/{id}/label", page.Needs(staff.PrintPapers), s.showLabel),
		page.Get("/stock/{id}/label.pdf", page.Needs(staff.PrintPapers), s.sendLabel),
		page.Get("/stock/{id}", page.Needs(staff.ViewDockets), s.showPart),
		page.Get("/stock/{id}/edit", page.Needs(staff.ManageStock), s.showEdit),
		page.Post("/stock/{id}/edit", page.Needs(staff.ManageStock), s.savePart),
		page.Post("/stock/{id}/receive", page.Needs(staff.ManageStock), s.receive),
		page.Post("/stock/{id}/count", page.Needs(staff.ManageStock), s.count),
		page.Post("/stock/{id}/take-out", page.Needs(staff.ManageStock), s.takeOut),
		page.Get("/suppliers", page.Needs(staff.ViewDockets), s.showSuppliers),
		page.Get("/suppliers/new", page.Needs(staff.ManageStock), s.showNewSupplier),
		page.Post("/suppliers/new", page.Needs(staff.ManageStock), s.addSupplier),
		page.Get("/suppliers/{id}", page.Needs(staff.ManageStock), s.showSupplier),
		page.Post("/suppliers/{id}", page.Needs(staff.ManageStock), s.saveSupplier),
	}
}
