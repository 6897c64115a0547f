// Package storetest gives each test a migrated PostgreSQL database of its own, so that tests run side by side.
//
// The databases come from the server that LEDGERWHEEL_TEST_DATABASE addresses, as a user who may make databases; the
// verify command starts one for its whole run. Where it is unset, the first test of a package that asks starts a
// private server, which ends with the test process. A template is migrated once for each set of migrations and copied
// for each test.
package storetest

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io"
	"io/fs"
	"math/rand/v2"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain/record"
	"ledgerwheel/migrations"
	"ledgerwheel/store"
	"ledgerwheel/store/keyring"
)

// Env names the variable that holds the address of a running server for tests.
const Env = "LEDGERWHEEL_TEST_DATABASE"

// Handle is one test's database.
type Handle struct {
	Store *store.Store
	URL   string // for opening it once more
}

// New returns a store on a database of t's own, migrated and empty, which is dropped when t ends. Its round trips can
// be counted with [CountRoundTrips].
func New(t testing.TB, opts ...store.Option) *store.Store {
	t.Helper()
	return NewHandle(t, opts...).Store
}

// NewHandle is New for a test that needs the database's address too.
func NewHandle(t testing.TB, opts ...store.Option) Handle {
	t.Helper()
	address := Database(t)
	opts = append([]store.Option{store.WithTracer(RoundTrips{}), store.WithMaxConns(6)}, opts...)
	s, err := store.Open(t.Context(), address, opts...)
	if err != nil {
		t.Fatal(err)
	}
	s.Guarded()
	t.Cleanup(s.Close)
	keys, err := keyring.Open(filepath.Join(t.TempDir(), "keys"), "")
	if err != nil {
		t.Fatal(err)
	}
	s.UseKeys(keys)
	if err := s.MarkEntries(); err != nil {
		t.Fatal(err)
	}
	return Handle{Store: s, URL: address}
}

// Whole fails t for everything that the record check finds, and returns how much it looked at.
func Whole(t testing.TB, s *store.Store) record.Checked {
	t.Helper()
	checked, err := s.CheckRecord(context.WithoutCancel(t.Context()), store.RecordCheck{}, func(f record.Finding) {
		t.Errorf("record check: %s", f.Sentence)
	})
	if err != nil {
		t.Errorf("record check: %v", err)
	}
	return checked
}

// Database makes a migrated database of t's own and returns its address. It is dropped when t ends.
func Database(t testing.TB) string {
	t.Helper()
	return create(t, " TEMPLATE "+pgx.Identifier{template(t)}.Sanitize())
}

// Empty makes a database of t's own without any table, for tests of the migrations themselves.
func Empty(t testing.TB) string {
	t.Helper()
	return create(t, "")
}

func create(t testing.TB, clause string) string {
	t.Helper()
	name := fmt.Sprintf("lw_test_%d_%016x", os.Getpid(), rand.Uint64())
	quoted := pgx.Identifier{name}.Sanitize()
	admin(t, func(ctx context.Context, conn *pgx.Conn) error {
		// Since 15 a database is copied by the log, three times as dear on a server that waits for no disk.
		if major, _, _ := strings.Cut(conn.PgConn().ParameterStatus("server_version"), "."); clause != "" && major >= "15" {
			clause += " STRATEGY file_copy"
		}
		_, err := conn.Exec(ctx, "CREATE DATABASE "+quoted+clause)
		return err
	})
	t.Cleanup(func() {
		admin(t, func(ctx context.Context, conn *pgx.Conn) error {
			_, err := conn.Exec(ctx, "DROP DATABASE "+quoted+" WITH (FORCE)")
			return err
		})
	})
	address, err := withDatabase(serverURL(t), name)
	if err != nil {
		t.Fatal(err)
	}
	return address
}

// admin does something on the server's own database.
func admin(t testing.TB, do func(context.Context, *pgx.Conn) error) {
	t.Helper()
	// Also used while cleaning up, when the test's own context has ended.
	ctx, cancel := context.WithTimeout(context.Background(), 2*time.Minute)
	defer cancel()
	conn, err := pgx.Connect(ctx, serverURL(t))
	if err == nil {
		defer conn.Close(ctx)
		err = do(ctx, conn)
	}
	if err != nil {
		t.Fatalf("test database: %v", err)
	}
}

var migrated struct {
	sync.Mutex
	name string
}

// template returns the name of the migrated template database, making it unless some process already has.
func template(t testing.TB) string {
	t.Helper()
	migrated.Lock()
	defer migrated.Unlock()
	if migrated.name != "" {
		return migrated.name
	}
	sum, err := migrationsSum()
	if err != nil {
		t.Fatal(err)
	}
	name := "lw_template_" + sum
	admin(t, func(ctx context.Context, conn *pgx.Conn) error {
		// The lock is given up when the connection closes.
		if _, err := conn.Exec(ctx, "SELECT pg_advisory_lock(hashtextextended('lw_template', 0))"); err != nil {
			return err
		}
		var made bool
		err := conn.QueryRow(ctx, "SELECT EXISTS (SELECT FROM pg_database WHERE datname = $1 AND datistemplate)",
			name).Scan(&made)
		if err != nil || made {
			return err
		}
		return makeTemplate(ctx, conn, serverURL(t), name)
	})
	migrated.name = name
	return name
}

// makeTemplate marks the database as a template last, so that a half-made one is made anew. No one may then connect
// to it, since a database in use can't be copied.
func makeTemplate(ctx context.Context, conn *pgx.Conn, server, name string) error {
	quoted := pgx.Identifier{name}.Sanitize()
	for _, sql := range []string{"DROP DATABASE IF EXISTS " + quoted + " WITH (FORCE)", "CREATE DATABASE " + quoted} {
		if _, err := conn.Exec(ctx, sql); err != nil {
			return err
		}
	}
	address, err := withDatabase(server, name)
	if err != nil {
		return err
	}
	s, err := store.Open(ctx, address)
	if err != nil {
		return err
	}
	err = s.Migrate(ctx)
	s.Close()
	if err != nil {
		return err
	}
	_, err = conn.Exec(ctx, "ALTER DATABASE "+quoted+" WITH ALLOW_CONNECTIONS false IS_TEMPLATE true")
	return err
}

// migrationsSum tells one set of migrations from another.
func migrationsSum() (string, error) {
	names, err := fs.Glob(migrations.Files, "*.sql")
	if err != nil {
		return "", err
	}
	h := sha256.New()
	for _, name := range names { // in order of name
		text, err := migrations.Files.ReadFile(name)
		if err != nil {
			return "", err
		}
		fmt.Fprintf(h, "%s %d\n", name, len(text))
		h.Write(text)
	}
	return hex.EncodeToString(h.Sum(nil)[:8]), nil
}

// withDatabase is the address of another database of the same server.
func withDatabase(address, name string) (string, error) {
	u, err := url.Parse(address)
	if err != nil {
		return "", fmt.Errorf("%s: %w", Env, err)
	}
	u.Path = "/" + name
	return u.String(), nil
}

// Main runs a package's tests and then stops the private server, if one was started. Packages without a TestMain need
// not call it: the server then ends with the process, a moment later.
func Main(m *testing.M) {
	code := m.Run()
	if err := stopServer(); err != nil {
		io.WriteString(os.Stderr, err.Error()+"\n")
		code = max(code, 1)
	}
	os.Exit(code)
}
