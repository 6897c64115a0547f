package demoshop

import (
	"context"
	"strings"
	"testing"

	"github.com/jackc/pgx/v5"
	"golang.org/x/mod/sumdb/tlog"

	"ledgerwheel/domain/docket"
	proof "ledgerwheel/domain/record"
	"ledgerwheel/store"
)

// sqlActs are what somebody may do to journals, log and seals, and a word of what is then said.
var sqlActs = []struct{ name, sql, says string }{
	{"an entry's words changed", `UPDATE journal SET summary = summary || '!' WHERE docket_id = 3 AND seq = 4`, "entry 4"},
	{"an entry's facts changed", `UPDATE journal SET facts = '{}' WHERE docket_id = 3 AND seq = 4`, "entry 4"},
	{"an entry's time changed", `UPDATE journal SET at = at + interval '1 day' WHERE docket_id = 3 AND seq = 4`, "entry 4"},
	{"an entry's author changed", `UPDATE journal SET by_name = 'Nobody' WHERE docket_id = 3 AND seq = 4`, "entry 4"},
	{"an entry's rows changed", `UPDATE journal SET rows = '' WHERE docket_id = 3 AND seq = 6`, "entry 6"},
	{"an entry's mark taken", `UPDATE journal SET mark = NULL WHERE docket_id = 3 AND seq = 4`, "marked it with its secret"},
	{"an entry left out", `DELETE FROM journal WHERE docket_id = 3 AND seq = 4`, "entry 4"},
	{"two entries changed about", `UPDATE journal SET seq = CASE seq WHEN 3 THEN 4000 ELSE 3 END WHERE docket_id = 3 AND seq IN (3, 4)`, "entry 3"},
	{"the newest entry cut off", `DELETE FROM journal j USING docket d WHERE d.id = 3 AND j.docket_id = 3 AND j.seq = d.version`, "missing"},
	{"the newest entry cut off with its head", `WITH cut AS (DELETE FROM journal j USING docket d WHERE d.id = 3 AND j.docket_id = 3 AND j.seq = d.version)
		UPDATE docket d SET version = d.version - 1, head_hash = (SELECT hash FROM journal j WHERE j.docket_id = 3 AND j.seq = d.version - 1) WHERE id = 3`, "missing from its journal"},
	{"and from the log", `WITH cut AS (DELETE FROM journal j USING docket d WHERE d.id = 3 AND j.docket_id = 3 AND j.seq = d.version),
		leaf AS (DELETE FROM log_leaf l USING docket d WHERE d.id = 3 AND l.docket_id = 3 AND l.seq = d.version)
		UPDATE docket d SET version = d.version - 1, head_hash = (SELECT hash FROM journal j WHERE j.docket_id = 3 AND j.seq = d.version - 1) WHERE id = 3`, "hole"},
	{"a journal emptied", `DELETE FROM journal WHERE docket_id = 3`, "no journal"},
	{"the shop's journal emptied", `DELETE FROM shop_journal`, "emptied"},
	{"the shop's newest entry cut off with its head", `WITH cut AS (DELETE FROM shop_journal WHERE seq = (SELECT seq FROM shop_head))
		UPDATE shop_head h SET seq = h.seq - 1, hash = (SELECT hash FROM shop_journal j WHERE j.seq = h.seq - 1)`, "shop's journal"},
	{"a docket taken out", `DELETE FROM docket WHERE id = 3`, "is missing"},
	{"the log cut", `DELETE FROM log_leaf WHERE leaf >= (SELECT max(leaf) - 5 FROM log_leaf)`, "shorter"},
	{"a leaf changed", `UPDATE log_leaf SET hash = sha256('x') WHERE leaf = 17`, "no longer holds"},
	{"an inner hash changed", `UPDATE log_hash SET hash = sha256('x') WHERE idx = (SELECT min(idx) FROM log_hash)`, "inner hashes"},
	{"a seal altered", `UPDATE seal SET note = replace(note, 'time 2026', 'time 2025')`, "can't be relied on"},
	{"what was brought in added to", `INSERT INTO record_base VALUES (-1, E'customer 99 - ` + strings.Repeat("A", 43) + `\\n')`, ""},
	{"the trigger taken away", `DROP TRIGGER record_written ON payment`, "no longer declares"},
	{"the trigger switched off", `ALTER TABLE payment DISABLE TRIGGER record_written`, "no longer declares"},
	{"the journal's guard taken away", `DROP TRIGGER journal_no_change ON journal`, "can be changed"},
	{"a table made a view", `ALTER TABLE payment RENAME TO payment_true; CREATE VIEW payment AS SELECT * FROM payment_true`, ""},
	{"a number given back", `UPDATE docket_sequence SET last = last - 1`, "the numbers given"},
}

// deleteDocket takes a docket away with all that hangs on it, its journal and its part of the log.
func deleteDocket(ctx context.Context, tx pgx.Tx, id int64) error {
	rows, _ := tx.Query(ctx, `SELECT c.relname FROM pg_class c JOIN pg_attribute a ON a.attrelid = c.oid AND a.attname = 'docket_id'
		WHERE c.relnamespace = 'public'::regnamespace AND c.relkind = 'r'`)
	tables, err := pgx.CollectRows(rows, pgx.RowTo[string])
	if err != nil {
		return err
	}
	for _, sql := range []string{`DELETE FROM reading WHERE run_id IN (SELECT id FROM run WHERE docket_id = $1)`,
		`DELETE FROM estimate_line WHERE revision_id IN (SELECT id FROM estimate_revision WHERE docket_id = $1)`,
		`DELETE FROM trial_day WHERE trial_id IN (SELECT id FROM trial WHERE docket_id = $1)`} {
		if _, err := tx.Exec(ctx, sql, id); err != nil {
			return err
		}
	}
	for _, table := range tables {
		if _, err := tx.Exec(ctx, `DELETE FROM `+table+` WHERE docket_id = $1`, id); err != nil {
			return err
		}
	}
	_, err = tx.Exec(ctx, `DELETE FROM docket WHERE id = $1`, id)
	return err
}

// rewrite changes an entry of docket 3 and makes everything after it hang together again: hashes, head, log and inner
// hashes. Without the journal's secret its marks can't be made.
func rewrite(ctx context.Context, tx pgx.Tx) error {
	rows, _ := tx.Query(ctx, `SELECT docket_id, seq, at, by_kind, coalesce(by_id, 0), by_name, kind, summary, why, facts, rows FROM journal
		WHERE docket_id = 3 ORDER BY seq`)
	entries, err := pgx.CollectRows(rows, func(row pgx.CollectableRow) (e docket.Entry, err error) {
		var text string
		err = row.Scan(&e.DocketID, &e.Seq, &e.At, &e.By.Kind, &e.By.StaffID, &e.By.Name, &e.Kind, &e.Summary, &e.Why, &e.Facts, &text)
		e.Declares, e.Rows = true, []byte(text)
		return e, err
	})
	if err != nil {
		return err
	}
	var prev docket.Hash
	for i, e := range entries {
		if i == 3 {
			e.Summary += " Or so it is said."
		}
		e.PrevHash, e.Hash = prev, docket.Chain(prev, e)
		prev = e.Hash
		if _, err := tx.Exec(ctx, `UPDATE journal SET summary = $2, prev_hash = $3, hash = $4 WHERE docket_id = 3 AND seq = $1`, e.Seq, e.Summary,
			e.PrevHash[:], e.Hash[:]); err != nil {
			return err
		}
		if _, err := tx.Exec(ctx, `UPDATE log_leaf SET hash = $2 WHERE docket_id = 3 AND seq = $1`, e.Seq, e.Hash[:]); err != nil {
			return err
		}
	}
	if _, err := tx.Exec(ctx, `UPDATE docket SET head_hash = $1 WHERE id = 3`, prev[:]); err != nil {
		return err
	}
	return rebuildLog(ctx, tx)
}

// rebuildLog works the log's inner hashes out again, and takes away the seals that would tell.
func rebuildLog(ctx context.Context, tx pgx.Tx) error {
	rows, _ := tx.Query(ctx, `SELECT docket_id, seq, hash FROM log_leaf ORDER BY leaf`)
	leaves, err := pgx.CollectRows(rows, func(row pgx.CollectableRow) (l proof.Leaf, err error) {
		var hash []byte
		err = row.Scan(&l.DocketID, &l.Seq, &hash)
		copy(l.Hash[:], hash)
		return l, err
	})
	if err != nil {
		return err
	}
	if _, err := tx.Exec(ctx, `DELETE FROM log_hash`); err != nil {
		return err
	}
	var tree proof.Tree
	var again [][]any
	for i, l := range leaves {
		for k, h := range tree.Add(l.RecordHash()) {
			again = append(again, []any{tlog.StoredHashIndex(0, int64(i)) + int64(k) + 1, append([]byte(nil), h[:]...)})
		}
	}
	if _, err := tx.CopyFrom(ctx, pgx.Identifier{"log_hash"}, []string{"idx", "hash"}, pgx.CopyFromRows(again)); err != nil {
		return err
	}
	_, err = tx.Exec(ctx, `DELETE FROM seal`)
	return err
}

// atTheJournals does to journals, log and seals what somebody with the database's password may do.
func (k *tampering) atTheJournals(t *testing.T) {
	for _, act := range sqlActs {
		found := k.seen("journals", act.name, func(ctx context.Context, tx pgx.Tx) error {
			for _, sql := range strings.Split(act.sql, ";") {
				if _, err := tx.Exec(ctx, sql); err != nil {
					return err
				}
			}
			return nil
		})
		if all := sentences(found); !strings.Contains(all, act.says) {
			t.Errorf("%s: nothing of %q is said:\n%s", act.name, act.says, all)
		}
	}
	k.seen("journals", "a docket taken out with all that hangs on it", func(ctx context.Context, tx pgx.Tx) error { return deleteDocket(ctx, tx, 3) })
	k.seen("journals", "the newest docket taken out with its number and its part of the log", func(ctx context.Context, tx pgx.Tx) error {
		var id int64
		if err := tx.QueryRow(ctx, `SELECT max(id) FROM docket`).Scan(&id); err != nil {
			return err
		}
		if err := deleteDocket(ctx, tx, id); err != nil {
			return err
		}
		_, err := tx.Exec(ctx, `UPDATE docket_sequence SET last = last - 1 WHERE year = 2026`)
		return err
	})
	everything := func(ctx context.Context, tx pgx.Tx) error {
		_, err := tx.Exec(ctx, `TRUNCATE docket, journal, shop_journal, log_leaf, log_hash, seal, seal_key, docket_sequence, shop_head CASCADE;
			INSERT INTO shop_head (seq, hash) VALUES (0, decode(repeat('00', 32), 'hex'))`)
		return err
	}
	k.seen("journals", "everything taken out", everything)
	k.rewritten(t)
}

// rewritten is the act of somebody who knows how it all hangs together. What is outside the database tells: the secret
// that marks entries, and seals kept elsewhere. With neither nothing can tell, and docs/trust.md says so.
func (k *tampering) rewritten(t *testing.T) {
	whole := k.check
	for _, tt := range []struct {
		name  string
		check store.RecordCheck
		seen  bool
	}{
		{"with the secret and a seal", whole, true},
		{"with the secret alone", store.RecordCheck{Secrets: whole.Secrets}, true},
		{"with a seal alone", store.RecordCheck{Seals: whole.Seals, SealKeys: whole.SealKeys}, true},
		{"with nothing but the database", store.RecordCheck{}, false},
	} {
		found := k.without(k.after(tt.check, rewrite))
		if (len(found) > 0) != tt.seen {
			t.Errorf("everything rewritten, looked at %s: %d found\n%s", tt.name, len(found), sentences(found))
		}
	}
}

func sentences(found []proof.Finding) string {
	var all strings.Builder
	for _, f := range found {
		all.WriteString(f.Sentence + "\n")
	}
	return all.String()
}
