package store

import (
	"context"
	"fmt"
	"slices"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/customer"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/photo"
	"ledgerwheel/domain/text"
)

// Erasure is what became of a request to erase a customer's data.
type Erasure struct {
	At        time.Time // UTC
	By        string    // "" for the program
	Why       string
	KeptUntil time.Time // last day on which invoices must show name and address; zero for none
	Finished  bool      // name and address went too
	Replaced  int       // places in free text
	Sealed    int       // entries of journals that hold the person's words
}

// Erasing asks for the data of a customer to be erased.
type Erasing struct {
	CustomerID int64
	// Version is that of the customer as the person saw it; 0 for any.
	Version int64
	// Words are what is looked for in free text besides the person's particulars.
	Words []string
	// Photos are those to be removed with it.
	Photos []int64
	Why    string
	By     Actor
	At     time.Time
	Today  time.Time // civil day of the shop, midnight UTC
	again  bool      // done before, and undone by a restored backup
}

// ErasureHelp is what the page needs that asks whether to erase.
type ErasureHelp struct {
	Customer customer.Customer
	Version  int64
	Standing customer.Standing
	Words    []string
	Photos   []Photo
	// ParcelPhotos is how many photographs there are of the parcels in which their watches came; an erasure takes them all.
	ParcelPhotos int
	Dockets      int
}

func queueErasure(batch *pgx.Batch, id int64, e **Erasure) {
	batch.Queue(`SELECT e.at, coalesce(s.name, ''), e.why, e.kept_until, e.finished_at IS NOT NULL, e.replaced, e.sealed
		FROM customer_erasure e LEFT JOIN staff s ON s.id = e.by_id WHERE e.customer_id = $1 ORDER BY e.id DESC LIMIT 1`, id).Query(
		func(rows pgx.Rows) error {
			list, err := pgx.CollectRows(rows, func(row pgx.CollectableRow) (*Erasure, error) {
				var x Erasure
				var until *time.Time
				err := row.Scan(&x.At, &x.By, &x.Why, &until, &x.Finished, &x.Replaced, &x.Sealed)
				x.At, x.KeptUntil = x.At.UTC(), timeOr(until)
				return &x, err
			})
			if len(list) > 0 {
				*e = list[0]
			}
			return err
		})
}

// ErasureHelp reads what stands against erasing a customer's data, and what would be looked for. The error wraps
// domain.ErrNotFound, also for a record that was merged into another.
func (s *Store) ErasureHelp(ctx context.Context, id int64, today time.Time) (ErasureHelp, error) {
	var h ErasureHelp
	err := s.inTx(ctx, func(tx pgx.Tx) error {
		p, err := lockPerson(ctx, tx, id)
		if err != nil {
			return err
		}
		h.Customer, h.Version, h.Dockets = p.own.Customer, p.own.version, len(p.dockets)
		if h.Standing, err = standingOf(ctx, tx, p, today); err != nil {
			return err
		}
		h.Words = p.words()
		rows, _ := tx.Query(ctx, photoSQL+`WHERE p.removed_at IS NULL AND p.docket_id IN (SELECT id FROM docket WHERE customer_id = $1)
			ORDER BY p.id`, id)
		if h.Photos, err = pgx.CollectRows(rows, scanPhoto); err != nil {
			return err
		}
		return tx.QueryRow(ctx, `SELECT count(*) FROM parcel_photo WHERE removed_at IS NULL
			AND parcel_id IN (SELECT parcel_id FROM docket WHERE customer_id = $1)`, id).Scan(&h.ParcelPhotos)
	})
	if err != nil {
		return h, fmt.Errorf("erasure of customer %d: %w", id, Translate(err))
	}
	return h, nil
}

// person is a customer with all records and dockets of theirs, held until the transaction ends.
type person struct {
	own     versioned
	hulls   []customer.Customer // records that were merged into it
	earlier []customer.Customer // what merged records said before
	named   []string            // names that dockets and answers give, and where messages went
	dockets []docket.Docket
	erased  bool
}

// words are all words of the person that the record knows of.
func (p person) words() []string {
	words := p.own.OwnWords()
	for _, c := range slices.Concat(p.hulls, p.earlier) {
		words = append(words, c.OwnWords()...)
	}
	for _, name := range p.named {
		words = append(words, customer.WordsOf(name)...)
	}
	pseudonym := customer.Customer{Name: customer.Pseudonym(p.own.ID)}.OwnWords()
	return slices.DeleteFunc(customer.TidyWords(words), func(w string) bool { return slices.Contains(pseudonym, w) })
}

func lockPerson(ctx context.Context, tx pgx.Tx, id int64) (person, error) {
	var p person
	var into *int64
	var erased *time.Time
	err := tx.QueryRow(ctx, `SELECT `+customerFields+`, c.version, c.merged_into, c.erased_at FROM customer c WHERE c.id = $1 FOR UPDATE`, id).
		Scan(append(customerTargets(&p.own.Customer), &p.own.version, &into, &erased)...)
	if err != nil {
		return p, err
	}
	if into != nil {
		return p, domain.ErrNotFound
	}
	p.erased = erased != nil
	rows, _ := tx.Query(ctx, `SELECT `+customerFields+` FROM customer c WHERE c.merged_into = $1 ORDER BY c.id FOR UPDATE`, id)
	if p.hulls, err = pgx.CollectRows(rows, scanCustomer); err != nil {
		return p, err
	}
	rows, _ = tx.Query(ctx, `SELECT x.* FROM customer_merge m, LATERAL ((`+wasSQL("kept_was")+`) UNION ALL (`+wasSQL("merged_was")+`)) x
		WHERE x.name <> '' AND (m.kept_id = $1 OR m.kept_id IN (SELECT id FROM customer WHERE merged_into = $1))`, id)
	if p.earlier, err = pgx.CollectRows(rows, scanCustomer); err != nil {
		return p, err
	}
	if p.dockets, err = lockDocketsOf(ctx, tx, id); err != nil {
		return p, err
	}
	rows, _ = tx.Query(ctx, `SELECT collected_by FROM docket WHERE customer_id = $1 AND collected_by <> ''
		UNION SELECT e.decided_name FROM estimate_revision e JOIN docket d ON d.id = e.docket_id WHERE d.customer_id = $1 AND e.decided_name <> ''
		UNION SELECT k.spoke_to FROM contact k JOIN docket d ON d.id = k.docket_id WHERE d.customer_id = $1 AND k.spoke_to <> ''
		UNION SELECT n FROM parcel_out o JOIN docket d ON d.id = o.docket_id, unnest(ARRAY[o.to_name, o.to_firm, o.consent_by]) n
			WHERE d.customer_id = $1 AND n <> ''
		UNION SELECT sent_to FROM message WHERE customer_id = $1 AND sent_to <> ''`, id)
	p.named, err = pgx.CollectRows(rows, pgx.RowTo[string])
	return p, err
}

// standingOf works out what stands against an erasure.
func standingOf(ctx context.Context, tx pgx.Tx, p person, today time.Time) (customer.Standing, error) {
	st := customer.Standing{Today: today}
	err := tx.QueryRow(ctx, `SELECT coalesce(invoice_years, 0) FROM shop`).Scan(&st.InvoiceYears)
	if err != nil {
		return st, err
	}
	for _, d := range p.dockets {
		if !d.Closed() {
			st.Open = append(st.Open, d.Number.String())
			continue
		}
		f, err := factsOf(ctx, tx, d)
		if err != nil {
			return st, err
		}
		if f.DueMinor != 0 {
			st.Owing = append(st.Owing, d.Number.String())
		}
	}
	var invoiced *time.Time
	err = tx.QueryRow(ctx, `SELECT max(greatest(d.handed_back_at, (SELECT max(at) FROM payment WHERE docket_id = d.id), (SELECT max(at) FROM invoice WHERE docket_id = d.id)))::date
		FROM docket d WHERE d.customer_id = $1 AND (d.charged_minor > 0 OR EXISTS (SELECT FROM invoice WHERE docket_id = d.id) OR EXISTS (SELECT FROM payment WHERE docket_id = d.id)
			OR EXISTS (SELECT FROM estimate_revision e WHERE e.docket_id = d.id AND e.state = 'approved' AND e.gross_minor > 0))`,
		p.own.ID).Scan(&invoiced)
	if err != nil {
		return st, err
	}
	st.InvoicedOn = timeOr(invoiced)
	st.WarrantyUntil, err = warrantyUntil(ctx, tx, p.own.ID)
	return st, err
}

// warrantyUntil is the last day on which any watch of the customer may come back under warranty.
func warrantyUntil(ctx context.Context, tx pgx.Tx, id int64) (time.Time, error) {
	var batch pgx.Batch
	var last time.Time
	give := queuePromises(&batch, `SELECT id FROM docket WHERE customer_id = $1`, id)
	batch.Queue(pastDocketSQL+`WHERE d.customer_id = $1`, id).Query(func(rows pgx.Rows) error {
		list, err := pgx.CollectRows(rows, scanPastDocket)
		for _, d := range list {
			give(&d)
			if until, ok := d.Promise.Until(); ok && until.After(last) {
				last = until
			}
		}
		return err
	})
	return last, tx.SendBatch(ctx, &batch).Close()
}

// EraseCustomer takes a person out of the record: name and ways to reach them go, in free text a pseudonym stands in their
// place, and the evidence stays. Where invoices must still show name and address, those two stay until then, and
// FinishErasures takes them. Each docket's journal says that it was done, and the shop's why. The error is a
// *domain.InvalidError, also with what stands against it under "", or wraps domain.ErrNotFound or domain.ErrChanged.
func (s *Store) EraseCustomer(ctx context.Context, e Erasing) error {
	e.Why = text.Lines(e.Why)
	if err := domain.Invalid(whyProblem(e.Why)); err != nil {
		return err
	}
	done := note{kind: docket.DataErased, by: e.By, at: e.At, why: e.Why}
	err := s.changeShop(ctx, &done, func(tx pgx.Tx) error {
		p, err := lockPerson(ctx, tx, e.CustomerID)
		if err != nil {
			return err
		}
		if e.Version != 0 && e.Version != p.own.version || p.erased {
			return domain.ErrChanged
		}
		st, err := standingOf(ctx, tx, p, e.Today)
		if err != nil {
			return err
		}
		if list := st.Hindrances(); len(list) > 0 && !e.again {
			return domain.Invalid(map[string]string{"": list[0]})
		}
		until := time.Time{}
		if st.KeepsInvoices() {
			until = st.InvoicesUntil()
		}
		done.summary = docket.ErasedSummary(p.own.ID, until)
		if e.again {
			done.summary = docket.ErasedAgainSummary(p.own.ID)
		}
		x := eraser{store: s, tx: tx, e: e, p: p, until: until,
			redactor: customer.NewRedactor(append(p.words(), e.Words...), customer.Pseudonym(p.own.ID))}
		// Whoever says why may name the person all the same.
		x.e.Why, _ = x.redactor.Text(e.Why)
		done.why = x.e.Why
		if err := x.erase(ctx); err != nil {
			return err
		}
		done.facts = map[string]any{"places replaced": x.replaced, "entries that keep words": x.sealed}
		return nil
	})
	if err != nil {
		return fmt.Errorf("erase customer %d: %w", e.CustomerID, Translate(err))
	}
	return nil
}

// FinishErasures takes name and address of those whose invoices need not show them any more, and says of how many.
func (s *Store) FinishErasures(ctx context.Context, today, at time.Time) (int, error) {
	rows, _ := s.db.Query(ctx, `SELECT customer_id FROM customer_erasure WHERE finished_at IS NULL AND kept_until < $1 ORDER BY id`, today)
	ids, err := pgx.CollectRows(rows, pgx.RowTo[int64])
	if err != nil {
		return 0, fmt.Errorf("finish erasures: %w", Translate(err))
	}
	for i, id := range ids {
		done := note{kind: docket.DataErased, at: at, summary: docket.ErasedSummary(id, time.Time{})}
		err := s.changeShop(ctx, &done, func(tx pgx.Tx) error {
			p, err := lockPerson(ctx, tx, id)
			if err != nil {
				return err
			}
			x := eraser{store: s, tx: tx, p: p, redactor: customer.NewRedactor(p.words(), customer.Pseudonym(p.own.ID))}
			if err := x.finish(ctx); err != nil {
				return err
			}
			if err := eraseRecords(ctx, tx, p, customer.Customer.Erased, at); err != nil {
				return err
			}
			_, err = tx.Exec(ctx, `UPDATE customer_erasure SET finished_at = $2 WHERE customer_id = $1 AND finished_at IS NULL`, id, docket.Moment(at))
			return err
		})
		if err != nil {
			return i, fmt.Errorf("finish the erasure of customer %d: %w", id, Translate(err))
		}
	}
	return len(ids), nil
}

// ErasedIDs are the customers whose data were erased, with the moment, oldest first: what must be done again where an
// older record is restored.
func (s *Store) ErasedIDs(ctx context.Context) ([]ErasedID, error) {
	rows, _ := s.db.Query(ctx, `SELECT customer_id, min(at) FROM customer_erasure GROUP BY customer_id ORDER BY 2, 1`)
	list, err := pgx.CollectRows(rows, pgx.RowToStructByPos[ErasedID])
	if err != nil {
		return nil, fmt.Errorf("erased customers: %w", Translate(err))
	}
	return list, nil
}

// ErasedID is one customer whose data were erased.
type ErasedID struct {
	ID int64
	At time.Time
}

// EraseAgain erases the data of customers who are in the record as they were before an erasure, and says of how many.
// Whoever came after that backup and has a number of those is told by the moment: a record made later is left alone.
func (s *Store) EraseAgain(ctx context.Context, list []ErasedID, today, at time.Time) (int, error) {
	n := 0
	for _, one := range list {
		var whole bool
		err := s.db.QueryRow(ctx, `SELECT EXISTS (SELECT FROM customer WHERE id = $1 AND erased_at IS NULL AND merged_into IS NULL
			AND created_at < $2)`, one.ID, one.At).Scan(&whole)
		if err != nil {
			return n, fmt.Errorf("erase again: %w", Translate(err))
		}
		if !whole {
			continue
		}
		err = s.EraseCustomer(ctx, Erasing{CustomerID: one.ID, Why: againWhy, At: at, Today: today, again: true})
		if err != nil {
			return n, err
		}
		n++
	}
	return n, nil
}

const againWhy = "Erased on request before; the record was restored from a backup of before that."

// removal is why an erasure takes a photograph along.
const removal = "Removed with the person's data, on request."

// removePhoto removes a photograph of a held docket, if it is one of it and still there.
func removePhoto(ctx context.Context, tx pgx.Tx, docketID, id int64, by Actor, at time.Time) ([]event, error) {
	p, err := lockPhoto(ctx, tx, docketID, id)
	if err != nil || p.Removed() {
		return nil, err
	}
	_, err = tx.Exec(ctx, `UPDATE photo SET removed_at = $2, removed_by = $3, removed_why = $4, customer_sees = false WHERE id = $1`,
		id, docket.Moment(at), by.StaffID, removal)
	return []event{{kind: docket.PhotoRemoved, summary: photo.RemovedSummary, why: removal, facts: map[string]any{"photograph": p.ID}}}, err
}
