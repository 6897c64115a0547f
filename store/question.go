package store

import (
	"context"
	"errors"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/link"
	"ledgerwheel/domain/text"
)

const questionSQL = `SELECT q.id, q.words, q.asked_at, coalesce(q.answer, ''), q.answered_at, coalesce(m.name, '')
	FROM customer_question q LEFT JOIN staff m ON m.id = q.answered_by `

func scanQuestion(row pgx.CollectableRow) (q link.Question, err error) {
	var answered *time.Time
	err = row.Scan(&q.ID, &q.Words, &q.AskedAt, &q.Answer, &answered, &q.AnsweredBy)
	q.AskedAt, q.AnsweredAt = q.AskedAt.UTC(), timeOr(answered)
	return q, err
}

// queueQuestions adds to a batch what was asked about the docket that docketID selects, oldest first.
func queueQuestions(batch *pgx.Batch, docketID string, arg any, list *[]link.Question) {
	batch.Queue(questionSQL+`WHERE q.docket_id = `+docketID+` ORDER BY q.id`, arg).Query(func(rows pgx.Rows) (err error) {
		*list, err = pgx.CollectRows(rows, scanQuestion)
		return err
	})
}

// AskByLink keeps what the customer asks through the private link. A docket that a form was drawn from is no older for it.
// The error wraps link.ErrEnded or link.ErrExpired, is one of those of link.MayAsk, or as of the other changes of a docket.
func (s *Store) AskByLink(ctx context.Context, c Change, linkID int64, words string) error {
	words = text.Lines(words)
	return s.changeAny(ctx, c, func(tx pgx.Tx, d docket.Docket) ([]event, error) {
		rows, _ := tx.Query(ctx, linkSQL+`WHERE l.id = $1 AND l.docket_id = $2`, linkID, d.ID)
		l, err := pgx.CollectExactlyOneRow(rows, scanLink)
		if err == nil {
			err = l.Check(c.At)
		}
		if err != nil {
			return nil, err
		}
		rows, _ = tx.Query(ctx, questionSQL+`WHERE q.docket_id = $1`, d.ID)
		before, err := pgx.CollectRows(rows, scanQuestion)
		if err == nil {
			err = link.MayAsk(words, before, c.At)
		}
		if err != nil {
			return nil, err
		}
		_, err = tx.Exec(ctx, `INSERT INTO customer_question (docket_id, link_id, words, asked_at) VALUES ($1, $2, $3, $4)`, d.ID, linkID,
			words, docket.Moment(c.At))
		return []event{{kind: docket.CustomerAsked, summary: docket.AskedSummary, why: words}}, err
	})
}

// AnswerQuestion keeps the answer to a question, which the customer then reads on their page; also once the watch has left.
// The error is a *domain.InvalidError, wraps link.ErrAnswered, or is as of the other changes of a docket.
func (s *Store) AnswerQuestion(ctx context.Context, c Change, id int64, answer string) error {
	answer = text.Lines(answer)
	if err := domain.Invalid(link.AnswerProblems(answer)); err != nil {
		return err
	}
	return s.changeAny(ctx, c, func(tx pgx.Tx, d docket.Docket) ([]event, error) {
		var words string
		var answered bool
		err := tx.QueryRow(ctx, `SELECT words, answer IS NOT NULL FROM customer_question WHERE id = $1 AND docket_id = $2 FOR UPDATE`, id, d.ID).
			Scan(&words, &answered)
		switch {
		case errors.Is(err, pgx.ErrNoRows):
			return nil, domain.ErrNotFound
		case err != nil:
			return nil, err
		case answered:
			return nil, link.ErrAnswered
		}
		_, err = tx.Exec(ctx, `UPDATE customer_question SET answer = $2, answered_at = $3, answered_by = $4 WHERE id = $1`, id, answer,
			docket.Moment(c.At), c.By.StaffID)
		return []event{{kind: docket.QuestionAnswered, summary: docket.AnsweredSummary, why: answer,
			facts: map[string]string{"question": words}}}, err
	})
}
