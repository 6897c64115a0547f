package store

import (
	"context"
	"encoding/json"
	"fmt"
	"maps"
	"slices"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/customer"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/text"
)

// Merging is what makes two records of one person one.
type Merging struct {
	Kept, Other               int64
	KeptVersion, OtherVersion int64
	Sides                     map[string]customer.Side
	Why                       string
	By                        Actor
	At                        time.Time
}

// PastMerge is one line of what was merged into a customer's record.
type PastMerge struct {
	MergedID         int64
	At               time.Time // UTC
	By, Why          string
	Kept, Merged     customer.Customer // as they were
	Dockets, Watches int
}

// maxWhy bounds a written reason, in characters.
const maxWhy = 1000

// whyProblem says what is wrong with a reason that has to be written.
func whyProblem(why string) map[string]string {
	switch {
	case why == "":
		return map[string]string{"why": "Write why: it goes into the journal."}
	case text.TooLong(why, maxWhy):
		return map[string]string{"why": "Keep the reason to at most 1000 characters."}
	}
	return nil
}

// ofCustomer are the tables whose rows go over with a customer, and the column that names the customer. Dockets are moved
// one by one, with an entry in the journal of each. TestEveryTableOfACustomerGoesOver holds it against the schema.
var ofCustomer = [][2]string{{"watch", "customer_id"}, {"message", "customer_id"}}

// MergeCustomers makes two records of one person one: the kept one gets what sides say, and all that was the other's. The
// other record stays as it was, is listed no more and leads to the kept one. The error is a *domain.InvalidError, or wraps
// domain.ErrChanged or domain.ErrNotFound.
func (s *Store) MergeCustomers(ctx context.Context, m Merging) error {
	m.Why = text.Lines(m.Why)
	if err := domain.Invalid(whyProblem(m.Why)); err != nil {
		return err
	}
	if m.Kept == m.Other {
		return domain.Invalid(map[string]string{"other": "Choose another record."})
	}
	merged := note{kind: docket.CustomersMerged, by: m.By, at: m.At, summary: docket.RecordsMergedSummary(m.Kept, m.Other), why: m.Why}
	err := s.changeShop(ctx, &merged, func(tx pgx.Tx) error {
		both, err := lockTwo(ctx, tx, m)
		if err != nil {
			return err
		}
		kept, other := both[m.Kept], both[m.Other]
		c, bad := customer.Merged(kept.Customer, other.Customer, m.Sides)
		if err := domain.Invalid(bad); err != nil {
			return err
		}
		moved, err := s.moveDockets(ctx, tx, m)
		if err != nil {
			return err
		}
		if err := moveRows(ctx, tx, m, moved); err != nil {
			return err
		}
		if err := updateCustomer(ctx, tx, c); err != nil {
			return err
		}
		merged.facts = map[string]any{"rows": moved}
		return noteMerge(ctx, tx, m, kept, other, moved)
	})
	if err != nil {
		return fmt.Errorf("merge customer %d into %d: %w", m.Other, m.Kept, Translate(err))
	}
	return nil
}

// versioned is a customer with the version to change it by.
type versioned struct {
	customer.Customer
	version int64
	row     []byte // all its columns, as JSON
}

// lockTwo holds both records, always in the same order, if they are as they were seen and neither is gone into another or
// erased.
func lockTwo(ctx context.Context, tx pgx.Tx, m Merging) (map[int64]versioned, error) {
	both := map[int64]versioned{}
	rows, _ := tx.Query(ctx, `SELECT `+customerFields+`, c.version, to_jsonb(c), c.merged_into IS NOT NULL OR c.erased_at IS NOT NULL
		FROM customer c WHERE c.id = ANY($1) ORDER BY c.id FOR UPDATE`, []int64{m.Kept, m.Other})
	var v versioned
	var gone bool
	_, err := pgx.ForEachRow(rows, append(customerTargets(&v.Customer), &v.version, &v.row, &gone), func() error {
		if gone {
			return domain.ErrChanged
		}
		v.row = slices.Clone(v.row)
		both[v.ID] = v
		return nil
	})
	switch {
	case err != nil:
		return nil, err
	case len(both) < 2:
		return nil, domain.ErrNotFound
	case m.KeptVersion != both[m.Kept].version, m.OtherVersion != both[m.Other].version:
		return nil, domain.ErrChanged
	}
	return both, nil
}

// moveDockets moves the dockets, and has the journal of each say so.
func (s *Store) moveDockets(ctx context.Context, tx pgx.Tx, m Merging) (moved map[string]int, err error) {
	dockets, err := lockDocketsOf(ctx, tx, m.Other)
	if err != nil {
		return nil, err
	}
	for _, d := range dockets {
		if _, err := tx.Exec(ctx, `UPDATE docket SET customer_id = $2 WHERE id = $1`, d.ID, m.Kept); err != nil {
			return nil, err
		}
		err = s.appendEvents(ctx, tx, d.ID, docket.Head{Seq: d.Version, Hash: d.Head}, Change{Number: d.Number, By: m.By, At: m.At},
			[]event{{kind: docket.CustomerMerged, summary: docket.OwnerOfDocketSummary(m.Kept, m.Other), why: m.Why}})
		if err != nil {
			return nil, err
		}
	}
	return map[string]int{"docket": len(dockets)}, nil
}

// lockDocketsOf holds a customer's dockets until the transaction ends, oldest first.
func lockDocketsOf(ctx context.Context, tx pgx.Tx, customerID int64) ([]docket.Docket, error) {
	rows, _ := tx.Query(ctx, `SELECT `+docketFields+` FROM docket d WHERE d.customer_id = $1 ORDER BY d.id FOR UPDATE`, customerID)
	return pgx.CollectRows(rows, func(row pgx.CollectableRow) (docket.Docket, error) {
		var d docket.Docket
		targets, finish := docketTargets(&d)
		err := row.Scan(targets...)
		finish()
		return d, err
	})
}

// moveRows moves what else names the customer, and records that were merged into the other before.
func moveRows(ctx context.Context, tx pgx.Tx, m Merging, moved map[string]int) error {
	for _, t := range ofCustomer {
		tag, err := tx.Exec(ctx, fmt.Sprintf(`UPDATE %s SET %s = $2 WHERE %[2]s = $1`, t[0], t[1]), m.Other, m.Kept)
		if err != nil {
			return err
		}
		if n := int(tag.RowsAffected()); n > 0 {
			moved[t[0]] += n
		}
	}
	// Whoever wants no mail wants none under either record; where mail came back from goes with the address.
	_, err := tx.Exec(ctx, `UPDATE customer k SET no_mail_at = coalesce(k.no_mail_at, o.no_mail_at), mail_back_to = coalesce(k.mail_back_to, o.mail_back_to),
		mail_back_at = CASE WHEN k.mail_back_to IS NULL THEN o.mail_back_at ELSE k.mail_back_at END,
		mail_back_why = CASE WHEN k.mail_back_to IS NULL THEN o.mail_back_why ELSE k.mail_back_why END
		FROM customer o WHERE o.id = $1 AND k.id = $2`, m.Other, m.Kept)
	if err != nil {
		return err
	}
	_, err = tx.Exec(ctx, `UPDATE customer SET merged_into = $2 WHERE id = $1 OR merged_into = $1`, m.Other, m.Kept)
	return err
}

// updateCustomer writes the particulars of a customer whose row is held, by any version.
func updateCustomer(ctx context.Context, tx pgx.Tx, c customer.Customer) error {
	c = c.Named()
	keys := c.MatchKeys()
	_, err := tx.Exec(ctx, `UPDATE customer SET name = $2, name_key = $3, phone = $4, phone_e164 = $5, email = $6, email_key = $7,
		address = $8, preferred_contact = $9, notes = $10, phone_region = $11, tongue = nullif($12, ''), tax_number = nullif($13, ''), version = version + 1 WHERE id = $1`,
		c.ID, c.Name, keys.Name, c.Phone, c.PhoneE164, c.Email, keys.Email, c.Address, string(c.PreferredContact), c.Notes, c.PhoneRegion,
		string(c.Tongue), c.TaxNumber)
	return err
}

func noteMerge(ctx context.Context, tx pgx.Tx, m Merging, kept, other versioned, moved map[string]int) error {
	counts, err := json.Marshal(moved)
	if err != nil {
		return err
	}
	_, err = tx.Exec(ctx, `INSERT INTO customer_merge (kept_id, merged_id, at, by_id, why, kept_was, merged_was, moved)
		VALUES ($1, $2, $3, $4, $5, $6, $7, $8)`, m.Kept, m.Other, docket.Moment(m.At), m.By.StaffID, m.Why, kept.row, other.row, counts)
	return err
}

// wasSQL reads the particulars of a record as they were kept in a column of customer_merge.
func wasSQL(column string) string {
	return fmt.Sprintf(`SELECT %s FROM jsonb_populate_record(NULL::customer, m.%s) c`, customerFields, column)
}

// queuePastMerges adds to a batch what was merged into a customer's record, newest first.
func queuePastMerges(batch *pgx.Batch, id int64, list *[]PastMerge) {
	batch.Queue(`SELECT m.merged_id, m.at, s.name, m.why, coalesce((m.moved ->> 'docket')::int, 0), coalesce((m.moved ->> 'watch')::int, 0), k.*, o.*
		FROM customer_merge m JOIN staff s ON s.id = m.by_id, LATERAL (`+wasSQL("kept_was")+`) k, LATERAL (`+wasSQL("merged_was")+`) o
		WHERE m.kept_id = $1 OR m.kept_id IN (SELECT id FROM customer WHERE merged_into = $1) ORDER BY m.id DESC LIMIT $2`, id, mergesShown).Query(
		func(rows pgx.Rows) (err error) {
			*list, err = pgx.CollectRows(rows, func(row pgx.CollectableRow) (PastMerge, error) {
				var p PastMerge
				targets := append([]any{&p.MergedID, &p.At, &p.By, &p.Why, &p.Dockets, &p.Watches}, customerTargets(&p.Kept)...)
				err := row.Scan(append(targets, customerTargets(&p.Merged)...)...)
				p.At = p.At.UTC()
				return p, err
			})
			return err
		})
}

// mergesShown bounds how many merges a customer's page tells of.
const mergesShown = 20

// MergedInto says into whose record that of a customer was merged; 0 for none.
func (s *Store) MergedInto(ctx context.Context, id int64) (int64, error) {
	var kept int64
	err := s.db.QueryRow(ctx, `SELECT coalesce(merged_into, 0) FROM customer WHERE id = $1`, id).Scan(&kept)
	if err != nil {
		return 0, fmt.Errorf("customer %d: %w", id, Translate(err))
	}
	return kept, nil
}

// AlikeCustomers are the records that may be of the same person as a customer's.
func (s *Store) AlikeCustomers(ctx context.Context, c customer.Customer) ([]CustomerMatch, error) {
	var batch pgx.Batch
	var found []CustomerMatch
	queueAlikeCustomers(&batch, c, &found)
	if batch.Len() == 0 {
		return nil, nil
	}
	if err := s.db.SendBatch(ctx, &batch).Close(); err != nil {
		return nil, fmt.Errorf("customers like %d: %w", c.ID, Translate(err))
	}
	return slices.DeleteFunc(found, func(m CustomerMatch) bool { return m.Customer.ID == c.ID }), nil
}

// MovedTables names the tables whose rows go over, for the test that holds them against the schema.
func MovedTables() []string {
	names := map[string]bool{"docket": true}
	for _, t := range ofCustomer {
		names[t[0]] = true
	}
	return slices.Sorted(maps.Keys(names))
}
