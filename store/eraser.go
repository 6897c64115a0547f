package store

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"maps"
	"slices"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain/customer"
	"ledgerwheel/domain/docket"
)

// eraser takes one person out of the record within a transaction.
type eraser struct {
	store    *Store
	tx       pgx.Tx
	e        Erasing
	p        person
	until    time.Time // last day on which invoices show name and address; zero where they go at once
	redactor customer.Redactor
	replaced int
	sealed   int
}

// erasingSQL has lines that are never changed otherwise let their words go.
const erasingSQL = `SELECT set_config('ledgerwheel.erasing', 'yes', true)`

func (x *eraser) erase(ctx context.Context) error {
	if _, err := x.tx.Exec(ctx, erasingSQL); err != nil {
		return err
	}
	photos := slices.Clone(x.e.Photos)
	for _, d := range x.p.dockets {
		if err := x.docket(ctx, d, &photos); err != nil {
			return fmt.Errorf("docket %s: %w", d.Number, err)
		}
	}
	if err := x.watches(ctx); err != nil {
		return err
	}
	if err := x.keptForms(ctx); err != nil {
		return err
	}
	if err := x.tell(ctx, `SELECT `+shopEntryColumns+shopToldColumn+` FROM shop_journal j ORDER BY seq`); err != nil {
		return err
	}
	become := customer.Customer.Erased
	if !x.until.IsZero() {
		become = customer.Customer.WithoutReach
	}
	if err := eraseRecords(ctx, x.tx, x.p, become, x.e.At); err != nil {
		return err
	}
	var finished *time.Time
	if x.until.IsZero() {
		at := docket.Moment(x.e.At)
		finished = &at
	}
	_, err := x.tx.Exec(ctx, `INSERT INTO customer_erasure (customer_id, at, by_id, why, kept_until, finished_at, replaced, sealed)
		VALUES ($1, $2, $3, $4, $5, $6, $7, $8)`, x.p.own.ID, docket.Moment(x.e.At), nullID(x.e.By.StaffID), x.e.Why,
		nullTime(x.until), finished, x.replaced, x.sealed)
	return err
}

// finish takes the buyer out of all documents, whose years are over.
func (x *eraser) finish(ctx context.Context) error {
	if _, err := x.tx.Exec(ctx, erasingSQL); err != nil {
		return err
	}
	for _, d := range x.p.dockets {
		if err := x.invoices(ctx, d.ID); err != nil {
			return fmt.Errorf("docket %s: %w", d.Number, err)
		}
	}
	return nil
}

// docket takes the person's words out of one docket, and has its journal say so.
func (x *eraser) docket(ctx context.Context, d docket.Docket, photos *[]int64) error {
	if err := x.endLinks(ctx, d.ID); err != nil {
		return err
	}
	// The parcel that the watch came in is no docket's row: several dockets may be made from it.
	if err := x.replace(ctx, "parcel_in", []string{"number", "sender", "contents", "note"}, []string{"sender"},
		"t.id = (SELECT parcel_id FROM docket WHERE id = $1)", d.ID); err != nil {
		return fmt.Errorf("parcel_in: %w", err)
	}
	// Labels show name and street.
	pictures, err := x.tx.Exec(ctx, `UPDATE parcel_photo SET removed_at = $2, removed_by = $3 WHERE removed_at IS NULL
		AND parcel_id = (SELECT parcel_id FROM docket WHERE id = $1)`, d.ID, docket.Moment(x.e.At), nullID(x.e.By.StaffID))
	if err != nil {
		return fmt.Errorf("parcel_photo: %w", err)
	}
	for _, table := range personalTables() {
		if err := x.table(ctx, table, d.ID); err != nil {
			return fmt.Errorf("%s: %w", table, err)
		}
	}
	var events []event
	rows, _ := x.tx.Query(ctx, `SELECT id FROM photo WHERE docket_id = $1 AND id = ANY($2) ORDER BY id`, d.ID, *photos)
	chosen, err := pgx.CollectRows(rows, pgx.RowTo[int64])
	if err != nil {
		return err
	}
	for _, id := range chosen {
		removed, err := removePhoto(ctx, x.tx, d.ID, id, x.e.By, x.e.At)
		if err != nil {
			return err
		}
		events = append(events, removed...)
	}
	if err := x.tell(ctx, `SELECT `+entryColumns+toldColumn+` FROM journal j WHERE docket_id = $1 ORDER BY seq`, d.ID); err != nil {
		return err
	}
	events = append(events, event{kind: docket.CustomerErased, summary: docket.ErasedSummary(x.p.own.ID, x.until), why: x.e.Why})
	if n := pictures.RowsAffected(); n > 0 {
		events[len(events)-1].facts = map[string]any{"photographs_of_the_parcel_removed": n}
	}
	return x.store.appendEvents(ctx, x.tx, d.ID, docket.Head{Seq: d.Version, Hash: d.Head},
		Change{Number: d.Number, By: x.e.By, At: x.e.At}, events)
}

// endLinks ends the private links, which lead to a page that greets by name, and what waits to be told.
func (x *eraser) endLinks(ctx context.Context, docketID int64) error {
	_, err := x.tx.Exec(ctx, `UPDATE message SET state = 'withdrawn', settled_at = $2 WHERE docket_id = $1 AND settled_at IS NULL`,
		docketID, docket.Moment(x.e.At))
	if err != nil {
		return err
	}
	// What a mail server said may name the address.
	if _, err := x.tx.Exec(ctx, `UPDATE message_delivery t SET said = '' FROM message m WHERE m.id = t.message_id AND m.docket_id = $1`, docketID); err != nil {
		return err
	}
	_, err = x.tx.Exec(ctx, `UPDATE customer_link SET ended_at = $2 WHERE docket_id = $1 AND ended_at IS NULL AND expires_at > $2`,
		docketID, docket.Moment(x.e.At))
	return err
}

// table replaces what is the person's in a docket's rows of one table.
func (x *eraser) table(ctx context.Context, table string, docketID int64) error {
	if table == "invoice" {
		return x.invoices(ctx, docketID)
	}
	return x.words(ctx, table, docketID)
}

// invoices takes the buyer out of a docket's documents, once they need not be kept as they were issued.
func (x *eraser) invoices(ctx context.Context, docketID int64) error {
	if !x.until.IsZero() {
		return nil
	}
	tag, err := x.tx.Exec(ctx, `UPDATE invoice SET body = jsonb_set(body, '{Buyer}', jsonb_build_object('Name', $2::text, 'Address', '', 'TaxNumber', '', 'OtherNumber', ''))
		WHERE docket_id = $1 AND body #>> '{Buyer,Name}' IS DISTINCT FROM $2`, docketID, customer.Pseudonym(x.p.own.ID))
	if err != nil {
		return err
	}
	x.replaced += int(tag.RowsAffected())
	return x.words(ctx, "invoice", docketID)
}

// words replaces the person's words in the free text of a docket's rows of one table.
func (x *eraser) words(ctx context.Context, table string, docketID int64) error {
	whole := strings.Fields(personWhole[table])
	columns := slices.Compact(slices.Sorted(slices.Values(append(strings.Fields(freeText[table]), whole...))))
	return x.replace(ctx, table, columns, whole, rowsOfDocketSQL(table), docketID)
}

// watches takes the person's words out of the notes on their watches.
func (x *eraser) watches(ctx context.Context) error {
	return x.replace(ctx, "watch", []string{"notes", "case_material", "strap"}, nil, "t.customer_id = $1", x.p.own.ID)
}

// replace replaces the person's words in columns of the rows of a table that where names, and all of what stands in the
// columns whole.
func (x *eraser) replace(ctx context.Context, table string, columns, whole []string, where string, args ...any) error {
	var list []string
	for _, c := range columns {
		list = append(list, fmt.Sprintf("'%s', t.%[1]s", c))
	}
	rows, _ := x.tx.Query(ctx, fmt.Sprintf(`SELECT t.ctid::text, jsonb_build_object(%s) FROM %s t WHERE %s`, strings.Join(list, ", "), table, where), args...)
	found, err := pgx.CollectRows(rows, pgx.RowToStructByPos[struct {
		At   string
		Text map[string]any
	}])
	if err != nil {
		return err
	}
	for _, row := range found {
		changed := map[string]any{}
		for c, was := range row.Text {
			now, n := x.redactor.Value(was)
			if s, ok := was.(string); ok && s != "" && slices.Contains(whole, c) && s != customer.Pseudonym(x.p.own.ID) {
				now, n = customer.Pseudonym(x.p.own.ID), 1
			}
			if n > 0 {
				changed[c] = now
				x.replaced += n
			}
		}
		if len(changed) == 0 {
			continue
		}
		if err := x.write(ctx, table, row.At, changed); err != nil {
			return err
		}
	}
	return nil
}

// write sets columns of one row, by its place in the table, from values as JSON has them.
func (x *eraser) write(ctx context.Context, table, at string, changed map[string]any) error {
	raw, err := json.Marshal(changed)
	if err != nil {
		return err
	}
	columns := slices.Sorted(maps.Keys(changed))
	set := make([]string, len(columns))
	for i, c := range columns {
		set[i] = fmt.Sprintf("%s = n.%[1]s", c)
	}
	_, err = x.tx.Exec(ctx, fmt.Sprintf(`UPDATE %s t SET %s FROM jsonb_populate_record(NULL::%[1]s, $2) n WHERE t.ctid = $1::text::tid`,
		table, strings.Join(set, ", ")), at, raw)
	return err
}

// keptForms throws away forms that were typed and not saved in which the person's words stand.
func (x *eraser) keptForms(ctx context.Context) error {
	rows, _ := x.tx.Query(ctx, `SELECT id, fields FROM kept_form`)
	forms, err := pgx.CollectRows(rows, pgx.RowToStructByPos[struct {
		ID     string
		Fields map[string]any
	}])
	if err != nil {
		return err
	}
	var gone []string
	for _, f := range forms {
		if _, n := x.redactor.Value(f.Fields); n > 0 {
			gone = append(gone, f.ID)
		}
	}
	_, err = x.tx.Exec(ctx, `DELETE FROM kept_form WHERE id = ANY($1)`, gone)
	return err
}

// tell keeps, for each entry of a journal that holds the person's words, how it is shown from now on.
func (x *eraser) tell(ctx context.Context, sql string, args ...any) error {
	rows, _ := x.tx.Query(ctx, sql, args...)
	var batch pgx.Batch
	for rows.Next() {
		if err := x.tellOf(rows, &batch); err != nil {
			rows.Close()
			return err
		}
	}
	if err := rows.Err(); err != nil || batch.Len() == 0 {
		return err
	}
	return x.tx.SendBatch(ctx, &batch).Close()
}

// tellOf adds to the batch how one entry is shown, where it holds the person's words.
func (x *eraser) tellOf(row pgx.CollectableRow, batch *pgx.Batch) error {
	entered, before, err := scanBoth(row)
	if err != nil {
		return err
	}
	told, n, err := x.telling(entered.Told(before))
	if err != nil || n == 0 {
		return err
	}
	raw, err := docket.CanonicalJSON(told)
	if err != nil {
		return err
	}
	x.sealed++
	batch.Queue(`INSERT INTO journal_told (docket_id, seq, told) VALUES ($1, $2, $3)
		ON CONFLICT (docket_id, seq) DO UPDATE SET told = excluded.told`, entered.DocketID, entered.Seq, string(raw))
	return nil
}

// telling is an entry without the person's words, and how many were replaced. Names that the customer or who came for
// them gave go whole.
func (x *eraser) telling(e docket.Entry) (docket.Telling, int, error) {
	told, n := docket.Telling{ByName: e.By.Name}, 0
	count := func(s string, k int) string { n += k; return s }
	if e.By.Kind == docket.ByCustomer && e.By.Name != "" && e.By.Name != customer.Pseudonym(x.p.own.ID) {
		told.ByName = count(customer.Pseudonym(x.p.own.ID), 1)
	}
	told.Summary = count(x.redactor.Text(e.Summary))
	told.Why = count(x.redactor.Text(e.Why))
	if len(e.Facts) == 0 {
		return told, n, nil
	}
	dec := json.NewDecoder(bytes.NewReader(e.Facts))
	dec.UseNumber()
	var facts any
	if err := dec.Decode(&facts); err != nil {
		return told, n, err
	}
	facts, k := x.redactor.Value(facts)
	n += k
	raw, err := docket.CanonicalJSON(facts)
	told.Facts = string(raw)
	return told, n, err
}

// eraseRecords writes what a customer's own record, those merged into it and what is kept of the merging become.
func eraseRecords(ctx context.Context, tx pgx.Tx, p person, become func(customer.Customer) customer.Customer, at time.Time) error {
	records := append([]customer.Customer{become(p.own.Customer)}, p.hulls...)
	for i := range records[1:] {
		records[i+1] = records[i+1].Erased()
	}
	for _, c := range records {
		if err := updateCustomer(ctx, tx, c); err != nil {
			return err
		}
		if _, err := tx.Exec(ctx, `UPDATE customer SET erased_at = coalesce(erased_at, $2), mail_back_to = NULL, mail_back_at = NULL,
			mail_back_why = NULL WHERE id = $1`, c.ID, docket.Moment(at)); err != nil {
			return err
		}
	}
	_, err := tx.Exec(ctx, `UPDATE customer_merge SET kept_was = jsonb_build_object('id', kept_id, 'name', ''), merged_was = jsonb_build_object('id', merged_id, 'name', '')
		WHERE (kept_id = $1 OR kept_id IN (SELECT id FROM customer WHERE merged_into = $1)) AND kept_was ->> 'name' <> ''`, p.own.ID)
	return err
}
