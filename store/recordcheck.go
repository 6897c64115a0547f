package store

import (
	"context"
	"fmt"
	"math"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/record"
)

// Files are the photographs and sounds that rows of evidence name by their sums.
type Files interface {
	// CheckPicture and CheckSound read a file whole; the error wraps domain.ErrNotFound where it is missing, else says
	// that it is altered.
	CheckPicture(sum [32]byte) error
	CheckSound(sum [32]byte) error
}

// RecordCheck says what the record is held against besides itself.
type RecordCheck struct {
	Files    Files          // nil: files are not looked at
	Secrets  record.Secrets // none: marks are not looked at
	Seals    [][]byte       // kept elsewhere, each a signed note
	SealKeys []string       // public keys kept elsewhere
	Progress func(done, total int64)
}

// Held says what there is besides the record itself.
func (c RecordCheck) Held() record.Held {
	return record.Held{Files: c.Files != nil, Secrets: len(c.Secrets) > 0, Seals: len(c.Seals) > 0}
}

// CheckRecord holds everything that is evidence against the journals, the journals against the log and the log against
// the seals, all as of one moment, and calls found for each thing that differs. It works beside a running program and
// writes nothing. The error is of what could not be checked; it wraps record.ErrUnknownKey for a seal of another shop's
// key. Memory grows with the rows that are the shop's (customers, watches), not with the dockets.
func (s *Store) CheckRecord(ctx context.Context, c RecordCheck, found func(record.Finding)) (record.Checked, error) {
	var checked record.Checked
	err := pgx.BeginTxFunc(ctx, s.db, pgx.TxOptions{IsoLevel: pgx.RepeatableRead, AccessMode: pgx.ReadOnly}, func(tx pgx.Tx) (err error) {
		checked, err = CheckRecordWithin(ctx, tx, c, found)
		return err
	})
	if err != nil {
		return checked, fmt.Errorf("record check: %w", Translate(err))
	}
	return checked, nil
}

// CheckRecordWithin is CheckRecord of what a transaction sees, and for the rest of the transaction changes how it reads.
func CheckRecordWithin(ctx context.Context, tx pgx.Tx, c RecordCheck, found func(record.Finding)) (record.Checked, error) {
	k := &recordChecker{RecordCheck: c, report: found, loose: map[record.Row]*looseRow{}}
	err := k.run(ctx, tx)
	return k.checked, err
}

// recordChecker is a record check under way.
type recordChecker struct {
	RecordCheck
	report  func(record.Finding)
	checked record.Checked
	tx      pgx.Tx
	base    record.BaseSum
	begun   Begun
	loose   map[record.Row]*looseRow
	sealed  []record.Seal    // in the order of their sizes
	fetched map[string]int64 // rows of each relation that were read
	last    int64            // the highest id of a docket that anything knows of
}

// looseRow is a row that could not be settled within a range of dockets.
type looseRow struct {
	trail    record.Trail
	is       record.Digest
	docketID int64
}

func (k *recordChecker) find(f record.Finding) {
	k.checked.Findings++
	k.report(f)
}

func (k *recordChecker) run(ctx context.Context, tx pgx.Tx) error {
	k.tx, k.base, k.fetched = tx, record.NewBaseSum(), map[string]int64{}
	// Names mean the database's own functions first, whatever else was made under them; and a check takes its time.
	if _, err := tx.Exec(ctx, `SELECT set_config('search_path', 'pg_catalog, public', true), set_config('statement_timeout', '0', true),
		set_config('idle_in_transaction_session_timeout', '0', true), set_config('timezone', 'UTC', true),
		set_config('bytea_output', 'hex', true), set_config('extra_float_digits', '1', true)`); err != nil {
		return err
	}
	for _, part := range []func(context.Context) error{
		k.guards, k.seals, k.shopJournal, k.dockets, k.numbers, k.shopRows, k.orphans, k.settle, k.log, k.files,
	} {
		if err := part(ctx); err != nil {
			return err
		}
	}
	return nil
}

// guards finds what was taken away of that by which the database itself keeps the record.
func (k *recordChecker) guards(ctx context.Context) error {
	rows, _ := k.tx.Query(ctx, `SELECT c.relname, c.relkind = 'r',
			coalesce(bool_or(t.tgname = 'record_written') AND bool_and(t.tgenabled IN ('O', 'A')) FILTER (WHERE t.tgname LIKE 'record\_written%')
				AND (c.relname <> 'docket' OR bool_or(t.tgname = 'record_written_update')), false),
			coalesce(bool_or(t.tgname LIKE '%\_no\_change' AND t.tgenabled IN ('O', 'A')), false)
		FROM pg_class c LEFT JOIN pg_trigger t ON t.tgrelid = c.oid
		WHERE c.relnamespace = 'public'::regnamespace AND c.relkind IN ('r', 'v', 'm', 'p', 'f') GROUP BY c.oid, c.relname, c.relkind`)
	type guarded struct{ table, declares, fixed bool }
	known := map[string]guarded{}
	var name string
	var g guarded
	if _, err := pgx.ForEachRow(rows, []any{&name, &g.table, &g.declares, &g.fixed}, func() error {
		known[name] = g
		return nil
	}); err != nil {
		return err
	}
	for _, r := range evidence {
		switch g, there := known[r.name]; {
		case !there || !g.table:
			return fmt.Errorf("the table %s is missing: this is no database of this program, or it was migrated by another release", r.name)
		case !g.declares:
			k.find(record.Finding{Kind: record.KindGuard, Sentence: fmt.Sprintf("The table %s no longer declares what is written "+
				"to it: its trigger record_written was taken away or switched off.", r.name)})
		}
	}
	for _, name := range []string{"journal", "shop_journal", "log_leaf"} {
		if !known[name].fixed {
			k.find(record.Finding{Kind: record.KindGuard, Sentence: fmt.Sprintf("The table %s can be changed: its trigger %s_no_change "+
				"was taken away or switched off.", name, name)})
		}
	}
	return nil
}

// docketsAtOnce is how many ids of dockets are read together.
const docketsAtOnce = 200

// dockets checks all dockets, a range of ids at a time.
func (k *recordChecker) dockets(ctx context.Context) error {
	err := k.tx.QueryRow(ctx, `SELECT greatest(0, (SELECT max(id) FROM docket), (SELECT max(docket_id) FROM journal),
		(SELECT max(docket_id) FROM log_leaf), (SELECT max(docket_id) FROM record_base))`).Scan(&k.last)
	if err != nil {
		return err
	}
	for first := int64(1); first <= k.last; first += docketsAtOnce {
		r := docketRange{first: first, last: min(first+docketsAtOnce-1, k.last), recordChecker: k}
		if err := r.run(ctx); err != nil {
			return err
		}
		if k.Progress != nil {
			k.Progress(r.last, k.last)
		}
	}
	return nil
}

// numbers finds dockets that are missing among the numbers given.
func (k *recordChecker) numbers(ctx context.Context) error {
	rows, _ := k.tx.Query(ctx, `SELECT q.year, n FROM docket_sequence q, generate_series(1, q.last) n
		WHERE NOT EXISTS (SELECT FROM docket d WHERE d.year = q.year AND d.seq = n) ORDER BY q.year, n`)
	var n docket.Number
	_, err := pgx.ForEachRow(rows, []any{&n.Year, &n.Seq}, func() error {
		k.find(record.Finding{Kind: record.KindDocket, Docket: n.String(), Sentence: fmt.Sprintf("Docket %s is missing: its number was given, "+
			"and nothing has it. Look for it in a backup.", n)})
		return nil
	})
	return err
}

// shopRows reads the rows that belong to no docket.
func (k *recordChecker) shopRows(ctx context.Context) error {
	for _, r := range evidence {
		if r.docket != "" {
			continue
		}
		rows, _ := k.tx.Query(ctx, r.rowsSQL())
		if err := k.eachRow(r, rows, func(row record.Row, docketID int64, is record.Digest) { k.looseAt(row).is = is }); err != nil {
			return err
		}
	}
	return nil
}

func (k *recordChecker) eachRow(r relation, rows pgx.Rows, do func(record.Row, int64, record.Digest)) error {
	var docketID int64
	var key string
	var digest []byte
	_, err := pgx.ForEachRow(rows, []any{&docketID, &key, &digest}, func() error {
		k.checked.Rows++
		k.fetched[r.name]++
		do(record.Row{Relation: r.name, Key: key}, docketID, record.Digest(digest))
		return nil
	})
	return err
}

func (k *recordChecker) looseAt(row record.Row) *looseRow {
	l := k.loose[row]
	if l == nil {
		l = &looseRow{}
		k.loose[row] = l
	}
	return l
}

// orphans finds rows that belong to no docket though they should.
func (k *recordChecker) orphans(ctx context.Context) error {
	for _, r := range evidence {
		var all int64
		if err := k.tx.QueryRow(ctx, `SELECT count(*) FROM `+r.name).Scan(&all); err != nil {
			return err
		}
		if n := all - k.fetched[r.name]; n > 0 {
			k.find(record.Finding{Kind: record.KindRow, Sentence: fmt.Sprintf("%d rows of %s belong to nothing: what they hung on "+
				"is gone.", n, r.name)})
		}
	}
	return nil
}

// waiting is the order of an entry that the log does not have yet: behind all that it has.
const waiting = math.MaxInt64 / 2
