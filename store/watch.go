package store

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/customer"
	"ledgerwheel/domain/diagnosis"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/warranty"
	"ledgerwheel/domain/watch"
)

const watchFields = `w.id, w.maker, w.model, w.reference, w.serial, w.movement_serial, coalesce(w.calibre_id, 0), w.calibre_name,
	w.case_material, w.strap, w.lume, w.winding, w.water_resistance, w.overpressure_bar, w.crown_at, w.notes`

func watchTargets(w *watch.Watch) []any {
	return []any{&w.ID, &w.Maker, &w.Model, &w.Reference, &w.Serial, &w.MovementSerial, &w.CalibreID, &w.CalibreName,
		&w.CaseMaterial, &w.Strap, &w.Lume, &w.Winding, &w.WaterResistanceMarked, &w.OverpressureBar, &w.CrownAt, &w.Notes}
}

// watchesShown is how many of a customer's watches their page shows, the newest first.
const watchesShown = 50

// WatchRow is a watch in a list, with the docket that was opened for it last.
type WatchRow struct {
	Watch        watch.Watch
	CustomerID   int64
	CustomerName string
	LastDocket   string // its number; "" for a watch that has none
	LastOpen     bool   // that docket is still open
}

const watchRowSQL = `SELECT ` + watchFields + `, w.customer_id, c.name, coalesce(l.number, ''), coalesce(l.open, false)
	FROM watch w JOIN customer c ON c.id = w.customer_id
	LEFT JOIN LATERAL (SELECT number, open FROM docket WHERE watch_id = w.id ORDER BY id DESC LIMIT 1) l ON true `

func scanWatchRow(row pgx.CollectableRow) (WatchRow, error) {
	var r WatchRow
	err := row.Scan(append(watchTargets(&r.Watch), &r.CustomerID, &r.CustomerName, &r.LastDocket, &r.LastOpen)...)
	return r, err
}

// PastDocket is one line in the history of a watch or a customer.
type PastDocket struct {
	ID           int64
	Number       docket.Number
	Stage        docket.Stage
	Open         bool
	WatchID      int64
	Watch        string // maker, model and reference
	CustomerName string
	Complaint    string
	ReceivedOn   time.Time // civil day, midnight UTC
	HandedBackAt time.Time // zero while the shop keeps the watch
	// Promise is what the watch may come back on; only IntakeHelp reads it.
	Promise   warranty.Promise
	leftUnder int64
}

// HistoryPage is how many dockets a history shows at a time.
const HistoryPage = 20

const pastDocketSQL = `SELECT d.id, d.year, d.seq, d.stage, d.open, d.watch_id, w.maker, w.model, w.reference, c.name,
	d.complaint, d.received_on, d.handed_back_at, coalesce(d.left_under, 0)
	FROM docket d JOIN watch w ON w.id = d.watch_id JOIN customer c ON c.id = d.customer_id `

func scanPastDocket(row pgx.CollectableRow) (PastDocket, error) {
	var p PastDocket
	var w watch.Watch
	var back *time.Time
	err := row.Scan(&p.ID, &p.Number.Year, &p.Number.Seq, &p.Stage, &p.Open, &p.WatchID, &w.Maker, &w.Model, &w.Reference,
		&p.CustomerName, &p.Complaint, &p.ReceivedOn, &back, &p.leftUnder)
	p.Watch, p.HandedBackAt = w.Title(), timeOr(back)
	return p, err
}

// queuePastDockets reads a page of the history whose column equals id. The column is never what somebody typed.
func queuePastDockets(batch *pgx.Batch, column string, id, before int64, list *[]PastDocket, older *bool) {
	batch.Queue(pastDocketSQL+`WHERE `+column+` = $1 AND ($2 = 0 OR d.id < $2) ORDER BY d.id DESC LIMIT $3`,
		id, before, HistoryPage+1).Query(func(rows pgx.Rows) (err error) {
		*list, err = pgx.CollectRows(rows, scanPastDocket)
		if len(*list) > HistoryPage {
			*list, *older = (*list)[:HistoryPage], true
		}
		return err
	})
}

// ignoreNone makes the absence of a row no error, for queries of a batch whose caller looks at what was found.
func ignoreNone(err error) error {
	if errors.Is(err, pgx.ErrNoRows) {
		return nil
	}
	return err
}

// WatchSheet is everything a watch's page shows.
type WatchSheet struct {
	Watch    watch.Watch
	Version  int64
	Calibre  watch.Calibre // zero when the calibre is not in the shop's list
	Customer customer.Customer
	Dockets  []PastDocket
	// OlderDockets says that there are dockets older than those in Dockets.
	OlderDockets bool
	Calibres     []string // names of the shop's calibres, for the form
}

var watchSheetSQL = `SELECT ` + watchFields + `, w.version, ` + calibreFields + `, ` + customerFields + `
	FROM watch w JOIN customer c ON c.id = w.customer_id LEFT JOIN calibre k ON k.id = w.calibre_id WHERE w.id = $1`

// WatchSheet reads a watch's page, with dockets whose id lies below before (0 starts at the newest). The error
// wraps domain.ErrNotFound.
func (s *Store) WatchSheet(ctx context.Context, id, before int64) (WatchSheet, error) {
	var sheet WatchSheet
	var batch pgx.Batch
	found := false
	batch.Queue(watchSheetSQL, id).QueryRow(func(row pgx.Row) error {
		targets := append(watchTargets(&sheet.Watch), &sheet.Version)
		targets = append(targets, calibreTargets(&sheet.Calibre)...)
		err := row.Scan(append(targets, customerTargets(&sheet.Customer)...)...)
		found = err == nil
		return ignoreNone(err)
	})
	queuePastDockets(&batch, "d.watch_id", id, before, &sheet.Dockets, &sheet.OlderDockets)
	queueCalibreNames(&batch, &sheet.Calibres)
	err := s.db.SendBatch(ctx, &batch).Close()
	if err == nil && !found {
		err = domain.ErrNotFound
	}
	if err != nil {
		return WatchSheet{}, fmt.Errorf("watch %d: %w", id, Translate(err))
	}
	return sheet, nil
}

// watchKeys are the columns of a watch by which it is found again.
type watchKeys struct{ words, serial, movement string }

func keysOf(w watch.Watch) watchKeys {
	return watchKeys{customer.FoldName(w.Title()), watch.SerialLikeKey(w.Serial), watch.SerialLikeKey(w.MovementSerial)}
}

func insertWatch(ctx context.Context, tx pgx.Tx, owner int64, w watch.Watch, at time.Time) (int64, error) {
	if err := domain.Invalid(w.Problems()); err != nil {
		return 0, err
	}
	keys := keysOf(w)
	var id int64
	err := tx.QueryRow(ctx, `INSERT INTO watch (customer_id, maker, model, words_key, reference, serial, serial_key,
		movement_serial, movement_serial_key, calibre_id, calibre_name, case_material, strap, lume, winding,
		water_resistance, overpressure_bar, crown_at, notes, created_at)
		VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, (SELECT id FROM calibre WHERE name_key = $10), $11, $12, $13, $14, $15,
			$16, $17, $18, $19, $20) RETURNING id`,
		owner, w.Maker, w.Model, keys.words, w.Reference, w.Serial, keys.serial, w.MovementSerial, keys.movement,
		calibreKey(w.CalibreName), w.CalibreName, w.CaseMaterial, w.Strap, string(w.Lume), string(w.Winding),
		w.WaterResistanceMarked, w.OverpressureBar, w.CrownAt, w.Notes, at).Scan(&id)
	return id, err
}

// updateWatch replaces the particulars of w.ID, whose row the caller has locked, and says whose it is.
func updateWatch(ctx context.Context, tx pgx.Tx, owner int64, w watch.Watch) error {
	if err := domain.Invalid(w.Problems()); err != nil {
		return err
	}
	keys := keysOf(w)
	_, err := tx.Exec(ctx, `UPDATE watch SET customer_id = $2, maker = $3, model = $4, words_key = $5, reference = $6,
		serial = $7, serial_key = $8, movement_serial = $9, movement_serial_key = $10,
		calibre_id = (SELECT id FROM calibre WHERE name_key = $11), calibre_name = $12, case_material = $13, strap = $14,
		lume = $15, winding = $16, water_resistance = $17, overpressure_bar = $18, crown_at = $19, notes = $20,
		version = version + 1 WHERE id = $1`,
		w.ID, owner, w.Maker, w.Model, keys.words, w.Reference, w.Serial, keys.serial, w.MovementSerial, keys.movement,
		calibreKey(w.CalibreName), w.CalibreName, w.CaseMaterial, w.Strap, string(w.Lume), string(w.Winding),
		w.WaterResistanceMarked, w.OverpressureBar, w.CrownAt, w.Notes)
	return err
}

// lockWatch reads a watch and holds its row until the transaction ends.
func lockWatch(ctx context.Context, tx pgx.Tx, id int64) (w watch.Watch, owner, version int64, err error) {
	err = tx.QueryRow(ctx, `SELECT `+watchFields+`, w.customer_id, w.version FROM watch w WHERE w.id = $1 FOR UPDATE`, id).
		Scan(append(watchTargets(&w), &owner, &version)...)
	return w, owner, version, err
}

// WatchChange corrects the particulars of one watch, as it stood when the person saw it.
type WatchChange struct {
	Watch   watch.Watch // Tidied, with its id
	Version int64
	By      Actor
	At      time.Time
}

// SaveWatch replaces a watch's particulars. If the watch is in the shop, its docket's journal says what was corrected,
// and the hazards that follow from the particulars are worked out anew. The error is a *domain.InvalidError, or wraps
// domain.ErrChanged or domain.ErrNotFound.
func (s *Store) SaveWatch(ctx context.Context, c WatchChange) error {
	err := s.inTx(ctx, func(tx pgx.Tx) error {
		old, owner, version, err := lockWatch(ctx, tx, c.Watch.ID)
		if err != nil {
			return err
		}
		if version != c.Version {
			return domain.ErrChanged
		}
		changes := docket.WatchCorrections(old, c.Watch)
		if len(changes) == 0 {
			return nil
		}
		if err := updateWatch(ctx, tx, owner, c.Watch); err != nil {
			return err
		}
		d, err := lockOpenDocket(ctx, tx, c.Watch.ID)
		if errors.Is(err, pgx.ErrNoRows) {
			return s.enterShop(ctx, tx, note{kind: docket.WatchCorrected, by: c.By, at: c.At,
				summary: docket.WatchCorrectedSummary(changes), facts: changes})
		}
		if err != nil {
			return err
		}
		events := []event{{kind: docket.IntakeCorrected, summary: docket.WatchCorrectedSummary(changes), facts: changes}}
		found, err := recomputeHazards(ctx, tx, d.ID, old, c.Watch, c.At)
		if err != nil {
			return err
		}
		head := docket.Head{Seq: d.Version, Hash: d.Head}
		return s.appendEvents(ctx, tx, d.ID, head, Change{Number: d.Number, By: c.By, At: c.At}, append(events, found...))
	})
	if err != nil {
		return fmt.Errorf("save watch %d: %w", c.Watch.ID, Translate(err))
	}
	return nil
}

// lockOpenDocket holds the docket under which the watch is in the shop; pgx.ErrNoRows when it is not there.
func lockOpenDocket(ctx context.Context, tx pgx.Tx, watchID int64) (docket.Docket, error) {
	var d docket.Docket
	targets, finish := docketTargets(&d)
	err := tx.QueryRow(ctx, `SELECT `+docketFields+` FROM docket d WHERE d.watch_id = $1 AND d.open
		ORDER BY d.id DESC LIMIT 1 FOR UPDATE`, watchID).Scan(targets...)
	finish()
	return d, err
}

// recomputeHazards adds the hazards that the corrected particulars raise, and takes back those that only the old ones
// raised, unless somebody has acknowledged them. Hazards that the bench found stay.
func recomputeHazards(ctx context.Context, tx pgx.Tx, docketID int64, old, corrected watch.Watch,
	at time.Time) ([]event, error) {
	before := diagnosis.HazardsFor(diagnosis.FactsOf(old))
	now := diagnosis.HazardsFor(diagnosis.FactsOf(corrected))
	_, err := tx.Exec(ctx, `DELETE FROM hazard WHERE docket_id = $1 AND acknowledged_at IS NULL
		AND hazard = ANY($2) AND NOT hazard = ANY($3)`, docketID, hazardWords(before), hazardWords(now))
	if err != nil {
		return nil, err
	}
	return insertHazards(ctx, tx, docketID, now, at)
}

// insertHazards adds the hazards that the docket does not have yet and returns what the journal is told.
func insertHazards(ctx context.Context, tx pgx.Tx, docketID int64, hazards []diagnosis.Hazard, at time.Time) ([]event,
	error) {
	rows, _ := tx.Query(ctx, `INSERT INTO hazard (docket_id, hazard, found_at)
		SELECT $1, h, $3 FROM unnest($2::text[]) AS h ON CONFLICT DO NOTHING RETURNING hazard`, docketID, hazardWords(hazards), at)
	added, err := pgx.CollectRows(rows, pgx.RowTo[string])
	if err != nil {
		return nil, err
	}
	var events []event
	for _, h := range added {
		events = append(events, hazardEvent(diagnosis.Hazard(h)))
	}
	return events, nil
}

func hazardEvent(h diagnosis.Hazard) event {
	return event{kind: docket.HazardFound, summary: h.FoundSummary(), facts: map[string]string{"hazard": string(h)}}
}

func hazardWords(hazards []diagnosis.Hazard) []string {
	words := make([]string, len(hazards))
	for i, h := range hazards {
		words[i] = string(h)
	}
	return words
}
