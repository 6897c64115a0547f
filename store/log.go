package store

import (
	"context"
	"errors"
	"fmt"

	"github.com/jackc/pgx/v5"
	"golang.org/x/mod/sumdb/tlog"

	"ledgerwheel/domain/record"
)

// logBatch is how many entries are taken into the log at a time.
const logBatch = 10_000

// logLock is the advisory lock of whoever takes entries into the log; any number that nothing else uses.
const logLock = 0x6c6f67

// Integrate takes into the log the entries that wait for it, in the order in which they were written, and returns the
// log's size. Entries wait in a table of their own, written with them: an order by number or time would pass over an
// entry whose transaction ends late. Of several at once one does it and the others wait.
func (s *Store) Integrate(ctx context.Context) (size int64, err error) {
	for {
		var taken int
		err := pgx.BeginFunc(ctx, s.db, func(tx pgx.Tx) error {
			if _, err := tx.Exec(ctx, `SELECT pg_advisory_xact_lock($1)`, logLock); err != nil {
				return err
			}
			if size, err = logSize(ctx, tx); err != nil {
				return err
			}
			taken, err = integrate(ctx, tx, size)
			size += int64(taken)
			return err
		})
		if err != nil {
			return 0, fmt.Errorf("log: %w", Translate(err))
		}
		if taken < logBatch {
			return size, nil
		}
	}
}

func logSize(ctx context.Context, db querier) (size int64, err error) {
	err = db.QueryRow(ctx, `SELECT coalesce(max(leaf) + 1, 0) FROM log_leaf`).Scan(&size)
	return size, err
}

func integrate(ctx context.Context, tx pgx.Tx, size int64) (int, error) {
	rows, _ := tx.Query(ctx, `WITH taken AS (DELETE FROM log_pending WHERE id IN (SELECT id FROM log_pending ORDER BY id LIMIT $1)
		RETURNING id, docket_id, seq, hash) SELECT docket_id, seq, hash FROM taken ORDER BY id`, logBatch)
	leaves, err := pgx.CollectRows(rows, scanLeaf)
	if err != nil || len(leaves) == 0 {
		return 0, err
	}
	added := addedHashes{reader: logReader{ctx, tx}, fresh: map[int64]tlog.Hash{}}
	var leafRows, hashRows [][]any
	for i, leaf := range leaves {
		n := size + int64(i)
		leafRows = append(leafRows, []any{n, leaf.DocketID, leaf.Seq, leaf.Hash[:]})
		hashes, err := tlog.StoredHashesForRecordHash(n, leaf.RecordHash(), added)
		if err != nil {
			return 0, err
		}
		first := tlog.StoredHashIndex(0, n)
		for k, h := range hashes {
			added.fresh[first+int64(k)] = h
			if k > 0 { // the leaf's own is worked out from the leaf
				hashRows = append(hashRows, []any{first + int64(k), append([]byte(nil), h[:]...)})
			}
		}
	}
	if _, err := tx.CopyFrom(ctx, pgx.Identifier{"log_leaf"}, []string{"leaf", "docket_id", "seq", "hash"},
		pgx.CopyFromRows(leafRows)); err != nil {
		return 0, err
	}
	_, err = tx.CopyFrom(ctx, pgx.Identifier{"log_hash"}, []string{"idx", "hash"}, pgx.CopyFromRows(hashRows))
	return len(leaves), err
}

func scanLeaf(row pgx.CollectableRow) (l record.Leaf, err error) {
	var hash []byte
	err = row.Scan(&l.DocketID, &l.Seq, &hash)
	copy(l.Hash[:], hash)
	return l, err
}

// addedHashes reads the hashes of a batch before they are written.
type addedHashes struct {
	reader logReader
	fresh  map[int64]tlog.Hash
}

func (a addedHashes) ReadHashes(indexes []int64) ([]tlog.Hash, error) {
	out := make([]tlog.Hash, len(indexes))
	var missing []int64
	for _, index := range indexes {
		if _, ok := a.fresh[index]; !ok {
			missing = append(missing, index)
		}
	}
	if len(missing) > 0 {
		read, err := a.reader.ReadHashes(missing)
		if err != nil {
			return nil, err
		}
		for i, index := range missing {
			a.fresh[index] = read[i]
		}
	}
	for i, index := range indexes {
		out[i] = a.fresh[index]
	}
	return out, nil
}

// logReader reads the log's stored hashes: those of leaves from the leaves.
type logReader struct {
	ctx context.Context
	db  querier
}

// ReadHashes is tlog.HashReader's.
func (r logReader) ReadHashes(indexes []int64) ([]tlog.Hash, error) {
	found := make(map[int64]tlog.Hash, len(indexes))
	var leaves, above []int64
	for _, index := range indexes {
		if level, n := tlog.SplitStoredHashIndex(index); level == 0 {
			leaves = append(leaves, n)
		} else {
			above = append(above, index)
		}
	}
	if len(leaves) > 0 {
		rows, _ := r.db.Query(r.ctx, `SELECT docket_id, seq, hash, leaf FROM log_leaf WHERE leaf = ANY($1)`, leaves)
		var l record.Leaf
		var n int64
		var hash []byte
		if _, err := pgx.ForEachRow(rows, []any{&l.DocketID, &l.Seq, &hash, &n}, func() error {
			copy(l.Hash[:], hash)
			found[tlog.StoredHashIndex(0, n)] = l.RecordHash()
			return nil
		}); err != nil {
			return nil, err
		}
	}
	if len(above) > 0 {
		rows, _ := r.db.Query(r.ctx, `SELECT idx, hash FROM log_hash WHERE idx = ANY($1)`, above)
		var index int64
		var hash []byte
		if _, err := pgx.ForEachRow(rows, []any{&index, &hash}, func() error {
			found[index] = tlog.Hash(hash)
			return nil
		}); err != nil {
			return nil, err
		}
	}
	out := make([]tlog.Hash, len(indexes))
	for i, index := range indexes {
		h, ok := found[index]
		if !ok {
			return nil, errLogHole
		}
		out[i] = h
	}
	return out, nil
}

// errLogHole reports a log from which something was taken.
var errLogHole = errors.New("the log has a hole: run the record check")
