// Package atrisk shows the owner what the watches in the shop's keeping are declared at, against what its insurer covers.
package atrisk

import (
	"context"
	"time"

	"ledgerwheel/domain/insured"
	"ledgerwheel/domain/staff"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
)

// Store is what this room asks of the record.
type Store interface {
	RiskSheet(ctx context.Context, currency string) (store.RiskSheet, error)
	SaveLimits(ctx context.Context, l insured.Limits, by store.Actor, at time.Time) error
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
		page.Get("/value-at-risk", page.Needs(staff.ManageSettings), s.showRisk),
		page.Post("/value-at-risk", page.Needs(staff.ManageSettings), s.saveLimits),
	}
}
