// Package office is the owner's door: signing in, people, settings, the watch list and the signing keys.
package office

import (
	"context"
	"slices"
	"time"

	"ledgerwheel/domain/logo"
	"ledgerwheel/domain/shop"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/warranty"
	"ledgerwheel/domain/watch"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
)

// Store is what this room asks of the record.
type Store interface {
	Accesses(ctx context.Context, before int64) (list []store.AccessEvent, older int64, err error)
	AddToWatchList(ctx context.Context, e watch.WatchListEntry, by store.Actor, at time.Time) error
	Backups(ctx context.Context, now time.Time) (store.Backups, error)
	Begun(ctx context.Context) (shop.Begun, error)
	CredentialsOf(ctx context.Context, email string) (store.Credentials, error)
	CredentialsByID(ctx context.Context, id int64) (store.Credentials, error)
	Factors
	EndOtherSessions(ctx context.Context, staffID int64, keep string, e store.AccessEvent) error
	EndSession(ctx context.Context, staffID int64, id string, e store.AccessEvent) error
	Found(ctx context.Context, sh shop.Shop, owner staff.Member, passwordHash string, at time.Time) (int64, error)
	Invite(ctx context.Context, m staff.Member, secret string, by store.Actor, at time.Time) (int64, error)
	InviteOf(ctx context.Context, secret string) (staff.Member, staff.Invite, error)
	Join(ctx context.Context, secret, passwordHash string, at time.Time) (id int64, epoch int, err error)
	Listed(ctx context.Context, before int64) ([]store.ListedWatch, error)
	NoteAccess(ctx context.Context, e store.AccessEvent) error
	OwnSignIn(ctx context.Context, staffID int64) (store.OwnSignIn, error)
	RemoveFromWatchList(ctx context.Context, id int64, by store.Actor, at time.Time) error
	RecordStanding(ctx context.Context) (store.RecordStanding, error)
	Reset(ctx context.Context, id int64, secret string, by store.Actor, at time.Time) error
	RotateKey(ctx context.Context, current warranty.KeyID, by store.Actor, at time.Time) (warranty.KeyID, error)
	SaveLogo(ctx context.Context, sh shop.Shop, p logo.Picture, by store.Actor, at time.Time) error
	SaveShop(ctx context.Context, sh shop.Shop, by store.Actor, at time.Time) error
	NewestShop(ctx context.Context) (shop.Version, error)
	SetDisabled(ctx context.Context, id int64, disabled bool, by store.Actor, at time.Time) error
	SetOwnPassword(ctx context.Context, id int64, passwordHash string, at time.Time) (epoch int, err error)
	SetRole(ctx context.Context, id int64, role staff.Role, by store.Actor, at time.Time) error
	Shop(ctx context.Context) (shop.Shop, error)
	ShopJournal(ctx context.Context, before int64) (store.ShopJournal, error)
	SigningKeys(ctx context.Context) ([]store.KeyRow, error)
	Staff(ctx context.Context) ([]store.StaffRow, error)
	Morning(ctx context.Context, today time.Time) (store.Morning, error)
}

// Keeping is what the program does for the record beside the pages.
type Keeping struct {
	Nightly string // what is done about backups every night, as a sentence; "" for nothing
	Checks  *store.Checker
	Sealing Sealing // nil where nothing is sealed
}

// Sealing is how the sealing of the record stands.
type Sealing interface {
	Failed() error     // what stands against the newest seal; nil where it was made and kept
	Folders() []string // where seals are kept beside the record
}

// Factors are what people sign in with besides the password.
type Factors interface {
	AddPasskey(ctx context.Context, staffID int64, k store.Passkey, recovery [][32]byte, e store.AccessEvent) (codesKept bool, err error)
	BeginApp(ctx context.Context, staffID int64, secret []byte, at time.Time) error
	ConfirmApp(ctx context.Context, staffID int64, code string, recovery [][32]byte, e store.AccessEvent) (ok, codesKept bool, err error)
	OpenApp(ctx context.Context, staffID int64) ([]byte, error)
	PasskeyUsed(ctx context.Context, staffID int64, credentialID, credential []byte, at time.Time) error
	RemoveApp(ctx context.Context, staffID int64, e store.AccessEvent) error
	RemovePasskey(ctx context.Context, staffID, id int64, e store.AccessEvent) error
	RenewRecovery(ctx context.Context, staffID int64, recovery [][32]byte, e store.AccessEvent) error
	SecondFactors(ctx context.Context, staffID int64) (store.SecondFactors, error)
	SessionProved(ctx context.Context, id string, right bool) (wrong int, err error)
	TakeOffFactors(ctx context.Context, id int64, by store.Actor, e store.AccessEvent) error
	UseCode(ctx context.Context, staffID int64, typed string, e store.AccessEvent) (store.CodeAnswer, error)
}

// Room answers this door's requests.
type Room struct {
	*page.Host
	store    Store
	keeping  Keeping
	setupKey string // must be given to found the shop from another machine
	doors    doors
}

// New returns the room over a record.
func New(host *page.Host, store Store, setupKey string, keeping Keeping) *Room {
	return &Room{Host: host, store: store, setupKey: setupKey, keeping: keeping, doors: newDoors()}
}

// Routes are the rows of the table of routes that lead here.
func (s *Room) Routes() []page.Route {
	return slices.Concat(s.signInRoutes(), s.peopleRoutes(), s.ownerRoutes(), s.watchListRoutes(), s.keysRoutes(),
		s.ownRoutes(), s.factorRoutes(), s.accessRoutes(), s.backupRoutes(), s.recordRoutes(), s.firstStepRoutes(), s.logoRoutes())
}
