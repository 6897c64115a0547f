// Package takeaway is where the owner takes the whole record away as open files, for another program or for keeps.
package takeaway

import (
	"context"
	"net/http"
	"time"

	"ledgerwheel/domain/staff"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
)

// Store is what this room asks of the record.
type Store interface {
	TakeAway(ctx context.Context, by store.Actor, at time.Time) (*store.Takeaway, error)
}

// Papers makes the paper that stands at a path, as a PDF for whoever asks with r. ok is false where there is none.
type Papers func(r *http.Request, path string) (pdf []byte, ok bool, err error)

// Room answers this door's requests.
type Room struct {
	*page.Host
	store  Store
	papers Papers
}

// New returns the room over a record.
func New(host *page.Host, store Store, papers Papers) *Room { return &Room{host, store, papers} }

// Routes are the rows of the table of routes that lead here.
func (s *Room) Routes() []page.Route {
	return []page.Route{
		page.Get("/take-away", page.Needs(staff.TakeAway), s.show),
		page.Post("/take-away", page.Needs(staff.TakeAway), s.send),
	}
}
