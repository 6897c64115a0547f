// Package post is the owner's room for the shop's mail: the settings of the mail server, a test mail, what waits, and in the demo
// the letters that its own mail server took.
package post

import (
	"context"
	"time"

	"ledgerwheel/domain/message"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/tongue"
	"ledgerwheel/store"
	"ledgerwheel/store/keyring"
	"ledgerwheel/store/post/letterbox"
	"ledgerwheel/web/page"
)

// Store is what this room asks of the record.
type Store interface {
	CarryAll(ctx context.Context) error
	Keys() *keyring.Ring
	MailSettings(ctx context.Context) (message.Settings, int64, error)
	MailWaiting(ctx context.Context) (store.MailWaiting, error)
	SaveMailSettings(ctx context.Context, m message.Settings, version int64, by store.Actor, at time.Time) error
}

// Carrier is what hands messages to the mail server.
type Carrier interface {
	TestWords(ctx context.Context, to string, f message.Filled, in tongue.Tongue) (message.Tested, error)
	GivenServer() (server message.Server, ok bool)
	Test(ctx context.Context, to string) (message.Tested, error)
}

// Letters are those that the demo's mail server took.
type Letters interface {
	Letters() []letterbox.Letter
	Letter(id int) (letterbox.Letter, bool)
}

// Room answers this door's requests.
type Room struct {
	*page.Host
	store   Store
	carrier Carrier // nil where nothing is carried
	letters Letters // nil but in the demo
}

// New returns the room over a record.
func New(host *page.Host, store Store, carrier Carrier, letters Letters) *Room {
	return &Room{Host: host, store: store, carrier: carrier, letters: letters}
}

// Routes are the rows of the table of routes that lead here.
func (s *Room) Routes() []page.Route {
	settings := page.Needs(staff.ManageSettings)
	return []page.Route{
		page.Get("/mail", settings, s.showMail),
		page.Post("/mail", settings, s.saveMail),
		page.Post("/mail/test", settings, s.testMail),
		page.Get("/letters", page.SignedIn, s.showLetters),
		page.Get("/letters/{letter}", page.SignedIn, s.showLetter),
		page.Get("/letters/{letter}/html", page.SignedIn, s.showLetterPage),
		page.Get("/letters/{letter}/letter.eml", page.SignedIn, s.sendLetter),
	}
}
