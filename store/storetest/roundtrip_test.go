package storetest_test

import (
	"context"
	"testing"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/store"
	"ledgerwheel/store/storetest"
)

func TestCountRoundTrips(t *testing.T) {
	t.Parallel()
	db := storetest.New(t).Pool()
	for _, tt := range []struct {
		name string
		do   func(context.Context) error
		want int
	}{
		{"a query", func(ctx context.Context) error {
			var n int
			return db.QueryRow(ctx, "SELECT 1").Scan(&n)
		}, 1},
		{"a command", func(ctx context.Context) error {
			_, err := db.Exec(ctx, "CREATE TABLE counted (n int)")
			return err
		}, 1},
		{"a batch of three", func(ctx context.Context) error {
			b := &pgx.Batch{}
			for range 3 {
				b.Queue("INSERT INTO counted VALUES ($1)", 1)
			}
			return db.SendBatch(ctx, b).Close()
		}, 1},
		{"a copy", func(ctx context.Context) error {
			_, err := db.CopyFrom(ctx, pgx.Identifier{"counted"}, []string{"n"}, pgx.CopyFromRows([][]any{{1}, {2}}))
			return err
		}, 1},
		{"a transaction: begin, two commands, commit", func(ctx context.Context) error {
			return pgx.BeginFunc(ctx, db, func(tx pgx.Tx) error {
				for range 2 {
					if _, err := tx.Exec(ctx, "UPDATE counted SET n = n + 1"); err != nil {
						return err
					}
				}
				return nil
			})
		}, 4},
		{"nothing", func(context.Context) error { return nil }, 0},
	} {
		ctx, counter := storetest.CountRoundTrips(t.Context())
		if err := tt.do(ctx); err != nil {
			t.Fatalf("%s: %v", tt.name, err)
		}
		if got := counter.Trips(); got != tt.want {
			t.Errorf("%s: %d round trips, want %d", tt.name, got, tt.want)
		}
		// Another context's queries are not this one's.
		if err := db.Ping(t.Context()); err != nil || counter.Trips() != tt.want {
			t.Errorf("%s: a ping from elsewhere was counted (%v)", tt.name, err)
		}
	}
}

func TestPreparesAreCountedApart(t *testing.T) {
	t.Parallel()
	db := storetest.New(t, store.WithMaxConns(1)).Pool()
	ctx, counter := storetest.CountRoundTrips(t.Context())
	for range 3 {
		var n int
		if err := db.QueryRow(ctx, "SELECT $1::int", 1).Scan(&n); err != nil {
			t.Fatal(err)
		}
	}
	if counter.Trips() != 3 || counter.Prepares() != 1 {
		t.Errorf("%d round trips and %d prepares, want 3 and 1", counter.Trips(), counter.Prepares())
	}
}
