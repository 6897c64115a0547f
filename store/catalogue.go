package store

import (
	"context"
	"fmt"
	"math"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/ledger"
)

// CatalogueRow is a part of the catalogue with how it stands.
type CatalogueRow struct {
	ledger.Part
	OnHand, Reserved int
	Version          int64
}

// Free is how many pieces no docket holds back.
func (r CatalogueRow) Free() int { return r.OnHand - r.Reserved }

const catalogueFields = `p.id, p.number, p.name, p.unit, p.drawer, p.fits, p.currency, p.cost_minor, p.price_minor, p.includes_tax,
	p.tax_basis_points, p.reorder_at, coalesce(p.reorder_to, 0), p.ages, p.ended_at IS NOT NULL, p.version, s.on_hand, s.reserved`

func scanCatalogue(row pgx.CollectableRow) (CatalogueRow, error) {
	var r CatalogueRow
	var fits string
	err := row.Scan(&r.ID, &r.Number, &r.Name, &r.Unit, &r.Drawer, &fits, &r.Currency, &r.CostMinor, &r.PriceMinor, &r.IncludesTax,
		&r.TaxBasisPoints, &r.ReorderAt, &r.ReorderTo, &r.Ages, &r.Ended, &r.Version, &r.OnHand, &r.Reserved)
	if fits != "" {
		r.Fits = strings.Split(fits, "\n")
	}
	return r, err
}

// catalogueFacts is what the shop's journal keeps of a part of the catalogue.
type catalogueFacts struct {
	Number   string `json:"part_number"`
	Name     string `json:"name"`
	Unit     string `json:"unit"`
	Drawer   string `json:"drawer,omitempty"`
	Currency string `json:"currency"`
	Cost     *int64 `json:"cost_minor,omitempty"`
	Price    *int64 `json:"unit_minor,omitempty"`
}

// SavePart keeps a part of the catalogue, adding it where its ID is 0, and returns its id. version is the one that the
// form was made of. The error is a *domain.InvalidError (see ledger.Part.Problems; "number" also where another part has
// it), or wraps domain.ErrNotFound or domain.ErrChanged.
func (s *Store) SavePart(ctx context.Context, p ledger.Part, version int64, by Actor, at time.Time) (int64, error) {
	p = p.Tidied()
	if err := domain.Invalid(p.Problems()); err != nil {
		return 0, err
	}
	n := note{kind: docket.CatalogueChanged, by: by, at: at, summary: p.KeptSummary(), facts: catalogueFacts{p.Number, p.Name, p.Unit, p.Drawer,
		p.Currency, p.CostMinor, p.PriceMinor}}
	err := s.changeShop(ctx, &n, func(tx pgx.Tx) (err error) {
		if p.ID, err = writePart(ctx, tx, p, version, by, at); err != nil {
			return err
		}
		var batch pgx.Batch
		batch.Queue(`DELETE FROM part_source WHERE part_id = $1`, p.ID)
		for i, src := range p.Sources {
			batch.Queue(`INSERT INTO part_source (part_id, ordinal, supplier_id, number) VALUES ($1, $2, $3, $4)`, p.ID, i+1, src.SupplierID, src.Number)
		}
		batch.Queue(`INSERT INTO stock (part_id) VALUES ($1) ON CONFLICT DO NOTHING`, p.ID)
		return tx.SendBatch(ctx, &batch).Close()
	})
	if err != nil {
		return 0, fmt.Errorf("save part %s: %w", p.Number, Translate(err))
	}
	return p.ID, nil
}

// writePart writes the row of a part of the catalogue, and returns its id.
func writePart(ctx context.Context, tx pgx.Tx, p ledger.Part, version int64, by Actor, at time.Time) (int64, error) {
	err := mayKeep(ctx, tx, "part", "number = $1", p.Number, p.ID, version, "number", "Another part has this number.")
	if err != nil {
		return 0, err
	}
	var to *int
	if p.ReorderAt != nil {
		to = &p.ReorderTo
	}
	values := []any{p.Number, p.Name, p.Unit, p.Drawer, strings.Join(p.Fits, "\n"), p.Currency, p.CostMinor, p.PriceMinor, p.IncludesTax,
		p.TaxBasisPoints, p.ReorderAt, to, p.Ages, by.StaffID, docket.Moment(at)}
	if p.ID == 0 {
		err = tx.QueryRow(ctx, `INSERT INTO part (number, name, unit, drawer, fits, currency, cost_minor, price_minor, includes_tax, tax_basis_points,
			reorder_at, reorder_to, ages, kept_by, kept_at) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15) RETURNING id`,
			values...).Scan(&p.ID)
		return p.ID, err
	}
	_, err = tx.Exec(ctx, `UPDATE part SET number = $1, name = $2, unit = $3, drawer = $4, fits = $5, currency = $6, cost_minor = $7, price_minor = $8,
		includes_tax = $9, tax_basis_points = $10, reorder_at = $11, reorder_to = $12, ages = $13, kept_by = $14, kept_at = $15, ended_at = NULL,
		version = version + 1 WHERE id = $16`, append(values, p.ID)...)
	return p.ID, err
}

// Catalogue is a page of the catalogue, by numbers; More leads on.
type Catalogue struct {
	Parts []CatalogueRow
	More  bool
}

// Plain are the parts alone.
func (c Catalogue) Plain() []ledger.Part {
	list := make([]ledger.Part, len(c.Parts))
	for i, p := range c.Parts {
		list[i] = p.Part
	}
	return list
}

const catalogueShown = 100

// catalogueSQL lists parts by their numbers, after $1, at most $2. Each of so many words is found by the endings that part_word has
// of it, from one argument to below the next. Where short, the few that are short are met first and each looked up by its
// id, whatever the planner thinks how many they are.
func catalogueSQL(words int, short bool) string {
	from := `part p JOIN stock s ON s.part_id = p.id`
	if short {
		from = `(SELECT part_id FROM stock WHERE on_hand - reserved <= reorder_at OFFSET 0) h
			CROSS JOIN LATERAL (SELECT * FROM part WHERE id = h.part_id OFFSET 0) p CROSS JOIN LATERAL (SELECT * FROM stock WHERE part_id = h.part_id OFFSET 0) s`
	}
	var found strings.Builder
	for i := range words {
		fmt.Fprintf(&found, ` AND p.id IN (SELECT part_id FROM part_word WHERE word >= $%d::text AND word < $%d::text)`, 3+2*i, 4+2*i)
	}
	return `SELECT ` + catalogueFields + ` FROM ` + from + ` WHERE p.ended_at IS NULL AND p.number > $1` + found.String() + ` ORDER BY p.number LIMIT $2`
}

// wordsSought is how many of the words typed a search goes by.
const wordsSought = 6

// Catalogue lists parts by their numbers, after a number: of those that words typed find (in number, name, what it fits, place, a
// supplier's number), and only those that are to be ordered again where short. In one round trip.
func (s *Store) Catalogue(ctx context.Context, typed, after string, short bool) (Catalogue, error) {
	words := strings.Fields(strings.ToLower(typed))
	words = words[:min(len(words), wordsSought)]
	args := []any{after, catalogueShown + 1}
	for _, w := range words {
		args = append(args, w, w+"\U0010FFFF")
	}
	rows, _ := s.db.Query(ctx, catalogueSQL(len(words), short), args...)
	parts, err := pgx.CollectRows(rows, scanCatalogue)
	if err != nil {
		return Catalogue{}, fmt.Errorf("catalogue: %w", Translate(err))
	}
	if len(parts) > catalogueShown {
		return Catalogue{parts[:catalogueShown], true}, nil
	}
	return Catalogue{Parts: parts}, nil
}

// PartsNumbered are the parts of the catalogue whose numbers were typed, in capitals or not, by their numbers.
func (s *Store) PartsNumbered(ctx context.Context, typed []string) ([]ledger.Part, error) {
	var numbers []string
	for _, n := range typed {
		numbers = append(numbers, n, strings.ToUpper(n))
	}
	rows, _ := s.db.Query(ctx, `SELECT `+catalogueFields+` FROM part p JOIN stock s ON s.part_id = p.id WHERE p.number = ANY ($1) AND p.ended_at IS NULL
		ORDER BY p.number`, numbers)
	list, err := pgx.CollectRows(rows, scanCatalogue)
	if err != nil {
		return nil, fmt.Errorf("parts by their numbers: %w", Translate(err))
	}
	return Catalogue{Parts: list}.Plain(), nil
}

// StockLine is a move of a part as its ledger shows it.
type StockLine struct {
	ledger.Move
	LotNumber string
	Docket    string
	By        string
	At        time.Time
}

// PartStock is one part with its lots, what dockets hold back, and its newest moves.
type PartStock struct {
	CatalogueRow
	Seq     int64 // of its newest move
	Balance ledger.Balance
	Lots    []ledger.Lot
	Held    map[int64]string // docket numbers by their ids
	Moves   []StockLine      // newest first
	Older   int64            // where the next page begins; 0 at the end of the ledger
}

const movesShown = 100

// PartStock reads a part's own page in one round trip, with the moves before a number of a move, 0 for the newest. The error
// wraps domain.ErrNotFound.
func (s *Store) PartStock(ctx context.Context, id, before int64) (PartStock, error) {
	if before <= 0 {
		before = math.MaxInt64
	}
	p := PartStock{Held: map[int64]string{}}
	var lots []ledger.LotCount
	var held []ledger.Reservation
	var batch pgx.Batch
	// The version comes first: what is read after it is as new or newer, so that a count booked upon it saw no less.
	batch.Queue(`SELECT seq FROM stock WHERE part_id = $1`, id).QueryRow(func(row pgx.Row) error { return row.Scan(&p.Seq) })
	batch.Queue(`SELECT `+catalogueFields+` FROM part p JOIN stock s ON s.part_id = p.id WHERE p.id = $1`, id).Query(func(rows pgx.Rows) (err error) {
		p.CatalogueRow, err = pgx.CollectExactlyOneRow(rows, scanCatalogue)
		return err
	})
	batch.Queue(`SELECT supplier_id, number FROM part_source WHERE part_id = $1 ORDER BY ordinal`, id).Query(func(rows pgx.Rows) (err error) {
		p.Sources, err = pgx.CollectRows(rows, pgx.RowToStructByPos[ledger.Source])
		return err
	})
	batch.Queue(`SELECT lot_id, pieces FROM stock_lot WHERE part_id = $1`, id).Query(func(rows pgx.Rows) (err error) {
		lots, err = pgx.CollectRows(rows, pgx.RowToStructByPos[ledger.LotCount])
		return err
	})
	batch.Queue(`SELECT h.docket_id, h.pieces, d.number FROM stock_held h JOIN docket d ON d.id = h.docket_id WHERE h.part_id = $1 ORDER BY h.ordinal`,
		id).Query(func(rows pgx.Rows) error {
		var r ledger.Reservation
		var number string
		_, err := pgx.ForEachRow(rows, []any{&r.DocketID, &r.Pieces, &number}, func() error {
			held, p.Held[r.DocketID] = append(held, r), number
			return nil
		})
		return err
	})
	batch.Queue(`SELECT id, number, made_on, usable_to FROM lot WHERE part_id = $1 ORDER BY id`, id).Query(func(rows pgx.Rows) error {
		var l ledger.Lot
		var made, usable *time.Time
		_, err := pgx.ForEachRow(rows, []any{&l.ID, &l.Number, &made, &usable}, func() error {
			l.MadeOn, l.UsableTo = timeOr(made), timeOr(usable)
			p.Lots = append(p.Lots, l)
			return nil
		})
		return err
	})
	batch.Queue(`SELECT m.seq, m.kind, m.pieces, coalesce(m.lot_id, 0), coalesce(l.number, ''), coalesce(d.number, ''), m.why, coalesce(f.name, ''), m.at
		FROM stock_move m LEFT JOIN staff f ON f.id = m.by_id LEFT JOIN lot l ON l.id = m.lot_id LEFT JOIN docket d ON d.id = m.docket_id
		WHERE m.part_id = $1 AND m.seq < $2 ORDER BY m.seq DESC LIMIT $3`, id, before, movesShown+1).Query(func(rows pgx.Rows) error {
		var l StockLine
		var seq, last int64
		_, err := pgx.ForEachRow(rows, []any{&seq, &l.Kind, &l.Pieces, &l.Lot, &l.LotNumber, &l.Docket, &l.Why, &l.By, &l.At}, func() error {
			if l.At = l.At.UTC(); len(p.Moves) == movesShown {
				p.Older = last
				return nil
			}
			p.Moves, last = append(p.Moves, l), seq
			return nil
		})
		return err
	})
	if err := s.db.SendBatch(ctx, &batch).Close(); err != nil {
		return p, fmt.Errorf("stock of part %d: %w", id, Translate(err))
	}
	p.Balance = ledger.Standing(lots, held)
	return p, nil
}
