package web

import (
	"context"
	"os"
	"time"

	"ledgerwheel/domain/shop"
	"ledgerwheel/domain/staff"
	"ledgerwheel/store"
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
	recorderStore
	regulationStore
	trialStore
	rateLimitsStore
	leavingStore
}

// Uploads keeps photographs, named by the sum of the full size.
type Uploads interface {
	Put(sum [32]byte, size store.Size, data []byte) error
	Open(sum [32]byte, size store.Size) (*os.File, error)
}

type viewerStore interface {
	Viewer(ctx context.Context, id int64) (store.Viewer, error)
	Shop(ctx context.Context) (shop.Shop, error)
}

type signInStore interface {
	CredentialsOf(ctx context.Context, email string) (store.Credentials, error)
	Found(ctx context.Context, sh shop.Shop, owner staff.Member, passwordHash string, at time.Time) (int64, error)
}
