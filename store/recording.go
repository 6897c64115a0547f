package store

import (
	"context"
	"encoding/json"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/acoustic"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/heard"
	"ledgerwheel/domain/timing"
)

// RecordingsKept is how long a recording that was sent in is there to be looked at and kept as a reading.
const RecordingsKept = 7 * 24 * time.Hour

// MaxRecordings is how many recordings of one person may be waiting.
const MaxRecordings = 100

// RecordingState is how far a recording that was sent in has come.
type RecordingState string

// The states. What the record holds as being listened to and no process listens to was interrupted.
const (
	RecordingListening RecordingState = "listening"
	RecordingHeard     RecordingState = "heard"
	RecordingRefused   RecordingState = "refused"
)

// Recording is a recording that was sent in, and what was heard in it.
type Recording struct {
	ID        int64
	DocketID  int64 // 0 when it belongs to none
	ByID      int64
	By        string
	SentAt    time.Time
	ExpiresAt time.Time
	FileName  string
	State     RecordingState
	Reason    string // why there are no figures, as a sentence
	Asked     heard.Asked
	Sound     heard.Sound
	KeptRunID int64           // 0 while it is not kept as a reading
	Facts     heard.Facts     // zero unless it was heard; the instants as corrected last
	Result    acoustic.Result // as it was heard, the instants as found; zero in lists
}

const recordingFields = `r.id, coalesce(r.docket_id, 0), r.by_id, b.name, r.sent_at, r.expires_at, r.file_name, r.state, r.reason, r.asked,
	r.sound_sha256, r.sound_bytes, r.sound_format, coalesce(r.kept_run_id, 0), r.facts, `

const recordingFrom = ` FROM recording r JOIN staff b ON b.id = r.by_id `

func scanRecording(row pgx.CollectableRow) (Recording, error) {
	var r Recording
	var asked, sum, facts, result []byte
	err := row.Scan(&r.ID, &r.DocketID, &r.ByID, &r.By, &r.SentAt, &r.ExpiresAt, &r.FileName, &r.State, &r.Reason, &asked,
		&sum, &r.Sound.Bytes, &r.Sound.Format, &r.KeptRunID, &facts, &result)
	if err != nil {
		return r, err
	}
	r.SentAt, r.ExpiresAt = r.SentAt.UTC(), r.ExpiresAt.UTC()
	r.Sound.SHA256 = fmt.Sprintf("%x", sum)
	if err := json.Unmarshal(asked, &r.Asked); err != nil {
		return r, err
	}
	if facts != nil {
		if err := json.Unmarshal(facts, &r.Facts); err != nil {
			return r, err
		}
	}
	if result != nil {
		r.Result, err = heard.DecodeResult(result)
	}
	return r, err
}

// NewRecording is a recording whose sound is in the uploads and is now listened to.
type NewRecording struct {
	Number   *docket.Number // of the docket it belongs to, nil for none
	By       Actor
	At       time.Time
	FileName string
	Asked    heard.Asked
	Sound    heard.Sound
}

// AddRecording takes note of a recording that is now listened to. The error is a *domain.InvalidError (field "sound")
// when its sender has too many waiting, or wraps domain.ErrNotFound or, when the docket's watch has left the shop,
// domain.ErrClosed.
func (s *Store) AddRecording(ctx context.Context, in NewRecording) (int64, error) {
	asked, err := json.Marshal(in.Asked)
	if err != nil {
		return 0, err
	}
	sum := in.Sound.Sum()
	var id int64
	err = s.inTx(ctx, func(tx pgx.Tx) error {
		var docketID *int64
		if in.Number != nil {
			d, err := lockDocket(ctx, tx, *in.Number)
			if err != nil {
				return err
			}
			if d.Closed() {
				return domain.ErrClosed
			}
			docketID = &d.ID
		}
		var waiting int
		if err := tx.QueryRow(ctx, `SELECT count(*) FROM recording WHERE by_id = $1 AND expires_at > $2`, in.By.StaffID,
			in.At).Scan(&waiting); err != nil {
			return err
		}
		if waiting >= MaxRecordings {
			return domain.Invalid(map[string]string{"sound": heard.WaitingProblem(waiting)})
		}
		return tx.QueryRow(ctx, `INSERT INTO recording (docket_id, by_id, sent_at, expires_at, file_name, state, asked, sound_sha256, sound_bytes, sound_format)
			VALUES ($1, $2, $3, $4, $5, 'listening', $6, $7, $8, $9) RETURNING id`, docketID, in.By.StaffID, docket.Moment(in.At),
			docket.Moment(in.At.Add(RecordingsKept)), in.FileName, asked, sum[:], in.Sound.Bytes, in.Sound.Format).Scan(&id)
	})
	if err != nil {
		return 0, fmt.Errorf("add recording: %w", Translate(err))
	}
	return id, nil
}

// RecordingHeardAs keeps what was heard in a recording that was being listened to.
func (s *Store) RecordingHeardAs(ctx context.Context, id int64, r acoustic.Result, f heard.Facts) error {
	if err := domain.Invalid(f.Problems()); err != nil {
		return err
	}
	result, err := heard.EncodeResult(r)
	if err != nil {
		return fmt.Errorf("recording %d: %w", id, err)
	}
	facts, err := json.Marshal(f)
	if err != nil {
		return fmt.Errorf("recording %d: %w", id, err)
	}
	_, err = s.db.Exec(ctx, `UPDATE recording SET state = 'heard', result = $2, facts = $3 WHERE id = $1 AND state = 'listening'`, id, result, facts)
	return Translate(err)
}

// RecordingRefusedFor says why a recording that was being listened to gave no figures.
func (s *Store) RecordingRefusedFor(ctx context.Context, id int64, reason string) error {
	_, err := s.db.Exec(ctx, `UPDATE recording SET state = 'refused', reason = $2 WHERE id = $1 AND state = 'listening'`,
		id, reason)
	return Translate(err)
}

// CorrectRecording keeps the facts of a recording after its instants were corrected. The result stays as it was heard.
// The error wraps domain.ErrNotFound.
func (s *Store) CorrectRecording(ctx context.Context, id int64, f heard.Facts) error {
	if err := domain.Invalid(f.Problems()); err != nil {
		return err
	}
	facts, err := json.Marshal(f)
	if err != nil {
		return err
	}
	tag, err := s.db.Exec(ctx, `UPDATE recording SET facts = $2 WHERE id = $1 AND state = 'heard'`, id, facts)
	if err == nil && tag.RowsAffected() == 0 {
		err = domain.ErrNotFound
	}
	return Translate(err)
}

// TakeRecording has a recording belong to a docket from now on. The error wraps domain.ErrNotFound when either is not
// there or the recording belongs to a docket already.
func (s *Store) TakeRecording(ctx context.Context, id int64, n docket.Number) error {
	tag, err := s.db.Exec(ctx, `UPDATE recording SET docket_id = d.id FROM docket d WHERE recording.id = $1 AND docket_id IS NULL AND d.number = $2`,
		id, n.String())
	if err == nil && tag.RowsAffected() == 0 {
		err = domain.ErrNotFound
	}
	return Translate(err)
}

// Recording reads a recording that belongs to no docket. The error wraps domain.ErrNotFound.
func (s *Store) Recording(ctx context.Context, id int64) (Recording, error) {
	rows, _ := s.db.Query(ctx, `SELECT `+recordingFields+`r.result`+recordingFrom+`WHERE r.id = $1 AND r.docket_id IS NULL`, id)
	r, err := pgx.CollectExactlyOneRow(rows, scanRecording)
	if err != nil {
		return Recording{}, fmt.Errorf("recording %d: %w", id, Translate(err))
	}
	return r, nil
}

// RecordingsOf lists a person's recordings that are not cleared away, newest first, without their results.
func (s *Store) RecordingsOf(ctx context.Context, staffID int64, now time.Time) ([]Recording, error) {
	rows, _ := s.db.Query(ctx, `SELECT `+recordingFields+`NULL::jsonb`+recordingFrom+`WHERE r.by_id = $1 AND r.expires_at > $2 AND r.docket_id IS NULL
		ORDER BY r.id DESC LIMIT $3`, staffID, now, MaxRecordings)
	list, err := pgx.CollectRows(rows, scanRecording)
	if err != nil {
		return nil, fmt.Errorf("recordings: %w", Translate(err))
	}
	return list, nil
}

// RecordingSheet is what the page of a recording of a docket shows.
type RecordingSheet struct {
	Recording Recording
	RegulationSheet
}

// RecordingSheet reads a recording of a docket together with the docket's runs, in one round trip but one. The error
// wraps domain.ErrNotFound.
func (s *Store) RecordingSheet(ctx context.Context, n docket.Number, id int64) (RecordingSheet, error) {
	rows, _ := s.db.Query(ctx, `SELECT `+recordingFields+`r.result`+recordingFrom+
		`WHERE r.id = $1 AND r.docket_id = (SELECT id FROM docket WHERE number = $2)`, id, n.String())
	r, err := pgx.CollectExactlyOneRow(rows, scanRecording)
	if err != nil {
		return RecordingSheet{}, fmt.Errorf("recording %d of docket %s: %w", id, n, Translate(err))
	}
	sheet, err := s.RegulationSheet(ctx, n)
	return RecordingSheet{Recording: r, RegulationSheet: sheet}, err
}

// DiscardRecording throws a recording away and returns the sum of its sound when nothing names that any more.
func (s *Store) DiscardRecording(ctx context.Context, id int64) (unnamed [][32]byte, err error) {
	return s.discard(ctx, `id = $1`, id)
}

// ExpireRecordings clears away what has been kept long enough and returns the sums of sounds that nothing names any
// more.
func (s *Store) ExpireRecordings(ctx context.Context, now time.Time) (unnamed [][32]byte, err error) {
	return s.discard(ctx, `expires_at <= $1`, now)
}

func (s *Store) discard(ctx context.Context, which string, arg any) (unnamed [][32]byte, err error) {
	err = s.inTx(ctx, func(tx pgx.Tx) error {
		rows, _ := tx.Query(ctx, `DELETE FROM recording WHERE `+which+` RETURNING sound_sha256`, arg)
		sums, err := pgx.CollectRows(rows, pgx.RowTo[[]byte])
		if err != nil || len(sums) == 0 {
			return err
		}
		rows, _ = tx.Query(ctx, `SELECT DISTINCT s FROM unnest($1::bytea[]) s WHERE NOT EXISTS (SELECT FROM recording WHERE sound_sha256 = s)
			AND NOT EXISTS (SELECT FROM heard WHERE sound_sha256 = s)`, sums)
		free, err := pgx.CollectRows(rows, pgx.RowTo[[]byte])
		for _, sum := range free {
			unnamed = append(unnamed, [32]byte(sum))
		}
		return err
	})
	if err != nil {
		return nil, fmt.Errorf("clear recordings away: %w", Translate(err))
	}
	return unnamed, nil
}

// Reading is what was heard as a reading, the instants as corrected last.
func (r Recording) Reading(position timing.Position, hours float64, takenBy string, at time.Time) timing.Reading {
	return heard.Reading(r.Facts.Corrected(r.Result), position, hours, r.Facts.Recorder, takenBy, at)
}

// SoundNamed reports whether a recording or a kept reading names the sound.
func (s *Store) SoundNamed(ctx context.Context, sum [32]byte) (named bool, err error) {
	err = s.db.QueryRow(ctx, `SELECT EXISTS (SELECT FROM recording WHERE sound_sha256 = $1) OR EXISTS (SELECT FROM heard WHERE sound_sha256 = $1)`,
		sum[:]).Scan(&named)
	return named, Translate(err)
}
