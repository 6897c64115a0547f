package store

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/shop"
	"ledgerwheel/domain/staff"
)

const shopFields = `s.name, s.address, s.phone, s.email, s.time_zone, s.locale, s.phone_region, s.currency, s.tax_name,
	s.tax_basis_points, s.prices_include_tax, s.decision_rule = 'simple', s.instrument, s.instrument_ppm,
	s.warranty_months, s.warranty_covers, s.ticket_terms, s.estimate_days, s.link_secret`

func shopTargets(s *shop.Shop) []any {
	return []any{&s.Name, &s.Address, &s.Phone, &s.Email, &s.TimeZone, &s.Locale, &s.PhoneRegion, &s.Currency, &s.TaxName,
		&s.TaxBasisPoints, &s.PricesIncludeTax, &s.SimpleAcceptance, &s.Instrument, &s.InstrumentPPM,
		&s.WarrantyMonths, &s.WarrantyCovers, &s.TicketTerms, &s.EstimateDays, &s.LinkSecret}
}

func shopArgs(s shop.Shop) []any {
	rule := "guarded"
	if s.SimpleAcceptance {
		rule = "simple"
	}
	return []any{s.Name, s.Address, s.Phone, s.Email, s.TimeZone, s.Locale, s.PhoneRegion, s.Currency, s.TaxName,
		s.TaxBasisPoints, s.PricesIncludeTax, rule, s.Instrument, s.InstrumentPPM,
		s.WarrantyMonths, s.WarrantyCovers, s.TicketTerms, s.EstimateDays, s.LinkSecret}
}

// Shop returns the shop's settings; the error wraps domain.ErrNotFound until the first owner is made.
func (s *Store) Shop(ctx context.Context) (shop.Shop, error) {
	var out shop.Shop
	err := s.db.QueryRow(ctx, `SELECT `+shopFields+` FROM shop s`).Scan(shopTargets(&out)...)
	if err != nil {
		return shop.Shop{}, fmt.Errorf("shop: %w", Translate(err))
	}
	return out, nil
}

// Found makes the shop and its first owner, who has the given password hash, and returns the owner's id.
// The error is domain.ErrChanged when the shop is there already: only one person can be first.
func (s *Store) Found(ctx context.Context, sh shop.Shop, owner staff.Member, passwordHash string, at time.Time) (int64,
	error) {
	var id int64
	err := pgx.BeginFunc(ctx, s.db, func(tx pgx.Tx) error {
		tag, err := tx.Exec(ctx, `INSERT INTO shop (name, address, phone, email, time_zone, locale, phone_region, currency, tax_name,
			tax_basis_points, prices_include_tax, decision_rule, instrument, instrument_ppm, warranty_months, warranty_covers,
			ticket_terms, estimate_days, link_secret)
			VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15, $16, $17, $18, $19)
			ON CONFLICT DO NOTHING`, shopArgs(sh)...)
		if err != nil {
			return err
		}
		if tag.RowsAffected() == 0 {
			return domain.ErrChanged
		}
		id, err = insertMember(ctx, tx, owner, passwordHash, at)
		return err
	})
	if err != nil {
		return 0, fmt.Errorf("found the shop: %w", Translate(err))
	}
	return id, nil
}

// SaveShop replaces the settings. The link secret is kept as it was.
func (s *Store) SaveShop(ctx context.Context, sh shop.Shop) error {
	args := shopArgs(sh)
	_, err := s.db.Exec(ctx, `UPDATE shop SET name = $1, address = $2, phone = $3, email = $4, time_zone = $5, locale = $6,
		phone_region = $7, currency = $8, tax_name = $9, tax_basis_points = $10, prices_include_tax = $11, decision_rule = $12,
		instrument = $13, instrument_ppm = $14, warranty_months = $15, warranty_covers = $16, ticket_terms = $17,
		estimate_days = $18`, args[:len(args)-1]...)
	if err != nil {
		return fmt.Errorf("save the shop: %w", Translate(err))
	}
	return nil
}
