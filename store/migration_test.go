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

// What was said before settings were kept goes on saying what it said on the day they began to be.
func TestDocumentsFromBeforeSettingsWereKept(t *testing.T) {
	t.Parallel()
	_, conn := migratedOver(t, 99,
		`INSERT INTO shop (name, tax_name, time_zone, decision_rule, warranty_months, link_secret)
			VALUES ('Tern Quay', 'VAT', 'Europe/Zurich', 'simple', 18, decode(repeat('07', 32), 'hex'))`,
		`INSERT INTO staff (name, email, email_key, role) VALUES ('Ottilie', 'o', 'o', 'owner')`,
		`INSERT INTO customer (name, name_key) VALUES ('Ada', 'ada')`,
		`INSERT INTO watch (customer_id, maker, words_key) VALUES (1, 'Gannet', 'gannet')`,
		`INSERT INTO docket (year, seq, number, stage, place, customer_id, watch_id, complaint, wanted, currency, received_on,
				received_at, received_by, moved_at, open, handed_back_at)
			SELECT 2026, n, '26-' || n, CASE WHEN n = 4 THEN 'ready' ELSE 'intake' END, 'safe', 1, 1, '', '', 'EUR',
				'2026-01-01', now(), 1, now(), n <> 3, CASE WHEN n = 3 THEN now() END FROM generate_series(1, 4) n`,
		`INSERT INTO journal (docket_id, seq, at, by_kind, by_name, kind, summary, prev_hash, hash) VALUES (2, 1, now(), 'system',
			'', 'paid', 'Paid.', decode(repeat('00', 32), 'hex'), decode(repeat('00', 32), 'hex'))`,
		`INSERT INTO estimate_revision (docket_id, number, state, currency, prices_include_tax, valid_until, net_minor,
				tax_minor, gross_minor, made_by, made_at, sent_at)
			VALUES (1, 1, 'sent', 'EUR', true, '2026-02-01', 0, 0, 0, 1, now(), now()), (1, 2, 'draft', 'EUR', true, '2026-02-01',
				0, 0, 0, 1, now(), NULL)`,
		`INSERT INTO run (docket_id, kind, instrument_ppm, taken_at, by_id) VALUES (1, 'final', 1, now(), 1)`,
		`INSERT INTO signing_key (id, seed, public, made_at) VALUES ('0123456789abcdef', decode(repeat('00', 32), 'hex'),
			decode(repeat('00', 32), 'hex'), now())`,
		`INSERT INTO warranty_card (docket_id, code, payload, key_id, signature, issued_at, issued_by) VALUES (3,
			'ABCDEFGHIJKLMNOP', '', '0123456789abcdef', decode(repeat('00', 64), 'hex'), now(), 1)`,
		`INSERT INTO trial (docket_id, category, method, first_day, reading_minute, begun_at, begun_by, state, ended_at, ended_by,
				reason, simple_rule)
			VALUES (1, 1, 'instrument', '2026-01-01', 540, now(), 1, 'running', NULL, NULL, '', false),
				(2, 1, 'instrument', '2026-01-01', 540, now(), 1, 'ended', now(), 1, '', false),
				(3, 1, 'instrument', '2026-01-01', 540, now(), 1, 'abandoned', now(), 1, 'stopped', false)`)
	for sql, want := range map[string]string{
		`SELECT string_agg(concat_ws(' ', id, name, tax_name, time_zone, decision_rule, warranty_months, made_by), ',')
			FROM shop_version`: "1 Tern Quay VAT Europe/Zurich simple 18",
		`SELECT string_agg(concat_ws(' ', id, taken_in_under, 'billed', billed_under, 'left', left_under), ',' ORDER BY id)
			FROM docket`: "1 1 billed left,2 1 billed 1 left,3 1 billed 1 left 1,4 1 billed 1 left",
		`SELECT string_agg(concat_ws(' ', state, sent_under), ',' ORDER BY number) FROM estimate_revision`: "sent 1,draft",
		`SELECT concat_ws(' ', (SELECT written_under FROM run), (SELECT issued_under FROM warranty_card))`: "1 1",
		`SELECT string_agg(concat_ws(' ', state, time_zone, simple_rule, written_under), ',' ORDER BY id)
			FROM trial`: "running Europe/Zurich t 1,ended Europe/Zurich f 1,abandoned Europe/Zurich t 1",
	} {
		var got string
		if err := conn.QueryRow(t.Context(), sql).Scan(&got); err != nil || got != want {
			t.Errorf("%s:\n%q, %v; want\n%q", sql, got, err, want)
		}
	}
}
