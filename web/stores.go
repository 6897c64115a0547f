package web

import (
	"context"
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
	listStore
	findStore
	todayStore
	peopleStore
	intakeStore
	diagnosisStore
	estimateStore
	partsStore
	serviceStore
	customerLinkStore
	ownerStore
	watchListStore
	calibreStore
	benchStore
	recorderStore
	regulationStore
	heardStore
	trialStore
	rateLimitsStore
	finalTestStore
	handOverStore
	cardStore
	keysStore
	cardCheckStore
}

type signInStore interface {
	CredentialsOf(ctx context.Context, email string) (store.Credentials, error)
	Found(ctx context.Context, sh shop.Shop, owner staff.Member, passwordHash string, at time.Time) (int64, error)
}
