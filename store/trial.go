package store

import (
	"context"
	"fmt"
	"maps"
	"slices"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/chronometer"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/record"
	"ledgerwheel/domain/shop"
	"ledgerwheel/domain/timing"
	"ledgerwheel/domain/trial"
)

// TrialRecord is a trial as the record keeps it.
type TrialRecord struct {
	ID      int64
	Plan    trial.Plan
	State   trial.State
	Verdict metrology.Verdict // once it is ended, by the rule named
	// TimeZone and SimpleAcceptance are the clock that its days go by and the rule that it is judged by, as the shop had
	// them on its first day and whatever the shop has since.
	TimeZone         string
	SimpleAcceptance bool
	// Shop is the settings as they stood when it was ended, or begun while it runs, with the trial's own clock and rule
	// among them; what its sheet and its bulletin say is said by them. Only TrialSheet reads it.
	Shop    shop.Shop
	Reason  string // why it was abandoned
	BegunAt time.Time
	BegunBy string
	EndedAt time.Time
	EndedBy string
	// every version of every day, by day and then newest first; only of the trial that is shown
	Days []TrialDay
}

// TrialDay is one version of what was noted of a day.
type TrialDay struct {
	trial.Entry
	Version int // 1 is the first; each correction is one more
	At      time.Time
	By      string
}

// Zone is the clock that the trial's days go by.
func (t TrialRecord) Zone() *time.Location { return shop.LocationOf(t.TimeZone) }

// Rule is what the trial is judged by.
func (t TrialRecord) Rule() metrology.Rule { return ruleOf(t.SimpleAcceptance) }

// Entries returns the days as they stand, in order.
func (t TrialRecord) Entries() []trial.Entry {
	var list []trial.Entry
	for _, d := range t.Days {
		if len(list) == 0 || list[len(list)-1].Day != d.Day {
			list = append(list, d.Entry)
		}
	}
	return list
}

// Day returns a day as it stands.
func (t TrialRecord) Day(day int) (TrialDay, bool) {
	if at := slices.IndexFunc(t.Days, func(d TrialDay) bool { return d.Day == day }); at >= 0 {
		return t.Days[at], true
	}
	return TrialDay{}, false
}

// First returns a day as it was first noted.
func (t TrialRecord) First(day int) (TrialDay, bool) {
	at := slices.IndexFunc(t.Days, func(d TrialDay) bool { return d.Entry.Day == day && d.Version == 1 })
	if at < 0 {
		return TrialDay{}, false
	}
	return t.Days[at], true
}

// TrialSheet is what the sheet of a docket's trials shows.
type TrialSheet struct {
	Head   Head
	Trials []TrialRecord // newest first, without their days
	Shown  *TrialRecord  // the one asked for, or else the newest; nil when there is none
	Seal   record.Seal   // that the bulletin bears; without a text there is none old enough
}

// Running returns the trial that goes on.
func (t TrialSheet) Running() (TrialRecord, bool) {
	if at := slices.IndexFunc(t.Trials, func(r TrialRecord) bool { return r.State == trial.Running }); at >= 0 {
		return t.Trials[at], true
	}
	return TrialRecord{}, false
}

// trialsShown is how many trials of a docket its sheet lists.
const trialsShown = 20

const trialFields = `t.id, t.category, t.method, t.first_day, t.reading_minute, t.instrument, t.instrument_ppm, t.settled_hours,
	t.settled_temperature_c, t.state, t.verdict, t.time_zone, t.simple_rule, t.reason, t.begun_at, b.name, t.ended_at,
	coalesce(e.name, ''), coalesce(t.written_under, 0)`

const trialFrom = ` FROM trial t JOIN staff b ON b.id = t.begun_by LEFT JOIN staff e ON e.id = t.ended_by `

func scanTrial(row pgx.CollectableRow) (TrialRecord, error) { return stoodShops(nil).scanTrial(row) }

func (stood stoodShops) scanTrial(row pgx.CollectableRow) (TrialRecord, error) {
	var t TrialRecord
	var writtenUnder int64
	var hours, temperature *float64
	var verdict string
	var ended *time.Time
	p := &t.Plan
	err := row.Scan(&t.ID, &p.Category, &p.Method, &p.FirstDay, &p.ReadingMinute, &p.Instrument, &p.ClockPPM, &hours,
		&temperature,
		&t.State, &verdict, &t.TimeZone, &t.SimpleAcceptance, &t.Reason, &t.BegunAt, &t.BegunBy, &ended, &t.EndedBy,
		&writtenUnder)
	if err != nil {
		return t, err
	}
	t.Shop = stood[writtenUnder]
	t.Shop.TimeZone, t.Shop.SimpleAcceptance = t.TimeZone, t.SimpleAcceptance
	if hours != nil && temperature != nil {
		p.Settling = &chronometer.Settling{Hours: *hours, TemperatureC: *temperature}
	}
	if verdict != "" {
		if t.Verdict, err = metrology.ParseVerdict(verdict); err != nil {
			return t, err
		}
	}
	t.BegunAt, t.EndedAt = t.BegunAt.UTC(), timeOr(ended)
	return t, nil
}

const trialDayFields = `g.day, g.version, g.rate_s_per_day, g.rate_half_width, g.reference_at, g.watch_at, g.comparison_half_s, g.position,
	g.temperature_c, g.functions_engaged, g.read_at, g.note, g.asked, g.at, p.name`

func scanTrialDay(row pgx.CollectableRow) (TrialDay, error) {
	var d TrialDay
	var rate, half, within *float64
	var reference, watch *time.Time
	err := row.Scan(&d.Entry.Day, &d.Version, &rate, &half, &reference, &watch, &within, &d.Position, &d.TemperatureC,
		&d.FunctionsEngaged, &d.ReadAt, &d.Note, &d.Asked, &d.At, &d.By)
	if rate != nil && half != nil {
		d.Rate = &timing.Figure{Value: *rate, Step: 2 * *half}
	}
	if reference != nil && watch != nil && within != nil {
		d.Compared = &trial.Compared{Reference: reference.UTC(), Watch: watch.UTC(), WithinS: *within}
	}
	d.ReadAt, d.At = d.ReadAt.UTC(), d.At.UTC()
	return d, err
}

// TrialSheet reads the trials of a docket in one round trip, and the days of the trial id, or of the newest when id is
// 0. The error wraps domain.ErrNotFound when there is no such docket or no such trial on it.
func (s *Store) TrialSheet(ctx context.Context, n docket.Number, id int64) (TrialSheet, error) {
	var sheet TrialSheet
	var found bool
	var days []TrialDay
	var batch pgx.Batch
	queueHead(&batch, n, &sheet.Head, &found)
	stood := stoodShops{}
	queueShops(&batch, stood, `SELECT written_under FROM trial WHERE docket_id = (SELECT id FROM docket WHERE number = $1)`,
		n.String())
	batch.Queue(`SELECT `+trialFields+trialFrom+`WHERE t.docket_id = (SELECT id FROM docket WHERE number = $1) ORDER BY t.id DESC LIMIT $2`,
		n.String(), trialsShown).Query(func(rows pgx.Rows) (err error) {
		sheet.Trials, err = pgx.CollectRows(rows, stood.scanTrial)
		return err
	})
	batch.Queue(`SELECT `+trialDayFields+` FROM trial_day g JOIN staff p ON p.id = g.by_id WHERE g.trial_id = (SELECT id FROM trial
			WHERE docket_id = (SELECT id FROM docket WHERE number = $1) AND ($2 = 0 OR id = $2) ORDER BY id DESC LIMIT 1)
		ORDER BY g.day, g.version DESC`, n.String(), id).Query(func(rows pgx.Rows) (err error) {
		days, err = pgx.CollectRows(rows, scanTrialDay)
		return err
	})
	queueSeal(&batch, &sheet.Seal, docketSealSQL, n.String())
	if err := s.sendSheet(ctx, &batch, &found); err != nil {
		return TrialSheet{}, fmt.Errorf("trials of docket %s: %w", n, err)
	}
	at := slices.IndexFunc(sheet.Trials, func(t TrialRecord) bool { return id == 0 || t.ID == id })
	switch {
	case at >= 0:
		shown := sheet.Trials[at]
		shown.Days, sheet.Shown = days, &shown
	case id != 0:
		return TrialSheet{}, fmt.Errorf("trial %d of docket %s: %w", id, n, domain.ErrNotFound)
	}
	return sheet, nil
}

// trialShop is what a trial takes from the shop's settings on its first day.
func trialShop(ctx context.Context, tx pgx.Tx) (zone string, simple bool, err error) {
	err = tx.QueryRow(ctx, `SELECT coalesce((SELECT time_zone FROM shop), 'UTC'), coalesce((SELECT decision_rule = 'simple' FROM shop), false)`).
		Scan(&zone, &simple)
	return zone, simple, err
}

// trialFacts is what the journal keeps of a trial that begins.
type trialFacts struct {
	Category   int     `json:"category"`
	Method     string  `json:"rates_by"`
	FirstDay   string  `json:"first_day"`
	ReadAt     string  `json:"read_at"`
	Instrument string  `json:"instrument,omitempty"`
	ClockPPM   float64 `json:"clock_within_ppm,omitempty"`
	Settled    string  `json:"settled,omitempty"`
	TimeZone   string  `json:"time_zone"`
	Rule       string  `json:"decided_by"`
}

func factsOfTrial(p trial.Plan, zone string, rule metrology.Rule) trialFacts {
	f := trialFacts{Category: int(p.Category), Method: p.Method.Words(), FirstDay: p.FirstDay.Format(time.DateOnly),
		ReadAt: fmt.Sprintf("%02d:%02d", p.ReadingMinute/60, p.ReadingMinute%60), Instrument: p.Instrument,
		ClockPPM: p.ClockPPM, TimeZone: zone, Rule: rule.String()}
	if p.Settling != nil {
		f.Settled = fmt.Sprintf("%g h at %g °C", p.Settling.Hours, p.Settling.TemperatureC)
	}
	return f
}

// BeginTrial begins a trial, which keeps the shop's time zone and rule of decision as they stand, and returns its id. The
// error is a *domain.InvalidError (the keys of trial.Plan.Problems,
// and "" where no trial may begin), or wraps domain.ErrNotFound, domain.ErrChanged or domain.ErrClosed.
func (s *Store) BeginTrial(ctx context.Context, c Change, p trial.Plan) (int64, error) {
	var id int64
	err := s.change(ctx, c, func(tx pgx.Tx, d docket.Docket) ([]event, error) {
		if why := trial.StageProblem(d); why != "" {
			return nil, domain.Invalid(map[string]string{"": why})
		}
		zone, simple, err := trialShop(ctx, tx)
		if err != nil {
			return nil, err
		}
		bad := p.Problems(civilDay(c.At, shop.LocationOf(zone)))
		maps.Copy(bad, p.ClockProblems(shop.LocationOf(zone)))
		if err := domain.Invalid(bad); err != nil {
			return nil, err
		}
		var running bool
		if err := tx.QueryRow(ctx, `SELECT EXISTS (SELECT FROM trial WHERE docket_id = $1 AND state = 'running')`,
			d.ID).Scan(&running); err != nil {
			return nil, err
		}
		if running {
			return nil, domain.Invalid(map[string]string{"": trial.RunsAlready})
		}
		var hours, temperature *float64
		if p.Settling != nil {
			hours, temperature = &p.Settling.Hours, &p.Settling.TemperatureC
		}
		err = tx.QueryRow(ctx, `INSERT INTO trial (docket_id, category, method, first_day, reading_minute, instrument, instrument_ppm, settled_hours,
				settled_temperature_c, begun_at, begun_by, time_zone, simple_rule, written_under)
			VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, `+newestShop+`) RETURNING id`,
			d.ID, int(p.Category), string(p.Method), p.FirstDay, p.ReadingMinute, p.Instrument, p.ClockPPM, hours, temperature,
			docket.Moment(c.At), c.By.StaffID, zone, simple).Scan(&id)
		return []event{{kind: docket.TrialBegun, facts: factsOfTrial(p, zone, ruleOf(simple)), summary: p.BegunSummary()}}, err
	})
	return id, err
}

// lockedTrial reads a running trial of a locked docket with its days.
func lockedTrial(ctx context.Context, tx pgx.Tx, docketID, id int64) (TrialRecord, error) {
	rows, _ := tx.Query(ctx, `SELECT `+trialFields+trialFrom+`WHERE t.docket_id = $1 AND t.id = $2`, docketID, id)
	t, err := pgx.CollectExactlyOneRow(rows, scanTrial)
	if err != nil {
		return t, err
	}
	if t.State != trial.Running {
		return t, domain.Invalid(map[string]string{"": trial.Over})
	}
	rows, _ = tx.Query(ctx, `SELECT `+trialDayFields+` FROM trial_day g JOIN staff p ON p.id = g.by_id WHERE g.trial_id = $1 ORDER BY g.day, g.version DESC`, id)
	t.Days, err = pgx.CollectRows(rows, scanTrialDay)
	return t, err
}

// EndTrial ends a running trial with its verdict by the trial's own rule, which it returns. The error is a
// *domain.InvalidError under "" where the trial can't be ended yet, or wraps domain.ErrNotFound, domain.ErrChanged or
// domain.ErrClosed.
func (s *Store) EndTrial(ctx context.Context, c Change, id int64) (metrology.Verdict, error) {
	var verdict metrology.Verdict
	err := s.change(ctx, c, func(tx pgx.Tx, d docket.Docket) ([]event, error) {
		t, err := lockedTrial(ctx, tx, d.ID, id)
		if err != nil {
			return nil, err
		}
		rule := t.Rule()
		j, err := trial.Record(t.Plan, t.Entries(), t.Zone()).Judge()
		if err != nil {
			return nil, err
		}
		if !trial.MayEnd(j) {
			return nil, domain.Invalid(map[string]string{"": trial.StillOpen})
		}
		verdict = trial.VerdictBy(j, rule)
		_, err = tx.Exec(ctx, `UPDATE trial SET state = 'ended', verdict = $2, ended_at = $3, ended_by = $4, written_under = `+newestShop+`
			WHERE id = $1`, id, verdict.String(), docket.Moment(c.At), c.By.StaffID)
		return []event{trialEndedEvent(j, verdict, rule)}, err
	})
	return verdict, err
}

// criterionFacts is one criterion of a trial that ended.
type criterionFacts struct {
	Criterion string `json:"criterion"`
	Figure    string `json:"figure"`
	Standing  string `json:"standing"`
}

func trialEndedEvent(j chronometer.Judgement, verdict metrology.Verdict, rule metrology.Rule) event {
	f := struct {
		Verdict  string           `json:"verdict"`
		Rule     string           `json:"rule"`
		Simple   string           `json:"simple_acceptance"`
		Criteria []criterionFacts `json:"criteria"`
	}{trial.VerdictWords(verdict), rule.String(), string(j.Standing), nil}
	for _, r := range j.Results {
		f.Criteria = append(f.Criteria, criterionFacts{r.Criterion.Symbol() + ", " + r.Criterion.Label(), r.Text(),
			string(r.Standing)})
	}
	return event{kind: docket.TrialEnded, summary: trial.EndedSummary(verdict), facts: f}
}

// AbandonTrial ends a running trial without a verdict. The error is a *domain.InvalidError under "reason" or "", or
// wraps domain.ErrNotFound, domain.ErrChanged or domain.ErrClosed.
func (s *Store) AbandonTrial(ctx context.Context, c Change, id int64, reason string) error {
	return s.change(ctx, c, func(tx pgx.Tx, d docket.Docket) ([]event, error) {
		t, err := lockedTrial(ctx, tx, d.ID, id)
		if err != nil {
			return nil, err
		}
		if err := domain.Invalid(trial.ReasonProblems(reason)); err != nil {
			return nil, err
		}
		_, err = tx.Exec(ctx, `UPDATE trial SET state = 'abandoned', reason = $2, ended_at = $3, ended_by = $4,
			written_under = `+newestShop+` WHERE id = $1`,
			id, reason, docket.Moment(c.At), c.By.StaffID)
		read := trial.DaysRead(t.Entries())
		return []event{{kind: docket.TrialEnded, why: reason, summary: trial.AbandonedSummary(read), facts: struct {
			DaysRead int `json:"days_read"`
		}{read}}}, err
	})
}
