package store

import (
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/timing"
)

// AsReceivedRun is how the watch ran before any work, as far as diagnosis looks at it.
type AsReceivedRun struct {
	ID            int64
	Run           timing.Run
	TakenAt       time.Time
	By            string
	InstrumentPPM float64 // half-width of its clock's error, parts per million
}

// queueAsReceived adds the newest as-received run of a docket, with its readings, to a page's batch.
func queueAsReceived(batch *pgx.Batch, n docket.Number, run *AsReceivedRun) {
	batch.Queue(`SELECT r.id, r.note, r.taken_at, m.name, r.instrument_ppm, w.crown_at,
		g.position, g.hours, g.rate_s_per_day, 2 * g.rate_half_width, g.rate_u,
		g.amplitude_deg, 2 * coalesce(g.amplitude_half_width, 0), g.amplitude_u,
		g.beat_error_ms, 2 * coalesce(g.beat_error_half_width, 0), g.beat_error_u
		FROM docket d JOIN watch w ON w.id = d.watch_id
		JOIN LATERAL (SELECT * FROM run WHERE docket_id = d.id AND kind = 'as received' ORDER BY id DESC LIMIT 1) r ON true
		JOIN staff m ON m.id = r.by_id JOIN reading g ON g.run_id = r.id
		WHERE d.number = $1 ORDER BY g.hours, g.position`, n.String()).Query(func(rows pgx.Rows) error {
		run.Run.Kind = timing.AsReceived
		for rows.Next() {
			if err := run.scan(rows); err != nil {
				return err
			}
		}
		return rows.Err()
	})
}

// scan adds the reading of one row.
func (run *AsReceivedRun) scan(rows pgx.Rows) error {
	var g timing.Reading
	var rate, amplitude, beat *float64
	var rateOf, amplitudeOf, beatOf timing.Figure
	err := rows.Scan(&run.ID, &run.Run.Label, &run.TakenAt, &run.By, &run.InstrumentPPM, &run.Run.CrownHour,
		&g.Position, &g.HoursAfterWinding, &rate, &rateOf.Step, &rateOf.StdUncertainty,
		&amplitude, &amplitudeOf.Step, &amplitudeOf.StdUncertainty, &beat, &beatOf.Step, &beatOf.StdUncertainty)
	if err != nil {
		return err
	}
	run.TakenAt = run.TakenAt.UTC()
	g.RateSPerDay, g.AmplitudeDeg, g.BeatErrorMs = figureOf(rate, rateOf), figureOf(amplitude, amplitudeOf), figureOf(beat, beatOf)
	run.Run.Readings = append(run.Run.Readings, g)
	return nil
}

// figureOf is the figure with its value, or nil for one that was not measured.
func figureOf(value *float64, f timing.Figure) *timing.Figure {
	if value == nil {
		return nil
	}
	f.Value = *value
	return &f
}
