package store

import (
	"context"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/timing"
)

// RunCorrection is a correction of figures of a run that stood on record.
type RunCorrection struct {
	By      string
	At      time.Time
	Why     string
	Changes []string // in words
}

// keepRunCorrection keeps what of the edits corrects figures on record, with its reason. The error is a
// *domain.InvalidError under "why" where there is none.
func keepRunCorrection(ctx context.Context, tx pgx.Tx, c Change, before RunRecord, edits []timing.Edit) error {
	corrections := timing.Corrections(edits)
	if len(corrections) == 0 {
		return nil
	}
	if why := docket.RunReasonProblem(c.Why, docket.NoRunReason); why != "" {
		return domain.Invalid(map[string]string{"why": why})
	}
	changes := make([]string, len(corrections))
	for i, e := range corrections {
		changes[i] = e.Words()
	}
	_, err := tx.Exec(ctx, `INSERT INTO run_change (run_id, version, why, changes, at, by_id) VALUES ($1, $2, $3, $4, $5, $6)`,
		before.ID, before.Version+1, c.Why, changes, docket.Moment(c.At), c.By.StaffID)
	return err
}

// askGradeReason asks for a reason where a docket's runs were judged by another grade before.
func askGradeReason(ctx context.Context, tx pgx.Tx, c Change, keptID int64, now LimitsVersion) error {
	if keptID == 0 {
		return nil
	}
	kept, err := limitsOf(ctx, tx, keptID)
	if err != nil || kept.Limits.Grade == now.Limits.Grade {
		return err
	}
	if why := docket.RunReasonProblem(c.Why, docket.NoGradeReason); why != "" {
		return domain.Invalid(map[string]string{"why": why})
	}
	return nil
}

// queueRunCorrections adds the corrections of the runs that the SQL runs names to a page's batch, oldest first.
func queueRunCorrections(batch *pgx.Batch, runs string, args []any, corrections map[int64][]RunCorrection) {
	batch.Queue(`SELECT x.run_id, m.name, x.at, x.why, x.changes FROM run_change x JOIN staff m ON m.id = x.by_id
		WHERE x.run_id IN `+runs+` ORDER BY x.run_id, x.version`, args...).Query(func(rows pgx.Rows) error {
		var id int64
		var r RunCorrection
		_, err := pgx.ForEachRow(rows, []any{&id, &r.By, &r.At, &r.Why, &r.Changes}, func() error {
			r.At = r.At.UTC()
			corrections[id] = append(corrections[id], r)
			r.Changes = nil
			return nil
		})
		return err
	})
}
