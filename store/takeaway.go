package store

import (
	"context"
	"fmt"
	"io"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgxpool"

	"ledgerwheel/domain/docket"
)

// withheld are the columns of the record that open something, and whole tables of such; nobody takes them away.
var withheld = map[string]string{
	"shop.link_secret":         "customers' private links are made from it",
	"staff.password_hash":      "passwords could be guessed from it",
	"signing_key.seed":         "cards could be signed with it",
	"access_token.secret_hash": "of no use elsewhere",
	"invite.*":                 "links that let somebody in",
}

// Takeaway is the whole record as it stands at one moment, for other programs. Close it.
type Takeaway struct {
	conn *pgxpool.Conn
	tx   pgx.Tx
	// Tables are what can be written, each with its columns, by name.
	Tables []TakenTable
}

// TakenTable is a table of the record with its columns in their order.
type TakenTable struct {
	Name, Means string
	Columns     []TakenColumn
	key         string
}

// TakenColumn is a column, its type as PostgreSQL has it, and what it means, where its name does not say it.
type TakenColumn struct{ Name, Type, Means string }

// TakeAway opens the whole record as it stands now, and enters in the shop's journal that somebody took a copy.
func (s *Store) TakeAway(ctx context.Context, by Actor, at time.Time) (*Takeaway, error) {
	taken := note{kind: docket.DataExported, by: by, at: at, summary: docket.TakenAwaySummary, always: true}
	if err := s.changeShop(ctx, &taken, func(pgx.Tx) error { return nil }); err != nil {
		return nil, fmt.Errorf("take the record away: %w", Translate(err))
	}
	conn, err := s.db.Acquire(ctx)
	if err != nil {
		return nil, fmt.Errorf("take the record away: %w", Translate(err))
	}
	t := &Takeaway{conn: conn}
	if err = t.open(ctx); err != nil {
		t.Close()
		return nil, fmt.Errorf("take the record away: %w", Translate(err))
	}
	return t, nil
}

func (t *Takeaway) open(ctx context.Context) (err error) {
	t.tx, err = t.conn.BeginTx(ctx, pgx.TxOptions{IsoLevel: pgx.RepeatableRead, AccessMode: pgx.ReadOnly})
	if err != nil {
		return err
	}
	// It is as long as the record, and whoever takes it may have a slow line.
	if _, err := t.tx.Exec(ctx, `SET LOCAL statement_timeout = 0; SET LOCAL idle_in_transaction_session_timeout = 0`); err != nil {
		return err
	}
	keys := map[string]string{}
	for _, r := range evidence {
		if _, kept := withheld[r.name+".*"]; !kept {
			keys[r.name] = r.key
		}
	}
	names := make([]string, 0, len(keys))
	for name := range keys {
		names = append(names, name)
	}
	rows, _ := t.tx.Query(ctx, `SELECT c.relname::text, coalesce(obj_description(c.oid, 'pg_class'), ''), a.attname::text,
			format_type(a.atttypid, a.atttypmod), coalesce(col_description(c.oid, a.attnum), '')
		FROM pg_class c JOIN pg_attribute a ON a.attrelid = c.oid AND a.attnum > 0 AND NOT a.attisdropped
		WHERE c.relnamespace = 'public'::regnamespace AND c.relname = ANY ($1) ORDER BY 1, a.attnum`, names)
	var table, means string
	var column TakenColumn
	_, err = pgx.ForEachRow(rows, []any{&table, &means, &column.Name, &column.Type, &column.Means}, func() error {
		if n := len(t.Tables); n == 0 || t.Tables[n-1].Name != table {
			t.Tables = append(t.Tables, TakenTable{Name: table, Means: means, key: keys[table]})
		}
		if _, kept := withheld[table+"."+column.Name]; !kept {
			of := &t.Tables[len(t.Tables)-1]
			of.Columns = append(of.Columns, column)
		}
		return nil
	})
	return err
}

// Close lets go of the record.
func (t *Takeaway) Close() {
	if t.tx != nil {
		_ = t.tx.Rollback(context.WithoutCancel(context.Background())) // it wrote nothing
	}
	t.conn.Release()
}

// names are the columns, quoted for SQL.
func (t TakenTable) names() string {
	quoted := make([]string, len(t.Columns))
	for i, c := range t.Columns {
		quoted[i] = pgx.Identifier{c.Name}.Sanitize()
	}
	return strings.Join(quoted, ", ")
}

func (t TakenTable) selectSQL() string {
	return `SELECT ` + t.names() + ` FROM ` + pgx.Identifier{t.Name}.Sanitize() + ` ORDER BY ` + t.key
}

// CSV writes a table with its header, in the order of its key (RFC 4180, but lines end in LF). An empty field without quotation
// marks is one that has no value.
func (t *Takeaway) CSV(ctx context.Context, table TakenTable, w io.Writer) error {
	if _, err := t.tx.Conn().PgConn().CopyTo(ctx, w, `COPY (`+table.selectSQL()+`) TO STDOUT (FORMAT csv, HEADER)`); err != nil {
		return fmt.Errorf("table %s as CSV: %w", table.Name, Translate(err))
	}
	return nil
}

// JSON writes a table as a JSON object a line, in the order of its key.
func (t *Takeaway) JSON(ctx context.Context, table TakenTable, w io.Writer) error {
	rows, _ := t.tx.Query(ctx, `SELECT to_jsonb(r) FROM (`+table.selectSQL()+`) r`)
	var raw []byte
	_, err := pgx.ForEachRow(rows, []any{&raw}, func() error { return writeLine(w, raw) })
	if err != nil {
		return fmt.Errorf("table %s as JSON: %w", table.Name, Translate(err))
	}
	return nil
}

func writeLine(w io.Writer, line []byte) error {
	if _, err := w.Write(line); err != nil {
		return err
	}
	_, err := w.Write([]byte{'\n'})
	return err
}

// Journal calls each with every entry of the dockets' journals and then of the shop's own (docket 0), in order, as it is shown.
func (t *Takeaway) Journal(ctx context.Context, each func(docketID int64, line JournalLine) error) error {
	for _, sql := range []string{`SELECT ` + entryColumns + toldColumn + ` FROM journal j ORDER BY docket_id, seq`,
		`SELECT ` + shopEntryColumns + shopToldColumn + ` FROM shop_journal j ORDER BY seq`} {
		rows, err := t.tx.Query(ctx, sql)
		if err != nil {
			return fmt.Errorf("journal to take away: %w", Translate(err))
		}
		for rows.Next() {
			e, err := scanTold(rows)
			if err == nil {
				err = each(e.DocketID, JournalLine{e.Seq, e.At, e.By.String(), e.Kind, e.Summary, e.Why, e.Facts})
			}
			if err != nil {
				rows.Close()
				return fmt.Errorf("journal to take away: %w", Translate(err))
			}
		}
		if rows.Err() != nil {
			return fmt.Errorf("journal to take away: %w", Translate(rows.Err()))
		}
	}
	return nil
}

// Seals calls each with every seal, oldest first.
func (t *Takeaway) Seals(ctx context.Context, each func(size int64, madeAt time.Time, note string) error) error {
	rows, _ := t.tx.Query(ctx, `SELECT size, made_at, note FROM seal ORDER BY made_at, size`)
	var size int64
	var at time.Time
	var note string
	if _, err := pgx.ForEachRow(rows, []any{&size, &at, &note}, func() error { return each(size, at.UTC(), note) }); err != nil {
		return fmt.Errorf("seals to take away: %w", Translate(err))
	}
	return nil
}

// Files are the pictures and sounds that are kept beside the record, each once; a picture has no Format.
func (t *Takeaway) Files(ctx context.Context) (pictures, sounds []ExportedFile, err error) {
	var batch pgx.Batch
	queueSums(&batch, `SELECT DISTINCT sha256, '' FROM (SELECT sha256 FROM photo WHERE removed_at IS NULL UNION ALL SELECT sha256 FROM calibre_drawing
		UNION ALL SELECT sha256 FROM parcel_photo WHERE removed_at IS NULL) p ORDER BY 1`, &pictures)
	queueSums(&batch, `SELECT DISTINCT sound_sha256, sound_format FROM heard WHERE sound_sha256 IS NOT NULL ORDER BY 1`, &sounds)
	if err := t.tx.SendBatch(ctx, &batch).Close(); err != nil {
		return nil, nil, fmt.Errorf("files to take away: %w", Translate(err))
	}
	return pictures, sounds, nil
}

func queueSums(batch *pgx.Batch, sql string, into *[]ExportedFile) {
	batch.Queue(sql).Query(func(rows pgx.Rows) (err error) {
		*into, err = pgx.CollectRows(rows, func(row pgx.CollectableRow) (ExportedFile, error) {
			var f ExportedFile
			var sum []byte
			err := row.Scan(&sum, &f.Format)
			copy(f.Sum[:], sum)
			return f, err
		})
		return err
	})
}

// DocketsAfter are the numbers of dockets after one with an id, at most limit of them, with the last one's id.
func (t *Takeaway) DocketsAfter(ctx context.Context, id int64, limit int) (list []TakenDocket, err error) {
	rows, _ := t.tx.Query(ctx, `SELECT d.id, d.number, ARRAY(SELECT number FROM estimate_revision WHERE docket_id = d.id ORDER BY number)
		FROM docket d WHERE d.id > $1 ORDER BY d.id LIMIT $2`, id, limit)
	list, err = pgx.CollectRows(rows, pgx.RowToStructByPos[TakenDocket])
	if err != nil {
		return nil, fmt.Errorf("dockets to take away: %w", Translate(err))
	}
	return list, nil
}

// TakenDocket is a docket whose papers may be made, with the revisions of its estimate.
type TakenDocket struct {
	ID        int64
	Number    string
	Revisions []int
}
