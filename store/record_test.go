package store_test

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/record"
	"ledgerwheel/store"
	"ledgerwheel/store/storetest"
)

// TestOlderRecordIsBroughtIn: a record from before rows were declared is whole as it stood, by one entry that says so,
// and what is changed in it afterwards is found.
func TestOlderRecordIsBroughtIn(t *testing.T) {
	t.Parallel()
	at := time.Date(2026, 3, 1, 9, 0, 0, 0, time.UTC)
	statements := []string{oldDocketSQL, `INSERT INTO docket_sequence (year, last) VALUES (26, 2)`,
		`INSERT INTO finding (docket_id, component, fault, severity, by_id, at) SELECT id, 'train', 'dirty', 'require', received_by, received_at FROM docket`}
	for id := int64(1); id <= 2; id++ {
		e := docket.Entry{DocketID: id, Seq: 1, At: at, By: docket.Author{Kind: docket.BySystem}, Kind: docket.Received, Summary: "Taken in."}
		hash := docket.Chain(docket.Hash{}, e) // as entries were hashed that declare no rows
		statements = append(statements, fmt.Sprintf(`INSERT INTO journal (docket_id, seq, at, by_kind, by_name, kind, summary, prev_hash, hash)
				VALUES (%d, 1, '%s', 'system', '', 'received', 'Taken in.', decode(repeat('00', 32), 'hex'), decode('%s', 'hex'))`, id, at.Format(time.RFC3339), hash),
			fmt.Sprintf(`UPDATE docket SET version = 1, head_hash = decode('%s', 'hex') WHERE id = %d`, hash, id))
	}
	s, conn := migratedOver(t, 219, statements...)
	if c := storetest.Whole(t, s); c.Dockets != 2 || c.Entries != 3 || c.Waiting != 3 {
		t.Errorf("looked at %+v", c)
	}
	entries, err := s.ShopJournal(t.Context(), 0)
	if err != nil || len(entries.Entries) != 1 || entries.Entries[0].Kind != docket.RecordBegun || !strings.Contains(string(entries.Entries[0].Facts), `"dockets brought in":2`) {
		t.Errorf("the shop's journal begins with %+v, %v", entries, err)
	}
	if err := s.Migrate(t.Context()); err != nil { // once is enough
		t.Fatal(err)
	}
	if again, err := s.ShopJournal(t.Context(), 0); err != nil || len(again.Entries) != 1 {
		t.Errorf("%d entries after another start, %v", len(again.Entries), err)
	}
	for _, act := range []struct{ sql, says string }{
		{`UPDATE finding SET note = 'x' WHERE docket_id = 1`, "the beginning of the record check"},
		{`DELETE FROM finding WHERE docket_id = 2`, "is missing"},
		{`UPDATE customer SET name = 'Eve'`, "a customer"},
		{`UPDATE record_base SET lines = '' WHERE docket_id = 2`, "record_base was changed"},
		{`INSERT INTO journal (docket_id, seq, at, by_kind, by_name, kind, summary, prev_hash, hash)
			SELECT 1, 2, now(), 'system', '', 'received', 'Again.', head_hash, sha256('x') FROM docket WHERE id = 1`, "entry 2"},
	} {
		found := foundAfter(t, s, conn, act.sql)
		if !strings.Contains(found, act.says) && !strings.Contains(strings.ToLower(found), act.says) {
			t.Errorf("%s: nothing of %q is said: %s", act.sql, act.says, found)
		}
	}
}

// foundAfter does what sql says in a transaction that is undone, and returns what a record check within it finds.
func foundAfter(t *testing.T, s *store.Store, conn *pgx.Conn, sql string) string {
	t.Helper()
	tx, err := conn.Begin(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	defer tx.Rollback(context.Background())
	if _, err := tx.Exec(t.Context(), "SET LOCAL session_replication_role = replica;"+sql); err != nil {
		t.Fatalf("%s: %v", sql, err)
	}
	var found strings.Builder
	if _, err := store.CheckRecordWithin(t.Context(), tx, store.RecordCheck{}, func(f record.Finding) { found.WriteString(f.Sentence + "\n") }); err != nil {
		t.Fatalf("%s: %v", sql, err)
	}
	return found.String()
}

// TestLogPassesOverNothing: several write while two take entries into the log, and each entry comes in once, those of a
// docket in their order.
func TestLogPassesOverNothing(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	ctx, stop := context.WithCancel(t.Context())
	var integrators, writers sync.WaitGroup
	for range 2 {
		integrators.Go(func() {
			for ctx.Err() == nil {
				if _, err := b.Integrate(t.Context()); err != nil {
					t.Error(err)
					return
				}
			}
		})
	}
	const each = 40
	for range 4 {
		writers.Go(func() {
			for range each {
				if _, err := b.AddFinding(t.Context(), b.by(b.watchmaker), brokenSpring); err != nil {
					t.Error(err)
				}
			}
		})
	}
	writers.Wait()
	stop()
	integrators.Wait()
	size, err := b.Integrate(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	c := storetest.Whole(t, b.Store)
	if c.LogSize != size || c.LogSize != c.Entries || c.Waiting != 0 || c.Entries < 4*each {
		t.Errorf("log of %d entries; %+v", size, c)
	}
	var unordered int
	err = b.Pool().QueryRow(t.Context(), `SELECT count(*) FROM log_leaf a JOIN log_leaf b USING (docket_id) WHERE a.seq < b.seq AND a.leaf > b.leaf`).Scan(&unordered)
	if err != nil || unordered > 0 {
		t.Errorf("%d pairs out of order, %v", unordered, err)
	}
}

// TestSealIsNotMadeOverAnother: a seal follows the one before it, is the same while nothing is added, and is refused over
// a log that no longer holds the one before.
func TestSealIsNotMadeOverAnother(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	seed := make([]byte, 32)
	at := time.Date(2026, 11, 30, 20, 0, 0, 0, time.UTC)
	first, err := b.Seal(t.Context(), seed, at, nil, false)
	if err != nil {
		t.Fatal(err)
	}
	if same, err := b.Seal(t.Context(), seed, at.Add(time.Hour), []record.Seal{first}, false); err != nil || !same.At.Equal(first.At) {
		t.Errorf("nothing was added, and another seal was made: %+v, %v", same, err)
	}
	if nightly, err := b.Seal(t.Context(), seed, at.Add(4*time.Hour), []record.Seal{first}, true); err != nil || nightly.Root != first.Root || nightly.At.Equal(first.At) {
		t.Errorf("nightly %+v, %v", nightly, err)
	}
	if _, err := b.AddFinding(t.Context(), b.by(b.watchmaker), brokenSpring); err != nil {
		t.Fatal(err)
	}
	other := make([]byte, 32)
	other[0] = 1 // the key was changed
	second, err := b.Seal(t.Context(), other, at.Add(5*time.Hour), []record.Seal{first}, false)
	if err != nil || second.Size <= first.Size {
		t.Fatalf("%+v, %v", second, err)
	}
	keys, err := b.SealKeys(t.Context())
	if err != nil || len(keys) != 2 {
		t.Errorf("%d keys, %v", len(keys), err)
	}
	check := store.RecordCheck{Seals: [][]byte{first.Text, second.Text}, SealKeys: keys}
	if c, err := b.CheckRecord(t.Context(), check, func(f record.Finding) { t.Error(f.Sentence) }); err != nil || c.Seals != 3 {
		t.Errorf("%+v, %v", c, err)
	}
	rewritten := first
	rewritten.Root[0] ^= 1
	if _, err := b.Seal(t.Context(), seed, at.Add(6*time.Hour), []record.Seal{rewritten}, true); !errors.Is(err, store.ErrRewritten) {
		t.Errorf("over a log that was rewritten: %v", err)
	}
	longer := first
	longer.Size = 1 << 40
	if _, err := b.Seal(t.Context(), seed, at.Add(6*time.Hour), []record.Seal{longer}, true); !errors.Is(err, store.ErrRewritten) {
		t.Errorf("over a log that was cut: %v", err)
	}
}

// TestUndeclaredWritesAreRefused: in tests a change that writes evidence without an entry fails, so that none can be
// forgotten.
func TestUndeclaredWritesAreRefused(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	err := b.InTx(t.Context(), func(tx pgx.Tx) error {
		_, err := tx.Exec(t.Context(), `UPDATE docket SET complaint = 'ticks' WHERE number = $1`, b.n.String())
		return err
	})
	if err == nil || !strings.Contains(err.Error(), "no entry of a journal declares") {
		t.Errorf("got %v", err)
	}
	err = b.InTx(t.Context(), func(tx pgx.Tx) error {
		_, err := tx.Exec(t.Context(), `UPDATE docket SET version = version WHERE number = $1`, b.n.String())
		return err
	})
	if err != nil {
		t.Errorf("what says nothing need not be declared: %v", err)
	}
}

// TestDigestsDoNotHangOnTheAddress: however the database's address would have values written, what is declared is what the
// record check works out.
func TestDigestsDoNotHangOnTheAddress(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	address := b.Pool().Config().ConnString()
	s, err := store.Open(t.Context(), address+"&timezone=Asia%2FTokyo&bytea_output=escape&extra_float_digits=0")
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	if _, err := s.AddFinding(t.Context(), b.by(b.watchmaker), brokenSpring); err != nil {
		t.Fatal(err)
	}
	storetest.Whole(t, b.Store)
}
