package store_test

import (
	"context"
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/shop"
	"ledgerwheel/domain/staff"
	"ledgerwheel/store"
	"ledgerwheel/store/storetest"
)

// watched is a tracer that writes down every query with its arguments, those of batches too.
type watched struct {
	storetest.RoundTrips
	mu      sync.Mutex
	queries []askedQuery
}

type askedQuery struct {
	sql  string
	args []any
}

func (w *watched) note(sql string, args []any) {
	w.mu.Lock()
	defer w.mu.Unlock()
	if strings.HasPrefix(strings.ToUpper(strings.TrimSpace(sql)), "SELECT") || strings.HasPrefix(strings.TrimSpace(sql),
		"WITH") {
		w.queries = append(w.queries, askedQuery{sql, args})
	}
}

func (w *watched) TraceQueryStart(ctx context.Context, c *pgx.Conn, d pgx.TraceQueryStartData) context.Context {
	w.note(d.SQL, d.Args)
	return w.RoundTrips.TraceQueryStart(ctx, c, d)
}

func (w *watched) TraceBatchQuery(_ context.Context, _ *pgx.Conn, d pgx.TraceBatchQueryData) {
	w.note(d.SQL, d.Args)
}

// take returns what was asked since the last time.
func (w *watched) take() []askedQuery {
	w.mu.Lock()
	defer w.mu.Unlock()
	defer func() { w.queries = nil }()
	return w.queries
}

// planNode is a node of a plan as EXPLAIN (FORMAT JSON) gives it.
type planNode struct {
	Type     string     `json:"Node Type"`
	Relation string     `json:"Relation Name"`
	Rows     float64    `json:"Actual Rows"`
	Loops    float64    `json:"Actual Loops"`
	Removed  float64    `json:"Rows Removed by Filter"`
	Recheck  float64    `json:"Rows Removed by Index Recheck"`
	Hit      int64      `json:"Shared Hit Blocks"`
	Read     int64      `json:"Shared Read Blocks"`
	Plans    []planNode `json:"Plans"`
}

func (n planNode) walk(visit func(planNode)) {
	visit(n)
	for _, p := range n.Plans {
		p.walk(visit)
	}
}

// cost is what answering took: rows met while scanning tables, whether they were kept or not, and pages looked at.
type cost struct {
	rows  float64
	pages int64
}

// grownTables are those that grow with the age of the shop: none may be read from end to end.
var grownTables = []string{"docket", "customer", "watch", "journal", "customer_word", "watch_word", "find_slip",
	"estimate_revision",
	"part_line", "run", "final_test", "photo", "hazard", "reading", "payment", "warranty_card", "till_close", "till_move"}

// largeShop is at how many dockets no whole table may be read. In a small one that may be the cheapest way for some.
const largeShop = 100_000

// explain reads the plan of one query, and in a large shop reports every scan of a whole table.
func explain(t *testing.T, conn *pgx.Conn, q askedQuery, what string, large bool) cost {
	t.Helper()
	var raw []byte
	if err := conn.QueryRow(t.Context(), `EXPLAIN (ANALYZE, BUFFERS, FORMAT JSON) `+q.sql,
		q.args...).Scan(&raw); err != nil {
		t.Fatalf("%s: %v\n%s", what, err, q.sql)
	}
	var plans []struct{ Plan planNode }
	if err := json.Unmarshal(raw, &plans); err != nil {
		t.Fatal(err)
	}
	if large {
		explainUnseen(t, conn, q, what)
	}
	c := cost{pages: plans[0].Plan.Hit + plans[0].Plan.Read}
	plans[0].Plan.walk(func(n planNode) {
		if large {
			n.refuseWholeTable(t, q, what)
		}
		if n.Relation != "" || strings.HasPrefix(n.Type, "Bitmap Index") {
			c.rows += (n.Rows + n.Removed + n.Recheck) * n.Loops
		}
	})
	return c
}

// refuseWholeTable fails the test for a node that reads a table from end to end that grows with the shop.
func (n planNode) refuseWholeTable(t *testing.T, q askedQuery, what string) {
	t.Helper()
	if n.Type == "Seq Scan" && slices.Contains(grownTables, n.Relation) {
		t.Errorf("%s reads all of %s:\n%s\n%v", what, n.Relation, q.sql, q.args)
	}
}

// explainUnseen reads the plan that the server makes without looking at the arguments, which it may come to use for a
// statement prepared once and asked often.
func explainUnseen(t *testing.T, conn *pgx.Conn, q askedQuery, what string) {
	t.Helper()
	marks := make([]string, len(q.args))
	for i := range marks {
		marks[i] = fmt.Sprintf("$%d", i+1)
	}
	execute := "EXPLAIN (FORMAT JSON) EXECUTE asked"
	if len(marks) > 0 {
		execute += "(" + strings.Join(marks, ", ") + ")"
	}
	if _, err := conn.Exec(t.Context(), "PREPARE asked AS "+q.sql, pgx.QueryExecModeSimpleProtocol); err != nil {
		t.Fatalf("%s: %v\n%s", what, err, q.sql)
	}
	var raw string
	if err := conn.QueryRow(t.Context(), execute, append([]any{pgx.QueryExecModeSimpleProtocol},
		q.args...)...).Scan(&raw); err != nil {
		t.Fatalf("%s: %v\n%s", what, err, q.sql)
	}
	if _, err := conn.Exec(t.Context(), "DEALLOCATE asked"); err != nil {
		t.Fatal(err)
	}
	var plans []struct{ Plan planNode }
	if err := json.Unmarshal([]byte(raw), &plans); err != nil {
		t.Fatal(err)
	}
	plans[0].Plan.walk(func(n planNode) { n.refuseWholeTable(t, q, what+", arguments unseen") })
}

// oldShop is a shop of a given number of dockets, of which the newest 400 are open. It grows by SQL alone: what matters
// to the plans is how many rows there are and how they are spread.
type oldShop struct {
	*store.Store
	watch *watched
	conn  *pgx.Conn
	size  int
}

func newOldShop(t *testing.T) *oldShop {
	t.Helper()
	w := &watched{}
	h := storetest.NewHandle(t, store.WithTracer(w))
	conn, err := pgx.Connect(t.Context(), h.URL)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { conn.Close(context.WithoutCancel(t.Context())) })
	sh := shop.Defaults()
	sh.Name, sh.LinkSecret = "Tern Quay Watch Works", make([]byte, 32)
	at := time.Date(2026, 1, 1, 9, 0, 0, 0, time.UTC)
	if _, err := h.Store.Found(t.Context(), sh, staff.Member{Name: "Ottilie Brandt", Email: "owner@ternquay.example",
		Role: staff.Owner}, "", at); err != nil {
		t.Fatal(err)
	}
	for i := range 4 {
		m := staff.Member{Name: fmt.Sprintf("Bench %d", i), Email: fmt.Sprintf("bench%d@ternquay.example", i),
			Role: staff.Watchmaker}
		if _, err := h.Store.AddMember(t.Context(), m, "", at); err != nil {
			t.Fatal(err)
		}
	}
	if _, err := conn.Exec(t.Context(), "SET plan_cache_mode = force_generic_plan"); err != nil {
		t.Fatal(err)
	}
	return &oldShop{Store: h.Store, watch: w, conn: conn}
}

// growth adds the dockets from $1 to $2, with six customers and eight watches for every ten, a journal entry each,
// and what their sheets hold. The words of names are added as the triggers add them.
var growth = []string{
	`INSERT INTO customer (name, name_key, phone, phone_e164, email, email_key)
		SELECT n, lower(n), p, p, lower(replace(n, ' ', '.')) || i || '@example.org', lower(replace(n, ' ', '.')) || i || '@example.org'
		FROM (SELECT i, (ARRAY['Ada','Ben','Cora','Dov','Emrys','Fay','Gil','Hana','Ida','Jon'])[1 + i % 10] || ' '
			|| (ARRAY['Quill','Reed','Thole','Vale','Marsh','Fenn','Holt','Skerry'])[1 + i % 8] || (ARRAY['','son','wick','ham','by'])[1 + i / 8 % 5] AS n,
			'+44163' || lpad((i * 7919::bigint % 10000000)::text, 7, '0') AS p
		FROM generate_series($1::int * 6 / 10 + 1, $2::int * 6 / 10) i) c`,
	`INSERT INTO watch (customer_id, maker, model, words_key, serial, serial_key, movement_serial, movement_serial_key)
		SELECT 1 + i % ($2::int * 6 / 10), m, d, lower(m || ' ' || d), i::text, 'S' || lpad((i * 104729::bigint % 10000000)::text, 7, '0'), '', 'M' || lpad(i::text, 7, '0')
		FROM (SELECT i, (ARRAY['Gannet','Tarnside','Curlew','Skua'])[1 + i % 4] AS m, 'Model ' || i % 500 AS d
		FROM generate_series($1::int * 8 / 10 + 1, $2::int * 8 / 10) i) w`,
	`INSERT INTO customer_word (word, customer_id) SELECT word, id FROM customer, unnest(string_to_array(name_key, ' ')) AS word
		WHERE id > $1::int * 6 / 10 AND id <= $2::int * 6 / 10 ON CONFLICT DO NOTHING`,
	`INSERT INTO watch_word (word, watch_id) SELECT word, id FROM watch, unnest(string_to_array(words_key, ' ')) AS word
		WHERE id > $1::int * 8 / 10 AND id <= $2::int * 8 / 10 ON CONFLICT DO NOTHING`,
	`INSERT INTO find_slip (slip, word) SELECT s, w.word FROM (SELECT word FROM customer_word UNION SELECT word FROM watch_word) w,
		slips_of(w.word) s ON CONFLICT DO NOTHING`,
	`UPDATE docket SET stage = 'handed-over', open = false, place = 'with-customer', place_detail = '', handed_back_at = moved_at, bench_staff_id = NULL WHERE open`,
	`INSERT INTO docket (year, seq, number, stage, open, place, version, customer_id, watch_id, complaint, wanted, currency, declared_minor, approval_limit_minor,
			received_on, promised_on, received_at, received_by, bench_staff_id, moved_at, work_since, test_since, handed_back_at)
		SELECT year, seq, number,
			CASE WHEN o THEN (ARRAY['intake','diagnosis','estimate','parts','service','regulation','final-test','ready'])[1 + i % 8]
				WHEN i % 20 = 0 THEN 'declined' WHEN i % 50 = 1 THEN 'withdrawn' ELSE 'handed-over' END, o,
			CASE WHEN o THEN 'safe' ELSE 'with-customer' END, 1, 1 + i % ($2::int * 6 / 10), 1 + i % ($2::int * 8 / 10), 'stops', 'full-service', 'EUR', nullif(i % 4, 0) * 1000, 5000,
			d::date, d::date + 14, d, 1, CASE WHEN o AND i % 3 > 0 THEN 2 + i % 4 END, d + interval '3 days', d + interval '2 days', d + interval '3 days',
			CASE WHEN NOT o THEN d + interval '10 days' END
		FROM (SELECT i, year, seq, number, i >= $2::int - 400 AS o, timestamptz '2001-01-02 09:00Z' + i * interval '2 hours' AS d
		FROM numbers WHERE i >= $1 AND i < $2 ORDER BY i) g`,
	`INSERT INTO journal (docket_id, seq, at, by_kind, by_name, kind, summary, prev_hash, hash)
		SELECT id, 1, received_at, 'system', '', 'received', 'Taken in', sha256('a'), sha256('b') FROM docket WHERE id > $1 AND id <= $2`,
	`INSERT INTO estimate_revision (docket_id, number, state, currency, prices_include_tax, valid_until, net_minor, tax_minor, gross_minor, made_by, made_at)
		SELECT id, 1, 'approved', 'EUR', true, received_on, 1, 0, 1, 1, received_at FROM docket WHERE id > $1 AND id <= $2`,
	`INSERT INTO part_line (docket_id, description, state, state_at)
		SELECT id, 'mainspring', CASE WHEN open THEN 'ordered' ELSE 'fitted' END, received_at FROM docket WHERE id > $1 AND id <= $2`,
	`INSERT INTO run (docket_id, kind, instrument_ppm, taken_at, by_id) SELECT id, 'final', 1, received_at + interval '3 days', 1 FROM docket WHERE id > $1 AND id <= $2`,
	`INSERT INTO final_test (docket_id, results, verdict, by_id, at) SELECT id, '[]', 'pass', 1, received_at + interval '4 days' FROM docket WHERE id > $1 AND id <= $2`,
	`INSERT INTO reading (run_id, position, hours, rate_s_per_day, rate_half_width, taken_at, by_id)
		SELECT id, 'CH', 0, 2, 0.5, taken_at, 1 FROM run WHERE docket_id > $1 AND docket_id <= $2`,
	`INSERT INTO payment (docket_id, minor, currency, method, by_id, at, day) SELECT id, 1, 'EUR', 'cash', 1, received_at, received_on FROM docket WHERE id > $1 AND id <= $2`,
	`INSERT INTO till_move (day, currency, kind, minor, by_id, at) SELECT received_on, 'EUR', 'float', 1, 1, received_at FROM docket WHERE id > $1 AND id <= $2`,
	`INSERT INTO till_close (day, currency, opened_minor, book_minor, since_minor, counted_minor, difference_minor, pieces, takings, by_id, at)
		SELECT day, 'EUR', 0, 1, 0, 1, 0, '[]', '[]', 1, day FROM payment WHERE docket_id > $1 AND docket_id <= $2::int - 100 GROUP BY day ORDER BY day ON CONFLICT DO NOTHING`,
	`INSERT INTO signing_key (id, seed, public, made_at) SELECT 'old', sha256('a'), sha256('b'), '2001-01-01' WHERE $1::integer < $2::integer ON CONFLICT DO NOTHING`,
	`INSERT INTO warranty_card (docket_id, code, payload, key_id, signature, issued_at, issued_by)
		SELECT id, 'CARD' || id, 'x', 'old', decode(repeat('00', 64), 'hex'), received_at, 1 FROM docket WHERE id > $1 AND id <= $2`,
	`INSERT INTO photo (docket_id, sha256, width, height, bytes, added_by, added_at)
		SELECT id, sha256('p'), 1, 1, 1, 1, received_at FROM docket WHERE id > $1 AND id <= $2`,
	`INSERT INTO hazard (docket_id, hazard, found_at) SELECT id, 'solvents', received_at FROM docket WHERE id > $1 AND id <= $2`,
}

func (o *oldShop) growTo(t *testing.T, size int) {
	t.Helper()
	start := time.Now()
	o.drawNumbers(t, size)
	// Rows that refer to each other as they should need no triggers to make sure of it. Where the server lets only its
	// chief switch them off, filling takes somewhat longer.
	_, err := o.conn.Exec(t.Context(), "SET session_replication_role = replica")
	if err != nil {
		t.Logf("triggers stay on: %v", err)
	}
	for _, sql := range growth {
		args := []any{o.size, size}
		if !strings.Contains(sql, "$1") {
			args = nil
		}
		if _, err := o.conn.Exec(t.Context(), sql, args...); err != nil {
			t.Fatalf("%v\n%s", err, sql)
		}
	}
	if err == nil {
		_, err = o.conn.Exec(t.Context(), "RESET session_replication_role")
	} else {
		err = nil
	}
	if err == nil {
		_, err = o.conn.Exec(t.Context(), "VACUUM ANALYZE")
	}
	if err != nil {
		t.Fatal(err)
	}
	o.size = size
	t.Logf("grown to %d dockets in %s", size, time.Since(start).Round(time.Millisecond))
}

// drawNumbers puts the dockets' numbers into a table, 4000 to a year from 2001 on, which is a busy shop.
func (o *oldShop) drawNumbers(t *testing.T, size int) {
	t.Helper()
	_, err := o.conn.Exec(t.Context(), `CREATE TEMPORARY TABLE IF NOT EXISTS numbers (i integer PRIMARY KEY, year integer, seq integer, number text)`)
	if err != nil {
		t.Fatal(err)
	}
	var rows [][]any
	for i := o.size; i < size; i++ {
		n := docket.Number{Year: 2001 + i/4000, Seq: 1 + i%4000}
		rows = append(rows, []any{i, n.Year, n.Seq, n.String()})
	}
	if _, err := o.conn.CopyFrom(t.Context(), pgx.Identifier{"numbers"}, []string{"i", "year", "seq", "number"},
		pgx.CopyFromRows(rows)); err != nil {
		t.Fatal(err)
	}
}

// question is one thing that a page asks of the record.
type question struct {
	what string
	ask  func(context.Context, *oldShop) error
}

// questions are every list and search, and what a docket's pages read. The dockets asked for stand in the middle of
// the shop's life at its smaller size, so that growing doesn't change what they hold.
func questions() []question {
	var all []question
	add := func(what string, ask func(context.Context, *oldShop) error) { all = append(all, question{what, ask}) }
	today := time.Date(2026, 11, 24, 0, 0, 0, 0, time.UTC)
	list := func(what string, f store.DocketFilter) {
		add("dockets: "+what, func(ctx context.Context, o *oldShop) error {
			if f.ReceivedBefore.Equal(today) { // a month before the newest docket
				f.ReceivedBefore = time.Date(2001, 1, 2, 0, 0, 0, 0, time.UTC).Add(time.Duration(o.size-200) * 2 * time.Hour)
			}
			_, err := o.Dockets(ctx, f)
			return err
		})
	}
	list("in the shop", store.DocketFilter{Keeping: store.InShop})
	list("gone", store.DocketFilter{Keeping: store.Gone})
	list("all", store.DocketFilter{Keeping: store.Either})
	list("all, a later page", store.DocketFilter{Keeping: store.Either, Before: 5000})
	list("all, back again", store.DocketFilter{Keeping: store.Either, After: 5000})
	list("gone, a later page", store.DocketFilter{Keeping: store.Gone, Before: 5000})
	for _, st := range docket.Stages() {
		list("all at "+string(st), store.DocketFilter{Keeping: store.Either, Stage: st})
		list("in the shop at "+string(st), store.DocketFilter{Keeping: store.InShop, Stage: st})
		list("gone at "+string(st), store.DocketFilter{Keeping: store.Gone, Stage: st})
	}
	list("of one bench", store.DocketFilter{BenchID: 3})
	list("of one bench at a stage", store.DocketFilter{BenchID: 3, Stage: docket.StageService})
	list("of nobody", store.DocketFilter{Unassigned: true})
	list("overdue", store.DocketFilter{Overdue: true, Today: today})
	list("old in the shop", store.DocketFilter{ReceivedBefore: today})
	list("of a customer", store.DocketFilter{Keeping: store.Either, CustomerID: 17})
	list("of a watch", store.DocketFilter{Keeping: store.Either, WatchID: 17})
	list("of a customer, in the shop", store.DocketFilter{Keeping: store.InShop, CustomerID: 17})

	for _, text := range []string{docket.Number{Year: 2001, Seq: 42}.String(),
		docket.Number{Year: 2001, Seq: 42}.Compact(), "01-00042-Z",
		"01-00042", "01-0", "0100", "42", "Quillson", "Ada Quill", "ada", "a", "reed hana", "Quill Skua", "+44 1630 000042",
		"0042", "000042",
		"ada.quill8@example.org", "ada.quill@", "gannet", "gannet 4", "gannet 77", "gannet model", "model 40 gannet", "m",
		"S00", "M0000420", "S0837832", "nobody at all", "quill gannet", "gannet 77 quillson", "quilsonn", "gannte",
		"o quill"} {
		add("find: "+text, func(ctx context.Context, o *oldShop) error {
			q := store.FindQuery{Text: text, Region: "GB", Year: 2001}
			f, err := o.Find(ctx, q)
			for _, g := range store.FindGroups() {
				if from, more := f.Next(g); more && err == nil {
					_, err = o.Find(ctx, store.FindQuery{Text: text, Region: "GB", Year: 2001, Group: g, From: from})
				}
			}
			return err
		})
	}
	add("value at risk", func(ctx context.Context, o *oldShop) error { _, err := o.RiskSheet(ctx, "EUR"); return err })
	add("today", func(ctx context.Context, o *oldShop) error { _, err := o.Today(ctx); return err })
	n := docket.Number{Year: 2002, Seq: 77}
	add("overview", func(ctx context.Context, o *oldShop) error { _, err := o.Overview(ctx, n); return err })
	add("journal", func(ctx context.Context, o *oldShop) error {
		_, err := o.JournalSheet(ctx, n, 100)
		return err
	})
	add("changes since", func(ctx context.Context, o *oldShop) error { _, err := o.ChangesSince(ctx, n, 1); return err })
	return slices.Concat(all, counterQuestions(), leavingQuestions(), tillQuestions(), morningQuestions())
}

// costs asks every question and adds up what its queries cost.
func (o *oldShop) costs(t *testing.T) map[string]cost {
	t.Helper()
	all := map[string]cost{}
	for _, q := range questions() {
		o.watch.take()
		if err := q.ask(t.Context(), o); err != nil {
			t.Fatalf("%s: %v", q.what, err)
		}
		var sum cost
		for _, asked := range o.watch.take() {
			c := explain(t, o.conn, asked, fmt.Sprintf("%s at %d dockets", q.what, o.size), o.size >= largeShop)
			sum.rows, sum.pages = sum.rows+c.rows, sum.pages+c.pages
		}
		all[q.what] = sum
	}
	return all
}

// No list and no search reads a whole table, and ten times the dockets cost no more than a few pages of index.
func TestPlansOfALargeShop(t *testing.T) {
	t.Parallel()
	o := newOldShop(t)
	o.growTo(t, 10_000)
	small := o.costs(t)
	o.growTo(t, largeShop)
	large := o.costs(t)
	for _, q := range questions() {
		s, l := small[q.what], large[q.what]
		t.Logf("%-40s rows %6.0f -> %6.0f   pages %6d -> %6d", q.what, s.rows, l.rows, s.pages, l.pages)
		// A half more, since an index of ten times the rows is one level deeper; 300 pages for rows that the smaller
		// shop had too few of to fill a page; and 1200 where rows with one word are looked at for a second one, which
		// stops at a fixed number of them.
		allowed := 1.5*float64(s.pages) + 300
		if strings.HasPrefix(q.what, "find: ") && strings.Contains(q.what[6:], " ") {
			allowed += 1200
		}
		// The morning's rows are those of the open dockets and of one month, whatever lies behind; months differ by a tenth.
		if q.what == "morning" && l.rows > 1.15*s.rows {
			t.Errorf("%s meets %.0f rows at 100000 dockets, %.0f at 10000", q.what, l.rows, s.rows)
		}
		if float64(l.pages) > allowed {
			t.Errorf("%s looks at %d pages at 100000 dockets, %d at 10000", q.what, l.pages, s.pages)
		}
	}
}
