package store

import (
	"context"
	"encoding/json"
	"fmt"
	"slices"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
)

// Rows are rows of the record as JSON, by table; times are UTC.
type Rows map[string][]json.RawMessage

// PersonExport is everything that the record keeps of a customer besides the dockets.
type PersonExport struct {
	Name    string
	Rows    Rows
	Dockets []docket.Number // oldest first
	// Fields say of each column what it is and in which unit, where its name does not.
	Fields map[string]map[string]Field
}

// Field is one column of an exported table.
type Field struct {
	Type  string
	Means string
}

// DocketExport is everything that the record keeps of one docket, its journal as it is shown.
type DocketExport struct {
	Rows      Rows
	Journal   []JournalLine
	Revisions []int // of the estimate
	Photos    []ExportedFile
	Sounds    []ExportedFile
	// ParcelPhotos are of the parcel in which the watch came.
	ParcelPhotos []ExportedFile
}

// ExportedFile is a photograph or a sound that is kept beside the record. ID is its row's.
type ExportedFile struct {
	ID     int64
	Sum    [32]byte
	Format string // of a sound, such as "WAV"
}

// JournalLine is an entry of a journal as an export has it.
type JournalLine struct {
	Seq     int64
	At      time.Time
	By      string
	Kind    docket.Kind
	Summary string
	Why     string
	Facts   json.RawMessage
}

// ofPerson are the tables of the shop that hold a customer's data besides the dockets', and how their rows belong to
// customer $1.
var ofPerson = []struct{ table, where string }{
	{"customer", `t.id = $1 OR t.merged_into = $1`},
	{"customer_merge", `t.kept_id = $1 OR t.kept_id IN (SELECT id FROM customer WHERE merged_into = $1)`},
	{"customer_erasure", `t.customer_id = $1`},
	{"watch", `t.customer_id = $1`},
}

// notExported are the tables that name a customer, a watch or a docket and are left out of an export, and why.
var notExported = map[string]string{
	"customer_word":    "made from the customer's row, for finding",
	"watch_word":       "made from the watch's row, for finding",
	"run_sent":         "sums, by which a run that is sent again is known",
	"stock_move":       "how the shop's drawers stood; what was fitted to a watch stands in part_line",
	"order_line":       "what the shop ordered; the docket's own parts stand in part_line",
	"docket_owed":      "worked out from the docket's invoices and payments",
	"order_line_now":   "numbers, made from what happened to orders",
	"order_event":      "what suppliers sent; the docket's own parts stand in part_line",
	"till_move":        "the shop's cash; a deposit for a watch that was lent stands in loan",
	"stay":             "made from the moves in the journal",
	"outcome":          "numbers, made from what is exported itself",
	"promise_now":      "numbers, worked out from how long watches stood where",
	"outcome_due":      "which dockets wait to be worked out",
	"stock_held":       "numbers, made from the moves of stock",
	"journal":          "exported as it is shown",
	"journal_told":     "part of the journal as it is shown",
	"record_base":      "sums of rows that are exported themselves",
	"log_pending":      "sums of entries that are exported themselves",
	"log_leaf":         "sums of entries that are exported themselves",
	"message_delivery": "how far a mail has come; what became of it stands in message",
	"calibre_change":   "about the movement, whoever's watch it was found in",
}

// ExportedTables names the tables whose rows an export has, and NotExported those left out with the reason.
func ExportedTables() []string {
	names := docketTables()
	for _, p := range ofPerson {
		names = append(names, p.table)
	}
	return append(names, "parcel_in")
}

// NotExported says why a table that names a customer, a watch or a docket is left out of an export.
func NotExported(table string) string { return notExported[table] }

// docketTables are the tables whose rows belong to a docket.
func docketTables() []string {
	names := []string{"recording"}
	for _, r := range evidence {
		if r.docket != "" {
			names = append(names, r.name)
		}
	}
	slices.Sort(names)
	return names
}

// ExportPerson reads what the record keeps of a customer, and enters in the shop's journal that somebody took a copy. The
// error wraps domain.ErrNotFound, also for a record that was merged into another.
func (s *Store) ExportPerson(ctx context.Context, id int64, by Actor, at time.Time) (PersonExport, error) {
	p := PersonExport{Rows: Rows{}}
	taken := note{kind: docket.DataExported, by: by, at: at, summary: docket.ExportedSummary(id), always: true}
	err := s.changeShop(ctx, &taken, func(tx pgx.Tx) error {
		var batch pgx.Batch
		for _, of := range ofPerson {
			queueRows(&batch, p.Rows, of.table, of.where, id)
		}
		batch.Queue(`SELECT year, seq FROM docket WHERE customer_id = $1 ORDER BY id`, id).Query(func(rows pgx.Rows) (err error) {
			p.Dockets, err = pgx.CollectRows(rows, pgx.RowToStructByPos[docket.Number])
			return err
		})
		queueFields(&batch, &p.Fields)
		batch.Queue(`SELECT name FROM customer WHERE id = $1 AND merged_into IS NULL`, id).QueryRow(func(row pgx.Row) error {
			return ignoreNone(row.Scan(&p.Name))
		})
		if err := tx.SendBatch(ctx, &batch).Close(); err != nil {
			return err
		}
		if p.Name == "" {
			return domain.ErrNotFound
		}
		return nil
	})
	if err != nil {
		return p, fmt.Errorf("export customer %d: %w", id, Translate(err))
	}
	return p, nil
}

// queueRows adds to a batch the reading of rows of a table, in the order of their keys.
func queueRows(batch *pgx.Batch, into Rows, table, where string, args ...any) {
	batch.Queue(fmt.Sprintf(`SELECT to_jsonb(t) FROM %s t WHERE %s ORDER BY 1`, table, where), args...).Query(func(rows pgx.Rows) (err error) {
		into[table], err = pgx.CollectRows(rows, func(row pgx.CollectableRow) (json.RawMessage, error) {
			var raw []byte
			err := row.Scan(&raw)
			return slices.Clone(raw), err
		})
		return err
	})
}

// queueFields reads what the columns of the exported tables are.
func queueFields(batch *pgx.Batch, into *map[string]map[string]Field) {
	batch.Queue(`SELECT c.relname::text, a.attname::text, format_type(a.atttypid, a.atttypmod), coalesce(col_description(c.oid, a.attnum), '')
		FROM pg_class c JOIN pg_attribute a ON a.attrelid = c.oid AND a.attnum > 0 AND NOT a.attisdropped
		WHERE c.relnamespace = 'public'::regnamespace AND c.relname = ANY($1) ORDER BY 1, a.attnum`, ExportedTables()).Query(func(rows pgx.Rows) error {
		*into = map[string]map[string]Field{}
		var table, column string
		var f Field
		_, err := pgx.ForEachRow(rows, []any{&table, &column, &f.Type, &f.Means}, func() error {
			if (*into)[table] == nil {
				(*into)[table] = map[string]Field{}
			}
			(*into)[table][column] = f
			return nil
		})
		return err
	})
}

// ExportDocket reads everything that the record keeps of one docket, in one snapshot. The error wraps domain.ErrNotFound.
func (s *Store) ExportDocket(ctx context.Context, n docket.Number) (DocketExport, error) {
	x := DocketExport{Rows: Rows{}}
	err := pgx.BeginTxFunc(ctx, s.db, pgx.TxOptions{IsoLevel: pgx.RepeatableRead, AccessMode: pgx.ReadOnly}, func(tx pgx.Tx) error {
		var id int64
		if err := tx.QueryRow(ctx, `SELECT id FROM docket WHERE number = $1`, n.String()).Scan(&id); err != nil {
			return err
		}
		var batch pgx.Batch
		for _, table := range docketTables() {
			queueRows(&batch, x.Rows, table, rowsOfDocketSQL(table), id)
		}
		batch.Queue(`SELECT `+entryColumns+toldColumn+` FROM journal j WHERE docket_id = $1 ORDER BY seq`, id).Query(func(rows pgx.Rows) (err error) {
			x.Journal, err = pgx.CollectRows(rows, scanLine)
			return err
		})
		batch.Queue(`SELECT number FROM estimate_revision WHERE docket_id = $1 ORDER BY number`, id).Query(func(rows pgx.Rows) (err error) {
			x.Revisions, err = pgx.CollectRows(rows, pgx.RowTo[int])
			return err
		})
		queueFiles(&batch, `SELECT id, sha256, '' FROM photo WHERE docket_id = $1 AND removed_at IS NULL ORDER BY id`, id, &x.Photos)
		queueRows(&batch, x.Rows, "parcel_in", `t.id = (SELECT parcel_id FROM docket WHERE id = $1)`, id)
		queueFiles(&batch, `SELECT id, sha256, '' FROM parcel_photo WHERE parcel_id = (SELECT parcel_id FROM docket WHERE id = $1) AND removed_at IS NULL
			ORDER BY id`, id, &x.ParcelPhotos)
		queueFiles(&batch, `SELECT id, sound_sha256, sound_format FROM heard WHERE docket_id = $1 AND sound_sha256 IS NOT NULL ORDER BY id`, id, &x.Sounds)
		return tx.SendBatch(ctx, &batch).Close()
	})
	if err != nil {
		return x, fmt.Errorf("export docket %s: %w", n, Translate(err))
	}
	return x, nil
}

func scanLine(row pgx.CollectableRow) (JournalLine, error) {
	e, err := scanTold(row)
	return JournalLine{e.Seq, e.At, e.By.String(), e.Kind, e.Summary, e.Why, e.Facts}, err
}

func queueFiles(batch *pgx.Batch, sql string, id int64, into *[]ExportedFile) {
	batch.Queue(sql, id).Query(func(rows pgx.Rows) (err error) {
		*into, err = pgx.CollectRows(rows, func(row pgx.CollectableRow) (ExportedFile, error) {
			var f ExportedFile
			var sum []byte
			err := row.Scan(&f.ID, &sum, &f.Format)
			copy(f.Sum[:], sum)
			return f, err
		})
		return err
	})
}
