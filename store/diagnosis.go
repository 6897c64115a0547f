package store

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/diagnosis"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/watch"
)

// FindingRow is a finding with who made it. A struck one stays in the record but is no longer part of the diagnosis.
type FindingRow struct {
	diagnosis.Finding
	By       string
	At       time.Time
	StruckAt time.Time // zero while it stands
	StruckBy string
	Corrects int64 // the struck finding in whose place it stands; 0 for none
}

// Struck reports whether the finding was struck out.
func (f FindingRow) Struck() bool { return !f.StruckAt.IsZero() }

// HazardRow is a hazard of a docket and who has read its cautions.
type HazardRow struct {
	Hazard         diagnosis.Hazard
	FoundAt        time.Time
	AcknowledgedBy string    // "" while nobody has
	AcknowledgedAt time.Time // zero while nobody has
}

// DiagnosisSheet is everything the diagnosis sheet of a docket shows.
type DiagnosisSheet struct {
	Head       Head
	Findings   []FindingRow // in the order they were made, struck ones too
	Hazards    []HazardRow  // in the order of diagnosis.Hazards
	Photos     []Photo
	AsReceived RunRecord // the newest as received; zero ID when none was taken
	// Before is the docket on whose warranty the watch came back, and Comeback what was said of that.
	Before   Earlier
	Comeback Comeback
}

// Standing are the findings that were not struck out.
func (s DiagnosisSheet) Standing() []diagnosis.Finding {
	var standing []diagnosis.Finding
	for _, f := range s.Findings {
		if !f.Struck() {
			standing = append(standing, f.Finding)
		}
	}
	return standing
}

const findingSQL = `SELECT f.id, f.component, f.fault, f.severity, f.note, coalesce(f.photo_id, 0), m.name, f.at,
	f.struck_at, coalesce(x.name, ''), coalesce(f.corrects, 0)
	FROM finding f JOIN staff m ON m.id = f.by_id LEFT JOIN staff x ON x.id = f.struck_by `

func scanFinding(row pgx.CollectableRow) (FindingRow, error) {
	var f FindingRow
	var struck *time.Time
	err := row.Scan(&f.ID, &f.Component, &f.Fault, &f.Severity, &f.Note, &f.PhotoID, &f.By, &f.At, &struck, &f.StruckBy,
		&f.Corrects)
	f.At, f.StruckAt = f.At.UTC(), timeOr(struck)
	return f, err
}

// queueFindings adds a docket's findings to a page's batch, those struck out too.
func queueFindings(batch *pgx.Batch, n docket.Number, findings *[]FindingRow) {
	batch.Queue(findingSQL+`WHERE f.docket_id = (SELECT id FROM docket WHERE number = $1) ORDER BY f.id`, n.String()).
		Query(func(rows pgx.Rows) (err error) {
			*findings, err = pgx.CollectRows(rows, scanFinding)
			return err
		})
}

// queueHazards adds a docket's hazards to a page's batch.
func queueHazards(batch *pgx.Batch, n docket.Number, hazards *[]HazardRow) {
	batch.Queue(`SELECT h.hazard, h.found_at, coalesce(m.name, ''), h.acknowledged_at
		FROM hazard h LEFT JOIN staff m ON m.id = h.acknowledged_by
		WHERE h.docket_id = (SELECT id FROM docket WHERE number = $1)`, n.String()).Query(func(rows pgx.Rows) (err error) {
		*hazards, err = pgx.CollectRows(rows, func(row pgx.CollectableRow) (HazardRow, error) {
			var h HazardRow
			var read *time.Time
			err := row.Scan(&h.Hazard, &h.FoundAt, &h.AcknowledgedBy, &read)
			h.FoundAt, h.AcknowledgedAt = h.FoundAt.UTC(), timeOr(read)
			return h, err
		})
		slices.SortFunc(*hazards, func(a, b HazardRow) int {
			return slices.Index(diagnosis.Hazards, a.Hazard) - slices.Index(diagnosis.Hazards, b.Hazard)
		})
		return err
	})
}

// DiagnosisSheet reads the sheet in one round trip; the error wraps domain.ErrNotFound.
func (s *Store) DiagnosisSheet(ctx context.Context, n docket.Number) (DiagnosisSheet, error) {
	var sheet DiagnosisSheet
	var found bool
	var batch pgx.Batch
	queueHead(&batch, n, &sheet.Head, &found)
	queueFindings(&batch, n, &sheet.Findings)
	queueHazards(&batch, n, &sheet.Hazards)
	queuePhotos(&batch, n, &sheet.Photos)
	var runs []RunRecord
	var readings []keptReading
	var clocks recorderClocks
	queueAsReceived(&batch, n, &runs, &readings)
	queueClocks(&batch, &clocks)
	var before earlierReader
	before.queue(&batch, n)
	queueComeback(&batch, `(SELECT id FROM docket WHERE number = $1)`, n.String(), &sheet.Comeback)
	if err := s.sendSheet(ctx, &batch, &found); err != nil {
		return DiagnosisSheet{}, fmt.Errorf("diagnosis of docket %s: %w", n, err)
	}
	before.clocks = clocks
	sheet.Before = before.give(sheet.Head.Watch)
	if gather(runs, readings, sheet.Head.Watch.CrownAt, clocks); len(runs) == 1 {
		sheet.AsReceived = runs[0]
	}
	return sheet, nil
}

// queueAsReceived adds the newest as-received run of a docket and its readings to a page's batch.
func queueAsReceived(batch *pgx.Batch, n docket.Number, runs *[]RunRecord, readings *[]keptReading) {
	const newest = `(SELECT id FROM run WHERE docket_id = (SELECT id FROM docket WHERE number = $1) AND kind = 'as received'
		ORDER BY id DESC LIMIT 1)`
	batch.Queue(`SELECT `+runFields+runFrom+`WHERE r.id = `+newest, n.String()).Query(func(rows pgx.Rows) (err error) {
		*runs, err = pgx.CollectRows(rows, scanRun)
		return err
	})
	batch.Queue(`SELECT `+readingFields+readingFrom+`WHERE g.run_id = `+newest,
		n.String()).Query(func(rows pgx.Rows) (err error) {
		*readings, err = pgx.CollectRows(rows, scanReading)
		return err
	})
}

// sendSheet sends a batch that began with queueHead; the error wraps domain.ErrNotFound when there is no such docket.
func (s *Store) sendSheet(ctx context.Context, batch *pgx.Batch, found *bool) error {
	if err := s.db.SendBatch(ctx, batch).Close(); err != nil {
		return Translate(err)
	}
	if !*found {
		return domain.ErrNotFound
	}
	return nil
}

// findingFacts is what the journal keeps of a finding.
type findingFacts struct {
	Component string `json:"component"`
	Fault     string `json:"fault"`
	Severity  string `json:"severity"`
	Note      string `json:"note,omitempty"`
	Photo     int64  `json:"photograph,omitempty"`
}

func factsOfFinding(f diagnosis.Finding) findingFacts {
	return findingFacts{f.Component.Words(), f.Fault, f.Severity.Words(), f.Note, f.PhotoID}
}

// AddFinding adds what was seen, and the hazards of the watch that the docket does not have yet. The error is a
// *domain.InvalidError, or as of the other changes of a docket.
func (s *Store) AddFinding(ctx context.Context, c Change, f diagnosis.Finding) (id int64, err error) {
	f = f.Tidied()
	if err := domain.Invalid(f.Problems()); err != nil {
		return 0, err
	}
	err = s.change(ctx, c, func(tx pgx.Tx, d docket.Docket) (events []event, err error) {
		id, events, err = addFinding(ctx, tx, d, c, f)
		return events, err
	})
	return id, err
}

// addFinding is AddFinding on a docket that is locked already.
func addFinding(ctx context.Context, tx pgx.Tx, d docket.Docket, c Change, f diagnosis.Finding) (int64, []event,
	error) {
	id, err := insertFinding(ctx, tx, d.ID, c, f, 0)
	if err != nil {
		return 0, nil, err
	}
	events := []event{{kind: docket.FindingAdded, summary: f.AddedSummary(), facts: factsOfFinding(f)}}
	hazards, err := raiseHazards(ctx, tx, d, c.At)
	return id, append(events, hazards...), err
}

func insertFinding(ctx context.Context, tx pgx.Tx, docketID int64, c Change, f diagnosis.Finding,
	corrects int64) (int64, error) {
	if err := checkPhoto(ctx, tx, docketID, f.PhotoID); err != nil {
		return 0, err
	}
	var id int64
	err := tx.QueryRow(ctx, `INSERT INTO finding (docket_id, component, fault, severity, note, photo_id, by_id, at, corrects)
		VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9) RETURNING id`, docketID, string(f.Component), f.Fault, string(f.Severity),
		f.Note, nullID(f.PhotoID), c.By.StaffID, docket.Moment(c.At), nullID(corrects)).Scan(&id)
	return id, err
}

// checkPhoto refuses a photograph of another docket.
func checkPhoto(ctx context.Context, tx pgx.Tx, docketID, photoID int64) error {
	if photoID == 0 {
		return nil
	}
	var own bool
	err := tx.QueryRow(ctx, `SELECT EXISTS (SELECT FROM photo WHERE id = $1 AND docket_id = $2 AND removed_at IS NULL)`, photoID,
		docketID).Scan(&own)
	if err == nil && !own {
		return domain.Invalid(map[string]string{"photo": diagnosis.OtherPhoto})
	}
	return err
}

// raiseHazards adds to the docket what its watch's particulars say can hurt, where it is not there yet.
func raiseHazards(ctx context.Context, tx pgx.Tx, d docket.Docket, at time.Time) ([]event, error) {
	var w watch.Watch
	if err := tx.QueryRow(ctx, `SELECT `+watchFields+` FROM watch w WHERE w.id = $1`,
		d.WatchID).Scan(watchTargets(&w)...); err != nil {
		return nil, err
	}
	return insertHazards(ctx, tx, d.ID, diagnosis.HazardsFor(diagnosis.FactsOf(w)), docket.Moment(at))
}

// AddHazard adds a hazard that the bench found. One that the docket has already changes nothing. The error is a
// *domain.InvalidError, or as of the other changes of a docket.
func (s *Store) AddHazard(ctx context.Context, c Change, h diagnosis.Hazard, why string) error {
	if why := h.Problem(); why != "" {
		return domain.Invalid(map[string]string{"hazard": why})
	}
	return s.change(ctx, c, func(tx pgx.Tx, d docket.Docket) ([]event, error) {
		events, err := insertHazards(ctx, tx, d.ID, []diagnosis.Hazard{h}, docket.Moment(c.At))
		for i := range events {
			events[i].why = why
		}
		return events, err
	})
}

// AcknowledgeHazard records that the actor has read the cautions of a hazard. Whoever was first stands in the record.
// The error wraps domain.ErrNotFound when the docket has no such hazard, or is as of the other changes of a docket.
func (s *Store) AcknowledgeHazard(ctx context.Context, c Change, h diagnosis.Hazard) error {
	return s.change(ctx, c, func(tx pgx.Tx, d docket.Docket) ([]event, error) {
		var read bool
		err := tx.QueryRow(ctx, `SELECT acknowledged_at IS NOT NULL FROM hazard WHERE docket_id = $1 AND hazard = $2`, d.ID,
			string(h)).Scan(&read)
		if errors.Is(err, pgx.ErrNoRows) {
			err = domain.ErrNotFound
		}
		if err != nil || read {
			return nil, err
		}
		_, err = tx.Exec(ctx, `UPDATE hazard SET acknowledged_by = $3, acknowledged_at = $4 WHERE docket_id = $1 AND hazard = $2`,
			d.ID, string(h), c.By.StaffID, docket.Moment(c.At))
		return []event{hazardReadEvent(h)}, err
	})
}

func hazardReadEvent(h diagnosis.Hazard) event {
	return event{kind: docket.HazardAcknowledged, summary: h.ReadSummary(),
		facts: map[string]any{"hazard": string(h), "cautions": h.Caution().Usual}}
}
