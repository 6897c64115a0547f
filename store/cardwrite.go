package store

import (
	"context"
	"crypto/rand"
	"errors"
	"maps"
	"slices"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/staff"
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

// issueAsSuggested issues the card of a docket worded as the record suggests, in the transaction of c. The error is a
// *domain.InvalidError under "card".
func (s *Store) issueAsSuggested(ctx context.Context, tx pgx.Tx, d docket.Docket, c Change) (event, error) {
	before, r, err := newestCard(ctx, tx, c.Number)
	if err != nil {
		return event{}, err
	}
	if before != nil && before.Live() {
		return event{}, domain.Invalid(map[string]string{"card": warranty.StandsAlready})
	}
	w := r.suggested()
	w.StartsOn = civilDay(c.At, r.shop.Location())
	_, ev, err := s.issue(ctx, tx, d, c, r, w)
	return ev, problemUnder("card", err)
}

// issue issues a card of w for a docket of which r was read, and returns what the journal tells of it.
func (s *Store) issue(ctx context.Context, tx pgx.Tx, d docket.Docket, c Change, r *cardReader, w warranty.Wording) (warranty.Code,
	event, error) {
	order, err := standingOrder(ctx, tx, c, r)
	if err != nil {
		return "", event{}, err
	}
	basis := r.basis()
	if err := domain.Invalid(basis.Problems(w, civilDay(c.At, r.shop.Location()))); err != nil {
		return "", event{}, err
	}
	card := basis.Card(w)
	if card.Code, err = warranty.NewCode(rand.Reader); err != nil {
		return "", event{}, err
	}
	card.IssuedAt = docket.Moment(c.At)
	ev := cardEvent(docket.CardIssued, warranty.IssuedSummary(card.Code, ""), "", card, "")
	ev.facts = issuedFacts{ev.facts.(cardFacts), order}
	return card.Code, ev, s.insertCard(ctx, tx, d.ID, c, card, nil)
}

// standingOrder names the owner's order under which c.By issues a card, "" where they need none. The error is a
// *domain.InvalidError where no order lets them.
func standingOrder(ctx context.Context, tx pgx.Tx, c Change, r *cardReader) (string, error) {
	if staff.Can(c.By.Role, staff.IssueCard) {
		return "", nil
	}
	given := r.shop.CardByClerk && staff.Can(c.By.Role, staff.IssueByOrder)
	if why := warranty.OrderProblem(given, r.head.Facts); why != "" {
		return "", domain.Invalid(map[string]string{"": why})
	}
	var at time.Time
	var by string
	err := tx.QueryRow(ctx, `SELECT v.made_at, coalesce(m.name, '') FROM shop_version v LEFT JOIN staff m ON m.id = v.made_by
		WHERE v.id > coalesce((SELECT max(id) FROM shop_version WHERE card_by_clerk IS NOT TRUE), 0) ORDER BY v.id LIMIT 1`).
		Scan(&at, &by)
	return warranty.OrderWords(docket.DayWords(civilDay(at, r.shop.Location())), by), err
}

// problemUnder gathers what is wrong under one field.
func problemUnder(field string, err error) error {
	var invalid *domain.InvalidError
	if !errors.As(err, &invalid) {
		return err
	}
	said := slices.Collect(maps.Values(invalid.Problems))
	slices.Sort(said)
	return domain.Invalid(map[string]string{field: strings.Join(said, " ")})
}

// cardFacts is what the journal keeps of a card.
type cardFacts struct {
	Code       string   `json:"card"`
	Supersedes string   `json:"in_place_of,omitempty"`
	WorkDone   []string `json:"work_done"`
	StartsOn   string   `json:"from"`
	ExpiresOn  string   `json:"until"`
	Covers     string   `json:"covers"`
	Statement  string   `json:"signed_statement,omitempty"` // of the card replaced
}

// issuedFacts are those of a card that was issued, with the order that let somebody else than the owner do it.
type issuedFacts struct {
	cardFacts
	Order string `json:"standing_order,omitempty"`
}

func cardEvent(kind docket.Kind, summary, why string, card warranty.Card, statement string) event {
	return event{kind: kind, summary: summary, why: why, facts: cardFacts{card.Code.Grouped(), card.Supersedes.Grouped(),
		card.WorkDone, docket.DayWords(card.StartsOn), docket.DayWords(card.ExpiresOn), card.Covers, statement}}
}
