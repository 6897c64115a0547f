package store

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/estimate"
	"ledgerwheel/domain/link"
)

// CustomerLink is a private link and who made it.
type CustomerLink struct {
	link.Link
	MadeBy string
}

const linkSQL = `SELECT l.id, l.docket_id, l.made_at, l.expires_at, l.ended_at, m.name
	FROM customer_link l JOIN staff m ON m.id = l.made_by `

func scanLink(row pgx.CollectableRow) (CustomerLink, error) {
	var l CustomerLink
	var ended *time.Time
	err := row.Scan(&l.ID, &l.DocketID, &l.MadeAt, &l.ExpiresAt, &ended, &l.MadeBy)
	l.MadeAt, l.ExpiresAt, l.EndedAt = l.MadeAt.UTC(), l.ExpiresAt.UTC(), timeOr(ended)
	return l, err
}

// queueLink adds the newest link of a docket to a page's batch.
func queueLink(batch *pgx.Batch, n docket.Number, l *CustomerLink) {
	batch.Queue(linkSQL+`WHERE l.docket_id = (SELECT id FROM docket WHERE number = $1) ORDER BY l.id DESC LIMIT 1`,
		n.String()).
		Query(func(rows pgx.Rows) error {
			links, err := pgx.CollectRows(rows, scanLink)
			if len(links) == 1 {
				*l = links[0]
			}
			return err
		})
}

// lockLink reads the newest link of a locked docket; zero ID when none was made.
func lockLink(ctx context.Context, tx pgx.Tx, docketID int64) (CustomerLink, error) {
	rows, _ := tx.Query(ctx, linkSQL+`WHERE l.docket_id = $1 ORDER BY l.id DESC LIMIT 1`, docketID)
	l, err := pgx.CollectExactlyOneRow(rows, scanLink)
	if errors.Is(err, pgx.ErrNoRows) {
		return CustomerLink{}, nil
	}
	return l, err
}

// keepLink begins the life of the link that serves anew, or makes one, and returns what the journal is told.
func keepLink(ctx context.Context, tx pgx.Tx, docketID int64, c Change) ([]event, error) {
	l, err := lockLink(ctx, tx, docketID)
	if err != nil {
		return nil, err
	}
	if !l.Serves(c.At) {
		return insertLink(ctx, tx, docketID, c)
	}
	_, err = tx.Exec(ctx, `UPDATE customer_link SET expires_at = $2 WHERE id = $1`, l.ID, docket.Moment(link.Expiry(c.At)))
	return nil, err
}

func insertLink(ctx context.Context, tx pgx.Tx, docketID int64, c Change) ([]event, error) {
	at, expires := docket.Moment(c.At), docket.Moment(link.Expiry(c.At))
	var id int64
	err := tx.QueryRow(ctx, `INSERT INTO customer_link (docket_id, made_by, made_at, expires_at) VALUES ($1, $2, $3, $4) RETURNING id`,
		docketID, c.By.StaffID, at, expires).Scan(&id)
	return []event{linkMadeEvent(id, expires)}, err
}

func linkMadeEvent(id int64, expires time.Time) event {
	return event{kind: docket.LinkMade, summary: docket.LinkMadeSummary, facts: map[string]any{"link": id, "expires": expires}}
}

// MakeLink ends the docket's private link, if one serves, and makes a new one; who has the old one is shut out. It may
// also be made once the watch has left. The error wraps domain.ErrNotFound or domain.ErrChanged.
func (s *Store) MakeLink(ctx context.Context, c Change) error {
	return s.changeAny(ctx, c, func(tx pgx.Tx, d docket.Docket) ([]event, error) {
		events, err := endLink(ctx, tx, d.ID, c)
		if err != nil {
			return nil, err
		}
		made, err := insertLink(ctx, tx, d.ID, c)
		return append(events, made...), err
	})
}

// EndLink ends the docket's private link; ending one that no longer serves changes nothing. The error wraps
// domain.ErrNotFound or domain.ErrChanged.
func (s *Store) EndLink(ctx context.Context, c Change) error {
	return s.changeAny(ctx, c, func(tx pgx.Tx, d docket.Docket) ([]event, error) { return endLink(ctx, tx, d.ID, c) })
}

func endLink(ctx context.Context, tx pgx.Tx, docketID int64, c Change) ([]event, error) {
	l, err := lockLink(ctx, tx, docketID)
	if err != nil || !l.Serves(c.At) {
		return nil, err
	}
	_, err = tx.Exec(ctx, `UPDATE customer_link SET ended_at = $2 WHERE id = $1`, l.ID, docket.Moment(c.At))
	return []event{{kind: docket.LinkRevoked, summary: docket.LinkEndedSummary, facts: map[string]any{"link": l.ID}}}, err
}

// LinkPhoto reads a photograph of the link's own docket that was chosen for the customer, and the link. The error wraps domain.ErrNotFound.
func (s *Store) LinkPhoto(ctx context.Context, linkID, photoID int64) (Photo, link.Link, error) {
	var p Photo
	var l CustomerLink
	var batch pgx.Batch
	batch.Queue(linkSQL+`WHERE l.id = $1`, linkID).Query(func(rows pgx.Rows) (err error) {
		l, err = pgx.CollectExactlyOneRow(rows, scanLink)
		return err
	})
	batch.Queue(photoSQL+`WHERE p.id = $2 AND p.customer_sees AND p.docket_id = (SELECT docket_id FROM customer_link WHERE id = $1)`, linkID,
		photoID).
		Query(func(rows pgx.Rows) (err error) {
			p, err = pgx.CollectExactlyOneRow(rows, scanPhoto)
			return err
		})
	if err := s.db.SendBatch(ctx, &batch).Close(); err != nil {
		return Photo{}, link.Link{}, fmt.Errorf("photograph %d of link %d: %w", photoID, linkID, Translate(err))
	}
	return p, l.Link, nil
}

// AnswerByLink records the answer that the customer gave through the private link. The change is made by the customer,
// on no version: which revision is answered is what counts. The error is a *domain.InvalidError for a faulty answer,
// wraps link.ErrEnded or link.ErrExpired, what estimate.Estimate.Decide refuses with, or is as of the other changes
// of a docket.
func (s *Store) AnswerByLink(ctx context.Context, c Change, linkID int64, a estimate.Answer, today time.Time) error {
	a.By, a.At = estimate.ByLink, docket.Moment(c.At)
	if err := domain.Invalid(a.Problems()); err != nil {
		return err
	}
	return s.change(ctx, c, func(tx pgx.Tx, d docket.Docket) ([]event, error) {
		rows, _ := tx.Query(ctx, linkSQL+`WHERE l.id = $1 AND l.docket_id = $2`, linkID, d.ID)
		l, err := pgx.CollectExactlyOneRow(rows, scanLink)
		if err == nil {
			err = l.Check(c.At)
		}
		if err != nil {
			return nil, err
		}
		return s.decide(ctx, tx, d, c, a, today)
	})
}
