package store

import (
	"context"
	"fmt"

	"ledgerwheel/domain/shop"
)

// Begun counts what the record holds of what a new shop needs, in one round trip.
func (s *Store) Begun(ctx context.Context) (shop.Begun, error) {
	var b shop.Begun
	err := s.db.QueryRow(ctx, `SELECT (SELECT count(*) FROM staff WHERE disabled_at IS NULL), (SELECT count(*) FROM (SELECT FROM calibre LIMIT 1) k),
		EXISTS (SELECT FROM backup_run WHERE failed = ''), EXISTS (SELECT FROM mail_settings WHERE host <> ''),
		(SELECT count(*) FROM (SELECT FROM docket LIMIT 1) d), (SELECT count(*) FROM (SELECT FROM job LIMIT 1) j)`).
		Scan(&b.People, &b.Calibres, &b.Backed, &b.Mailing, &b.Dockets, &b.Jobs)
	if err != nil {
		return b, fmt.Errorf("what the shop has begun: %w", Translate(err))
	}
	return b, nil
}
