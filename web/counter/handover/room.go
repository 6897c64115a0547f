// Package handover is where a watch leaves: money, the hand-over, the invoice and the warranty card.
package handover

import (
	"context"
	"slices"
	"time"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/visit"
	"ledgerwheel/domain/warranty"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/paper"
	"ledgerwheel/web/sheet"
)

// Store is what this room asks of the record.
type Store interface {
	CardSheet(ctx context.Context, n docket.Number) (store.CardSheet, error)
	Charge(ctx context.Context, c store.Change, ch docket.Charge) error
	HandOver(ctx context.Context, c store.Change, l docket.Leaving, reason string) error
	HandOverSheet(ctx context.Context, n docket.Number) (store.HandOverSheet, error)
	HandOverTogether(ctx context.Context, t store.Together) error
	IssueCard(ctx context.Context, c store.Change, w warranty.Wording) (warranty.Code, error)
	ReissueCard(ctx context.Context, c store.Change, w warranty.Wording, reason string) (warranty.Code, error)
	TakePayment(ctx context.Context, c store.Change, p docket.Payment) error
	TicketProblem(ctx context.Context, n docket.Number, typed string) (string, error)
	VisitLeaving(ctx context.Context, n visit.Number) (store.VisitLeaving, error)
	VisitTicketProblem(ctx context.Context, v store.VisitLeaving, typed string) (string, error)
	VoidCard(ctx context.Context, c store.Change, reason string) error
}

// Room answers this door's requests.
type Room struct {
	*sheet.Frame
	store Store
	// Issued is the paper of a document that was issued on a docket, by its id, and when it was; another room makes it.
	Issued func(record store.HandOverSheet, id int64) (paper.Invoice, time.Time, error)
}

// New returns the room over a record.
func New(frame *sheet.Frame, store Store) *Room { return &Room{Frame: frame, store: store} }

// Routes are the rows of the table of routes that lead here.
func (s *Room) Routes() []page.Route {
	return slices.Concat(s.handOverRoutes(), s.togetherRoutes(), s.cardRoutes())
}
