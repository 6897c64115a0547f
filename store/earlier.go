package store

import (
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/service"
	"ledgerwheel/domain/timing"
	"ledgerwheel/domain/watch"
)

// Earlier is what stands of the docket on whose warranty a watch came back: its work, its readings and its card. The zero
// value is that of a docket that is no comeback.
type Earlier struct {
	Number docket.Number
	LeftAt time.Time // UTC
	Works  []service.Work
	Fitted []PartRow
	// Runs are the newest of each kind that was taken: as received, after service, final, in this order.
	Runs  []RunRecord
	Cards []CardRow // the newest, if one was issued
}

// Any reports whether there is an earlier docket.
func (e Earlier) Any() bool { return e.Number.Seq != 0 }

// RunsOf returns the runs of the kind, at most one.
func (e Earlier) RunsOf(k timing.Kind) []RunRecord {
	for i, r := range e.Runs {
		if r.Sheet.Run.Kind == k {
			return e.Runs[i : i+1]
		}
	}
	return nil
}

// earlierReader reads an Earlier within a page's batch, to which queueClocks was added too.
type earlierReader struct {
	earlier  Earlier
	readings []keptReading
	clocks   recorderClocks
}

const (
	earlierDocket = `(SELECT comeback_of FROM docket WHERE number = $1)`
	// earlierRuns are looked up kind by kind on the docket's own runs.
	earlierRuns = `(SELECT max(id) FROM run WHERE docket_id = ` + earlierDocket + ` AND kind IN ('as received', 'after service', 'final') GROUP BY kind)`
)

// queue adds the queries of the docket of that number; they find nothing for one that is no comeback.
func (e *earlierReader) queue(batch *pgx.Batch, n docket.Number) {
	number := n.String()
	batch.Queue(`SELECT year, seq, handed_back_at FROM docket WHERE id = `+earlierDocket, number).Query(func(rows pgx.Rows) error {
		var left *time.Time
		_, err := pgx.ForEachRow(rows, []any{&e.earlier.Number.Year, &e.earlier.Number.Seq, &left}, func() error { return nil })
		e.earlier.LeftAt = timeOr(left)
		return err
	})
	queueWorks(batch, earlierDocket, number, &e.earlier.Works)
	batch.Queue(`SELECT `+partFields+` FROM part_line p WHERE p.docket_id = `+earlierDocket+` AND p.state = 'fitted' ORDER BY p.id`, number).
		Query(func(rows pgx.Rows) (err error) {
			e.earlier.Fitted, err = pgx.CollectRows(rows, scanPart)
			return err
		})
	batch.Queue(`SELECT `+runFields+runFrom+`WHERE r.id IN `+earlierRuns+` ORDER BY r.id`, number).Query(func(rows pgx.Rows) (err error) {
		e.earlier.Runs, err = pgx.CollectRows(rows, scanRun)
		return err
	})
	batch.Queue(`SELECT `+readingFields+readingFrom+`WHERE g.run_id IN `+earlierRuns, number).Query(func(rows pgx.Rows) (err error) {
		e.readings, err = pgx.CollectRows(rows, scanReading)
		return err
	})
	queueCardRows(batch, `w.docket_id = `+earlierDocket, ` ORDER BY w.id DESC LIMIT 1`, &e.earlier.Cards, number)
}

// give is what was read, for the watch that came back; clocks are those that its page read.
func (e *earlierReader) give(w watch.Watch) Earlier {
	gather(e.earlier.Runs, e.readings, w.CrownAt, e.clocks)
	return e.earlier
}
