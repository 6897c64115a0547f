package store

import (
	"context"
	"fmt"
	"maps"
	"slices"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/record"
)

// docketRange checks the dockets with the ids first to last.
type docketRange struct {
	*recordChecker
	first, last int64
	heads       map[int64]journalHead
	pinned      map[int64]docket.Head // ends of journals when the record was brought in
	entries     map[int64][]checkedEntry
	rows        map[record.Row]*looseRow
}

// checkedEntry is an entry with what else is known of it.
type checkedEntry struct {
	docket.Entry
	mark    []byte
	leaf    *int64 // its place in the log
	logged  []byte // its hash there
	pending *int64 // its place among those that wait for the log
}

const checkedColumns = `j.seq, j.at, j.by_kind, j.by_id, j.by_name, j.kind, j.summary, j.why, j.facts, j.rows, j.prev_hash, j.hash,
	j.mark, l.leaf, l.hash, p.id`

func scanChecked(row pgx.CollectableRow) (e checkedEntry, err error) {
	e.Entry, err = scanEntry(row, &e.mark, &e.leaf, &e.logged, &e.pending)
	return e, err
}

// order is the entry's place in the log, or behind it.
func (e checkedEntry) order() int64 {
	switch {
	case e.leaf != nil:
		return *e.leaf
	case e.pending != nil:
		return waiting + *e.pending
	}
	return waiting * 2
}

func (r *docketRange) run(ctx context.Context) error {
	r.heads, r.pinned = map[int64]journalHead{}, map[int64]docket.Head{}
	r.entries, r.rows = map[int64][]checkedEntry{}, map[record.Row]*looseRow{}
	if err := r.read(ctx); err != nil {
		return err
	}
	ids := map[int64]bool{}
	for id := range r.heads {
		ids[id] = true
	}
	for id := range r.entries {
		ids[id] = true
	}
	r.checked.Dockets += int64(len(r.heads))
	for _, id := range slices.Sorted(maps.Keys(ids)) {
		r.journal(id)
	}
	for row, l := range r.rows {
		if fault, _ := l.trail.Check(l.is); fault == record.Whole {
			continue
		}
		loose := r.looseAt(row)
		loose.trail = append(loose.trail, l.trail...)
		if !l.is.Absent() {
			loose.is, loose.docketID = l.is, l.docketID
		}
	}
	return nil
}

// read reads all of the range in one round trip.
func (r *docketRange) read(ctx context.Context) error {
	var batch pgx.Batch
	batch.Queue(`SELECT id, year, seq, version, head_hash FROM docket WHERE id BETWEEN $1 AND $2`, r.first, r.last).Query(func(rows pgx.Rows) error {
		list, err := pgx.CollectRows(rows, scanJournalHead)
		for _, h := range list {
			r.heads[h.id] = h
		}
		return err
	})
	batch.Queue(`SELECT docket_id, lines FROM record_base WHERE docket_id BETWEEN $1 AND $2 ORDER BY docket_id`, r.first, r.last).Query(func(rows pgx.Rows) error {
		var id int64
		var lines string
		_, err := pgx.ForEachRow(rows, []any{&id, &lines}, func() error { return r.brought(id, lines) })
		return err
	})
	batch.Queue(`SELECT j.docket_id, `+checkedColumns+` FROM journal j
		LEFT JOIN log_leaf l ON l.docket_id = j.docket_id AND l.seq = j.seq
		LEFT JOIN log_pending p ON p.docket_id = j.docket_id AND p.seq = j.seq AND p.hash = j.hash
		WHERE j.docket_id BETWEEN $1 AND $2 ORDER BY j.docket_id, j.seq`, r.first, r.last).Query(func(rows pgx.Rows) error {
		list, err := pgx.CollectRows(rows, scanChecked)
		for _, e := range list {
			r.entries[e.DocketID] = append(r.entries[e.DocketID], e)
		}
		return err
	})
	batch.Queue(`SELECT l.docket_id, count(*), min(l.seq), coalesce(d.number, '') FROM log_leaf l LEFT JOIN docket d ON d.id = l.docket_id
		WHERE l.docket_id BETWEEN $1 AND $2 AND NOT EXISTS (SELECT FROM journal j WHERE j.docket_id = l.docket_id AND j.seq = l.seq)
		GROUP BY l.docket_id, d.number ORDER BY l.docket_id`, r.first, r.last).Query(func(rows pgx.Rows) error {
		var id, n, first int64
		var number string
		_, err := pgx.ForEachRow(rows, []any{&id, &n, &first, &number}, func() error {
			r.cutOff(id, n, first, number)
			return nil
		})
		return err
	})
	for _, rel := range evidence {
		if rel.docket == "" {
			continue
		}
		batch.Queue(rel.rowsSQL(), r.first, r.last).Query(func(rows pgx.Rows) error {
			return r.eachRow(rel, rows, func(row record.Row, docketID int64, is record.Digest) {
				l := r.rowAt(row)
				l.is, l.docketID = is, docketID
			})
		})
	}
	return r.tx.SendBatch(ctx, &batch).Close()
}

func (r *docketRange) rowAt(row record.Row) *looseRow {
	l := r.rows[row]
	if l == nil {
		l = &looseRow{}
		r.rows[row] = l
	}
	return l
}

// brought takes up the rows of a docket as they stood when the record was brought in.
func (r *docketRange) brought(id int64, lines string) error {
	r.base.Add(id, lines)
	return eachBased(lines, func(l record.Line) error {
		if l.Relation != headRelation {
			at := r.rowAt(l.Row())
			at.trail = append(at.trail, record.Step{Order: -1, DocketID: id, Was: l.Was, Now: l.Now})
			return nil
		}
		var seq int64
		if _, err := fmt.Sscan(l.Key, &seq); err != nil {
			return err
		}
		r.pinned[id] = docket.Head{Seq: seq, Hash: docket.Hash(l.Now)}
		return nil
	})
}

func eachBased(lines string, do func(record.Line) error) error {
	parsed, err := record.Parse(lines)
	if err != nil {
		return fmt.Errorf("what was brought in: %w", err)
	}
	for _, l := range parsed {
		if err := do(l); err != nil {
			return err
		}
	}
	return nil
}

// cutOff reports entries that the log has and the journal has not.
func (r *docketRange) cutOff(id, n, first int64, number string) {
	if number == "" {
		r.find(record.Finding{Kind: record.KindDocket, Sentence: fmt.Sprintf("A docket is missing (the database's number %d): the log has %d of its "+
			"entries. Look for it in a backup.", id, n)})
		return
	}
	r.find(record.Finding{Kind: record.KindEntry, Docket: number, Entry: first, Sentence: fmt.Sprintf("Docket %s: %d entries that the log has "+
		"are missing from its journal, from entry %d on. A backup from before has them.", number, n, first)})
}

// journal checks one docket's journal and takes up the rows that it declares.
func (r *docketRange) journal(id int64) {
	entries := r.entries[id]
	head, there := r.heads[id]
	name := "Docket " + head.number.String()
	switch {
	case !there:
		r.find(record.Finding{Kind: record.KindDocket, Sentence: fmt.Sprintf("A docket is missing (the database's number %d): "+
			"its journal is there, and begins with “%s”. Look for it in a backup.", id, entries[0].Summary)})
		name = fmt.Sprintf("The missing docket %d", id)
	case len(entries) == 0:
		r.find(record.Finding{Kind: record.KindEntry, Docket: head.number.String(), Sentence: name + " has no journal: it was emptied, or the docket was " +
			"added without the program."})
		return
	}
	number := ""
	if there {
		number = head.number.String()
		if pin, ok := r.pinned[id]; ok {
			r.holdPin(pin, entries, name, number)
		}
		r.chain(id, entries, head.head, name, number)
	}
	r.takeUp(entries, r.pinned[id].Seq, name, number, r.trailOf)
}

// trailOf is where the steps of a row are gathered: rows of dockets are settled with their range where they can be.
func (r *docketRange) trailOf(row record.Row) *looseRow {
	if rel, _ := relationOf(row.Relation); rel.docket == "" {
		return r.looseAt(row)
	}
	return r.rowAt(row)
}

// holdPin finds a journal that was written anew behind the end that it had when the record was brought in.
func (r *docketRange) holdPin(pin docket.Head, entries []checkedEntry, name, number string) {
	i := slices.IndexFunc(entries, func(e checkedEntry) bool { return e.Seq == pin.Seq })
	if i < 0 || entries[i].Hash != pin.Hash {
		r.find(record.Finding{Kind: record.KindEntry, Docket: number, Entry: pin.Seq, Sentence: fmt.Sprintf("%s: entry %d is not the one that "+
			"was brought into the record check.", name, pin.Seq)})
	}
}

func (k *recordChecker) chain(id int64, entries []checkedEntry, head docket.Head, name, number string) {
	plain := make([]docket.Entry, len(entries))
	for i, e := range entries {
		plain[i] = e.Entry
	}
	err := docket.VerifyHead(id, plain, head)
	if broken, ok := err.(*docket.BrokenError); ok {
		k.find(record.Finding{Kind: record.KindEntry, Docket: number, Entry: broken.Seq, Sentence: fmt.Sprintf("%s, entry %d of its journal: %s. "+
			"Nothing from there on can be relied on; a backup from before has the true ones.", name, broken.Seq, broken.What)})
	}
}

// takeUp holds entries against log and marks, and takes up the rows that they declare. Entries up to pinned are from
// before rows were declared.
func (k *recordChecker) takeUp(entries []checkedEntry, pinned int64, name, number string, trailOf func(record.Row) *looseRow) {
	for _, e := range entries {
		k.checked.Entries++
		wrong := func(kind, what string) {
			k.find(record.Finding{Kind: kind, Docket: number, Entry: e.Seq, Sentence: fmt.Sprintf("%s, entry %d of its journal (“%s”): %s.", name, e.Seq,
				e.Summary, what)})
		}
		switch {
		case e.leaf == nil && e.pending == nil:
			wrong(record.KindEntry, "the log does not have it: it was added without the program, or the log was cut")
		case e.leaf != nil && docket.Hash(e.logged) != e.Hash:
			wrong(record.KindEntry, "the log has another entry in its place")
		}
		if e.leaf == nil && e.pending != nil {
			k.checked.Waiting++
		}
		if !e.Declares {
			if e.Seq > pinned {
				wrong(record.KindEntry, "it declares no rows, though it is newer than the record check: it was not written by the program")
			}
			continue
		}
		k.marked(e, wrong)
		lines, err := record.Parse(string(e.Rows))
		if err != nil {
			wrong(record.KindEntry, err.Error())
			continue
		}
		for _, l := range lines {
			if _, known := relationOf(l.Relation); !known {
				wrong(record.KindUnknown, "it declares a row of "+l.Relation+", which this release does not know")
				continue
			}
			row := trailOf(l.Row())
			row.trail = append(row.trail, record.Step{Order: e.order(), DocketID: e.DocketID, Seq: e.Seq, Was: l.Was, Now: l.Now})
		}
	}
}

// marked holds an entry against the secrets known.
func (k *recordChecker) marked(e checkedEntry, wrong func(kind, what string)) {
	if len(k.Secrets) == 0 {
		return
	}
	switch k.Secrets.Check(e.Hash, e.mark) {
	case record.Forged, record.Unmarked:
		wrong(record.KindEntry, "it was not written by this shop's program, which would have marked it with its secret")
	case record.Foreign:
		k.checked.Foreign++
	}
}
