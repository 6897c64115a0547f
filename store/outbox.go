package store

import (
	"context"
	"fmt"
	"log/slog"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgxpool"
	"github.com/riverqueue/river"
	"github.com/riverqueue/river/riverdriver/riverpgxv5"
	"github.com/riverqueue/river/rivermigrate"
	"github.com/riverqueue/river/rivertype"

	"ledgerwheel/domain/message"
)

// Carry is the job of carrying one message to the mail server.
type Carry struct {
	Message int64 `json:"message"`
}

// Kind names the job in River's tables.
func (Carry) Kind() string { return "carry" }

// InsertOpts has the job tried until the rules in domain/message give it up.
func (Carry) InsertOpts() river.InsertOpts { return river.InsertOpts{MaxAttempts: 30_000} }

// newJobs is the client that puts jobs beside the changes that cause them; it works none.
func newJobs(pool *pgxpool.Pool) (*river.Client[pgx.Tx], error) {
	return river.NewClient(riverpgxv5.New(pool), &river.Config{Logger: slog.New(slog.DiscardHandler)})
}

// riverLock keeps two programs that start at once from making River's tables together.
const riverLock = 0x6c77_7269_7665_72

// migrateJobs brings River's tables to what this program's release of it needs.
func (s *Store) migrateJobs(ctx context.Context) error {
	migrator, err := rivermigrate.New(riverpgxv5.New(s.db), &rivermigrate.Config{Logger: slog.New(slog.DiscardHandler)})
	if err != nil {
		return fmt.Errorf("tables of jobs: %w", err)
	}
	return s.db.AcquireFunc(ctx, func(c *pgxpool.Conn) error {
		if _, err := c.Exec(ctx, `SELECT pg_advisory_lock($1)`, riverLock); err != nil {
			return fmt.Errorf("tables of jobs: %w", err)
		}
		defer c.Exec(context.WithoutCancel(ctx), `SELECT pg_advisory_unlock($1)`, riverLock)
		if _, err := migrator.Migrate(ctx, rivermigrate.DirectionUp, nil); err != nil {
			return fmt.Errorf("tables of jobs: %w", err)
		}
		return nil
	})
}

// carry has a mail carried to the server, from the moment on at which its transaction is committed.
func (s *Store) carry(ctx context.Context, tx pgx.Tx, messageID int64) error {
	job, err := s.jobs.InsertTx(ctx, tx, Carry{Message: messageID}, nil)
	if err != nil {
		return fmt.Errorf("job of message %d: %w", messageID, err)
	}
	_, err = tx.Exec(ctx, `INSERT INTO message_delivery (message_id, job_id) VALUES ($1, $2)
		ON CONFLICT (message_id) DO UPDATE SET job_id = excluded.job_id`, messageID, job.Job.ID)
	return err
}

// CarryAll looks at once after every mail that waits: one whose job is gone gets another, and the others' jobs begin now. It
// is for the start of the program and for when the settings of mail were saved.
func (s *Store) CarryAll(ctx context.Context) error {
	err := s.inTx(ctx, func(tx pgx.Tx) error {
		rows, _ := tx.Query(ctx, `SELECT m.id, j.id, coalesce(j.state::text, '')
			FROM message m JOIN message_delivery t ON t.message_id = m.id
			LEFT JOIN river_job j ON j.id = t.job_id AND j.state NOT IN ('cancelled', 'completed', 'discarded')
			WHERE m.state = 'queued' AND m.way = 'mail' ORDER BY m.id FOR UPDATE OF t SKIP LOCKED`)
		type waiting struct {
			Message int64
			Job     *int64
			State   string
		}
		list, err := pgx.CollectRows(rows, pgx.RowToStructByPos[waiting])
		if err != nil {
			return err
		}
		for _, w := range list {
			switch {
			case w.Job == nil:
				err = s.carry(ctx, tx, w.Message)
			case w.State == "scheduled" || w.State == "retryable":
				_, err = s.jobs.JobRetryTx(ctx, tx, *w.Job)
			}
			if err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		return fmt.Errorf("mails that wait: %w", Translate(err))
	}
	return nil
}

// Workings are the jobs of messages at work in this copy of the program.
type Workings struct{ client *river.Client[pgx.Tx] }

// rescueAfter is when a job is taken up again whose copy of the program was killed: after no try of it can still go on.
const rescueAfter = message.Lease + time.Minute

// at most so many messages are handed over at once by one copy.
const carriers = 4

// CarryWork carries mails: each returns how long the mail waits, 0 for it is settled.
type CarryWork struct {
	Message func(ctx context.Context, messageID int64) (time.Duration, error)
	Seal    func(ctx context.Context, day string) (time.Duration, error)
	Order   func(ctx context.Context, orderID int64) (time.Duration, error)
}

// snoozed has a job taken up again after the pause that its work returned.
func snoozed(pause time.Duration, err error) error {
	if err == nil && pause > 0 {
		return river.JobSnooze(pause)
	}
	return err
}

// WorkMessages has messages carried by work until they are stopped; on an error one is tried again in a minute.
func (s *Store) WorkMessages(ctx context.Context, log *slog.Logger, work CarryWork) (*Workings, error) {
	workers := river.NewWorkers()
	err := river.AddWorkerSafely(workers, river.WorkFunc(func(ctx context.Context, job *river.Job[Carry]) error {
		return snoozed(work.Message(ctx, job.Args.Message))
	}))
	if err == nil {
		err = river.AddWorkerSafely(workers, river.WorkFunc(func(ctx context.Context, job *river.Job[CarrySeal]) error {
			return snoozed(work.Seal(ctx, job.Args.Day))
		}))
	}
	if err == nil {
		err = river.AddWorkerSafely(workers, river.WorkFunc(func(ctx context.Context, job *river.Job[CarryOrder]) error {
			return snoozed(work.Order(ctx, job.Args.Order))
		}))
	}
	if err != nil {
		return nil, err
	}
	client, err := river.NewClient(riverpgxv5.New(s.db), &river.Config{
		Workers: workers, Queues: map[string]river.QueueConfig{river.QueueDefault: {MaxWorkers: carriers}},
		// Neither LISTEN nor a connection of its own: it also works behind a pooler of transactions, at a question a second.
		PollOnly:   true,
		JobTimeout: message.SessionLimit + time.Minute, RescueStuckJobsAfter: rescueAfter,
		RetryPolicy: inAMinute{}, SoftStopTimeout: 5 * time.Second, Logger: slog.New(warnings{log.Handler()}),
		ReindexerIndexNames: []string{}, // a shop's few messages bloat nothing
	})
	if err != nil {
		return nil, fmt.Errorf("jobs: %w", err)
	}
	if err := client.Start(context.WithoutCancel(ctx)); err != nil {
		return nil, fmt.Errorf("jobs: %w", err)
	}
	return &Workings{client}, nil
}

// Stop takes up no further message and waits for those in hand; a conversation that goes on for five seconds is ended.
func (w *Workings) Stop(ctx context.Context) error { return w.client.Stop(ctx) }

// warnings leaves out of a log what is of no concern to who keeps the shop.
type warnings struct{ slog.Handler }

// Enabled is slog's question.
func (w warnings) Enabled(ctx context.Context, level slog.Level) bool {
	return level >= slog.LevelWarn && w.Handler.Enabled(ctx, level)
}

// inAMinute is when work is done again that failed for want of the database or a folder.
type inAMinute struct{}

// NextRetry is River's question.
func (inAMinute) NextRetry(*rivertype.JobRow) time.Time { return time.Now().Add(time.Minute) }
