package store

import (
	"cmp"
	"context"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/trial"
)

// TrialNote is a day to be noted, or the correction of one.
type TrialNote struct {
	Entry trial.Entry
	// Version is that of the day as its writer saw it, 0 when nothing was noted of it; when another is newer the note is
	// refused with domain.ErrChanged.
	Version int
	Why     string // of a correction
}

// NoteTrialDay notes a day of a running trial or corrects one; a correction is a new version beside the old one. The
// error is a *domain.InvalidError (the keys of trial.Entry.Problems, "why", and "" for a trial that is over), or wraps
// domain.ErrNotFound, domain.ErrChanged or domain.ErrClosed.
func (s *Store) NoteTrialDay(ctx context.Context, c Change, id int64, in TrialNote) error {
	return s.change(ctx, c, func(tx pgx.Tx, d docket.Docket) ([]event, error) {
		t, err := lockedTrial(ctx, tx, d.ID, id)
		if err != nil {
			return nil, err
		}
		e := in.Entry
		before, noted := t.Day(e.Day)
		if in.Version != before.Version {
			return nil, domain.ErrChanged
		}
		bad := e.Problems(t.Plan, c.At)
		if noted && in.Why == "" {
			bad["why"] = trial.NoWhy
		}
		if len(bad) == 0 {
			bad = trial.TogetherProblems(trial.With(t.Entries(), e), e.Day)
		}
		if err := domain.Invalid(bad); err != nil {
			return nil, err
		}
		if !noted {
			return []event{dayReadEvent(e)}, insertTrialDay(ctx, tx, id, e, 1, c)
		}
		edits := trial.Edits(before.Entry, e)
		if len(edits) == 0 {
			return nil, nil
		}
		return []event{dayCorrectedEvent(e, before, edits, in.Why)}, insertTrialDay(ctx, tx, id, e, before.Version+1, c)
	})
}

// orNone is what was asked, as a JSON object even where nothing was.
func orNone(asked map[string]string) map[string]string {
	if asked == nil {
		return map[string]string{}
	}
	return asked
}

func insertTrialDay(ctx context.Context, tx pgx.Tx, id int64, e trial.Entry, version int, c Change) error {
	var rate, half, within *float64
	var reference, watch *time.Time
	if e.Rate != nil {
		h := e.Rate.Step / 2
		rate, half = &e.Rate.Value, &h
	}
	if e.Compared != nil {
		reference, watch, within = &e.Compared.Reference, &e.Compared.Watch, &e.Compared.WithinS
	}
	_, err := tx.Exec(ctx, `INSERT INTO trial_day (trial_id, day, version, rate_s_per_day, rate_half_width, reference_at, watch_at, comparison_half_s,
			position, temperature_c, functions_engaged, read_at, note, at, by_id, asked)
		VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15, $16)`,
		id, e.Day, version, rate, half, reference, watch, within, string(e.Position), e.TemperatureC, e.FunctionsEngaged,
		docket.Moment(e.ReadAt), e.Note, docket.Moment(c.At), c.By.StaffID, orNone(e.Asked))
	return err
}

// dayFacts is what the journal keeps of a day as read.
type dayFacts struct {
	Day          int        `json:"day"`
	Read         string     `json:"read"`
	Reference    *time.Time `json:"reference,omitempty"`
	WithinS      float64    `json:"read_within_s,omitempty"`
	Position     string     `json:"position"`
	TemperatureC *float64   `json:"temperature_c,omitempty"`
	Functions    *bool      `json:"functions_engaged,omitempty"`
	ReadAt       time.Time  `json:"read_at"`
	Note         string     `json:"note,omitempty"`
	Asked        string     `json:"asked,omitempty"`
}

func dayReadEvent(e trial.Entry) event {
	f := dayFacts{Day: e.Day, Read: e.Text(), Position: string(e.Position), TemperatureC: e.TemperatureC,
		Functions: e.FunctionsEngaged,
		ReadAt:    docket.Moment(e.ReadAt), Note: e.Note, Asked: e.AskedText()}
	if e.Compared != nil {
		f.Reference, f.WithinS = &e.Compared.Reference, e.Compared.WithinS
	}
	return event{kind: docket.TrialDayRead, summary: e.ReadSummary(), facts: f}
}

func dayCorrectedEvent(e trial.Entry, before TrialDay, edits []trial.Edit, why string) event {
	changes := make([]changedFigure, len(edits))
	for i, x := range edits {
		changes[i] = changedFigure{What: x.What, From: cmp.Or(x.From, "none"), To: cmp.Or(x.To, "none")}
	}
	return event{kind: docket.TrialDayCorrected, why: why, summary: e.CorrectedSummary(before.Entry),
		facts: struct {
			Day     int             `json:"day"`
			Version int             `json:"version"`
			Changes []changedFigure `json:"changes"`
			Asked   string          `json:"asked,omitempty"`
		}{e.Day, before.Version + 1, changes, e.AskedText()}}
}
