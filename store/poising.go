package store

import (
	"context"
	"fmt"
	"reflect"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/oscillator"
	"ledgerwheel/domain/poising"
	"ledgerwheel/domain/timing"
)

// PoisingRow is a round of poising with who read it. A struck one stays in the record but counts no more.
type PoisingRow struct {
	poising.Round
	ID       int64
	Ordinal  int
	At       time.Time
	By       string
	Corrects int64 // the struck round in whose place it stands; 0 for none
	StruckAt time.Time
	StruckBy string
	Why      string // it was struck out or corrected
}

// Struck reports whether the round was struck out, or another stands in its place.
func (r PoisingRow) Struck() bool { return !r.StruckAt.IsZero() }

// PoisingSheet is everything the poising page of a docket shows.
type PoisingSheet struct {
	Head   Head
	Rounds []PoisingRow // in their order, struck ones too
}

// Standing are the rounds that were not struck out.
func (s PoisingSheet) Standing() []PoisingRow { return standingRounds(s.Rounds) }

// Round finds a standing round by its id.
func (s PoisingSheet) Round(id int64) (PoisingRow, bool) {
	for _, r := range s.Standing() {
		if r.ID == id {
			return r, true
		}
	}
	return PoisingRow{}, false
}

func standingRounds(rows []PoisingRow) []PoisingRow {
	var out []PoisingRow
	for _, r := range rows {
		if !r.Struck() {
			out = append(out, r)
		}
	}
	return out
}

// queuePoising adds a docket's rounds to a batch; docketID is SQL that gives the docket's id from arg.
func queuePoising(batch *pgx.Batch, docketID string, arg any, rounds *[]PoisingRow) {
	batch.Queue(`SELECT p.id, p.ordinal, p.done, p.at, m.name, coalesce(p.corrects, 0), p.struck_at, coalesce(x.name, ''), p.why
		FROM poising_round p JOIN staff m ON m.id = p.by_id LEFT JOIN staff x ON x.id = p.struck_by
		WHERE p.docket_id = `+docketID+` ORDER BY p.ordinal, p.id`, arg).Query(func(rows pgx.Rows) (err error) {
		*rounds, err = pgx.CollectRows(rows, func(row pgx.CollectableRow) (PoisingRow, error) {
			var r PoisingRow
			var struck *time.Time
			err := row.Scan(&r.ID, &r.Ordinal, &r.Done, &r.At, &r.By, &r.Corrects, &struck, &r.StruckBy, &r.Why)
			r.At, r.StruckAt = r.At.UTC(), timeOr(struck)
			return r, err
		})
		return err
	})
	batch.Queue(`SELECT g.round_id, g.up_deg, g.rate_s_per_day, g.rate_half_width, g.amplitude_deg, g.amplitude_half_width
		FROM poising_reading g JOIN poising_round p ON p.id = g.round_id WHERE p.docket_id = `+docketID+`
		ORDER BY g.round_id, g.up_deg`, arg).Query(func(rows pgx.Rows) error {
		var id int64
		var up, rate, rateHalf, amplitude, amplitudeHalf float64
		_, err := pgx.ForEachRow(rows, []any{&id, &up, &rate, &rateHalf, &amplitude, &amplitudeHalf}, func() error {
			for i := range *rounds {
				if r := &(*rounds)[i]; r.ID == id {
					r.Readings = append(r.Readings, poising.Reading{UpDeg: up, Rate: timing.Figure{Value: rate, Step: 2 * rateHalf},
						Amplitude: timing.Figure{Value: amplitude, Step: 2 * amplitudeHalf}})
				}
			}
			return nil
		})
		return err
	})
}

// PoisingSheet reads the page in one round trip; the error wraps domain.ErrNotFound.
func (s *Store) PoisingSheet(ctx context.Context, n docket.Number) (PoisingSheet, error) {
	var sheet PoisingSheet
	var found bool
	var batch pgx.Batch
	queueHead(&batch, n, &sheet.Head, &found)
	queuePoising(&batch, `(SELECT id FROM docket WHERE number = $1)`, n.String(), &sheet.Rounds)
	if err := s.sendSheet(ctx, &batch, &found); err != nil {
		return PoisingSheet{}, fmt.Errorf("poising of docket %s: %w", n, err)
	}
	return sheet, nil
}

// poisingFacts is what the journal keeps of a round: every figure as typed, and what the round said.
type poisingFacts struct {
	Round    int            `json:"round"`
	Done     string         `json:"done_before,omitempty"`
	Readings []readingFacts `json:"readings"`
	Says     string         `json:"says,omitempty"`
}

func factsOfPoising(ordinal int, r poising.Round, said oscillator.PoisingRound) poisingFacts {
	f := poisingFacts{Round: ordinal, Done: r.Done, Says: said.Text}
	for _, x := range r.Readings {
		f.Readings = append(f.Readings, readingFacts{At: poising.UpWords(x.UpDeg), Figures: x.Text()})
	}
	return f
}

// poisingOf reads the rounds of a locked docket.
func poisingOf(ctx context.Context, tx pgx.Tx, docketID int64) ([]PoisingRow, error) {
	var rounds []PoisingRow
	var batch pgx.Batch
	queuePoising(&batch, `$1`, docketID, &rounds)
	return rounds, tx.SendBatch(ctx, &batch).Close()
}

// saysOf is what a round says after the standing ones before it.
func saysOf(before []PoisingRow, r poising.Round, b oscillator.Balance) oscillator.PoisingRound {
	var rounds []poising.Round
	for _, row := range before {
		rounds = append(rounds, row.Round)
	}
	said := poising.Judge(append(rounds, r), b)
	return said[len(said)-1]
}

// AddPoising adds a round of poising. b is the balance of the watch as far as it is known: the journal keeps what the
// round said. LastSeen is the id of the newest round as its writer saw it, 0 for none: where another is newer it is
// refused with domain.ErrChanged. The error is a *domain.InvalidError, or as of the other changes of a docket.
func (s *Store) AddPoising(ctx context.Context, c Change, r poising.Round, b oscillator.Balance, lastSeen int64) (id int64,
	err error) {
	if err := domain.Invalid(r.Problems()); err != nil {
		return 0, err
	}
	err = s.change(ctx, c, func(tx pgx.Tx, d docket.Docket) ([]event, error) {
		if why := d.RunProblem(timing.Adjustment); why != "" {
			return nil, domain.Invalid(map[string]string{"readings": why})
		}
		rows, err := poisingOf(ctx, tx, d.ID)
		if err != nil {
			return nil, err
		}
		ordinal := 1
		for _, row := range rows {
			ordinal = max(ordinal, row.Ordinal+1)
			if row.ID > lastSeen {
				return nil, domain.ErrChanged
			}
		}
		if r.Done != "" { // the watch was worked on: what was tested before is open again
			if err := worked(ctx, tx, d, c.At); err != nil {
				return nil, err
			}
		}
		said := saysOf(standingRounds(rows), r, b)
		if id, err = insertPoising(ctx, tx, d.ID, c, r, ordinal, 0); err != nil {
			return nil, err
		}
		return []event{{kind: docket.PoisingRead, summary: poising.ReadSummary(ordinal, said),
			facts: factsOfPoising(ordinal, r, said)}}, nil
	})
	return id, err
}

func insertPoising(ctx context.Context, tx pgx.Tx, docketID int64, c Change, r poising.Round, ordinal int,
	corrects int64) (id int64, err error) {
	err = tx.QueryRow(ctx, `INSERT INTO poising_round (docket_id, ordinal, done, at, by_id, corrects)
		VALUES ($1, $2, $3, $4, $5, $6) RETURNING id`, docketID, ordinal, r.Done, docket.Moment(c.At), c.By.StaffID,
		nullID(corrects)).Scan(&id)
	if err != nil {
		return 0, err
	}
	var batch pgx.Batch
	for _, x := range r.Readings {
		batch.Queue(`INSERT INTO poising_reading (round_id, up_deg, rate_s_per_day, rate_half_width, amplitude_deg, amplitude_half_width)
			VALUES ($1, $2, $3, $4, $5, $6)`, id, x.UpDeg, x.Rate.Value, x.Rate.Step/2, x.Amplitude.Value, x.Amplitude.Step/2)
	}
	return id, tx.SendBatch(ctx, &batch).Close()
}

// poisingNow finds a standing round of a locked docket, and those that stand before it. The error wraps
// domain.ErrChanged when it was struck out meanwhile.
func poisingNow(ctx context.Context, tx pgx.Tx, d docket.Docket, c Change, id int64) (row PoisingRow, before []PoisingRow,
	err error) {
	if why := d.RunProblem(timing.Adjustment); why != "" {
		return row, nil, domain.Invalid(map[string]string{"readings": why})
	}
	if why := docket.RunReasonProblem(c.Why, poising.NoReason); why != "" {
		return row, nil, domain.Invalid(map[string]string{"why": why})
	}
	rows, err := poisingOf(ctx, tx, d.ID)
	if err != nil {
		return row, nil, err
	}
	for _, r := range rows {
		switch {
		case r.ID == id && r.Struck():
			return row, nil, domain.ErrChanged
		case r.ID == id:
			return r, before, nil
		case !r.Struck():
			before = append(before, r)
		}
	}
	return row, nil, domain.ErrNotFound
}

func strikePoising(ctx context.Context, tx pgx.Tx, c Change, id int64) error {
	_, err := tx.Exec(ctx, `UPDATE poising_round SET struck_at = $2, struck_by = $3, why = $4 WHERE id = $1`, id,
		docket.Moment(c.At), c.By.StaffID, c.Why)
	return err
}

// CorrectPoising strikes a round out and puts r in its place; c.Why says why. A correction that changes nothing leaves no
// trace. The error is a *domain.InvalidError, wraps domain.ErrNotFound, domain.ErrChanged when the round was struck out or
// corrected meanwhile, or is as of the other changes of a docket.
func (s *Store) CorrectPoising(ctx context.Context, c Change, id int64, r poising.Round, b oscillator.Balance) error {
	if err := domain.Invalid(r.Problems()); err != nil {
		return err
	}
	return s.change(ctx, c, func(tx pgx.Tx, d docket.Docket) ([]event, error) {
		was, before, err := poisingNow(ctx, tx, d, c, id)
		if err != nil || reflect.DeepEqual(was.Round.Typed(), r.Typed()) {
			return nil, err
		}
		if err := strikePoising(ctx, tx, c, id); err != nil {
			return nil, err
		}
		if _, err := insertPoising(ctx, tx, d.ID, c, r, was.Ordinal, id); err != nil {
			return nil, err
		}
		said := saysOf(before, r, b)
		return []event{{kind: docket.PoisingCorrected, why: c.Why, summary: poising.CorrectedSummary(was.Ordinal, said),
			facts: map[string]poisingFacts{"was": factsOfPoising(was.Ordinal, was.Round, oscillator.PoisingRound{}),
				"now": factsOfPoising(was.Ordinal, r, said)}}}, nil
	})
}

// StrikePoising strikes a round out; c.Why says why. Its errors are those of CorrectPoising.
func (s *Store) StrikePoising(ctx context.Context, c Change, id int64) error {
	return s.change(ctx, c, func(tx pgx.Tx, d docket.Docket) ([]event, error) {
		was, _, err := poisingNow(ctx, tx, d, c, id)
		if err != nil {
			return nil, err
		}
		return []event{{kind: docket.PoisingStruck, why: c.Why, summary: poising.StruckSummary(was.Ordinal),
			facts: factsOfPoising(was.Ordinal, was.Round, oscillator.PoisingRound{})}}, strikePoising(ctx, tx, c, id)
	})
}
