package store

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain/record"
)

// CheckRun is one record check that came to its end, or that could not be made.
type CheckRun struct {
	ID               int64
	BegunAt, EndedAt time.Time // UTC
	ByID             int64     // who asked for it; 0 for the program itself
	ByName           string
	Findings         int64
	Words            []string // what was looked at, a sentence each
	Said             []string // the first findings, a sentence each
	Failed           string   // why it could not be made, as a sentence; "" where it was
}

const checkRunSQL = `SELECT c.id, c.begun_at, c.ended_at, coalesce(c.by_id, 0), coalesce(m.name, ''), c.findings, c.words, c.said, c.failed
	FROM record_check c LEFT JOIN staff m ON m.id = c.by_id `

// lastCheckSQL is the newest check that was made, newestCheckSQL the newest that was tried.
const (
	lastCheckSQL   = checkRunSQL + `WHERE c.failed = '' ` + newestFirst + ` LIMIT 1`
	newestCheckSQL = checkRunSQL + newestFirst + ` LIMIT 1`
	newestFirst    = `ORDER BY c.begun_at DESC, c.id DESC`
)

func scanCheckRun(row pgx.CollectableRow) (CheckRun, error) {
	var c CheckRun
	err := row.Scan(&c.ID, &c.BegunAt, &c.EndedAt, &c.ByID, &c.ByName, &c.Findings, &c.Words, &c.Said, &c.Failed)
	c.BegunAt, c.EndedAt = c.BegunAt.UTC(), c.EndedAt.UTC()
	return c, err
}

// queueCheck adds to a batch the reading of one check; where there is none it stays zero.
func queueCheck(batch *pgx.Batch, sql string, into *CheckRun) {
	batch.Queue(sql).Query(func(rows pgx.Rows) error {
		list, err := pgx.CollectRows(rows, scanCheckRun)
		if len(list) > 0 {
			*into = list[0]
		}
		return err
	})
}

// checksKeptDays is how long it is known what a check found.
const checksKeptDays = 400

// NoteCheck keeps what became of a record check, and clears away those that are too old.
func (s *Store) NoteCheck(ctx context.Context, c CheckRun) error {
	var by *int64
	if c.ByID != 0 {
		by = &c.ByID
	}
	var batch pgx.Batch
	batch.Queue(`DELETE FROM record_check WHERE begun_at < $1::timestamptz - make_interval(days => $2)`, c.BegunAt, checksKeptDays)
	batch.Queue(`INSERT INTO record_check (begun_at, ended_at, by_id, findings, words, said, failed) VALUES ($1, $2, $3, $4, $5, $6, $7)`,
		c.BegunAt, c.EndedAt, by, c.Findings, listed(c.Words), listed(c.Said), c.Failed)
	if err := s.db.SendBatch(ctx, &batch).Close(); err != nil {
		return fmt.Errorf("note a record check: %w", Translate(err))
	}
	return nil
}

func listed(list []string) []string { return append([]string{}, list...) }

// NewestCheck is the check that was tried last; zero if there is none.
func (s *Store) NewestCheck(ctx context.Context) (CheckRun, error) {
	var c CheckRun
	var batch pgx.Batch
	queueCheck(&batch, newestCheckSQL, &c)
	if err := s.db.SendBatch(ctx, &batch).Close(); err != nil {
		return CheckRun{}, fmt.Errorf("newest record check: %w", Translate(err))
	}
	return c, nil
}

// Standing is what the owner's page says of backups, record and mail, and what it asks to be looked after.
type Standing struct {
	Backup BackupRun // the newest proven one, as LastProvenBackup has it
	Check  CheckRun  // the newest that was made; zero for none
	Mail   MailWaiting
	Due    Due
	Risk   AtRisk
	// Uncounted is the first day, today too, whose till nobody counted; zero for none.
	Uncounted time.Time
}

// queueShopStanding adds to a batch the reading of a Standing.
func queueShopStanding(batch *pgx.Batch, st *Standing) {
	batch.Queue(lastProvenSQL).Query(func(rows pgx.Rows) error {
		list, err := pgx.CollectRows(rows, scanBackupRun)
		if len(list) > 0 {
			st.Backup = list[0]
		}
		return err
	})
	queueCheck(batch, lastCheckSQL, &st.Check)
	queueMailWaiting(batch, &st.Mail)
	queueDue(batch, &st.Due)
	queueAtRisk(batch, &st.Risk)
	queueUncounted(batch, &st.Uncounted)
}

// RecordStanding is what the owner sees of the record.
type RecordStanding struct {
	Last    CheckRun    // the newest that was made; zero for none
	Newest  CheckRun    // the newest that was tried
	Earlier []CheckRun  // newest first
	Seal    record.Seal // the newest; without a text there is none
}

// checksShown is how many checks the owner's page lists.
const checksShown = 30

// RecordStanding reads what is known of the checks and the newest seal, in one round trip.
func (s *Store) RecordStanding(ctx context.Context) (RecordStanding, error) {
	var st RecordStanding
	var batch pgx.Batch
	queueCheck(&batch, lastCheckSQL, &st.Last)
	queueCheck(&batch, newestCheckSQL, &st.Newest)
	batch.Queue(checkRunSQL+newestFirst+` LIMIT $1`, checksShown).Query(func(rows pgx.Rows) (err error) {
		st.Earlier, err = pgx.CollectRows(rows, scanCheckRun)
		return err
	})
	queueSeal(&batch, &st.Seal, newestSealSQL)
	if err := s.db.SendBatch(ctx, &batch).Close(); err != nil {
		return RecordStanding{}, fmt.Errorf("how the record stands: %w", Translate(err))
	}
	return st, nil
}
