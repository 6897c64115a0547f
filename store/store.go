// Package store keeps the shop's records in PostgreSQL: one file per aggregate, and every change in one transaction
// with its journal event.
package store

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"runtime"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgtype"
	"github.com/jackc/pgx/v5/pgxpool"
	"github.com/jackc/pgx/v5/stdlib"
	"github.com/pressly/goose/v3"
	"github.com/pressly/goose/v3/lock"
	"github.com/riverqueue/river"

	"ledgerwheel/domain/record"
	"ledgerwheel/migrations"
	"ledgerwheel/store/keyring"
)

// ErrNewerDatabase reports a database that a newer release of the program has migrated.
var ErrNewerDatabase = errors.New("the database was written by a newer release of this program")

// Store keeps the shop's records. It is safe for use by many goroutines.
type Store struct {
	db      *pgxpool.Pool
	keys    *keyring.Ring  // nil where nothing is signed
	secret  *record.Secret // marks the journal's entries; nil for none
	guarded bool           // what writes evidence without declaring it is refused
	wrote   chan struct{}  // told, without waiting, of what was committed
	fit     func() error   // asked before every change; nil for never
	clock   clock
	// publicURL is where messages lead to private pages; "" for no links.
	publicURL string
	jobs      *river.Client[pgx.Tx] // puts jobs; works none
	tried     tried
}

// An Option changes how [Open] connects.
type Option func(*pgxpool.Config)

// WithTracer has t told of every query, batch and copy.
func WithTracer(t pgx.QueryTracer) Option {
	return func(c *pgxpool.Config) { c.ConnConfig.Tracer = t }
}

// WithMaxConns sets how many connections the pool opens at most. Unset, it is the address's pool_max_conns, else two
// for each processor but at least eight.
func WithMaxConns(n int32) Option {
	return func(c *pgxpool.Config) { c.MaxConns = n }
}

// Guarded has every transaction refused that writes evidence which no journal entry declares. It costs a round trip, so
// it is for tests.
func (s *Store) Guarded() { s.guarded = true }

// MarkEntries has the entries of the journals marked with a secret of the keys in use, which is made where there is none.
func (s *Store) MarkEntries() error {
	if s.keys == nil {
		return errNoRing
	}
	_, seed, err := s.keys.Secret(keyring.Journal)
	if err != nil {
		return fmt.Errorf("secret of the journal: %w", err)
	}
	secret, err := record.NewSecret(seed)
	s.secret = &secret
	return err
}

// Wrote is told, at most once until it is read, that something was committed.
func (s *Store) Wrote() <-chan struct{} { return s.wrote }

// Open connects to the database at url (postgres://...) and makes sure that it answers. Times are read in UTC. A query
// that takes longer than a minute, a lock awaited longer than ten seconds and a transaction left idle for a minute end
// in an error. The error never holds the password.
func Open(ctx context.Context, url string, opts ...Option) (*Store, error) {
	cfg, err := pgxpool.ParseConfig(url)
	if err != nil {
		return nil, fmt.Errorf("database address: %w", err)
	}
	if cfg.ConnConfig.ConnectTimeout == 0 {
		cfg.ConnConfig.ConnectTimeout = 5 * time.Second
	}
	if smallest := int32(max(8, 2*runtime.NumCPU())); cfg.MaxConns < smallest && !namesMaxConns(url) {
		cfg.MaxConns = smallest
	}
	cfg.MaxConnIdleTime = 10 * time.Minute
	cfg.MaxConnLifetimeJitter = 5 * time.Minute
	setDefaults(cfg.ConnConfig.RuntimeParams, map[string]string{
		"application_name":                    "ledgerwheel",
		"statement_timeout":                   "60s",
		"lock_timeout":                        "10s",
		"idle_in_transaction_session_timeout": "60s",
	})
	// The digests of rows hang on how their values are written, so that is fixed, whatever the address says; in the trigger
	// it would cost as much as all the rest.
	maps.Copy(cfg.ConnConfig.RuntimeParams, map[string]string{"timezone": "UTC", "bytea_output": "hex", "extra_float_digits": "1"})
	cfg.AfterConnect = readTimesInUTC
	for _, o := range opts {
		o(cfg)
	}
	pool, err := pgxpool.NewWithConfig(ctx, cfg)
	if err != nil {
		return nil, fmt.Errorf("database: %w", err)
	}
	s := &Store{db: pool, wrote: make(chan struct{}, 1)}
	if s.jobs, err = newJobs(pool); err != nil {
		pool.Close()
		return nil, fmt.Errorf("jobs: %w", err)
	}
	if err := s.Ping(ctx); err != nil {
		pool.Close()
		return nil, err
	}
	return s, nil
}

// namesMaxConns reports whether the address itself limits the pool.
func namesMaxConns(url string) bool {
	cfg, err := pgx.ParseConfig(url)
	return err == nil && cfg.RuntimeParams["pool_max_conns"] != ""
}

func setDefaults(params, defaults map[string]string) {
	for name, value := range defaults {
		if params[name] == "" {
			params[name] = value
		}
	}
}

// readTimesInUTC has timestamps with time zone scanned as UTC rather than as the machine's zone.
func readTimesInUTC(_ context.Context, conn *pgx.Conn) error {
	types := conn.TypeMap()
	utc := &pgtype.Type{Name: "timestamptz", OID: pgtype.TimestamptzOID, Codec: &pgtype.TimestamptzCodec{
		ScanLocation: time.UTC}}
	types.RegisterType(utc)
	types.RegisterType(&pgtype.Type{Name: "_timestamptz", OID: pgtype.TimestamptzArrayOID,
		Codec: &pgtype.ArrayCodec{ElementType: utc}})
	return nil
}

// Ping makes sure that the database answers.
func (s *Store) Ping(ctx context.Context) error {
	if err := s.db.Ping(ctx); err != nil {
		return fmt.Errorf("database: %w", err)
	}
	return nil
}

// Close waits for the queries under way and closes every connection.
func (s *Store) Close() { s.db.Close() }

// Pool is the connection pool, for the session store alone.
func (s *Store) Pool() *pgxpool.Pool { return s.db }

// Migrate brings the database to the newest migration. Of several programs started at once, one migrates and the
// others wait. The error wraps [ErrNewerDatabase] if the database is ahead of this program.
func (s *Store) Migrate(ctx context.Context) error {
	cfg := s.db.Config().ConnConfig
	// A migration of a large table may well take longer than a page may.
	delete(cfg.RuntimeParams, "statement_timeout")
	db := stdlib.OpenDB(*cfg)
	defer db.Close()
	locker, err := lock.NewPostgresSessionLocker(lock.WithLockTimeout(1, 300)) // s, tries
	if err != nil {
		return fmt.Errorf("migrate: %w", err)
	}
	provider, err := goose.NewProvider(goose.DialectPostgres, db, migrations.Files,
		goose.WithSessionLocker(locker), goose.WithDisableGlobalRegistry(true))
	if err != nil {
		return fmt.Errorf("migrate: %w", err)
	}
	// The locked step goes first, as it also makes goose's own table; on a newer database it does nothing.
	if _, err := provider.Up(ctx); err != nil {
		return fmt.Errorf("migrate: %w", err)
	}
	current, newest, err := provider.GetVersions(ctx)
	if err != nil {
		return fmt.Errorf("migrate: %w", err)
	}
	if current > newest {
		return fmt.Errorf("%w (migration %d, and this one knows %d): use that release", ErrNewerDatabase, current, newest)
	}
	if err := s.migrateJobs(ctx); err != nil {
		return err
	}
	return s.bringIn(ctx)
}
