package store

import (
	"context"
	"fmt"

	"github.com/jackc/pgx/v5"
)

// OwnSignIn is how a person signs in, and where they have.
type OwnSignIn struct {
	Factors  SecondFactors
	Sessions []Session
	Accesses []AccessEvent // the newest
}

// OwnSignIn reads it in one round trip.
func (s *Store) OwnSignIn(ctx context.Context, staffID int64) (OwnSignIn, error) {
	var own OwnSignIn
	var batch pgx.Batch
	queueFactors(&batch, staffID, &own.Factors)
	queueSessions(&batch, staffID, &own.Sessions)
	queueAccess(&batch, staffID, &own.Accesses)
	if err := s.db.SendBatch(ctx, &batch).Close(); err != nil {
		return OwnSignIn{}, fmt.Errorf("own sign-in: %w", Translate(err))
	}
	return own, nil
}
