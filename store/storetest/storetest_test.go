package storetest_test

import (
	"fmt"
	"sync"
	"testing"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/store/storetest"
)

func TestMain(m *testing.M) { storetest.Main(m) }

// TestEachTestHasItsOwnDatabase makes many at once; what one writes no other sees.
func TestEachTestHasItsOwnDatabase(t *testing.T) {
	t.Parallel()
	var mu sync.Mutex
	seen := map[string]bool{}
	for i := range 12 {
		t.Run(fmt.Sprint(i), func(t *testing.T) {
			t.Parallel()
			h := storetest.NewHandle(t)
			var database, table string
			if err := h.Store.Pool().QueryRow(t.Context(),
				"SELECT current_database(), to_regclass('shop')::text").Scan(&database, &table); err != nil {
				t.Fatal(err)
			}
			if table != "shop" {
				t.Errorf("table %q, want the migrated table shop", table)
			}
			mu.Lock()
			defer mu.Unlock()
			if seen[database] {
				t.Errorf("database %s was given out twice", database)
			}
			seen[database] = true
			if _, err := h.Store.Pool().Exec(t.Context(), "CREATE TABLE mine ()"); err != nil {
				t.Errorf("another test's table is here: %v", err)
			}
		})
	}
}

func TestDatabaseIsDroppedAtTheEnd(t *testing.T) {
	t.Parallel()
	var address string
	t.Run("a test", func(t *testing.T) { address = storetest.NewHandle(t).URL })
	if conn, err := pgx.Connect(t.Context(), address); err == nil {
		conn.Close(t.Context())
		t.Error("the database outlives its test")
	}
}

func TestEmptyHoldsNoTables(t *testing.T) {
	t.Parallel()
	conn, err := pgx.Connect(t.Context(), storetest.Empty(t))
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close(t.Context())
	var n int
	if err := conn.QueryRow(t.Context(), "SELECT count(*) FROM pg_tables WHERE schemaname = 'public'").Scan(&n); err != nil || n != 0 {
		t.Errorf("%d tables (%v), want none", n, err)
	}
}
