package store

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/pressly/goose/v3"

	"ledgerwheel/migrations"
)

// Snapshot is the record as it stood at one moment, held still while it is copied. Close lets it go.
type Snapshot struct {
	// ID is what pg_dump takes with --snapshot.
	ID string
	At time.Time
	// Migration is the number of the newest that the database has.
	Migration int64
	// ShopName and TimeZone are those of the settings; "" before the shop was founded.
	ShopName, TimeZone string
	// Seeds is how many private keys an older release left in the database.
	Seeds int
	// Pictures and Sounds are the sums by which rows name files of the uploads folder.
	Pictures, Sounds [][32]byte

	conn *pgx.Conn
	tx   pgx.Tx
}

// namedPictures and namedSounds are the sums of the files that must be there: a removed photograph's may be deleted.
const (
	namedPictures = `SELECT sha256 FROM photo WHERE removed_at IS NULL UNION SELECT sha256 FROM calibre_drawing UNION
		SELECT sha256 FROM parcel_photo WHERE removed_at IS NULL`
	namedSounds = `SELECT sound_sha256 FROM heard WHERE sound_sha256 IS NOT NULL UNION SELECT sound_sha256 FROM recording`
)

// Snapshot holds the record still as it is now, on a connection of its own that nothing times out. Nobody waits for it.
func (s *Store) Snapshot(ctx context.Context) (_ *Snapshot, err error) {
	cfg := s.db.Config().ConnConfig.Copy()
	cfg.RuntimeParams["statement_timeout"] = "0"
	cfg.RuntimeParams["idle_in_transaction_session_timeout"] = "0"
	conn, err := pgx.ConnectConfig(ctx, cfg)
	if err != nil {
		return nil, fmt.Errorf("snapshot: %w", Translate(err))
	}
	n := &Snapshot{conn: conn}
	defer func() {
		if err != nil {
			n.Close()
			err = fmt.Errorf("snapshot: %w", Translate(err))
		}
	}()
	if n.tx, err = conn.BeginTx(ctx, pgx.TxOptions{IsoLevel: pgx.RepeatableRead, AccessMode: pgx.ReadOnly}); err != nil {
		return nil, err
	}
	err = n.tx.QueryRow(ctx, `SELECT pg_export_snapshot(), now(), (SELECT max(version_id) FROM goose_db_version WHERE is_applied)`).
		Scan(&n.ID, &n.At, &n.Migration)
	if err != nil {
		return nil, err
	}
	n.At = n.At.UTC()
	err = n.tx.QueryRow(ctx, `SELECT name, time_zone FROM shop`).Scan(&n.ShopName, &n.TimeZone)
	if err != nil && !errors.Is(err, pgx.ErrNoRows) {
		return nil, err
	}
	if err := n.tx.QueryRow(ctx, `SELECT count(*) FROM signing_key WHERE seed IS NOT NULL`).Scan(&n.Seeds); err != nil {
		return nil, err
	}
	if n.Pictures, err = sums(ctx, n.tx, namedPictures); err != nil {
		return nil, err
	}
	n.Sounds, err = sums(ctx, n.tx, namedSounds)
	return n, err
}

type queries interface {
	Query(ctx context.Context, sql string, args ...any) (pgx.Rows, error)
}

func sums(ctx context.Context, db queries, sql string) ([][32]byte, error) {
	rows, _ := db.Query(ctx, sql)
	return pgx.CollectRows(rows, func(row pgx.CollectableRow) (sum [32]byte, err error) {
		var b []byte
		err = row.Scan(&b)
		copy(sum[:], b)
		return sum, err
	})
}

// Close lets the snapshot go. It may be called more than once.
func (n *Snapshot) Close() {
	// Closing the connection ends the transaction, which only read.
	ctx, cancel := context.WithTimeout(context.Background(), 5*time.Second)
	defer cancel()
	n.conn.Close(ctx)
}

// NamedFiles are the sums by which rows name files now: pictures, then sounds.
func (s *Store) NamedFiles(ctx context.Context) (pictures, sounds [][32]byte, err error) {
	if pictures, err = sums(ctx, s.db, namedPictures); err == nil {
		sounds, err = sums(ctx, s.db, namedSounds)
	}
	if err != nil {
		return nil, nil, fmt.Errorf("named files: %w", Translate(err))
	}
	return pictures, sounds, nil
}

// NewestMigration is the number of the newest migration that this program knows.
func NewestMigration() (int64, error) {
	names, err := fs.Glob(migrations.Files, "*.sql")
	if err != nil {
		return 0, err
	}
	newest := int64(0)
	for _, name := range names {
		n, err := goose.NumericComponent(name)
		if err != nil {
			return 0, fmt.Errorf("migration %s: %w", name, err)
		}
		newest = max(newest, n)
	}
	return newest, nil
}

// IsEmpty reports whether the database has no table of its own yet, so that a backup may be restored into it.
func (s *Store) IsEmpty(ctx context.Context) (bool, error) {
	var tables int
	err := s.db.QueryRow(ctx, `SELECT count(*) FROM pg_class c JOIN pg_namespace n ON n.oid = c.relnamespace
		WHERE n.nspname NOT LIKE 'pg\_%' AND n.nspname <> 'information_schema' AND c.relkind IN ('r', 'p', 'v', 'm', 'S', 'f')`).Scan(&tables)
	if err != nil {
		return false, fmt.Errorf("look into the database: %w", Translate(err))
	}
	return tables == 0, nil
}
