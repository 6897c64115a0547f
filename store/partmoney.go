package store

import (
	"context"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/stock"
)

// moneyOf is what is kept of who pays for a part: nothing where it is not fitted or the agreed estimate holds it, else
// what was said, or a *domain.InvalidError.
func moneyOf(ctx context.Context, tx pgx.Tx, d docket.Docket, p stock.PartLine, said stock.Money) (stock.Money,
	error) {
	if p.State != stock.Fitted {
		return stock.Money{}, nil
	}
	e, err := lockEstimate(ctx, tx, d.ID)
	if err != nil {
		return stock.Money{}, err
	}
	f, err := factsOf(ctx, tx, d)
	if err != nil {
		return stock.Money{}, err
	}
	rows, _ := tx.Query(ctx, `SELECT `+partFields+` FROM part_line p WHERE p.docket_id = $1 ORDER BY p.id`, d.ID)
	parts, err := pgx.CollectRows(rows, scanPart)
	if err != nil {
		return stock.Money{}, err
	}
	if e.HoldsPart(f.Agreed(), p, PartsSheet{Parts: parts}.Lines()) {
		return stock.Money{}, nil
	}
	return said, domain.Invalid(said.Problems())
}

// SetPartPayer says again who pays for a fitted part. The error is a *domain.InvalidError, wraps stock.ErrMove for a
// part that is not fitted and domain.ErrChanged for one that somebody else changed meanwhile, or is as of the other
// changes of a docket.
func (s *Store) SetPartPayer(ctx context.Context, c Change, id int64, m stock.Money) error {
	return s.changePart(ctx, c, id, func(h partHistory) (stock.PartLine, event, error) {
		was := h.now()
		switch {
		case h.docket.Closed():
			return was, event{}, domain.ErrClosed
		case len(h.states) > 1:
			return was, event{}, domain.ErrChanged
		case was.State != stock.Fitted:
			return was, event{}, stock.ErrMove
		}
		now := was
		now.Money = m
		return now, event{kind: docket.PartPayer, summary: now.MoneySummary(), why: m.Why, facts: factsOfPart(now)},
			domain.Invalid(m.Problems())
	})
}
