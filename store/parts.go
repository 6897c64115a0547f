package store

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/estimate"
	"ledgerwheel/domain/stock"
)

// PartRow is a part line with since when it stands where it stands.
type PartRow struct {
	stock.PartLine
	Since time.Time
}

const partFields = `p.id, p.description, p.reference, p.supplier, p.quantity, p.state, p.old_part, p.note, p.payer, p.payer_why, p.state_at, coalesce(p.part_id, 0)`

func partTargets(p *PartRow) []any {
	return []any{&p.ID, &p.Description, &p.Reference, &p.Supplier, &p.Quantity, &p.State, &p.OldPart, &p.Note, &p.Money.Payer,
		&p.Money.Why, &p.Since, &p.PartID}
}

func scanPart(row pgx.CollectableRow) (PartRow, error) {
	var p PartRow
	err := row.Scan(partTargets(&p)...)
	p.Since = p.Since.UTC()
	return p, err
}

// queueParts adds a docket's parts to a page's batch.
func queueParts(batch *pgx.Batch, n docket.Number, parts *[]PartRow) {
	batch.Queue(`SELECT `+partFields+` FROM part_line p
		WHERE p.docket_id = (SELECT id FROM docket WHERE number = $1) ORDER BY p.id`, n.String()).Query(func(rows pgx.Rows) (err error) {
		*parts, err = pgx.CollectRows(rows, scanPart)
		return err
	})
}

// suppliersShown is how many suppliers a page offers or lists at most.
const suppliersShown = 50

// SupplierCount is how many parts are outstanding from one supplier.
type SupplierCount struct {
	Supplier string
	Parts    int
}

// queueSuppliers adds the suppliers with outstanding parts to a page's batch, most parts first.
func queueSuppliers(batch *pgx.Batch, suppliers *[]SupplierCount) {
	batch.Queue(`SELECT supplier, count(*) FROM part_line WHERE state IN ('needed', 'ordered') AND supplier <> ''
		GROUP BY supplier ORDER BY count(*) DESC, supplier LIMIT $1`, suppliersShown).Query(func(rows pgx.Rows) (err error) {
		*suppliers, err = pgx.CollectRows(rows, pgx.RowToStructByPos[SupplierCount])
		return err
	})
}

// PartsSheet is everything the parts sheet of a docket shows.
type PartsSheet struct {
	Head      Head
	Parts     []PartRow
	Suppliers []SupplierCount // to offer while one is typed
	Estimate  estimate.Estimate
	Drawers   map[int64]CatalogueRow // of those parts that are of the catalogue, by their ids: number, place, and how each stands
}

// Held reports whether the agreed estimate holds a part.
func (s PartsSheet) Held(p stock.PartLine) bool {
	return s.Estimate.HoldsPart(s.Head.Facts.Agreed(), p, s.Lines())
}

// Lines are the parts alone.
func (s PartsSheet) Lines() []stock.PartLine {
	lines := make([]stock.PartLine, len(s.Parts))
	for i, p := range s.Parts {
		lines[i] = p.PartLine
	}
	return lines
}

// PartsSheet reads the sheet in one round trip; the error wraps domain.ErrNotFound.
func (s *Store) PartsSheet(ctx context.Context, n docket.Number) (PartsSheet, error) {
	var sheet PartsSheet
	var found bool
	var batch pgx.Batch
	queueHead(&batch, n, &sheet.Head, &found)
	queueParts(&batch, n, &sheet.Parts)
	batch.Queue(`SELECT `+catalogueFields+` FROM part p JOIN stock s ON s.part_id = p.id WHERE p.id IN (SELECT part_id FROM part_line
		WHERE docket_id = (SELECT id FROM docket WHERE number = $1))`, n.String()).Query(func(rows pgx.Rows) error {
		sheet.Drawers = map[int64]CatalogueRow{}
		list, err := pgx.CollectRows(rows, scanCatalogue)
		for _, p := range list {
			sheet.Drawers[p.ID] = p
		}
		return err
	})
	queueSuppliers(&batch, &sheet.Suppliers)
	var reader estimateReader
	reader.queue(&batch, ofDocket, n.String())
	if err := s.sendSheet(ctx, &batch, &found); err != nil {
		return PartsSheet{}, fmt.Errorf("parts of docket %s: %w", n, err)
	}
	sheet.Estimate = reader.estimate
	return sheet, nil
}

// partFacts is what the journal keeps of a part.
type partFacts struct {
	Part      string `json:"part"`
	Reference string `json:"reference,omitempty"`
	Supplier  string `json:"supplier,omitempty"`
	Quantity  int    `json:"quantity"`
	State     string `json:"state"`
	OldPart   string `json:"old_part"`
	Note      string `json:"note,omitempty"`
	Payer     string `json:"who_pays,omitempty"`
	PayerWhy  string `json:"why_so,omitempty"`
}

func factsOfPart(p stock.PartLine) partFacts {
	return partFacts{p.Description, p.Reference, p.Supplier, p.Quantity, p.State.Words(), p.OldPart.Words(), p.Note,
		p.Money.Payer.Words(), p.Money.Why}
}

// partKinds are the journal's kinds of a part's coming to each state.
var partKinds = map[stock.State]docket.Kind{
	stock.Needed: docket.PartNeeded, stock.Ordered: docket.PartOrdered, stock.Arrived: docket.PartArrived,
	stock.Fitted: docket.PartFitted, stock.Cancelled: docket.PartCancelled,
}

// AddPart adds a part that the docket needs, or that stands further already. The error is a *domain.InvalidError, or
// as of the other changes of a docket.
func (s *Store) AddPart(ctx context.Context, c Change, p stock.PartLine) (id int64, err error) {
	if err := domain.Invalid(p.Problems()); err != nil {
		return 0, err
	}
	err = s.change(ctx, c, func(tx pgx.Tx, d docket.Docket) ([]event, error) {
		var ev event
		id, ev, err = addPart(ctx, tx, d, c, p)
		return []event{ev}, err
	})
	return id, err
}

// addPart is AddPart on a docket that is locked already.
func addPart(ctx context.Context, tx pgx.Tx, d docket.Docket, c Change, p stock.PartLine) (id int64, ev event,
	err error) {
	if p.Money, err = moneyOf(ctx, tx, d, p, p.Money); err != nil {
		return 0, ev, err
	}
	err = tx.QueryRow(ctx, `INSERT INTO part_line (docket_id, description, reference, supplier, quantity, state, old_part, note,
			payer, payer_why, state_at, part_id) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12) RETURNING id`,
		d.ID, p.Description, p.Reference, p.Supplier, p.Quantity, string(p.State), string(p.OldPart), p.Note, string(p.Money.Payer), p.Money.Why,
		docket.Moment(c.At), nullID(p.PartID)).Scan(&id)
	if err == nil {
		err = moveLine(ctx, tx, d, id, c.By.StaffID, c.At, stock.PartLine{}, p)
	}
	if err == nil && p.State == stock.Fitted {
		err = worked(ctx, tx, d, c.At)
	}
	return id, event{kind: partKinds[p.State], summary: p.Summary(), facts: factsOfPart(p)}, err
}

// OutstandingPart is a part that some docket waits for.
type OutstandingPart struct {
	PartRow
	Number   docket.Number
	Watch    string // maker and model
	Customer string
	Gone     bool // the watch has left the shop, but the part was still on its way
	Free     *int // pieces in the drawer that no docket holds back; nil for a part that is not of the catalogue
}

// OutstandingFilter narrows the list of outstanding parts.
type OutstandingFilter struct {
	State    stock.State // Needed or Ordered
	Supplier string      // "" for all
	After    int64       // id of the last part of the page before; 0 for the first page
}

// OutstandingPage is how many parts a page of the list shows.
const OutstandingPage = 50

// Outstanding is a page of the list, longest known first.
type Outstanding struct {
	Parts     []OutstandingPart
	More      bool
	Suppliers []SupplierCount
}

// OutstandingParts lists the parts of every docket that have still to be ordered or to arrive, in one round trip.
func (s *Store) OutstandingParts(ctx context.Context, f OutstandingFilter) (Outstanding, error) {
	if f.State != stock.Needed && f.State != stock.Ordered {
		return Outstanding{}, fmt.Errorf("outstanding parts: %q is not outstanding", f.State)
	}
	var out Outstanding
	var batch pgx.Batch
	// The state is written out so that the partial index serves whatever plan is kept.
	where, args := `WHERE p.state = '`+string(f.State)+`' AND p.id > $1`, []any{f.After}
	if f.Supplier != "" {
		where, args = where+` AND p.supplier = $2`, append(args, f.Supplier)
	}
	batch.Queue(fmt.Sprintf(`SELECT `+partFields+`, d.year, d.seq, w.maker || CASE WHEN w.model = '' THEN '' ELSE ' ' || w.model END, c.name, NOT d.open,
		(SELECT s.on_hand - s.reserved FROM stock s WHERE s.part_id = p.part_id)
		FROM (SELECT * FROM part_line p %s ORDER BY p.id LIMIT %d) p JOIN docket d ON d.id = p.docket_id
		JOIN watch w ON w.id = d.watch_id JOIN customer c ON c.id = d.customer_id ORDER BY p.id`, where, OutstandingPage+1), args...).
		Query(func(rows pgx.Rows) (err error) {
			out.Parts, err = pgx.CollectRows(rows, func(row pgx.CollectableRow) (OutstandingPart, error) {
				var p OutstandingPart
				err := row.Scan(append(partTargets(&p.PartRow), &p.Number.Year, &p.Number.Seq, &p.Watch, &p.Customer, &p.Gone, &p.Free)...)
				p.Since = p.Since.UTC()
				return p, err
			})
			return err
		})
	queueSuppliers(&batch, &out.Suppliers)
	if err := s.db.SendBatch(ctx, &batch).Close(); err != nil {
		return Outstanding{}, fmt.Errorf("outstanding parts: %w", Translate(err))
	}
	if out.More = len(out.Parts) > OutstandingPage; out.More {
		out.Parts = out.Parts[:OutstandingPage]
	}
	return out, nil
}

// PartKey names a part of a docket.
type PartKey struct {
	Number docket.Number
	ID     int64
}

// ArriveParts books in many parts at once, each in the journal of its own docket. Those that others booked in or
// cancelled meanwhile are passed over; arrived counts the rest, also when an error cut the work short.
func (s *Store) ArriveParts(ctx context.Context, by Actor, at time.Time, parts []PartKey) (arrived int, err error) {
	for _, p := range parts {
		err := s.MovePart(ctx, Change{Number: p.Number, By: by, At: at}, p.ID, PartMove{To: stock.Arrived})
		switch {
		case errors.Is(err, stock.ErrMove), errors.Is(err, domain.ErrNotFound):
		case err != nil:
			return arrived, err
		default:
			arrived++
		}
	}
	return arrived, nil
}
