package store

import (
	"context"
	"fmt"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/diagnosis"
	"ledgerwheel/domain/docket"
)

// FindingClash reports a finding that somebody else corrected or struck out since the writer saw it; nothing was
// saved. It is a domain.ErrChanged.
type FindingClash struct {
	diagnosis.FindingMerge
	Standing int64 // the finding that stands in its place; 0 when it was struck out and none does
	Changed  Author
}

func (e *FindingClash) Error() string {
	return fmt.Sprintf("a finding changed by two: %v", e.Clashes)
}

// Unwrap makes it a domain.ErrChanged.
func (e *FindingClash) Unwrap() error { return domain.ErrChanged }

// findingNow reads a finding of a locked docket as it was (base), and the one that stands in its place by now: itself
// while nobody corrected it.
func findingNow(ctx context.Context, tx pgx.Tx, docketID, id int64) (base, now FindingRow, err error) {
	rows, _ := tx.Query(ctx, `WITH RECURSIVE chain AS (
		SELECT id, 1 AS step FROM finding WHERE id = $1 AND docket_id = $2
		UNION ALL SELECT f.id, c.step + 1 FROM finding f JOIN chain c ON f.corrects = c.id WHERE f.docket_id = $2)
		`+findingSQL+`JOIN chain ON chain.id = f.id ORDER BY chain.step`, id, docketID)
	chain, err := pgx.CollectRows(rows, scanFinding)
	if err == nil && len(chain) == 0 {
		err = domain.ErrNotFound
	}
	if err != nil {
		return FindingRow{}, FindingRow{}, err
	}
	return chain[0], chain[len(chain)-1], nil
}

// clash tells who changed the finding, and what stands in its place.
func (f FindingRow) clash(m diagnosis.FindingMerge) *FindingClash {
	if f.Struck() {
		return &FindingClash{FindingMerge: m, Changed: Author{Name: f.StruckBy, At: f.StruckAt}}
	}
	return &FindingClash{FindingMerge: m, Standing: f.ID, Changed: Author{Name: f.By, At: f.At}}
}

func strike(ctx context.Context, tx pgx.Tx, c Change, id int64) error {
	_, err := tx.Exec(ctx, `UPDATE finding SET struck_at = $2, struck_by = $3 WHERE id = $1`, id, docket.Moment(c.At),
		c.By.StaffID)
	return err
}

// StrikeFinding strikes a finding out, as in a ledger: it stays readable but no longer counts. One that was struck out
// already stays as it is. The error is a *FindingClash when it was corrected meanwhile, wraps domain.ErrNotFound, or is
// as of the other changes of a docket.
func (s *Store) StrikeFinding(ctx context.Context, c Change, id int64, why string) error {
	c.Version = 0 // the finding decides, not the docket's version
	return s.change(ctx, c, func(tx pgx.Tx, d docket.Docket) ([]event, error) {
		base, now, err := findingNow(ctx, tx, d.ID, id)
		switch {
		case err != nil || now.Struck():
			return nil, err
		case now.ID != base.ID:
			return nil, now.clash(diagnosis.FindingMerge{})
		}
		return []event{{kind: docket.FindingRemoved, summary: now.StruckSummary(), why: why,
			facts: factsOfFinding(now.Finding)}}, strike(ctx, tx, c, id)
	})
}

// CorrectFinding strikes a finding out and puts f in its place, together with what others corrected of it since. A
// correction that changes nothing leaves no trace. The error is a *domain.InvalidError or as of StrikeFinding, and a
// *FindingClash also when it was struck out meanwhile.
func (s *Store) CorrectFinding(ctx context.Context, c Change, id int64, f diagnosis.Finding) error {
	f = f.Tidied()
	if err := domain.Invalid(f.Problems()); err != nil {
		return err
	}
	c.Version = 0 // the finding decides, not the docket's version
	return s.change(ctx, c, func(tx pgx.Tx, d docket.Docket) ([]event, error) {
		base, now, err := findingNow(ctx, tx, d.ID, id)
		if err != nil {
			return nil, err
		}
		m := diagnosis.MergeFindings(base.Finding, now.Finding, f)
		switch {
		case now.Struck(), len(m.Clashes) > 0:
			return nil, now.clash(m)
		case m.Merged == now.Finding:
			return nil, nil
		}
		if err := strike(ctx, tx, c, now.ID); err != nil {
			return nil, err
		}
		if _, err := insertFinding(ctx, tx, d.ID, c, m.Merged, now.ID); err != nil {
			return nil, err
		}
		return []event{{kind: docket.FindingChanged, summary: m.Merged.CorrectedSummary(),
			facts: map[string]findingFacts{"was": factsOfFinding(now.Finding), "now": factsOfFinding(m.Merged)}}}, nil
	})
}
