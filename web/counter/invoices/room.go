// Package invoices has what the shop bills: invoices, deposit invoices and credit notes, and their papers.
package invoices

import (
	"context"
	"time"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/invoice"
	"ledgerwheel/domain/staff"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/sheet"
)

// Store is what this room asks of the record.
type Store interface {
	InvoiceSheet(ctx context.Context, n docket.Number) (store.InvoiceSheet, error)
	IssueBill(ctx context.Context, v store.Billing) (string, error)
	IssueCredit(ctx context.Context, v store.Issue, answers string, c invoice.Crediting) (string, error)
	IssueDeposit(ctx context.Context, v store.Billing, grossMinor int64) (string, error)
	SaveSeries(ctx context.Context, v store.SeriesRow, by store.Actor, at time.Time) (int64, error)
	SeriesList(ctx context.Context) ([]store.SeriesRow, error)
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
		page.Get("/dockets/{number}/invoices", page.Needs(staff.ViewDockets), s.show),
		page.Post("/dockets/{number}/invoices", page.Needs(staff.IssueInvoices), s.issueBill),
		page.Post("/dockets/{number}/invoices/deposit", page.Needs(staff.IssueInvoices), s.issueDeposit),
		page.Get("/dockets/{number}/invoices/{id}/credit", page.Needs(staff.CreditInvoices), s.showCredit),
		page.Post("/dockets/{number}/invoices/{id}/credit", page.Needs(staff.CreditInvoices), s.issueCredit),
		page.Get("/series", page.Needs(staff.ManageSettings), s.showSeries),
		page.Post("/series", page.Needs(staff.ManageSettings), s.keepSeries),
		page.Get("/dockets/{number}/papers/invoices/{id}", page.Needs(staff.PrintPapers), s.showPaper),
		page.Get("/dockets/{number}/papers/invoices/{id}/pdf", page.Needs(staff.PrintPapers), s.sendPaper),
	}
}
