// Package words is where the owner puts messages to customers into the shop's own words, and says what is told by itself.
package words

import (
	"context"
	"time"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/message"
	"ledgerwheel/domain/tongue"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
)

// Store is what this room asks of the record.
type Store interface {
	MessageSettings(ctx context.Context) (store.MessageSettings, error)
	PreviewMessage(ctx context.Context, n docket.Number, topic message.Topic, in tongue.Tongue, t message.Template, at time.Time) (message.Filled, error)
	SaveReminders(ctx context.Context, by store.Actor, at time.Time, r message.Reminders) error
	SaveTemplate(ctx context.Context, by store.Actor, at time.Time, topic message.Topic, in tongue.Tongue, t message.Template) error
}

// Tester sends test mails.
type Tester interface {
	TestWords(ctx context.Context, to string, f message.Filled, in tongue.Tongue) (message.Tested, error)
}

// Room answers this door's requests.
type Room struct {
	*page.Host
	store  Store
	tester Tester // nil where nothing is sent
}

// New returns the room over a record.
func New(host *page.Host, store Store, tester Tester) *Room {
	return &Room{Host: host, store: store, tester: tester}
}

// Routes are the rows of the table of routes that lead here.
func (s *Room) Routes() []page.Route { return s.wordsRoutes() }
