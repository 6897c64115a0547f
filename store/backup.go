package store

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"
)

// BackupRun is one backup that was made, or that failed.
type BackupRun struct {
	ID        int64
	At        time.Time // when the record was read; of one that failed before, when it began
	Nightly   bool
	Place     string // path of the file
	Bytes     int64  // of the file; 0 where none was kept
	Encrypted bool
	Restored  bool      // every sum agreed, whether the record was whole or not
	ProvenAt  time.Time // zero until it was restored and found whole
	Proof     string    // what was proven, as a sentence
	Failed    string    // why there is none, or why it is not proven, as a sentence
	GoneAt    time.Time // since when the file is not there
}

const backupRunSQL = `SELECT id, at, nightly, place, bytes, encrypted, restored, proven_at, proof, failed, gone_at FROM backup_run `

func scanBackupRun(row pgx.CollectableRow) (BackupRun, error) {
	var b BackupRun
	var proven, gone *time.Time
	err := row.Scan(&b.ID, &b.At, &b.Nightly, &b.Place, &b.Bytes, &b.Encrypted, &b.Restored, &proven, &b.Proof, &b.Failed, &gone)
	b.At, b.ProvenAt, b.GoneAt = b.At.UTC(), timeOr(proven), timeOr(gone)
	return b, err
}

// backupsShown is how many of each kind the owner's page shows.
const backupsShown = 50

// Backups is what the owner sees of the backups, each list newest first.
type Backups struct {
	LastProven BackupRun   // the newest whose file is still there, as far as is known; zero if there is none
	Kept       []BackupRun // those that have a file
	Failed     []BackupRun // those of the last 30 days that have a fault
}

// Backups reads what is known of the backups, in one round trip.
func (s *Store) Backups(ctx context.Context, now time.Time) (Backups, error) {
	var b Backups
	var batch pgx.Batch
	collect := func(list *[]BackupRun) func(pgx.Rows) error {
		return func(rows pgx.Rows) (err error) {
			*list, err = pgx.CollectRows(rows, scanBackupRun)
			return err
		}
	}
	var last []BackupRun
	batch.Queue(lastProvenSQL).Query(collect(&last))
	batch.Queue(backupRunSQL+`WHERE gone_at IS NULL AND bytes > 0 ORDER BY at DESC, id DESC LIMIT $1`, backupsShown).Query(collect(&b.Kept))
	batch.Queue(backupRunSQL+`WHERE failed <> '' AND at > $1 ORDER BY at DESC, id DESC LIMIT $2`, now.AddDate(0, 0, -30),
		backupsShown).Query(collect(&b.Failed))
	if err := s.db.SendBatch(ctx, &batch).Close(); err != nil {
		return Backups{}, fmt.Errorf("backups: %w", Translate(err))
	}
	if len(last) > 0 {
		b.LastProven = last[0]
	}
	return b, nil
}

const lastProvenSQL = backupRunSQL + `WHERE proven_at IS NOT NULL AND gone_at IS NULL ORDER BY at DESC LIMIT 1`

// LastProvenBackup is the newest proven backup whose file is still there, as far as is known; zero if there is none.
func (s *Store) LastProvenBackup(ctx context.Context) (BackupRun, error) {
	rows, _ := s.db.Query(ctx, lastProvenSQL)
	list, err := pgx.CollectRows(rows, scanBackupRun)
	if err != nil {
		return BackupRun{}, fmt.Errorf("last proven backup: %w", Translate(err))
	}
	if len(list) == 0 {
		return BackupRun{}, nil
	}
	return list[0], nil
}

// nightlyBack, in days, is more than any nightly backup is kept.
const nightlyBack = 450

// NightlyBackups are the nightly ones of the time in which any may still be kept, those that failed and those that are
// gone among them; newest first.
func (s *Store) NightlyBackups(ctx context.Context, now time.Time) ([]BackupRun, error) {
	rows, _ := s.db.Query(ctx, backupRunSQL+`WHERE nightly AND at > $1 ORDER BY at DESC, id DESC`, now.AddDate(0, 0, -nightlyBack))
	list, err := pgx.CollectRows(rows, scanBackupRun)
	if err != nil {
		return nil, fmt.Errorf("nightly backups: %w", Translate(err))
	}
	return list, nil
}

// NoteBackup keeps what became of a backup, and returns its number.
func (s *Store) NoteBackup(ctx context.Context, b BackupRun) (int64, error) {
	var id int64
	err := s.inTx(ctx, func(tx pgx.Tx) error {
		return tx.QueryRow(ctx, `INSERT INTO backup_run (at, nightly, place, bytes, encrypted, failed)
			VALUES ($1, $2, $3, $4, $5, $6) RETURNING id`, b.At, b.Nightly, b.Place, b.Bytes, b.Encrypted, b.Failed).Scan(&id)
	})
	if err != nil {
		return 0, fmt.Errorf("note a backup: %w", Translate(err))
	}
	return id, nil
}

// BackupProven keeps what was proven of a backup and when.
func (s *Store) BackupProven(ctx context.Context, id int64, at time.Time, proof string) error {
	return s.noteOfBackup(ctx, `UPDATE backup_run SET restored = true, proven_at = $2, proof = $3, failed = '' WHERE id = $1`, id, at, proof)
}

// BackupFailed keeps why a backup is not proven, and whether it could be restored at all.
func (s *Store) BackupFailed(ctx context.Context, id int64, restored bool, why string) error {
	return s.noteOfBackup(ctx, `UPDATE backup_run SET restored = $2, proven_at = NULL, proof = '', failed = $3 WHERE id = $1`,
		id, restored, why)
}

// BackupGone keeps that a backup's file is no longer there, or with the zero time that it is there again, as on a disk that
// was away.
func (s *Store) BackupGone(ctx context.Context, id int64, at time.Time) error {
	var gone *time.Time
	if !at.IsZero() {
		gone = &at
	}
	return s.noteOfBackup(ctx, `UPDATE backup_run SET gone_at = $2 WHERE id = $1`, id, gone)
}

func (s *Store) noteOfBackup(ctx context.Context, sql string, args ...any) error {
	err := s.inTx(ctx, func(tx pgx.Tx) error {
		_, err := tx.Exec(ctx, sql, args...)
		return err
	})
	if err != nil {
		return fmt.Errorf("note of a backup: %w", Translate(err))
	}
	return nil
}
