package store

import (
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain/shop"
	"ledgerwheel/domain/trial"
)

// RunningTrial is how far a trial has come.
type RunningTrial struct {
	Plan trial.Plan
	Zone *time.Location // the clock that its days go by
	// Days are those noted, with nothing but their numbers.
	Days []trial.Entry
}

// NeedsAt returns what the trial asks of the civil day that a moment falls on by the trial's clock.
func (t RunningTrial) NeedsAt(at time.Time) trial.Needs {
	return t.Plan.NeedsOn(t.Days, civilDay(at, t.Zone))
}

// queueRunningTrials adds the reading of every trial that runs on an open docket, by the docket's id.
func queueRunningTrials(batch *pgx.Batch, trials *map[int64]*RunningTrial) {
	batch.Queue(`SELECT t.docket_id, t.category, t.method, t.first_day, t.reading_minute, t.time_zone,
			ARRAY(SELECT DISTINCT g.day FROM trial_day g WHERE g.trial_id = t.id ORDER BY g.day)
		FROM trial t WHERE t.state = 'running'`).Query(func(rows pgx.Rows) error {
		*trials = map[int64]*RunningTrial{}
		var docketID int64
		var p trial.Plan
		var zone string
		var days []int
		_, err := pgx.ForEachRow(rows, []any{&docketID, &p.Category, &p.Method, &p.FirstDay, &p.ReadingMinute, &zone, &days},
			func() error {
				t := &RunningTrial{Plan: p, Zone: shop.LocationOf(zone)}
				for _, day := range days {
					t.Days = append(t.Days, trial.Entry{Day: day})
				}
				(*trials)[docketID] = t
				return nil
			})
		return err
	})
}
