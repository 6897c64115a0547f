package store_test

import (
	"context"
	"testing"

	"ledgerwheel/migrations"
	"ledgerwheel/store"
	"ledgerwheel/store/storetest"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/stdlib"
	"github.com/pressly/goose/v3"
)

// migratedOver makes a database as it stood at an earlier migration, runs the statements on it, and migrates it to
// today's.
func migratedOver(t *testing.T, version int64, statements ...string) (*store.Store, *pgx.Conn) {
	t.Helper()
	address := storetest.Empty(t)
	config, err := pgx.ParseConfig(address)
	if err != nil {
		t.Fatal(err)
	}
	db := stdlib.OpenDB(*config)
	defer db.Close()
	provider, err := goose.NewProvider(goose.DialectPostgres, db, migrations.Files, goose.WithDisableGlobalRegistry(true))
	if err == nil {
		_, err = provider.UpTo(t.Context(), version)
	}
	if err != nil {
		t.Fatal(err)
	}
	for _, statement := range statements {
		if _, err := db.ExecContext(t.Context(), statement); err != nil {
			t.Fatalf("%s: %v", statement, err)
		}
	}
	s, err := store.Open(t.Context(), address)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(s.Close)
	if err := s.Migrate(t.Context()); err != nil {
		t.Fatal(err)
	}
	conn, err := pgx.Connect(t.Context(), address)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { conn.Close(context.Background()) })
	return s, conn
}

// oldDocketSQL makes two dockets of one watch, as the tables stood from the first release on.
const oldDocketSQL = `WITH s AS (INSERT INTO staff (name, email, email_key, role) VALUES ('Nuala', 'n@x', 'n@x', 'owner')
		RETURNING id),
	c AS (INSERT INTO customer (name, name_key) VALUES ('Ada', 'ada') RETURNING id),
	w AS (INSERT INTO watch (customer_id, maker, words_key) SELECT id, 'Gannet', 'gannet' FROM c RETURNING id)
	INSERT INTO docket (year, seq, number, stage, place, customer_id, watch_id, complaint, wanted, currency, received_on,
		received_at, received_by, moved_at)
	SELECT 26, n, '26-0000' || n, 'intake', 'safe', c.id, w.id, 'Stops', 'service', 'EUR', '2026-03-01', '2026-03-01', s.id,
		'2026-03-01' FROM s, c, w, generate_series(1, 2) n`

// Numbers kept before their country was: what was read stays, no country is made up, and what is no E.164 number
// stays as text.
func TestOldPhoneNumbersAreNotGuessedAt(t *testing.T) {
	t.Parallel()
	s, _ := migratedOver(t, 139, `INSERT INTO customer (name, name_key, phone, phone_e164) VALUES
		('Ada', 'ada', '01632 960052', '+441632960052'), ('Tom', 'tom', 'at the mill', '0049x'), ('Eve', 'eve', '', '')`)
	for id, want := range map[int64][3]string{
		1: {"01632 960052", "+441632960052", "+44 1632 960052"}, 2: {"at the mill", "", "at the mill"}, 3: {},
	} {
		c, _, err := s.Customer(t.Context(), id)
		if err != nil || c.Phone != want[0] || c.PhoneE164 != want[1] || c.PhoneIn("DE") != want[2] ||
			c.PhoneRegion != "" || c.PhoneUnread != (id == 2) {
			t.Errorf("%d: %+v, %v; want %v", id, c, err, want)
		}
	}
}
