package demoshop

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	proof "ledgerwheel/domain/record"
	"ledgerwheel/store"
	"ledgerwheel/store/keyring"
	"ledgerwheel/store/storetest"
)

// tampering is a filled shop at which somebody with the database's password goes to work; each act is undone.
type tampering struct {
	*testing.T
	store  *store.Store
	check  store.RecordCheck
	acts   int
	sealed proof.Seal
	before string // what is found in the untouched record: the template's first entry has no mark
}

func newTampering(t *testing.T) *tampering {
	s := storetest.New(t)
	if err := Fill(t.Context(), s, openUploads(t), testNow); err != nil {
		t.Fatal(err)
	}
	fillTheRest(t, s)
	seed := make([]byte, keyring.SeedBytes)
	sealed, err := s.Seal(t.Context(), seed, testNow, nil, true)
	if err != nil {
		t.Fatal(err)
	}
	_, verifier, err := proof.SealKey(sealed.Origin, seed)
	if err != nil {
		t.Fatal(err)
	}
	_, secret, err := s.Keys().Secret(keyring.Journal)
	if err != nil {
		t.Fatal(err)
	}
	mark, err := proof.NewSecret(secret)
	if err != nil {
		t.Fatal(err)
	}
	return &tampering{T: t, store: s, sealed: sealed, check: store.RecordCheck{Secrets: proof.Secrets{mark}, Seals: [][]byte{sealed.Text},
		SealKeys: []string{verifier}}}
}

// theRest are rows for the tables of evidence of which the demo has none.
var theRest = []string{
	`INSERT INTO condition_earlier (docket_id, until_seq, clear, marks) SELECT id, 1, '{}', '[]' FROM docket ORDER BY id LIMIT 1`,
	`INSERT INTO poising_round (docket_id, ordinal, done, at, by_id) SELECT id, 1, '', now(), received_by FROM docket ORDER BY id LIMIT 1`,
	`INSERT INTO poising_reading (round_id, up_deg, rate_s_per_day, rate_half_width, amplitude_deg, amplitude_half_width)
		SELECT id, 90, 3, 0.5, 180, 1 FROM poising_round`,
	`INSERT INTO customer_merge (kept_id, merged_id, at, by_id, why, kept_was, merged_was, moved)
		SELECT min(c.id), max(c.id), now(), (SELECT min(id) FROM staff), 'one person', '{"name": "A"}', '{"name": "B"}', '{}' FROM customer c`,
	`INSERT INTO customer_erasure (customer_id, at, why, replaced, sealed) SELECT min(id), now(), 'asked for', 0, 0 FROM customer`,
	`INSERT INTO journal_told (docket_id, seq, told) SELECT id, 1, '{"summary": "Taken in."}' FROM docket ORDER BY id LIMIT 1`,
	`INSERT INTO staff_event (at, by_id, who_id, what) SELECT now(), id, id, 'set a password' FROM staff ORDER BY id LIMIT 1`,
	`INSERT INTO invite (token_hash, staff_id, reset, made_by, made_at) SELECT sha256('invited'), id, false, id, now() FROM staff ORDER BY id LIMIT 1`,
	`INSERT INTO message_template (topic, tongue, subject, body, short, made_at, made_by) SELECT 'ready', 'en', 'Come', 'It is done.', 'Done.', now(), id FROM staff ORDER BY id LIMIT 1`,
	`INSERT INTO message_reminders (not_collected_days, warranty_days, service_years, made_at, made_by) SELECT 10, 20, 4, now(), id FROM staff ORDER BY id LIMIT 1`,
	`WITH i AS (INSERT INTO invoice (series_id, year, n, number, kind, docket_id, issued_on, booked_on, currency, net_minor, tax_minor, gross_minor, body, at)
		SELECT 1, 2001, 1, '2001-0001', 'invoice', id, '2001-01-01', '2199-01-01', 'GBP', 5, 1, 6, '{}', now() FROM docket ORDER BY id LIMIT 1 RETURNING id)
		INSERT INTO invoice_rate (invoice_id, tax_basis_points, net_minor, tax_minor, gross_minor) SELECT id, 2000, 5, 1, 6 FROM i`,
	`INSERT INTO recorder_calibration_retired (calibration_id, at, by_id, why) SELECT id, now(), by_id, 'dropped' FROM recorder_calibration ORDER BY id LIMIT 1`,
}

// fillTheRest writes those rows as a migration does, which the program then enters in the shop's journal.
func fillTheRest(t *testing.T, s *store.Store) {
	t.Helper()
	err := pgx.BeginFunc(t.Context(), s.Pool(), func(tx pgx.Tx) error {
		for _, sql := range theRest {
			if _, err := tx.Exec(t.Context(), sql); err != nil {
				return fmt.Errorf("%s: %w", sql, err)
			}
		}
		_, err := tx.Exec(t.Context(), `INSERT INTO record_unentered (lines) VALUES (current_setting('ledgerwheel.written'))`)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	if err := s.Migrate(t.Context()); err != nil {
		t.Fatal(err)
	}
	for _, table := range store.EvidenceTables() {
		var n int
		if err := s.Pool().QueryRow(t.Context(), `SELECT count(*) FROM `+table).Scan(&n); err != nil {
			t.Fatal(err)
		}
		if n == 0 {
			t.Errorf("no row of %s can be tampered with: give one", table)
		}
	}
}

// after does an act, checks the record and undoes the act. It returns what was found.
func (t *tampering) after(with store.RecordCheck, act func(context.Context, pgx.Tx) error) []proof.Finding {
	t.Helper()
	t.acts++
	tx, err := t.store.Pool().Begin(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	defer tx.Rollback(context.Background())
	// Whoever has the owner's password of the database can switch off what guards it.
	if _, err := tx.Exec(t.Context(), `SET LOCAL session_replication_role = replica`); err != nil {
		t.Fatal(err)
	}
	if err := act(t.Context(), tx); err != nil {
		t.Fatalf("act: %v", err)
	}
	var found []proof.Finding
	if _, err := store.CheckRecordWithin(t.Context(), tx, with, func(f proof.Finding) { found = append(found, f) }); err != nil {
		found = append(found, proof.Finding{Kind: "error", Sentence: err.Error()})
	}
	return found
}

// column is one column of a table.
type column struct {
	name, kind string
	key        bool
}

func (t *tampering) columns(table string) (list []column) {
	rows, _ := t.store.Pool().Query(t.Context(), `SELECT a.attname, format_type(a.atttypid, a.atttypmod), coalesce(a.attnum = ANY(i.indkey), false)
		FROM pg_attribute a LEFT JOIN pg_index i ON i.indrelid = a.attrelid AND i.indisprimary
		WHERE a.attrelid = $1::regclass AND a.attnum > 0 AND NOT a.attisdropped AND a.attgenerated = '' ORDER BY a.attnum`, table)
	list, err := pgx.CollectRows(rows, func(row pgx.CollectableRow) (c column, err error) {
		return c, row.Scan(&c.name, &c.kind, &c.key)
	})
	if err != nil {
		t.Fatal(err)
	}
	return list
}

// other is an SQL expression for another value than the column has.
func (c column) other() string {
	q := pgx.Identifier{c.name}.Sanitize()
	switch {
	case strings.HasSuffix(c.kind, "[]"):
		return "array_append(" + q + ", NULL)"
	case strings.HasPrefix(c.kind, "timestamp"):
		return "coalesce(" + q + " + interval '1 second', now())"
	}
	switch c.kind {
	case "text":
		return "coalesce(" + q + ", '') || 'x'"
	case "boolean":
		return "NOT coalesce(" + q + ", false)"
	case "date":
		return "coalesce(" + q + " + 1, '2026-01-01')"
	case "bytea":
		return "CASE WHEN coalesce(length(" + q + "), 0) = 0 THEN '\\x01'::bytea ELSE set_byte(" + q + ", 0, get_byte(" + q + ", 0) # 1) END"
	case "jsonb":
		return "'{\"x\": 1}'::jsonb"
	}
	if c.key {
		return q + " + 20000" // not another row's
	}
	return "coalesce(" + q + ", 0) + 1" // numbers
}

// free takes away the table's own rules about its rows.
func free(ctx context.Context, tx pgx.Tx, table string) error {
	rows, _ := tx.Query(ctx, `SELECT format('ALTER TABLE %s DROP CONSTRAINT %I', conrelid::regclass, conname) FROM pg_constraint
		WHERE conrelid = $1::regclass AND contype IN ('c', 'u', 'x')
		UNION ALL SELECT format('DROP INDEX %s', indexrelid::regclass) FROM pg_index WHERE indrelid = $1::regclass AND indisunique AND NOT indisprimary
			AND NOT EXISTS (SELECT FROM pg_constraint WHERE conindid = indexrelid)
		UNION ALL SELECT format('ALTER TABLE %s ALTER %I DROP IDENTITY', attrelid::regclass, attname) FROM pg_attribute
			WHERE attrelid = $1::regclass AND attidentity <> ''`, table)
	commands, err := pgx.CollectRows(rows, pgx.RowTo[string])
	if err != nil {
		return err
	}
	for _, command := range commands {
		if _, err := tx.Exec(ctx, command+pick(strings.Contains(command, "CONSTRAINT"), " CASCADE", "")); err != nil {
			return fmt.Errorf("%s: %w", command, err)
		}
	}
	return nil
}

func pick(yes bool, a, b string) string {
	if yes {
		return a
	}
	return b
}

func keysOf(columns []column) string {
	var keys []string
	for _, c := range columns {
		if c.key {
			keys = append(keys, pgx.Identifier{c.name}.Sanitize())
		}
	}
	return strings.Join(keys, ", ")
}

// unsaid are columns of evidence that the digests leave out, each for a reason that stands in store/evidence.go.
var unsaid = map[string][]string{
	"docket": {"version", "head_hash"}, "photo": {"cleared_at"}, "parcel_photo": {"cleared_at"}, "signing_key": {"seed"},
}

// TestTamperingIsFound changes every column of every table of evidence, deletes a row and adds one, and holds the record
// check to finding each. The acts are made from the schema: a new table without proof fails.
func TestTamperingIsFound(t *testing.T) {
	t.Parallel()
	k := newTampering(t)
	if untouched := k.after(k.check, func(context.Context, pgx.Tx) error { return nil }); len(untouched) > 1 ||
		!strings.HasPrefix(untouched[0].Sentence, "The shop, entry 1 of its journal") {
		t.Fatalf("untouched: %d found, such as %v", len(untouched), untouched[0])
	} else {
		k.before = untouched[0].Sentence
	}
	began := time.Now()
	for _, table := range store.EvidenceTables() {
		columns := k.columns(table)
		k.everyColumn(table, columns)
		k.seen(table, "deleting", func(ctx context.Context, tx pgx.Tx) error {
			_, err := tx.Exec(ctx, fmt.Sprintf(`DELETE FROM %s WHERE ctid = (SELECT ctid FROM %[1]s LIMIT 1)`, table))
			return err
		})
		k.seen(table, "adding", func(ctx context.Context, tx pgx.Tx) error {
			if err := free(ctx, tx, table); err != nil {
				return err
			}
			var sets []string
			for _, c := range columns {
				if c.key {
					sets = append(sets, fmt.Sprintf("%s = %s", pgx.Identifier{c.name}.Sanitize(), c.other()))
				}
			}
			if _, err := tx.Exec(ctx, fmt.Sprintf(`CREATE TEMP TABLE copied ON COMMIT DROP AS SELECT * FROM %s LIMIT 1`, table)); err != nil {
				return err
			}
			if _, err := tx.Exec(ctx, `UPDATE copied SET `+strings.Join(sets[:1], ", ")); err != nil {
				return err
			}
			var names []string
			for _, c := range columns {
				names = append(names, pgx.Identifier{c.name}.Sanitize())
			}
			list := strings.Join(names, ", ")
			_, err := tx.Exec(ctx, fmt.Sprintf(`INSERT INTO %s (%s) SELECT %s FROM copied`, table, list, list))
			return err
		})
	}
	k.atTheJournals(t)
	t.Logf("%d acts, at %d tables of evidence in %s", k.acts, len(store.EvidenceTables()), time.Since(began).Round(time.Second))
}

// without leaves out what is found in the untouched record.
func (t *tampering) without(found []proof.Finding) []proof.Finding {
	return slices.DeleteFunc(found, func(f proof.Finding) bool { return f.Sentence == t.before })
}

// everyColumn changes every column: those of the key one by one, the others each in a row of its own, as many at a time as
// there are rows, and each such row must be named.
func (t *tampering) everyColumn(table string, columns []column) {
	t.Helper()
	var rows int
	if err := t.store.Pool().QueryRow(t.Context(), `SELECT count(*) FROM `+table).Scan(&rows); err != nil || rows == 0 {
		t.Fatalf("%s: %d rows, %v", table, rows, err)
	}
	var plain []column
	for _, c := range columns {
		switch {
		case slices.Contains(unsaid[table], c.name):
		case c.key:
			t.seen(table, "changing "+c.name, func(ctx context.Context, tx pgx.Tx) error { return change(ctx, tx, table, columns, c, 0) })
		default:
			plain = append(plain, c)
		}
	}
	for some := range slices.Chunk(plain, rows) {
		found := t.seen(table, "changing columns", func(ctx context.Context, tx pgx.Tx) error {
			for i, c := range some {
				if err := change(ctx, tx, table, columns, c, i); err != nil {
					return err
				}
			}
			return nil
		})
		named := map[string]bool{}
		for _, f := range found {
			if _, row, ok := strings.Cut(f.Sentence, "("+table+" "); ok {
				named[row] = true
			}
		}
		if len(named) < len(some) {
			t.Errorf("%s: %d rows of %d are named after each had one of %v changed:\n%s", table, len(named), len(some), some, sentences(found))
		}
	}
}

// change gives a column another value in the row at the given place.
func change(ctx context.Context, tx pgx.Tx, table string, columns []column, c column, place int) error {
	if err := free(ctx, tx, table); err != nil {
		return err
	}
	tag, err := tx.Exec(ctx, fmt.Sprintf(`UPDATE %s SET %s = %s WHERE ctid = (SELECT ctid FROM %[1]s ORDER BY %[4]s LIMIT 1 OFFSET %[5]d)`, table,
		pgx.Identifier{c.name}.Sanitize(), c.other(), keysOf(columns), place))
	if err == nil && tag.RowsAffected() != 1 {
		err = fmt.Errorf("%s has no row %d to change", table, place)
	}
	return err
}

// seen fails where nothing is found after an act, and returns what was.
func (t *tampering) seen(table, what string, act func(context.Context, pgx.Tx) error) []proof.Finding {
	t.Helper()
	found := t.without(t.after(t.check, act))
	if len(found) == 0 {
		t.Errorf("%s: %s went unseen", table, what)
	}
	for _, f := range found {
		if f.Sentence == "" {
			t.Errorf("%s: %s: %+v", table, what, f)
		}
	}
	return found
}
