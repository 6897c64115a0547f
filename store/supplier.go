package store

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/purchase"
)

// SupplierRow is a supplier with the version that a form states.
type SupplierRow struct {
	purchase.Supplier
	Version int64
}

const supplierFields = `s.id, s.name, s.email, s.phone, s.address, s.account, s.lead_days, s.note, s.version`

func scanSupplier(row pgx.CollectableRow) (SupplierRow, error) {
	var s SupplierRow
	err := row.Scan(&s.ID, &s.Name, &s.Email, &s.Phone, &s.Address, &s.Account, &s.LeadDays, &s.Note, &s.Version)
	return s, err
}

// Suppliers lists whom the shop orders from, by name.
func (s *Store) Suppliers(ctx context.Context) ([]SupplierRow, error) {
	rows, _ := s.db.Query(ctx, `SELECT `+supplierFields+` FROM supplier s WHERE s.ended_at IS NULL ORDER BY lower(s.name)`)
	list, err := pgx.CollectRows(rows, scanSupplier)
	if err != nil {
		return nil, fmt.Errorf("suppliers: %w", Translate(err))
	}
	return list, nil
}

// supplierFacts is what the shop's journal keeps of a supplier.
type supplierFacts struct {
	Name     string `json:"name"`
	Email    string `json:"supplier_email,omitempty"`
	Account  string `json:"account,omitempty"`
	LeadDays *int   `json:"lead_days,omitempty"`
}

// SaveSupplier keeps a supplier, adding it where its ID is 0, and returns its id. version is the one that the form was
// made of. The error is a *domain.InvalidError (see purchase.Supplier.Problems; "name" also where another has it), or
// wraps domain.ErrNotFound or domain.ErrChanged.
func (s *Store) SaveSupplier(ctx context.Context, p purchase.Supplier, version int64, by Actor, at time.Time) (int64, error) {
	p = p.Tidied()
	if err := domain.Invalid(p.Problems()); err != nil {
		return 0, err
	}
	n := note{kind: docket.SupplierChanged, by: by, at: at, summary: p.KeptSummary(), facts: supplierFacts{p.Name, p.Email, p.Account, p.LeadDays}}
	err := s.changeShop(ctx, &n, func(tx pgx.Tx) error {
		err := mayKeep(ctx, tx, "supplier", "lower(name) = lower($1)", p.Name, p.ID, version, "name", "Another supplier has this name.")
		if err != nil {
			return err
		}
		values := []any{p.Name, p.Email, p.Phone, p.Address, p.Account, p.LeadDays, p.Note, by.StaffID, docket.Moment(at)}
		if p.ID == 0 {
			return tx.QueryRow(ctx, `INSERT INTO supplier (name, email, phone, address, account, lead_days, note, kept_by, kept_at)
				VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9) RETURNING id`, values...).Scan(&p.ID)
		}
		_, err = tx.Exec(ctx, `UPDATE supplier SET name = $1, email = $2, phone = $3, address = $4, account = $5, lead_days = $6, note = $7, kept_by = $8,
			kept_at = $9, version = version + 1 WHERE id = $10`, append(values, p.ID)...)
		return err
	})
	if err != nil {
		return 0, fmt.Errorf("save supplier %s: %w", p.Name, Translate(err))
	}
	return p.ID, nil
}
