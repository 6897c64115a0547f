// Package tokens is where the owner gives other programs a way in, and ends it; and the calendar of promised days, which is
// read by such a way.
package tokens

import (
	"context"
	"time"

	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/token"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
)

// Store is what this room asks of the record.
type Store interface {
	Tokens(ctx context.Context) (store.TokenSheet, error)
	MakeToken(ctx context.Context, t token.Token, by store.Actor) (secret string, err error)
	EndToken(ctx context.Context, id int64, by store.Actor, at time.Time) error
	ProgramOf(ctx context.Context, secret string, at time.Time) (store.Program, error)
	PromisedDays(ctx context.Context) ([]store.PromisedWatch, error)
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
	calendar := s.PerMachine(page.Bound{Times: 60, Within: time.Minute, Title: "Too often",
		Text: "Calendars ask every few hours. Try again in a minute."})
	return []page.Route{
		page.Get("/tokens", page.Needs(staff.ManageTokens), s.showTokens),
		page.Post("/tokens", page.Needs(staff.ManageTokens), s.makeToken),
		page.Post("/tokens/{id}/end", page.Needs(staff.ManageTokens), s.endToken),
		page.Get(calendarPrefix+"{secret}", page.Public, calendar(s.sendCalendar)),
	}
}
