package store

import (
	"context"
	"fmt"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/record"
)

// bringIn begins the shop's journal: one entry that says how the record stood before rows were declared. Afterwards it
// enters what migrations wrote. It does nothing where neither is to be done.
func (s *Store) bringIn(ctx context.Context) error {
	err := pgx.BeginFunc(ctx, s.db, func(tx pgx.Tx) error {
		var seq int64
		var hash []byte
		if err := tx.QueryRow(ctx, `SELECT seq, hash FROM shop_head FOR UPDATE`).Scan(&seq, &hash); err != nil {
			return err
		}
		if seq == 0 {
			return s.begin(ctx, tx)
		}
		return s.enterMigrated(ctx, tx)
	})
	if err != nil {
		return fmt.Errorf("bring in the record: %w", Translate(err))
	}
	return nil
}

// Begun is what the first entry of the shop's journal says of the record that it found.
type Begun struct {
	Dockets int64  `json:"dockets brought in"`
	Rows    int64  `json:"rows brought in"`
	Entries int64  `json:"earlier entries brought in"`
	Base    string `json:"sum of what was brought in,omitempty"`
}

// begin writes down every row of evidence as it stands, and has the log take in the entries there are.
func (s *Store) begin(ctx context.Context, tx pgx.Tx) error {
	if _, err := tx.Exec(ctx, `SET LOCAL statement_timeout = 0`); err != nil {
		return err
	}
	if _, err := tx.Exec(ctx, baseSQL()); err != nil {
		return err
	}
	// What migrations wrote before now stands in the base.
	if _, err := tx.Exec(ctx, `DELETE FROM record_unentered`); err != nil {
		return err
	}
	var b Begun
	err := tx.QueryRow(ctx, `SELECT (SELECT count(*) FROM docket),
		(SELECT coalesce(sum(length(lines) - length(replace(lines, E'\n', ''))), 0) FROM record_base),
		(SELECT count(*) FROM journal)`).Scan(&b.Dockets, &b.Rows, &b.Entries)
	if err != nil {
		return err
	}
	if b.Rows > 0 {
		if b.Base, err = baseSum(ctx, tx); err != nil {
			return err
		}
	}
	e, err := docket.Append(docket.Head{}, docket.Entry{DocketID: docket.ShopJournal, At: time.Now(),
		By: docket.Author{Kind: docket.BySystem}, Kind: docket.RecordBegun, Summary: docket.RecordBegunSummary}, b)
	if err != nil {
		return err
	}
	var batch pgx.Batch
	s.queueEntry(&batch, e)
	batch.Queue(`UPDATE shop_head SET seq = $1, hash = $2`, e.Seq, e.Hash[:])
	batch.Queue(`INSERT INTO log_pending (docket_id, seq, hash) SELECT docket_id, seq, hash FROM journal ORDER BY docket_id, seq`)
	return tx.SendBatch(ctx, &batch).Close()
}

// baseSQL writes the rows of every relation into record_base, a text for each docket, and pins the end of each journal.
func baseSQL() string {
	var parts []string
	for _, r := range evidence {
		rows := strings.ReplaceAll(strings.ReplaceAll(r.rowsSQL(), "$1", "0"), "$2", "9223372036854775807")
		parts = append(parts, fmt.Sprintf(`SELECT o.d, '%s ' || o.k || ' - ' || translate(rtrim(encode(o.h, 'base64'), '='), '+/', '-_') AS line FROM (%s) AS o(d, k, h)`,
			r.name, rows))
	}
	parts = append(parts, `SELECT id, '`+headRelation+` ' || version || ' - ' || translate(rtrim(encode(head_hash, 'base64'), '='), '+/', '-_') FROM docket WHERE version > 0`)
	return `INSERT INTO record_base (docket_id, lines) SELECT d, string_agg(line || E'\n', '' ORDER BY line COLLATE "C") FROM (` +
		strings.Join(parts, " UNION ALL ") + `) AS b(d, line) GROUP BY d`
}

// headRelation stands in a base for the end of a docket's journal; its key is the sequence.
const headRelation = "journal"

// baseSum is the SHA-256 of all of record_base, in the order of dockets.
func baseSum(ctx context.Context, tx pgx.Tx) (string, error) {
	sum := record.NewBaseSum()
	rows, _ := tx.Query(ctx, `SELECT docket_id, lines FROM record_base ORDER BY docket_id`)
	var id int64
	var lines string
	if _, err := pgx.ForEachRow(rows, []any{&id, &lines}, func() error {
		sum.Add(id, lines)
		return nil
	}); err != nil {
		return "", err
	}
	return sum.String(), nil
}

// enterMigrated enters in the shop's journal what migrations wrote.
func (s *Store) enterMigrated(ctx context.Context, tx pgx.Tx) error {
	rows, _ := tx.Query(ctx, `DELETE FROM record_unentered RETURNING id, lines`)
	found, err := pgx.CollectRows(rows, pgx.RowToStructByPos[struct {
		ID    int64
		Lines string
	}])
	if err != nil || len(found) == 0 {
		return err
	}
	var all strings.Builder
	for _, f := range found {
		all.WriteString(f.Lines)
	}
	if _, err := tx.Exec(ctx, `SELECT set_config('ledgerwheel.written', $1, true)`, all.String()); err != nil {
		return err
	}
	return s.enterShop(ctx, tx, note{kind: docket.RecordBroughtUp, at: time.Now(), summary: docket.RecordBroughtUpSummary})
}
