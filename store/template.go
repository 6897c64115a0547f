package store

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/message"
	"ledgerwheel/domain/tongue"
)

// queueTemplates adds to a batch the owner's own words of a topic by language; those that were set back are not among them.
func queueTemplates(batch *pgx.Batch, topic message.Topic, list *map[tongue.Tongue]message.Template) {
	batch.Queue(`SELECT DISTINCT ON (tongue) tongue, coalesce(subject, ''), coalesce(body, ''), coalesce(short, '')
		FROM message_template WHERE topic = $1 ORDER BY tongue, id DESC`, string(topic)).Query(func(rows pgx.Rows) error {
		*list = map[tongue.Tongue]message.Template{}
		var in tongue.Tongue
		var t message.Template
		_, err := pgx.ForEachRow(rows, []any{&in, &t.Subject, &t.Text, &t.Short}, func() error {
			if t.Subject != "" {
				(*list)[in] = t
			}
			return nil
		})
		return err
	})
}

// TemplateRow is the owner's own words of a topic in a language, and who said them when. A zero Template is the program's
// own, set back.
type TemplateRow struct {
	Topic  message.Topic
	Tongue tongue.Tongue
	message.Template
	MadeAt time.Time
	MadeBy string
}

// MessageSettings is what the owner has said about messages: the newest own words of each topic and language, and what is
// told when its day comes.
type MessageSettings struct {
	Templates []TemplateRow
	Reminders message.Reminders
	SavedAt   time.Time // of the reminders; zero for those that a shop begins with
	SavedBy   string
	// Recent are the newest dockets, to look at words with.
	Recent []DocketRow
}

const recentDockets = 20

// Template is what stands for a topic in a language, and who said it; by is zero for the program's own.
func (m MessageSettings) Template(t message.Topic, in tongue.Tongue) (words message.Template, by TemplateRow) {
	for _, row := range m.Templates {
		if row.Topic == t && row.Tongue == in && row.Subject != "" {
			return row.Template, row
		}
	}
	return message.Usual(t, in), TemplateRow{}
}

// remindersSQL is what holds now.
const remindersSQL = `SELECT r.not_collected_days, r.warranty_days, r.service_years, r.made_at, p.name
	FROM message_reminders r JOIN staff p ON p.id = r.made_by ORDER BY r.id DESC LIMIT 1`

// MessageSettings reads them in one round trip.
func (s *Store) MessageSettings(ctx context.Context) (MessageSettings, error) {
	set := MessageSettings{Reminders: message.UsualReminders()}
	var batch pgx.Batch
	batch.Queue(`SELECT DISTINCT ON (t.topic, t.tongue) t.topic, t.tongue, coalesce(t.subject, ''), coalesce(t.body, ''), coalesce(t.short, ''),
		t.made_at, p.name FROM message_template t JOIN staff p ON p.id = t.made_by ORDER BY t.topic, t.tongue, t.id DESC`).
		Query(func(rows pgx.Rows) (err error) {
			set.Templates, err = pgx.CollectRows(rows, func(row pgx.CollectableRow) (TemplateRow, error) {
				var t TemplateRow
				err := row.Scan(&t.Topic, &t.Tongue, &t.Subject, &t.Text, &t.Short, &t.MadeAt, &t.MadeBy)
				t.MadeAt = t.MadeAt.UTC()
				return t, err
			})
			return err
		})
	queueReminders(&batch, &set)
	batch.Queue(`SELECT `+rowColumns+` FROM docket d ORDER BY d.id DESC LIMIT $1`, recentDockets).Query(func(rows pgx.Rows) (err error) {
		set.Recent, err = pgx.CollectRows(rows, scanDocketRow)
		return err
	})
	if err := s.db.SendBatch(ctx, &batch).Close(); err != nil {
		return set, fmt.Errorf("settings of messages: %w", Translate(err))
	}
	return set, nil
}

func queueReminders(batch *pgx.Batch, set *MessageSettings) {
	batch.Queue(remindersSQL).QueryRow(func(row pgx.Row) error {
		r := message.Reminders{}
		var at time.Time
		var by string
		err := row.Scan(&r.NotCollectedDays, &r.WarrantyDays, &r.ServiceYears, &at, &by)
		if err == nil {
			set.Reminders, set.SavedAt, set.SavedBy = r, at.UTC(), by
		}
		return ignoreNone(err)
	})
}

// SaveTemplate keeps the owner's own words of a topic in a language; the zero Template sets the program's own back. Words
// that stand already leave no trace. The error is a *domain.InvalidError (see message.Template.Problems).
func (s *Store) SaveTemplate(ctx context.Context, by Actor, at time.Time, topic message.Topic, in tongue.Tongue, t message.Template) error {
	t = t.Tidied()
	back := t == message.Template{} || t == message.Usual(topic, in)
	if !back {
		if err := domain.Invalid(t.Problems(topic)); err != nil {
			return err
		}
	}
	saved := note{kind: docket.MessageWordsSaved, by: by, at: at, summary: docket.MessageWordsSummary(topic.Words(), in.Words(), back),
		facts: map[string]string{"subject": t.Subject, "text": t.Text, "short_form": t.Short}}
	if back {
		saved.facts = nil
	}
	err := s.changeShop(ctx, &saved, func(tx pgx.Tx) error {
		var owner map[tongue.Tongue]message.Template
		var batch pgx.Batch
		queueTemplates(&batch, topic, &owner)
		if err := tx.SendBatch(ctx, &batch).Close(); err != nil {
			return err
		}
		if was, own := owner[in]; own == !back && (back || was == t) {
			return nil
		}
		var subject, body, short *string
		if !back {
			subject, body, short = &t.Subject, &t.Text, &t.Short
		}
		_, err := tx.Exec(ctx, `INSERT INTO message_template (topic, tongue, subject, body, short, made_at, made_by)
			VALUES ($1, $2, $3, $4, $5, $6, $7)`, string(topic), string(in), subject, body, short, docket.Moment(at), by.StaffID)
		return err
	})
	if err != nil {
		return fmt.Errorf("words of %q: %w", topic, Translate(err))
	}
	return nil
}

// SaveReminders keeps what is told when its day comes. What stands already leaves no trace. The error is a
// *domain.InvalidError (see message.Reminders.Problems).
func (s *Store) SaveReminders(ctx context.Context, by Actor, at time.Time, r message.Reminders) error {
	if err := domain.Invalid(r.Problems()); err != nil {
		return err
	}
	saved := note{kind: docket.RemindersSaved, by: by, at: at, summary: docket.RemindersSavedSummary, facts: map[string]int{
		"not_collected_days": r.NotCollectedDays, "warranty_days": r.WarrantyDays, "service_years": r.ServiceYears}}
	err := s.changeShop(ctx, &saved, func(tx pgx.Tx) error {
		set := MessageSettings{Reminders: message.UsualReminders()}
		var batch pgx.Batch
		queueReminders(&batch, &set)
		if err := tx.SendBatch(ctx, &batch).Close(); err != nil || set.Reminders == r {
			return err
		}
		_, err := tx.Exec(ctx, `INSERT INTO message_reminders (not_collected_days, warranty_days, service_years, made_at, made_by)
			VALUES ($1, $2, $3, $4, $5)`, r.NotCollectedDays, r.WarrantyDays, r.ServiceYears, docket.Moment(at), by.StaffID)
		return err
	})
	if err != nil {
		return fmt.Errorf("reminders: %w", Translate(err))
	}
	return nil
}

// PreviewMessage fills a template as a message of the topic about a docket would be filled, in a language, and keeps
// nothing. What the docket does not have yet, such as an estimate, is made up in the same form. The error wraps
// domain.ErrNotFound where there is no such docket; a template with Problems is refused.
func (s *Store) PreviewMessage(ctx context.Context, n docket.Number, topic message.Topic, in tongue.Tongue, t message.Template,
	at time.Time) (message.Filled, error) {
	var filled message.Filled
	err := pgx.BeginTxFunc(ctx, s.db, pgx.TxOptions{AccessMode: pgx.ReadOnly}, func(tx pgx.Tx) error {
		var d docket.Docket
		targets, finish := docketTargets(&d)
		if err := tx.QueryRow(ctx, `SELECT `+docketFields+` FROM docket d WHERE d.number = $1`, n.String()).Scan(targets...); err != nil {
			return err
		}
		finish()
		h, err := hearerOf(ctx, tx, d, topic)
		if err != nil {
			return err
		}
		h.speech = speech{tongue: in, locale: in.In(h.shop.Locale)}
		w, err := previewWord(ctx, tx, d, topic, civilDay(at, h.shop.Location()))
		if err != nil {
			return err
		}
		filled, err = t.Fill(topic, string(in), h.values(d, w, "", s.publicURL+"/c/…"))
		return err
	})
	if err != nil {
		return message.Filled{}, fmt.Errorf("preview of %q: %w", topic, Translate(err))
	}
	return filled, nil
}

// previewWord is what there is to tell of a topic, with made-up days and sums where the docket has none.
func previewWord(ctx context.Context, tx pgx.Tx, d docket.Docket, topic message.Topic, today time.Time) (word, error) {
	e, err := lockEstimate(ctx, tx, d.ID)
	if err != nil {
		return word{}, err
	}
	f, err := factsOf(ctx, tx, d)
	if err != nil {
		return word{}, err
	}
	var total int64 = 12345
	until, promised := today.AddDate(0, 0, 14), d.PromisedOn
	if len(e.Revisions) > 0 {
		r := e.Revisions[len(e.Revisions)-1]
		sum, _ := r.AgreedTotals() // what could not be summed was never kept
		total = sum.GrossMinor
		if !r.ValidUntil.IsZero() {
			until = r.ValidUntil
		}
	}
	if promised.IsZero() {
		promised = today.AddDate(0, 0, 7)
	}
	return word{topic: topic, values: func(sp speech) message.Values {
		return message.Values{message.PutTotal: sp.money(total, d.Currency), message.PutAnswerBy: sp.day(until),
			message.PutPromised: sp.day(promised.AddDate(0, 0, 7)), message.PutBefore: sp.day(promised), message.PutQuestion: "…",
			message.PutDue: sp.owing(f.DueMinor, d.Currency), message.PutReadySince: sp.day(today.AddDate(0, 0, -14)),
			message.PutWarranty: sp.day(today.AddDate(0, 0, 30)), message.PutServiced: sp.day(today.AddDate(-5, 0, 0)),
			message.PutYears: sp.tongue.Count("message.years", 5), message.PutCarrier: "…", message.PutParcel: "…"}
	}}, nil
}
