package store

import (
	"context"
	"encoding/json"
	"fmt"
	"net/url"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
)

// KeptWhy is why a form was kept instead of being saved.
type KeptWhy string

const (
	KeptSignedOut   KeptWhy = "signed-out"   // nobody was signed in any more
	KeptOtherPerson KeptWhy = "other-person" // somebody else had signed in at the same browser
)

// KeptForm is a form as it was typed by somebody whose session was over.
type KeptForm struct {
	ID      string // a secret of 128 bits or more
	StaffID int64
	At      time.Time
	Why     KeptWhy
	Page    string // path and query of the page on which it stands
	Action  string // path and query to which it was sent
	Fields  url.Values
	Files   []string // names of what has to be chosen again
}

const (
	// KeptFormHours is how long a form waits. WCAG 2.2, success criterion 2.2.6, asks for twenty.
	KeptFormHours = 24
	keptForms     = 20 // for one person; the oldest give way
)

// KeepForm keeps a form for its person. The error wraps domain.ErrNotFound where there is no such person.
func (s *Store) KeepForm(ctx context.Context, k KeptForm) error {
	fields, err := json.Marshal(k.Fields)
	if err != nil {
		return err
	}
	err = pgx.BeginFunc(ctx, s.db, func(tx pgx.Tx) error {
		if _, err := tx.Exec(ctx, `DELETE FROM kept_form WHERE at < $2::timestamptz - make_interval(hours => $3)
			OR id IN (SELECT id FROM kept_form WHERE staff_id = $1 ORDER BY at DESC, id OFFSET $4)`,
			k.StaffID, k.At, KeptFormHours, keptForms-1); err != nil {
			return err
		}
		tag, err := tx.Exec(ctx, `INSERT INTO kept_form (id, staff_id, at, why, page, action, fields, files)
			SELECT $1, id, $3, $4, $5, $6, $7, $8 FROM staff WHERE id = $2`, k.ID, k.StaffID, k.At, string(k.Why), k.Page,
			k.Action, fields, append([]string{}, k.Files...))
		if err == nil && tag.RowsAffected() == 0 {
			return domain.ErrNotFound
		}
		return err
	})
	if err != nil {
		return fmt.Errorf("keep a form: %w", Translate(err))
	}
	return nil
}

// KeptForm returns a form that waits for the person, the newest where id is "". The error wraps domain.ErrNotFound for
// everybody else's, and for one that waited too long.
func (s *Store) KeptForm(ctx context.Context, staffID int64, id string, now time.Time) (KeptForm, error) {
	k := KeptForm{StaffID: staffID}
	var fields []byte
	err := s.db.QueryRow(ctx, `SELECT id, at, why, page, action, fields, files FROM kept_form
		WHERE staff_id = $1 AND ($2 = '' OR id = $2) AND at >= $3::timestamptz - make_interval(hours => $4)
		ORDER BY at DESC, id LIMIT 1`, staffID, id, now, KeptFormHours).Scan(&k.ID, &k.At, &k.Why, &k.Page, &k.Action,
		&fields, &k.Files)
	if err == nil {
		err = json.Unmarshal(fields, &k.Fields)
	}
	if err != nil {
		return KeptForm{}, fmt.Errorf("kept form: %w", Translate(err))
	}
	return k, nil
}

// DropForm forgets a form that was saved or is not wanted; "" is all of the person's.
func (s *Store) DropForm(ctx context.Context, staffID int64, id string) error {
	if _, err := s.db.Exec(ctx, `DELETE FROM kept_form WHERE staff_id = $1 AND ($2 = '' OR id = $2)`, staffID,
		id); err != nil {
		return fmt.Errorf("drop a kept form: %w", Translate(err))
	}
	return nil
}
