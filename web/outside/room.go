// Package outside is what strangers and customers see: the private page, the check of a card, trust, licences.
package outside

import (
	"context"
	"net/http"
	"slices"
	"time"

	"ledgerwheel/domain/customer"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/estimate"
	"ledgerwheel/domain/link"
	"ledgerwheel/domain/shop"
	"ledgerwheel/domain/warranty"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/paper"
	"ledgerwheel/web/view"
)

// Store is what this room asks of the record.
type Store interface {
	AskByLink(ctx context.Context, c store.Change, linkID int64, words string) error
	AnswerByLink(ctx context.Context, c store.Change, linkID int64, a estimate.Answer, today time.Time) error
	CardCheck(ctx context.Context, code warranty.Code) (store.CardCheck, error)
	Customer(ctx context.Context, id int64) (c customer.Customer, version int64, err error)
	LinkPage(ctx context.Context, linkID int64) (store.LinkPage, error)
	LinkPhoto(ctx context.Context, linkID, photoID int64) (store.Photo, link.Link, error)
	PublicKeys(ctx context.Context) ([]warranty.PublicKey, error)
	Shop(ctx context.Context) (shop.Shop, error)
	StopMail(ctx context.Context, customerID int64, stop bool, by store.Actor, at time.Time) error
	SignStatement(ctx context.Context, st warranty.Statement) (string, error)
}

// Room answers this door's requests.
type Room struct {
	*page.Host
	store Store
	bills Bills
}

// Bills reads what a docket's customer may keep of their account, each with the moment it speaks of, and of the invoice whether
// it is a draft yet. The errors wrap domain.ErrNotFound where there is nothing to bill, or nothing was paid.
type Bills interface {
	InvoiceOf(ctx context.Context, n docket.Number) (inv paper.Invoice, at time.Time, draft bool, err error)
	ReceiptOf(ctx context.Context, n docket.Number) (receipt paper.Receipt, at time.Time, err error)
}

// New returns the room over a record; invoices and receipts come of the room that makes them.
func New(host *page.Host, store Store, bills Bills) *Room {
	return &Room{Host: host, store: store, bills: bills}
}

// Routes are the rows of the table of routes that lead here.
func (s *Room) Routes() []page.Route {
	return slices.Concat(s.customerLinkRoutes(), s.noMailRoutes(), s.warrantyCheckRoutes(), s.cardProofRoutes(), s.licenceRoutes(),
		[]page.Route{page.Get("/logo/{logo}", page.Public, s.SendLogo)})
}

// outsidePage is a page for people outside the shop, with the styles that those need.
func (s *Room) outsidePage(r *http.Request, title string) view.Page {
	p := s.PlainPage(r, title)
	p.Outside = true
	return p
}
