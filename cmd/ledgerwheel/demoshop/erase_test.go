package demoshop

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain/customer"
	"ledgerwheel/store"
	"ledgerwheel/store/storetest"
)

// TestErasureLeavesNoWord writes a person's name, number, mail and street into every text of their dockets in which people
// write freely, erases them, and looks for what is left in every column of every table that holds text. Made from the
// schema, so that a new column is looked at too.
func TestErasureLeavesNoWord(t *testing.T) {
	t.Parallel()
	s := storetest.New(t)
	if err := Fill(t.Context(), s, openUploads(t), testNow); err != nil {
		t.Fatal(err)
	}
	id := erasableCustomer(t, s)
	who := customer.Customer{Name: "Ottoline Quenneborough", Phone: "01632 960888", Email: "ottoline@quenne.example", Address: "41 Quennelstair\nSaltby"}.Tidied("GB")
	kept, version, err := s.Customer(t.Context(), id)
	if err != nil {
		t.Fatal(err)
	}
	who.ID, who.Notes = kept.ID, "Ottoline asks for Mondays"
	if err := s.SaveCustomer(t.Context(), store.Actor{StaffID: 1, Name: "Owner"}, testNow, who, version); err != nil {
		t.Fatal(err)
	}
	written := sow(t, s, id, "; Quenneborough (Ottoline), +44 1632 960-888, OTTOLINE@quenne.example, 41 Quennelstair")
	if _, err := s.Pool().Exec(t.Context(), `UPDATE shop SET invoice_years = 1`); err != nil {
		t.Fatal(err)
	}
	later := testNow.AddDate(9, 0, 0)
	// Done again after a restore, nothing stands against it.
	if n, err := s.EraseAgain(t.Context(), []store.ErasedID{{ID: id, At: later}}, later.Truncate(24*time.Hour), later); err != nil || n != 1 {
		t.Fatalf("%d erased, %v", n, err)
	}
	looked, sealed := 0, 0
	for _, c := range textColumns(t, s) {
		var n int
		sql := fmt.Sprintf(`SELECT count(*) FROM %[1]s t WHERE %[2]s ~* 'ottoline|quenneborough|quenne\.example|1632[^0-9]*960[^0-9]*888|quennelstair|%[3]s'`, c.Table,
			asText(c.Column, c.Type), "888069")
		if err := s.Pool().QueryRow(t.Context(), sql).Scan(&n); err != nil {
			t.Fatalf("%s: %v", sql, err)
		}
		looked++
		switch {
		case n == 0:
		case strings.HasPrefix(store.TextsKnown(c.Table, c.Column), "sealed"):
			sealed += n
		default:
			t.Errorf("%s.%s holds words of the person in %d rows: it is %s", c.Table, c.Column, n, store.TextsKnown(c.Table, c.Column))
		}
	}
	if written < 20 {
		t.Errorf("written into %d columns: this tests little", written)
	}
	t.Logf("words were written into %d columns of a docket's tables; %d columns were looked at; sealed entries hold them in %d", written, looked, sealed)
}

type textColumn struct{ Table, Column, Type string }

func textColumns(t *testing.T, s *store.Store) []textColumn {
	t.Helper()
	rows, _ := s.Pool().Query(t.Context(), `SELECT c.table_name::text, c.column_name::text, c.udt_name::text FROM information_schema.columns c
		JOIN pg_class k ON k.relname = c.table_name AND k.relkind = 'r' AND k.relnamespace = 'public'::regnamespace
		WHERE c.table_schema = 'public' AND c.udt_name IN ('text', '_text', 'varchar', 'jsonb', 'json', 'bytea') ORDER BY 1, 2`)
	list, err := pgx.CollectRows(rows, pgx.RowToStructByPos[textColumn])
	if err != nil {
		t.Fatal(err)
	}
	return list
}

// asText reads a column as text; bytes by the letters that they spell.
func asText(column, kind string) string {
	if kind == "bytea" {
		return fmt.Sprintf("encode(t.%s, 'escape')", column)
	}
	return fmt.Sprintf("t.%s::text", column)
}

// sow writes words behind what stands in each free text of the customer's dockets, and says into how many columns.
func sow(t *testing.T, s *store.Store, id int64, words string) int {
	t.Helper()
	n := 0
	err := pgx.BeginFunc(t.Context(), s.Pool(), func(tx pgx.Tx) error {
		if _, err := tx.Exec(t.Context(), `SET LOCAL session_replication_role = replica`); err != nil {
			return err
		}
		for _, c := range textColumns(t, s) {
			where := store.RowsOfDockets(c.Table)
			if where == "" || store.TextsKnown(c.Table, c.Column) != "replaced" || c.Type != "text" {
				continue
			}
			// Where a text must be empty while something else is, only what says something is written behind.
			var changed int64
			for _, also := range []string{"", " AND " + c.Column + " <> ''"} {
				err := pgx.BeginFunc(t.Context(), tx, func(tx pgx.Tx) error {
					tag, err := tx.Exec(t.Context(), fmt.Sprintf(`UPDATE %[1]s t SET %[2]s = %[2]s || $2 WHERE (%[3]s)%[4]s`, c.Table, c.Column, where, also), id, words)
					changed = tag.RowsAffected()
					return err
				})
				if err == nil {
					break
				}
				if also != "" {
					t.Errorf("%s.%s is said to be written freely: %v", c.Table, c.Column, err)
				}
			}
			if changed > 0 {
				n++
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return n
}

// erasableCustomer is the customer of the demo of whom most is in the record.
func erasableCustomer(t *testing.T, s *store.Store) (id int64) {
	t.Helper()
	err := s.Pool().QueryRow(t.Context(), `SELECT customer_id FROM docket GROUP BY customer_id ORDER BY sum(version) DESC LIMIT 1`).Scan(&id)
	if err != nil {
		t.Fatal(err)
	}
	return id
}
