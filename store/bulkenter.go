package store

import (
	"fmt"
	"slices"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/record"
)

// declare reads the digest of every row that was copied, as the record check will, and gives it to the docket that declares
// it: its own, or for customer, watch and visit the one that they came with.
func (b *Bulk) declare(ids []int64) error {
	if len(ids) == 0 {
		return nil
	}
	of := make(map[int64]*BulkDocket, len(b.dockets))
	came := map[record.Row]*BulkDocket{}
	for _, d := range b.dockets {
		of[d.ID] = d
		for _, row := range d.brought {
			came[row] = d
		}
	}
	for _, t := range bulkTables {
		r, proved := relationOf(t.name)
		if !proved || len(b.rows[t.name]) == 0 {
			continue
		}
		sql, args := r.rowsSQL(), []any{slices.Min(ids), slices.Max(ids)}
		if r.docket == "" {
			sql, args = sql+` WHERE evident.id = ANY ($1)`, []any{b.idsOf(t.name)}
		}
		rows, _ := b.tx.Query(b.ctx, sql, args...)
		var id int64
		var key string
		var digest []byte
		if _, err := pgx.ForEachRow(rows, []any{&id, &key, &digest}, func() error {
			l := record.Line{Relation: t.name, Key: key, Now: record.Digest(digest)}
			d := of[id]
			if r.docket == "" {
				d = came[l.Row()]
			}
			if d != nil { // dockets of somebody else may lie between
				d.lines = append(d.lines, l)
			}
			return nil
		}); err != nil {
			return fmt.Errorf("digests of %s: %w", t.name, err)
		}
	}
	last := b.dockets[len(b.dockets)-1]
	for year, g := range b.years {
		now, err := b.sequenceDigest(year)
		if err != nil {
			return err
		}
		if now != g.was {
			last.lines = append(last.lines, record.Line{Relation: "docket_sequence", Key: fmt.Sprint(year), Was: g.was, Now: now})
		}
	}
	return nil
}

// idsOf are the ids of the rows of a table that are to be copied.
func (b *Bulk) idsOf(table string) []int64 {
	var ids []int64
	for _, row := range b.rows[table] {
		ids = append(ids, row[0].(int64))
	}
	return ids
}

// enter writes the journals, in the log in the order of time, and moves the heads.
func (b *Bulk) enter() error {
	var all []docket.Entry
	var ids, versions []int64
	var heads [][]byte
	for _, d := range append(b.dockets, b.earlier...) {
		entries, err := d.journal()
		if err != nil {
			return err
		}
		all = append(all, entries...)
		head := entries[len(entries)-1].Head()
		ids, versions, heads = append(ids, d.ID), append(versions, head.Seq), append(heads, head.Hash[:])
	}
	if len(all) == 0 {
		_, err := b.tx.Exec(b.ctx, forgetWritten)
		return err
	}
	var rows, waiting [][]any
	for _, e := range all {
		rows = append(rows, b.store.entryRow(e))
	}
	// Stable, so that the entries of a docket keep their order where they share a moment.
	slices.SortStableFunc(all, func(x, y docket.Entry) int { return x.At.Compare(y.At) })
	for _, e := range all {
		waiting = append(waiting, []any{e.DocketID, e.Seq, e.Hash[:]})
	}
	if _, err := b.tx.CopyFrom(b.ctx, pgx.Identifier{"journal"}, entryRowColumns, pgx.CopyFromRows(rows)); err != nil {
		return err
	}
	if _, err := b.tx.CopyFrom(b.ctx, pgx.Identifier{"log_pending"}, []string{"docket_id", "seq", "hash"}, pgx.CopyFromRows(waiting)); err != nil {
		return err
	}
	var batch pgx.Batch
	batch.Queue(`UPDATE docket d SET head_hash = n.head FROM unnest($1::bigint[], $2::bytea[]) AS n(id, head) WHERE d.id = n.id`, ids, heads)
	batch.Queue(`UPDATE docket d SET version = n.version FROM unnest($1::bigint[], $2::bigint[]) AS n(id, version) WHERE d.id = n.id AND d.version <> n.version`,
		ids, versions)
	batch.Queue(forgetWritten)
	return b.tx.SendBatch(b.ctx, &batch).Close()
}
