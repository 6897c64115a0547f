// Package page is what every room stands on: routes and who may use them, who is looking, forms and uploads, words and
// numbers, and how an answer or a refusal becomes a page.
package page

import (
	"context"
	"log/slog"
	"net/netip"
	"sync"
	"time"

	"github.com/alexedwards/scs/v2"

	"ledgerwheel/domain/health"
	"ledgerwheel/domain/logo"
	"ledgerwheel/store"
)

// Viewers knows the people of the shop and their sessions.
type Viewers interface {
	Viewer(ctx context.Context, id int64, session string) (store.Viewer, error)
	BeginSession(ctx context.Context, id, before string, staffID int64, epoch int, e store.AccessEvent) error
	SessionSeen(ctx context.Context, id, address string) error
	EndSession(ctx context.Context, staffID int64, id string, e store.AccessEvent) error
}

// Record is what pages of every room ask of the record.
type Record interface {
	Viewers
	Sendings
	KeptForms
	Logo(ctx context.Context, name logo.Name) ([]byte, error)
}

// Host is what every room is given.
type Host struct {
	Viewers  Record
	Uploads  Uploads // where photographs and sounds are kept
	Sessions *scs.SessionManager
	Log      *slog.Logger
	Now      func() time.Time // the clock; time.Now outside tests
	// PublicURL is the address at which customers reach the program, without a final slash.
	PublicURL string
	Demo      bool
	Proxies   []netip.Prefix // who may say for whom they ask
	Prover    Prover         // asks again who somebody is
	// Troubles names what stands in the way of keeping the record just now. It is asked for every page, and must cost next
	// to nothing; nil finds nothing.
	Troubles func() []health.Trouble

	doubted  sync.Once    // a proxy that is not named was seen
	underway underway     // what was sent and is being answered
	filing   sync.RWMutex // held while pictures are put on the disk and named; alone while files are deleted
}
