package web

import (
	"context"
	"io"
	"os"
	"time"

	"ledgerwheel/domain/heard"
	"ledgerwheel/domain/shop"
	"ledgerwheel/domain/staff"
	"ledgerwheel/store"
	"ledgerwheel/store/files"
)

// Store is everything the pages ask of the record, page by page.
type Store interface {
	Ping(ctx context.Context) error
	viewerStore
	signInStore
	docketStore
	peopleStore
	intakeStore
	workStore
	ownerStore
	watchListStore
	calibreStore
	benchStore
	recorderStore
	regulationStore
	heardStore
	trialStore
	rateLimitsStore
	leavingStore
}

// Uploads keeps photographs and sounds, named by the sum of the full size.
type Uploads interface {
	Put(sum [32]byte, size files.Size, data []byte) error
	Open(sum [32]byte, size files.Size) (*os.File, error)
	PutSound(data []byte) (*heard.Sound, error)
	ReceiveSound(from io.Reader, maxBytes int64) (*heard.Sound, error)
	OpenSound(sum [32]byte) (*os.File, error)
	RemoveSound(sum [32]byte) error
}

type viewerStore interface {
	Viewer(ctx context.Context, id int64) (store.Viewer, error)
	Shop(ctx context.Context) (shop.Shop, error)
}

type signInStore interface {
	CredentialsOf(ctx context.Context, email string) (store.Credentials, error)
	Found(ctx context.Context, sh shop.Shop, owner staff.Member, passwordHash string, at time.Time) (int64, error)
}
