package store

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/logo"
	"ledgerwheel/domain/shop"
)

// SaveLogo saves the settings with a picture as their logo, both or neither. What was the logo once is kept once.
func (s *Store) SaveLogo(ctx context.Context, sh shop.Shop, p logo.Picture, by Actor, at time.Time) error {
	sh.Logo, sh.LogoNone = p.Name, false
	return s.saveShop(ctx, sh, by, at, func(tx pgx.Tx) error {
		_, err := tx.Exec(ctx, `INSERT INTO logo (name, png, added_at, added_by) VALUES ($1, $2, $3, $4) ON CONFLICT DO NOTHING`,
			string(p.Name), p.PNG, docket.Moment(at), by.StaffID)
		return err
	})
}

// Logo reads the picture of a logo. The error wraps domain.ErrNotFound where there is none of that name, or where what lies
// there is no longer what was kept: a record check names that.
func (s *Store) Logo(ctx context.Context, name logo.Name) ([]byte, error) {
	var png []byte
	if err := s.db.QueryRow(ctx, `SELECT png FROM logo WHERE name = $1`, string(name)).Scan(&png); err != nil {
		return nil, fmt.Errorf("logo: %w", Translate(err))
	}
	if !name.Holds(png) {
		return nil, fmt.Errorf("logo %.8s was altered: %w", name, domain.ErrNotFound)
	}
	return png, nil
}
