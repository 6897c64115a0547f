package store

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/message"
	"ledgerwheel/domain/shop"
)

// remindAtOnce bounds how many dockets of each topic one sweep looks at; the next one goes on.
const remindAtOnce = 500

// remindSQL finds by topic the dockets for which a reminder may be due: those about which it was not told, in a span of days
// that is wide enough for every zone and every length of month. Which are due is decided by the domain on the locked docket.
// $1 is the moment, $2 the days or years that the owner set.
var remindSQL = map[message.Topic]string{
	message.NotCollected: `SELECT d.year, d.seq FROM docket d WHERE d.open AND d.stage = '` + string(docket.StageReady) + `'
		AND d.moved_at <= $1::timestamptz - ($2 - 1) * interval '1 day'`,
	// A card's term is what was signed; it begins with the leaving, and its months are those of the settings then.
	message.WarrantyEnding: `SELECT d.year, d.seq FROM docket d JOIN shop_version v ON v.id = d.left_under
		WHERE d.stage = '` + string(docket.StageHandedOver) + `' AND NOT d.open AND d.handed_back_at + v.warranty_months * interval '1 month'
			BETWEEN $1::timestamptz - interval '32 days' AND $1::timestamptz + ($2 + 32) * interval '1 day'`,
	message.ServiceDue: `SELECT d.year, d.seq FROM docket d WHERE d.stage = '` + string(docket.StageHandedOver) + `' AND NOT d.open
		AND d.handed_back_at BETWEEN $1::timestamptz - $2 * interval '1 year' - interval '32 days' AND $1::timestamptz - $2 * interval '1 year' + interval '2 days'
		AND EXISTS (SELECT FROM service_step t WHERE t.docket_id = d.id)`,
}

// Remind writes the messages whose day has come by the shop's clock at the moment at, and returns how many. However often it
// is called, and by however many copies of the program, each occasion is told once. A docket whose reminder fails does not
// keep the others waiting.
func (s *Store) Remind(ctx context.Context, at time.Time) (told int, err error) {
	set := MessageSettings{Reminders: message.UsualReminders()}
	var sh shop.Shop
	var found bool
	var batch pgx.Batch
	queueReminders(&batch, &set)
	batch.Queue(`SELECT ` + shopFields + ` FROM shop s`).QueryRow(func(row pgx.Row) error {
		err := row.Scan(shopTargets(&sh)...)
		found = err == nil
		return ignoreNone(err)
	})
	if err := s.db.SendBatch(ctx, &batch).Close(); err != nil || !found {
		return 0, Translate(err)
	}
	today := civilDay(at, sh.Location())
	var failed []error
	for topic, setting := range map[message.Topic]int{message.NotCollected: set.Reminders.NotCollectedDays,
		message.WarrantyEnding: set.Reminders.WarrantyDays, message.ServiceDue: set.Reminders.ServiceYears} {
		if setting == 0 {
			continue
		}
		numbers, err := s.remindable(ctx, topic, at, setting)
		failed = append(failed, err)
		for _, n := range numbers {
			wrote, err := s.remind(ctx, n, topic, set.Reminders, at, today, sh.Location())
			if err != nil && !errors.Is(err, domain.ErrNotFound) {
				failed = append(failed, err)
			}
			if wrote {
				told++
			}
		}
	}
	return told, errors.Join(failed...)
}

// remindable are the dockets for which a reminder may be due. A watch that is back in the shop is spoken of there.
func (s *Store) remindable(ctx context.Context, topic message.Topic, at time.Time, setting int) ([]docket.Number, error) {
	rows, _ := s.db.Query(ctx, remindSQL[topic]+`
		AND NOT EXISTS (SELECT FROM docket n WHERE n.watch_id = d.watch_id AND n.id > d.id)
		AND NOT EXISTS (SELECT FROM message m WHERE m.docket_id = d.id AND m.topic = $3 AND m.queued_at >= coalesce(d.handed_back_at, d.moved_at))
		ORDER BY d.id LIMIT $4`, at, setting, string(topic), remindAtOnce)
	numbers, err := pgx.CollectRows(rows, func(row pgx.CollectableRow) (n docket.Number, err error) {
		err = row.Scan(&n.Year, &n.Seq)
		return n, err
	})
	if err != nil {
		return nil, fmt.Errorf("reminders, %s: %w", topic, Translate(err))
	}
	return numbers, nil
}

// remind tells a docket's customer of a topic, if that is due and was not told yet.
func (s *Store) remind(ctx context.Context, n docket.Number, topic message.Topic, r message.Reminders, at, today time.Time,
	zone *time.Location) (wrote bool, err error) {
	c := Change{Number: n, At: at, Tell: Tell{Way: asWanted}}
	err = s.changeAny(ctx, c, func(tx pgx.Tx, d docket.Docket) ([]event, error) {
		w, due, err := reminderWord(ctx, tx, d, topic, r, today, zone)
		if err != nil || !due {
			return nil, err
		}
		var before bool
		err = tx.QueryRow(ctx, `SELECT EXISTS (SELECT FROM message WHERE docket_id = $1 AND topic = $2 AND occasion = $3)`, d.ID,
			string(topic), w.occasion).Scan(&before)
		if err != nil || before {
			return nil, err
		}
		events, err := s.tell(ctx, tx, d, c, w)
		wrote = len(events) > 0
		return events, err
	})
	return wrote && err == nil, err
}

// reminderWord is what a reminder says of a locked docket, if it is due today. Its occasion is the day that it is about.
func reminderWord(ctx context.Context, tx pgx.Tx, d docket.Docket, topic message.Topic, r message.Reminders, today time.Time,
	zone *time.Location) (w word, due bool, err error) {
	w.topic = topic
	switch topic {
	case message.NotCollected:
		if d.Stage != docket.StageReady || d.Closed() {
			return w, false, nil
		}
		var moved time.Time
		if err := tx.QueryRow(ctx, `SELECT moved_at FROM docket WHERE id = $1`, d.ID).Scan(&moved); err != nil {
			return w, false, err
		}
		f, err := factsOf(ctx, tx, d)
		if err != nil {
			return w, false, err
		}
		since := civilDay(moved, zone)
		w.occasion = message.OfDay(since)
		w.values = func(sp speech) message.Values {
			return message.Values{message.PutReadySince: sp.day(since), message.PutDue: sp.owing(f.DueMinor, d.Currency)}
		}
		return w, r.NotCollected(since, today), nil
	case message.WarrantyEnding:
		p, err := promiseOf(ctx, tx, d)
		if err != nil {
			return w, false, err
		}
		until, ok := p.Until()
		w.occasion = message.OfDay(until)
		w.values = func(sp speech) message.Values { return message.Values{message.PutWarranty: sp.day(until)} }
		return w, ok && r.Warranty(until, today), nil
	case message.ServiceDue:
		left := civilDay(d.HandedBackAt, zone)
		w.occasion = message.OfDay(left.AddDate(r.ServiceYears, 0, 0))
		w.values = func(sp speech) message.Values {
			return message.Values{message.PutServiced: sp.day(left), message.PutYears: sp.tongue.Count("message.years", r.ServiceYears)}
		}
		return w, d.Stage == docket.StageHandedOver && r.Service(left, today), nil
	}
	return w, false, nil
}
