package store

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain/message"
	"ledgerwheel/domain/promise"
)

// openRead is how many open dockets Today looks at: more than any shop has in hand, and a bound all the same. tellRead is how
// many messages that wait for a person.
const (
	openRead = 1000
	tellRead = 200
)

// Today is what is to be done.
type Today struct {
	// Open are the dockets whose watch the shop keeps, those promised soonest first and those promised for no day last, at
	// most openRead of them, with the trials that run on them; More says that there are others.
	Open []DocketRow
	More bool
	// ToTell are the questions that wait for an answer, the messages that wait for a person, and the mails that were refused,
	// each oldest first, at most tellRead.
	ToTell []ToTell
	// Slipping are the promises for today or later that are more likely broken than kept by now, as RefreshOutlooks last saw them, by
	// docket.
	Slipping map[int64]Slipping
	Due      Due
	// DueRows are the dockets of what is due.
	DueRows map[int64]DocketRow
	// Uncounted is as of [Standing].
	Uncounted time.Time
}

// Slipping is how a promise that slips stands.
type Slipping struct {
	Percent  int       // the chance that it is kept
	LikelyOn time.Time // the civil day that is kept 8 times in 10
}

// ToTell is a message that a person must tell, or a question of the customer, and its docket, which may be closed.
type ToTell struct {
	DocketRow
	Asks    string // the question; the other fields but Since are then empty
	Topic   message.Topic
	Way     message.Way
	Refused bool // it went by mail, and the mail server would not have it
	Since   time.Time
}

// toTellSQL are the messages that need a person: to do, or refused and not told another way since.
const toTellSQL = `FROM message m WHERE m.state IN ('to do', 'refused') AND NOT EXISTS (SELECT FROM message n WHERE n.instead_of = m.id)`

// Today reads, in one round trip, what is to be done. What is shown of it, and under which heading, is decided by the rules
// of the domain.
func (s *Store) Today(ctx context.Context) (Today, error) {
	var t Today
	var trials map[int64]*RunningTrial
	var spoken, due []DocketRow
	var batch pgx.Batch
	queueOpen(&batch, &t.Open)
	queueRunningTrials(&batch, &trials)
	batch.Queue(`SELECT `+rowColumns+` FROM docket d WHERE d.id = ANY (ARRAY(
		(SELECT m.docket_id `+toTellSQL+` ORDER BY m.id LIMIT $1)
		UNION (SELECT docket_id FROM customer_question WHERE answer IS NULL ORDER BY id LIMIT $1)))`, tellRead).
		Query(func(rows pgx.Rows) (err error) {
			spoken, err = pgx.CollectRows(rows, scanDocketRow)
			return err
		})
	batch.Queue(`SELECT m.docket_id, m.topic, m.way, m.state = 'refused', m.queued_at `+toTellSQL+` ORDER BY m.id LIMIT $1`, tellRead).
		Query(func(rows pgx.Rows) (err error) {
			t.ToTell, err = pgx.CollectRows(rows, func(row pgx.CollectableRow) (ToTell, error) {
				var w ToTell
				err := row.Scan(&w.Docket.ID, &w.Topic, &w.Way, &w.Refused, &w.Since)
				return w, err
			})
			return err
		})
	batch.Queue(`SELECT p.docket_id, p.chance_percent, p.likely_on FROM promise_now p JOIN docket d ON d.id = p.docket_id
		WHERE d.open AND p.promised_on = d.promised_on`).Query(func(rows pgx.Rows) error {
		t.Slipping = map[int64]Slipping{}
		var id int64
		var w Slipping
		_, err := pgx.ForEachRow(rows, []any{&id, &w.Percent, &w.LikelyOn}, func() error {
			if promise.Slips(w.Percent) {
				t.Slipping[id] = w
			}
			return nil
		})
		return err
	})
	queueDue(&batch, &t.Due)
	queueUncounted(&batch, &t.Uncounted)
	batch.Queue(`SELECT `+rowColumns+` FROM docket d WHERE d.id = ANY (ARRAY(
		(SELECT id FROM docket WHERE open AND stage = ANY ($1) ORDER BY moved_at, id LIMIT $2)
		UNION (SELECT docket_id FROM loan WHERE back_at IS NULL ORDER BY id LIMIT $2)))`, waitingStages(), waitingRead).
		Query(func(rows pgx.Rows) (err error) {
			due, err = pgx.CollectRows(rows, scanDocketRow)
			return err
		})
	var asked []ToTell
	batch.Queue(`SELECT docket_id, words, asked_at FROM customer_question WHERE answer IS NULL ORDER BY id LIMIT $1`, tellRead).
		Query(func(rows pgx.Rows) (err error) {
			asked, err = pgx.CollectRows(rows, func(row pgx.CollectableRow) (w ToTell, err error) {
				return w, row.Scan(&w.Docket.ID, &w.Asks, &w.Since)
			})
			return err
		})
	if err := s.db.SendBatch(ctx, &batch).Close(); err != nil {
		return Today{}, fmt.Errorf("today: %w", Translate(err))
	}
	for i := range t.Open {
		t.Open[i].Trial = trials[t.Open[i].Docket.ID]
	}
	byID := rowsByID(spoken)
	t.DueRows = rowsByID(due)
	t.ToTell = append(asked, t.ToTell...)
	for i := range t.ToTell {
		w := &t.ToTell[i]
		w.DocketRow, w.Since = byID[w.Docket.ID], w.Since.UTC()
	}
	t.More = len(t.Open) > openRead
	t.Open = t.Open[:min(len(t.Open), openRead)]
	return t, nil
}

func rowsByID(rows []DocketRow) map[int64]DocketRow {
	byID := map[int64]DocketRow{}
	for _, row := range rows {
		byID[row.Docket.ID] = row
	}
	return byID
}
