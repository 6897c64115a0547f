package store

import (
	"context"
	"errors"
	"slices"
	"strings"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/warranty"
)

// fieldsOnly keeps the problems of a form's fields where they are and gathers the others under "".
func fieldsOnly(err error, fields ...string) error {
	var invalid *domain.InvalidError
	if !errors.As(err, &invalid) {
		return err
	}
	bad := map[string]string{}
	for field, why := range invalid.Problems {
		if slices.Contains(fields, field) {
			bad[field] = why
		} else {
			bad[""] = strings.TrimSpace(bad[""] + " " + why)
		}
	}
	return domain.Invalid(bad)
}

// insertCard signs the card with the key in use and keeps it.
func (s *Store) insertCard(ctx context.Context, tx pgx.Tx, docketID int64, c Change, card warranty.Card, supersedes *int64) error {
	key, err := s.signingKey(ctx, tx, c)
	if err != nil {
		return err
	}
	signed, err := key.Sign(card)
	if err != nil {
		return err
	}
	proof, err := key.Prove(card)
	if err != nil {
		return err
	}
	_, err = tx.Exec(ctx, `INSERT INTO warranty_card (docket_id, code, payload, key_id, signature, issued_at, issued_by, supersedes,
			proof, tongue, issued_under) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, (SELECT tongue FROM docket WHERE id = $1), `+newestShop+`)`,
		docketID, string(card.Code), signed.Payload, string(signed.KeyID), signed.Signature, card.IssuedAt, c.By.StaffID,
		supersedes, proof)
	return err
}

func cardEvent(kind docket.Kind, summary, why string, card warranty.Card, statement string) event {
	return event{kind: kind, summary: summary, why: why, facts: struct {
		Code       string   `json:"card"`
		Supersedes string   `json:"in_place_of,omitempty"`
		WorkDone   []string `json:"work_done"`
		StartsOn   string   `json:"from"`
		ExpiresOn  string   `json:"until"`
		Covers     string   `json:"covers"`
		Statement  string   `json:"signed_statement,omitempty"` // of the card replaced
	}{card.Code.Grouped(), card.Supersedes.Grouped(), card.WorkDone, docket.DayWords(card.StartsOn),
		docket.DayWords(card.ExpiresOn), card.Covers, statement}}
}
