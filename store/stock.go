package store

import (
	"context"
	"errors"
	"fmt"
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
	// One writer at a time, so that no number is given twice and a clear word says so.
	if _, err := tx.Exec(ctx, `LOCK TABLE part IN SHARE ROW EXCLUSIVE MODE`); err != nil {
		return 0, err
	}
	var taken bool
	var stands int64
	err := tx.QueryRow(ctx, `SELECT EXISTS (SELECT FROM part WHERE number = $1 AND ended_at IS NULL AND id <> $2),
		coalesce((SELECT version FROM part WHERE id = $2), 0)`, p.Number, p.ID).Scan(&taken, &stands)
	switch {
	case err != nil:
		return 0, err
	case taken:
		return 0, domain.Invalid(map[string]string{"number": "Another part has this number."})
	case p.ID != 0 && stands == 0:
		return 0, domain.ErrNotFound
	case p.ID != 0 && stands != version:
		return 0, domain.ErrChanged
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

// CataloguePart reads one part of the catalogue with how it stands. The error wraps domain.ErrNotFound.
func (s *Store) CataloguePart(ctx context.Context, id int64) (CatalogueRow, error) {
	rows, _ := s.db.Query(ctx, `SELECT `+catalogueFields+` FROM part p JOIN stock s ON s.part_id = p.id WHERE p.id = $1`, id)
	r, err := pgx.CollectExactlyOneRow(rows, scanCatalogue)
	if err != nil {
		return r, fmt.Errorf("part %d of the catalogue: %w", id, Translate(err))
	}
	return r, nil
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

// likeEscaper takes their meaning from the signs that a pattern of LIKE has.
var likeEscaper = strings.NewReplacer(`\`, `\\`, `%`, `\%`, `_`, `\_`)

// Catalogue lists parts by their numbers, after a number: of those that words typed find (in number, name, what it fits, a
// supplier's number), and only those that are to be ordered again where short. In one round trip.
func (s *Store) Catalogue(ctx context.Context, typed, after string, short bool) (Catalogue, error) {
	var words []string
	for w := range strings.FieldsSeq(strings.ToLower(typed)) {
		words = append(words, "%"+likeEscaper.Replace(w)+"%")
	}
	rows, _ := s.db.Query(ctx, `SELECT `+catalogueFields+` FROM part p JOIN stock s ON s.part_id = p.id
		WHERE p.ended_at IS NULL AND p.number > $1 AND (NOT $2 OR s.on_hand - s.reserved <= p.reorder_at)
			AND NOT EXISTS (SELECT FROM unnest($3::text[]) w WHERE lower(p.number || ' ' || p.name || ' ' || p.fits || ' ' || p.drawer) NOT LIKE w
				AND NOT EXISTS (SELECT FROM part_source o WHERE o.part_id = p.id AND lower(o.number) LIKE w))
		ORDER BY p.number LIMIT $4`, after, short, words, catalogueShown+1)
	parts, err := pgx.CollectRows(rows, scanCatalogue)
	if err != nil {
		return Catalogue{}, fmt.Errorf("catalogue: %w", Translate(err))
	}
	if len(parts) > catalogueShown {
		return Catalogue{parts[:catalogueShown], true}, nil
	}
	return Catalogue{Parts: parts}, nil
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
}

const movesShown = 200

// PartStock reads a part's own page in one round trip. The error wraps domain.ErrNotFound.
func (s *Store) PartStock(ctx context.Context, id int64) (PartStock, error) {
	p := PartStock{Held: map[int64]string{}}
	var lots []ledger.LotCount
	var held []ledger.Reservation
	var batch pgx.Batch
	batch.Queue(`SELECT `+catalogueFields+` FROM part p JOIN stock s ON s.part_id = p.id WHERE p.id = $1`, id).Query(func(rows pgx.Rows) (err error) {
		p.CatalogueRow, err = pgx.CollectExactlyOneRow(rows, scanCatalogue)
		return err
	})
	batch.Queue(`SELECT supplier_id, number FROM part_source WHERE part_id = $1 ORDER BY ordinal`, id).Query(func(rows pgx.Rows) (err error) {
		p.Sources, err = pgx.CollectRows(rows, pgx.RowToStructByPos[ledger.Source])
		return err
	})
	batch.Queue(`SELECT seq FROM stock WHERE part_id = $1`, id).QueryRow(func(row pgx.Row) error { return row.Scan(&p.Seq) })
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
	batch.Queue(`SELECT m.kind, m.pieces, coalesce(m.lot_id, 0), coalesce(l.number, ''), coalesce(d.number, ''), m.why, coalesce(f.name, ''), m.at
		FROM stock_move m LEFT JOIN staff f ON f.id = m.by_id LEFT JOIN lot l ON l.id = m.lot_id LEFT JOIN docket d ON d.id = m.docket_id
		WHERE m.part_id = $1 ORDER BY m.seq DESC LIMIT $2`, id, movesShown).Query(func(rows pgx.Rows) error {
		var l StockLine
		_, err := pgx.ForEachRow(rows, []any{&l.Kind, &l.Pieces, &l.Lot, &l.LotNumber, &l.Docket, &l.Why, &l.By, &l.At}, func() error {
			l.At = l.At.UTC()
			p.Moves = append(p.Moves, l)
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

// StockMove is a move of a part's stock, with what else the ledger keeps of it.
type StockMove struct {
	ledger.Move
	PartLineID int64 // of the docket, 0 for none
}

// lockBalance holds a part's line of the stock to the end of the transaction, and reads how it stands and the number of
// its newest move. The error wraps domain.ErrNotFound.
func lockBalance(ctx context.Context, tx pgx.Tx, partID int64) (b ledger.Balance, seq int64, err error) {
	if err := tx.QueryRow(ctx, `SELECT seq FROM stock WHERE part_id = $1 FOR UPDATE`, partID).Scan(&seq); err != nil {
		return b, 0, err
	}
	var lots []ledger.LotCount
	var held []ledger.Reservation
	var batch pgx.Batch
	batch.Queue(`SELECT lot_id, pieces FROM stock_lot WHERE part_id = $1`, partID).Query(func(rows pgx.Rows) (err error) {
		lots, err = pgx.CollectRows(rows, pgx.RowToStructByPos[ledger.LotCount])
		return err
	})
	batch.Queue(`SELECT docket_id, pieces FROM stock_held WHERE part_id = $1 ORDER BY ordinal`, partID).Query(func(rows pgx.Rows) (err error) {
		held, err = pgx.CollectRows(rows, pgx.RowToStructByPos[ledger.Reservation])
		return err
	})
	err = tx.SendBatch(ctx, &batch).Close()
	return ledger.Standing(lots, held), seq, err
}

// moveStock writes moves of a part, in their order, and what they come to: all or none. The error is one of
// ledger.Balance.After, or wraps domain.ErrNotFound.
func moveStock(ctx context.Context, tx pgx.Tx, partID int64, moves []StockMove, by Actor, at time.Time) (ledger.Balance, error) {
	b, seq, err := lockBalance(ctx, tx, partID)
	if err != nil {
		return b, err
	}
	var batch pgx.Batch
	for _, m := range moves {
		if b, err = b.After(m.Move); err != nil {
			return b, err
		}
		seq++
		batch.Queue(`INSERT INTO stock_move (part_id, seq, kind, pieces, lot_id, docket_id, part_line_id, why, by_id, at)
			VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10)`, partID, seq, string(m.Kind), m.Pieces, nullID(m.Lot), nullID(m.DocketID),
			nullID(m.PartLineID), m.Why, nullID(by.StaffID), docket.Moment(at))
	}
	batch.Queue(`UPDATE stock SET seq = $2, on_hand = $3, reserved = $4 WHERE part_id = $1`, partID, seq, b.OnHand(), b.Reserved())
	batch.Queue(`DELETE FROM stock_lot WHERE part_id = $1`, partID)
	for _, l := range b.Lots() {
		batch.Queue(`INSERT INTO stock_lot (part_id, lot_id, pieces) VALUES ($1, $2, $3)`, partID, l.Lot, l.Pieces)
	}
	batch.Queue(`DELETE FROM stock_held WHERE part_id = $1`, partID)
	for i, r := range b.Reservations() {
		batch.Queue(`INSERT INTO stock_held (part_id, ordinal, docket_id, pieces) VALUES ($1, $2, $3, $4)`, partID, i+1, r.DocketID, r.Pieces)
	}
	return b, tx.SendBatch(ctx, &batch).Close()
}

// stockFacts is what a journal keeps of moves of stock.
type stockFacts struct {
	Part     string      `json:"part_number"`
	Name     string      `json:"name"`
	Moves    []moveFacts `json:"moves"`
	OnHand   int         `json:"on_hand"`
	Reserved int         `json:"reserved"`
}

type moveFacts struct {
	Kind   string `json:"move"`
	Pieces int    `json:"pieces"`
	Lot    int64  `json:"lot,omitempty"`
}

// ReceiveStock takes pieces into the drawer, in a lot where l has a number; a lot of that number is added to. The error is as
// of MoveStock, with ledger.Lot's problems among its keys.
func (s *Store) ReceiveStock(ctx context.Context, partID int64, pieces int, l ledger.Lot, today time.Time, by Actor, at time.Time) error {
	l = l.Tidied()
	n := note{kind: docket.StockMoved, by: by, at: at}
	err := s.changeShop(ctx, &n, func(tx pgx.Tx) error {
		var ages bool
		var f stockFacts
		if err := tx.QueryRow(ctx, `SELECT number, name, ages FROM part WHERE id = $1`, partID).Scan(&f.Part, &f.Name, &ages); err != nil {
			return err
		}
		m := ledger.Move{Kind: ledger.Received, Pieces: pieces}
		if pieces < 1 {
			return domain.Invalid(map[string]string{"pieces": "Give the number of pieces, 1 or more."})
		}
		if ages {
			if err := domain.Invalid(l.Problems(today)); err != nil {
				return err
			}
			var err error
			if m.Lot, err = keepLot(ctx, tx, partID, l, by, at); err != nil {
				return err
			}
		}
		b, err := moveStock(ctx, tx, partID, []StockMove{{Move: m}}, by, at)
		if err != nil {
			return tooFew(err)
		}
		f.Moves, f.OnHand, f.Reserved = []moveFacts{{m.Kind.Words(), m.Pieces, m.Lot}}, b.OnHand(), b.Reserved()
		n.summary, n.facts = ledger.MovedSummary(f.Part+" "+f.Name, []ledger.Move{m}, b), f
		return nil
	})
	if err != nil {
		return fmt.Errorf("receive part %d: %w", partID, Translate(err))
	}
	return nil
}

// keepLot is the id of a part's lot of that number, added where there is none.
func keepLot(ctx context.Context, tx pgx.Tx, partID int64, l ledger.Lot, by Actor, at time.Time) (id int64, err error) {
	if _, _, err := lockBalance(ctx, tx, partID); err != nil { // so that two don't add one lot
		return 0, err
	}
	err = tx.QueryRow(ctx, `SELECT id FROM lot WHERE part_id = $1 AND number = $2 ORDER BY id LIMIT 1`, partID, l.Number).Scan(&id)
	if errors.Is(err, pgx.ErrNoRows) {
		err = tx.QueryRow(ctx, `INSERT INTO lot (part_id, number, made_on, usable_to, kept_by, kept_at) VALUES ($1, $2, $3, $4, $5, $6) RETURNING id`,
			partID, l.Number, nullTime(l.MadeOn), nullTime(l.UsableTo), by.StaffID, docket.Moment(at)).Scan(&id)
	}
	return id, err
}

// CountStock books what a stocktake found of a part's lots, 0 standing for pieces without one, against how it stood when it
// was counted: seen is the number of its newest move then. Where something moved since, the error wraps
// domain.ErrChanged. Differences need a reason, else it is a *domain.InvalidError with the field "why".
func (s *Store) CountStock(ctx context.Context, partID int64, counts []ledger.Count, seen int64, by Actor, at time.Time) error {
	n := note{kind: docket.StockMoved, by: by, at: at, always: true}
	err := s.changeShop(ctx, &n, func(tx pgx.Tx) error {
		var f stockFacts
		if err := tx.QueryRow(ctx, `SELECT number, name FROM part WHERE id = $1`, partID).Scan(&f.Part, &f.Name); err != nil {
			return err
		}
		b, seq, err := lockBalance(ctx, tx, partID)
		if err != nil {
			return err
		}
		if seq != seen {
			return domain.ErrChanged
		}
		moves, err := b.Booked(counts)
		if err != nil {
			return domain.Invalid(map[string]string{"pieces": "Give what was counted, 0 or more."})
		}
		var list []StockMove
		for _, m := range moves {
			if why := m.NeedsReason(); why != "" {
				return domain.Invalid(map[string]string{"why": why})
			}
			if m.Kind == ledger.Counted {
				n.why = m.Why
			}
			list = append(list, StockMove{Move: m})
			f.Moves = append(f.Moves, moveFacts{m.Kind.Words(), m.Pieces, m.Lot})
		}
		if b, err = moveStock(ctx, tx, partID, list, by, at); err != nil {
			return tooFew(err)
		}
		f.OnHand, f.Reserved = b.OnHand(), b.Reserved()
		n.summary, n.facts = ledger.CountedSummary(f.Part+" "+f.Name, moves, b), f
		return nil
	})
	if err != nil {
		return fmt.Errorf("count part %d: %w", partID, Translate(err))
	}
	return nil
}

// MoveStock writes moves that belong to no docket, in their order, all or none: what came, what was sent back, counted or
// written off. The error is a *domain.InvalidError with the form field "pieces" where there are too few, or "why" where
// a reason lacks, or wraps domain.ErrNotFound.
func (s *Store) MoveStock(ctx context.Context, partID int64, moves []ledger.Move, by Actor, at time.Time) error {
	n := note{kind: docket.StockMoved, by: by, at: at}
	err := s.changeShop(ctx, &n, func(tx pgx.Tx) error {
		var f stockFacts
		if err := tx.QueryRow(ctx, `SELECT number, name FROM part WHERE id = $1`, partID).Scan(&f.Part, &f.Name); err != nil {
			return err
		}
		var list []StockMove
		for _, m := range moves {
			if why := m.NeedsReason(); why != "" {
				return domain.Invalid(map[string]string{"why": why})
			}
			list = append(list, StockMove{Move: m})
			f.Moves = append(f.Moves, moveFacts{m.Kind.Words(), m.Pieces, m.Lot})
			n.why = m.Why
		}
		b, err := moveStock(ctx, tx, partID, list, by, at)
		if err != nil {
			return tooFew(err)
		}
		f.OnHand, f.Reserved = b.OnHand(), b.Reserved()
		n.summary, n.facts = ledger.MovedSummary(f.Part+" "+f.Name, moves, b), f
		return nil
	})
	if err != nil {
		return fmt.Errorf("move stock of part %d: %w", partID, Translate(err))
	}
	return nil
}

// tooFew turns the refusals of a move into what a form says beside the number of pieces.
func tooFew(err error) error {
	var short *ledger.ShortError
	if errors.As(err, &short) {
		return domain.Invalid(map[string]string{"pieces": short.Words()})
	}
	if errors.Is(err, ledger.ErrTooMany) {
		return domain.Invalid(map[string]string{"pieces": "That is more than is kept of one part."})
	}
	return err
}

// StockMoves reads the ledger of a part, the oldest move first.
func (s *Store) StockMoves(ctx context.Context, partID int64) ([]ledger.Move, error) {
	rows, _ := s.db.Query(ctx, `SELECT kind, pieces, coalesce(lot_id, 0), coalesce(docket_id, 0), why FROM stock_move WHERE part_id = $1 ORDER BY seq`,
		partID)
	moves, err := pgx.CollectRows(rows, pgx.RowToStructByPos[ledger.Move])
	if err != nil {
		return nil, fmt.Errorf("ledger of part %d: %w", partID, Translate(err))
	}
	return moves, nil
}

// ReserveParts holds pieces of a part back for a docket. The error is as of MoveStock, or of the other changes of a
// docket.
func (s *Store) ReserveParts(ctx context.Context, c Change, partID int64, pieces int) error {
	return s.stockOfDocket(ctx, c, partID, ledger.Move{Kind: ledger.Reserved, Pieces: pieces})
}

// ReleaseParts gives back what a docket holds back.
func (s *Store) ReleaseParts(ctx context.Context, c Change, partID int64, pieces int) error {
	return s.stockOfDocket(ctx, c, partID, ledger.Move{Kind: ledger.Released, Pieces: pieces})
}

// stockOfDocket writes a move of stock that is for a docket.
func (s *Store) stockOfDocket(ctx context.Context, c Change, partID int64, m ledger.Move) error {
	return s.changeAny(ctx, c, func(tx pgx.Tx, d docket.Docket) ([]event, error) {
		if d.Closed() && m.Kind != ledger.Released {
			return nil, domain.ErrClosed
		}
		var f stockFacts
		if err := tx.QueryRow(ctx, `SELECT number, name FROM part WHERE id = $1`, partID).Scan(&f.Part, &f.Name); err != nil {
			return nil, err
		}
		m.DocketID = d.ID
		b, err := moveStock(ctx, tx, partID, []StockMove{{Move: m}}, c.By, c.At)
		if err != nil {
			return nil, tooFew(err)
		}
		f.Moves, f.OnHand, f.Reserved = []moveFacts{{m.Kind.Words(), m.Pieces, m.Lot}}, b.OnHand(), b.Reserved()
		return []event{{kind: docket.StockHeld, summary: ledger.MovedSummary(f.Part+" "+f.Name, []ledger.Move{m}, b), facts: f}}, nil
	})
}
