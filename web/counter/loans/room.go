// Package loans keeps the watches that the shop lends, and hands them out and takes them back.
package loans

import (
	"context"
	"time"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/loan"
	"ledgerwheel/domain/staff"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/sheet"
)

// Store is what this room asks of the record.
type Store interface {
	EndLoanWatch(ctx context.Context, id int64, by store.Actor, at time.Time) error
	HandOutLoan(ctx context.Context, c store.Change, o loan.Out, today time.Time) error
	KeepLoanOut(ctx context.Context, c store.Change, why string) error
	KeepLoanWatch(ctx context.Context, w loan.Watch, by store.Actor, at time.Time) error
	LoanSheet(ctx context.Context, n docket.Number) (store.LoanSheet, error)
	LoanWatches(ctx context.Context) ([]store.LoanWatch, error)
	TakeLoanBack(ctx context.Context, c store.Change, b loan.Back) error
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
		page.Get("/loans", page.Needs(staff.ViewDockets), s.showLoans),
		page.Post("/loans", page.Needs(staff.HandOver), s.keepWatch),
		page.Post("/loans/{id}/end", page.Needs(staff.HandOver), s.endWatch),
		page.Get("/dockets/{number}/loan", page.Needs(staff.ViewDockets), s.showLoan),
		page.Post("/dockets/{number}/loan", page.Needs(staff.HandOver), s.handOut),
		page.Post("/dockets/{number}/loan/back", page.Needs(staff.HandOver), s.takeBack),
		page.Post("/dockets/{number}/loan/keep-out", page.Needs(staff.HandOver), s.keepOut),
		page.Get("/dockets/{number}/papers/loan-slip", page.Needs(staff.PrintPapers), s.showSlip),
		page.Get("/dockets/{number}/papers/loan-slip.pdf", page.Needs(staff.PrintPapers), s.sendSlip),
	}
}
