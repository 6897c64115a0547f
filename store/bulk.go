package store

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/record"
	"ledgerwheel/domain/shop"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/watch"
)

// Bulk writes whole histories of dockets at once, in one transaction. Each history is lived in memory, by the same functions
// of domain and with the same sentences as one that is lived change by change; what then stands is copied into the tables,
// and the last entry of each journal declares the rows. Nobody is told anything, no part is held, and the watch list is not
// looked at. TestBulkIsTheSame holds its tables against those of the store's other methods, row by row.
type Bulk struct {
	ctx   context.Context
	tx    pgx.Tx
	store *Store

	shop        shop.Shop
	shopVersion int64
	staff       map[int64]staff.Member
	limits      map[string]LimitsVersion // the newest of each grade
	calibres    map[string]watch.Calibre // by calibreKey
	clocks      recorderClocks
	closedTo    time.Time // last closed day of the till, which is held

	years   map[int]*givenNumbers
	series  map[int][]heldSeries // of invoices, by year
	ids     map[string][]int64   // drawn and not used yet, by table
	rows    map[string][][]any
	dockets []*BulkDocket
	earlier []*BulkDocket // of other transactions: their journals go on
}

// givenNumbers are the numbers of a year.
type givenNumbers struct {
	last int
	was  record.Digest
}

// InBulk has do write histories of dockets in one transaction: all are kept or none. A few hundred at a time go fastest. The
// error is that of do, or wraps domain.ErrNotFound where there is no shop.
func (s *Store) InBulk(ctx context.Context, do func(*Bulk) error) error {
	err := s.inTx(ctx, func(tx pgx.Tx) error {
		b := &Bulk{ctx: ctx, tx: tx, store: s, years: map[int]*givenNumbers{}, series: map[int][]heldSeries{}, ids: map[string][]int64{},
			rows: map[string][][]any{}}
		if err := b.read(); err != nil {
			return err
		}
		if err := do(b); err != nil {
			return err
		}
		return b.write()
	})
	if err != nil {
		return fmt.Errorf("write in bulk: %w", Translate(err))
	}
	return nil
}

// DocketsGiven is how many dockets the shop has, by the numbers that were given.
func (s *Store) DocketsGiven(ctx context.Context) (n int, err error) {
	err = s.db.QueryRow(ctx, `SELECT coalesce(sum(last), 0) FROM docket_sequence`).Scan(&n)
	if err != nil {
		return 0, fmt.Errorf("dockets given: %w", Translate(err))
	}
	return n, nil
}

// read reads what every history is lived by.
func (b *Bulk) read() error {
	var found bool
	var batch pgx.Batch
	// The rows are declared below, each once and as it stands at the end: what the triggers would note of each is given up.
	batch.Queue(`SELECT set_config('ledgerwheel.written', $1, true)`, tooMany)
	batch.Queue(`SELECT ` + shopFields + `, ` + newestShop + ` FROM shop s`).Query(func(rows pgx.Rows) error {
		_, err := pgx.ForEachRow(rows, append(shopTargets(&b.shop), &b.shopVersion), func() error { found = true; return nil })
		return err
	})
	batch.Queue(`SELECT pg_advisory_xact_lock_shared($1, hashtext(currency)) FROM shop`, tillLock)
	batch.Queue(`SELECT max(day) FROM till_close WHERE currency = (SELECT currency FROM shop)`).QueryRow(func(row pgx.Row) error {
		var last *time.Time
		err := row.Scan(&last)
		b.closedTo = timeOr(last)
		return err
	})
	batch.Queue(`SELECT ` + memberFields + ` FROM staff m`).Query(func(rows pgx.Rows) error {
		b.staff = map[int64]staff.Member{}
		var m staff.Member
		_, err := pgx.ForEachRow(rows, memberTargets(&m), func() error { b.staff[m.ID] = m; return nil })
		return err
	})
	batch.Queue(`SELECT ` + limitsFields + limitsFrom + `WHERE ` + newestLimits).Query(func(rows pgx.Rows) error {
		list, err := pgx.CollectRows(rows, scanLimits)
		b.limits = map[string]LimitsVersion{}
		for _, v := range list {
			b.limits[v.Limits.Grade] = v
		}
		return err
	})
	batch.Queue(`SELECT ` + calibreFields + ` FROM calibre k`).Query(func(rows pgx.Rows) error {
		list, err := pgx.CollectRows(rows, scanCalibre)
		b.calibres = map[string]watch.Calibre{}
		for _, k := range list {
			b.calibres[calibreKey(k.Name)] = k
		}
		return err
	})
	queueClocks(&batch, &b.clocks)
	if err := b.tx.SendBatch(b.ctx, &batch).Close(); err != nil {
		return err
	}
	if !found {
		return domain.ErrNotFound
	}
	return nil
}

// idsAtOnce is how many ids of a table are drawn together.
const idsAtOnce = 1000

// id draws the id of a row that others name.
func (b *Bulk) id(table string) (int64, error) {
	if len(b.ids[table]) == 0 {
		rows, _ := b.tx.Query(b.ctx, `SELECT nextval(pg_get_serial_sequence($1, 'id')) FROM generate_series(1, $2)`, table, idsAtOnce)
		drawn, err := pgx.CollectRows(rows, pgx.RowTo[int64])
		if err != nil {
			return 0, err
		}
		b.ids[table] = drawn
	}
	id := b.ids[table][0]
	b.ids[table] = b.ids[table][1:]
	return id, nil
}

// number draws the next number of a year. The year's row is held to the end, as by an intake.
func (b *Bulk) number(year int) (docket.Number, error) {
	g := b.years[year]
	if g == nil {
		g = &givenNumbers{}
		var err error
		if g.was, err = b.sequenceDigest(year); err != nil {
			return docket.Number{}, err
		}
		err = b.tx.QueryRow(b.ctx, `INSERT INTO docket_sequence AS q (year, last) VALUES ($1, 0) ON CONFLICT (year) DO UPDATE SET last = q.last
			RETURNING last`, year).Scan(&g.last)
		if err != nil {
			return docket.Number{}, err
		}
		b.years[year] = g
	}
	g.last++
	n := docket.Number{Year: year, Seq: g.last}
	if why := n.Problem(); why != "" {
		return n, fmt.Errorf("docket number %d of %d: %s", n.Seq, n.Year, why)
	}
	return n, nil
}

// sequenceDigest is the digest of the row of the numbers given in a year, which it holds; zero where there is none.
func (b *Bulk) sequenceDigest(year int) (record.Digest, error) {
	r, _ := relationOf("docket_sequence")
	var digest []byte
	err := b.tx.QueryRow(b.ctx, `SELECT `+r.digestSQL()+` FROM docket_sequence evident WHERE year = $1 FOR UPDATE`, year).Scan(&digest)
	if errors.Is(err, pgx.ErrNoRows) {
		return record.Digest{}, nil
	}
	return record.Digest(append(digest, make([]byte, 32-len(digest))...)), err
}

// seriesOf are the usual series of invoices with the numbers given in a year, held to the end.
func (b *Bulk) seriesOf(at time.Time) ([]heldSeries, error) {
	year := at.In(b.shop.Location()).Year()
	if b.series[year] == nil {
		var batch pgx.Batch
		var list []heldSeries
		queueSeriesHeld(&batch, 0, at, &list)
		if err := b.tx.SendBatch(b.ctx, &batch).Close(); err != nil {
			return nil, err
		}
		b.series[year] = list
	}
	return b.series[year], nil
}

// row adds a row of a table, its values in the order of bulkTables.
func (b *Bulk) row(table string, values ...any) { b.rows[table] = append(b.rows[table], values) }

// bulkTables are the tables that histories are copied into, each after those that it refers to.
var bulkTables = []struct {
	name    string
	columns []string
}{
	{"customer", []string{"id", "name", "name_key", "phone", "phone_e164", "email", "email_key", "address", "preferred_contact", "notes", "created_at",
		"phone_region", "tongue", "firm", "tax_number"}},
	{"watch", []string{"id", "customer_id", "maker", "model", "words_key", "reference", "serial", "serial_key", "movement_serial", "movement_serial_key",
		"calibre_id", "calibre_name", "case_material", "strap", "lume", "winding", "water_resistance", "overpressure_bar", "crown_at", "notes", "created_at"}},
	{"visit", []string{"id", "began_at", "began_by"}},
	{"docket", []string{"id", "year", "seq", "number", "stage", "open", "place", "place_detail", "version", "customer_id", "watch_id", "complaint", "wanted",
		"currency", "declared_minor", "approval_limit_minor", "received_on", "promised_on", "received_at", "received_by", "bench_staff_id", "comeback_of",
		"rate_limits_id", "condition_clear", "owner_reason", "moved_at", "work_since", "test_since", "handed_back_at", "collected_by", "old_parts", "placed_at",
		"collected_proof", "collected_identity", "taken_in_under", "billed_under", "left_under", "tongue", "visit_id", "order_number"}},
	{"hazard", []string{"docket_id", "hazard", "found_at", "acknowledged_by", "acknowledged_at"}},
	{"condition_mark", []string{"docket_id", "part", "kind", "x", "y", "note"}},
	{"finding", []string{"docket_id", "component", "fault", "severity", "note", "by_id", "at"}},
	{"estimate_revision", []string{"id", "docket_id", "number", "state", "currency", "prices_include_tax", "note", "valid_until", "net_minor", "tax_minor",
		"gross_minor", "made_by", "made_at", "sent_at", "decided_at", "decided_name", "decided_via", "decided_note", "sent_by", "answer_taken_by",
		"sent_under", "tongue"}},
	{"estimate_line", []string{"revision_id", "ordinal", "kind", "description", "quantity_milli", "unit_minor", "tax_basis_points", "optional", "declined"}},
	{"customer_link", []string{"id", "docket_id", "made_by", "made_at", "expires_at"}},
	{"bench_work", []string{"id", "docket_id", "minutes", "note", "by_id", "at"}},
	{"service_step", []string{"docket_id", "work_id", "step", "minutes", "by_id", "at"}},
	{"lubricant_use", []string{"docket_id", "work_id", "place", "lubricant", "note", "by_id", "at"}},
	{"run", []string{"id", "docket_id", "kind", "ordinal", "note", "instrument", "instrument_ppm", "temperature_c", "states", "taken_at", "by_id", "outcome",
		"rate_limits_id", "simple_rule", "touched", "lift_angle_deg", "lift_angle_u95_deg", "written_under"}},
	{"reading", []string{"run_id", "position", "hours", "rate_s_per_day", "rate_half_width", "rate_u", "amplitude_deg", "amplitude_half_width", "amplitude_u",
		"beat_error_ms", "beat_error_half_width", "beat_error_u", "taken_at", "by_id", "rate_asked", "amplitude_asked", "beat_error_asked", "again"}},
	{"final_test", []string{"docket_id", "results", "verdict", "note", "by_id", "at"}},
	{"payment", []string{"docket_id", "minor", "currency", "method", "note", "given_minor", "by_id", "at", "day", "rounded_minor"}},
	{"invoice", []string{"id", "series_id", "year", "n", "number", "kind", "docket_id", "answers_id", "issued_on", "booked_on", "currency", "net_minor",
		"tax_minor", "gross_minor", "body", "by_id", "at"}},
	{"invoice_rate", []string{"invoice_id", "tax_basis_points", "net_minor", "tax_minor", "gross_minor"}},
	{"stay", []string{"docket_id", "seq", "stage", "since", "until", "bench_staff_id"}},
}

// write copies the histories into the tables and enters their journals.
func (b *Bulk) write() error {
	var ids []int64
	for _, d := range b.dockets {
		d.rows()
		ids = append(ids, d.ID)
	}
	if err := b.keepNumbers(); err != nil {
		return err
	}
	for _, t := range bulkTables {
		if t.name == "stay" { // the trigger made one of the stage that each docket stands in: all of them are copied
			if _, err := b.tx.Exec(b.ctx, `DELETE FROM stay WHERE docket_id = ANY ($1)`, ids); err != nil {
				return err
			}
		}
		if len(b.rows[t.name]) == 0 {
			continue
		}
		if _, err := b.tx.CopyFrom(b.ctx, pgx.Identifier{t.name}, t.columns, pgx.CopyFromRows(b.rows[t.name])); err != nil {
			return fmt.Errorf("%s: %w", t.name, err)
		}
	}
	if err := b.declare(ids); err != nil {
		return err
	}
	return b.enter()
}

// keepNumbers writes how far the numbers of dockets and invoices went.
func (b *Bulk) keepNumbers() error {
	var batch pgx.Batch
	for year, g := range b.years {
		batch.Queue(`UPDATE docket_sequence SET last = $2 WHERE year = $1`, year, g.last)
	}
	for _, list := range b.series {
		for _, s := range list {
			batch.Queue(`UPDATE invoice_number SET last = $3 WHERE series_id = $1 AND year = $2`, s.ID, s.year, s.last)
		}
	}
	if batch.Len() == 0 {
		return nil
	}
	return b.tx.SendBatch(b.ctx, &batch).Close()
}

// limitsFor are the limits that a calibre's grade is judged by; ok is false where there are none.
func (b *Bulk) limitsFor(grade string) (v LimitsVersion, ok bool) {
	v, ok = b.limits[grade]
	return v, ok && grade != ""
}

// bench is the name of somebody who does bench work, or "" for id 0; see benchName.
func (b *Bulk) bench(id int64) (string, error) {
	if id == 0 {
		return "", nil
	}
	m, known := b.staff[id]
	if !known || !m.Can(staff.DoService) {
		return "", domain.Invalid(map[string]string{"bench": docket.NoBench})
	}
	return m.Name, nil
}

// earlierDocket holds a docket that another transaction wrote.
func (b *Bulk) earlierDocket(id int64) (*BulkDocket, error) {
	for _, d := range slices.Concat(b.dockets, b.earlier) {
		if d.ID == id {
			return d, nil
		}
	}
	d := &BulkDocket{bulk: b}
	targets, finish := docketTargets(&d.Docket)
	err := b.tx.QueryRow(b.ctx, `SELECT `+docketFields+` FROM docket d WHERE d.id = $1 FOR UPDATE`, id).Scan(targets...)
	finish()
	if errors.Is(err, pgx.ErrNoRows) {
		err = domain.Invalid(map[string]string{"warranty_of": docket.OtherWatch})
	}
	d.version, d.head = d.Version, docket.Head{Seq: d.Version, Hash: d.Docket.Head}
	return d, err
}
