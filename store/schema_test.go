package store_test

import (
	"strings"
	"testing"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/store"
	"ledgerwheel/store/storetest"
)

// TestEveryTableIsEvidenceOrExempt: a new table is proved by its trigger or is named as needing no proof, with the reason.
func TestEveryTableIsEvidenceOrExempt(t *testing.T) {
	t.Parallel()
	s := storetest.New(t)
	rows, _ := s.Pool().Query(t.Context(), `SELECT c.relname,
			coalesce((SELECT string_agg(a.attname, ',' ORDER BY array_position(i.indkey::int2[], a.attnum)) FROM pg_index i JOIN pg_attribute a
				ON a.attrelid = c.oid AND a.attnum = ANY(i.indkey) WHERE i.indrelid = c.oid AND i.indisprimary), ''),
			coalesce((SELECT encode(t.tgargs, 'escape') FROM pg_trigger t WHERE t.tgrelid = c.oid AND t.tgname = 'record_written'), 'none')
		FROM pg_class c WHERE c.relnamespace = 'public'::regnamespace AND c.relkind IN ('r', 'p') ORDER BY c.relname`)
	tables, err := pgx.CollectRows(rows, pgx.RowToStructByPos[struct{ Name, Key, Trigger string }])
	if err != nil {
		t.Fatal(err)
	}
	proved := store.Proved()
	for _, table := range tables {
		want, ok := proved[table.Name]
		switch {
		case !ok && table.Trigger == "none":
			t.Errorf("table %s is neither evidence nor exempt: give it a trigger record_written and a row in evidence, or say in exempt why not", table.Name)
		case !ok, want == "" && table.Trigger != "none":
			t.Errorf("table %s has a trigger but no row in evidence", table.Name)
		case want == "":
		case table.Trigger != want:
			t.Errorf("trigger of %s has the arguments %q, want %q", table.Name, table.Trigger, want)
		case !strings.HasPrefix(want, table.Key+`\000`):
			t.Errorf("%s is declared by %q; its primary key is %s", table.Name, want, table.Key)
		}
		delete(proved, table.Name)
	}
	for name := range proved {
		t.Errorf("there is no table %s", name)
	}
	// The docket's own trigger looks at named columns, so that a new one has to be named.
	var unnamed []string
	err = s.Pool().QueryRow(t.Context(), `SELECT coalesce(array_agg(a.attname::text), '{}') FROM pg_attribute a
		WHERE a.attrelid = 'docket'::regclass AND a.attnum > 0 AND NOT a.attisdropped AND a.attgenerated = ''
		AND a.attname NOT IN ('version', 'head_hash') AND NOT a.attnum = ANY ((SELECT tgattr::int2[] FROM pg_trigger
			WHERE tgrelid = 'docket'::regclass AND tgname = 'record_written_update')::int2[])`).Scan(&unnamed)
	if err != nil || len(unnamed) > 0 {
		t.Errorf("columns of docket that its trigger does not look at: %v (%v)", unnamed, err)
	}
}
