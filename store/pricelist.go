package store

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/estimate"
	"ledgerwheel/domain/pricelist"
	"ledgerwheel/domain/watch"
)

// JobRow is a line of the price list, with the version that a form states.
type JobRow struct {
	pricelist.Job
	Version int64
	KeptBy  string
	KeptAt  time.Time
}

const jobFields = `j.id, j.code, j.name, j.name_de, j.name_fr, j.kind, j.windings, j.minutes, j.ended_at IS NOT NULL, j.version,
	coalesce((SELECT name FROM staff WHERE id = j.kept_by), ''), j.kept_at`

func scanJob(row pgx.CollectableRow) (JobRow, error) {
	var j JobRow
	var windings []string
	err := row.Scan(&j.ID, &j.Code, &j.Name, &j.NameDe, &j.NameFr, &j.Kind, &windings, &j.Minutes, &j.Ended, &j.Version, &j.KeptBy, &j.KeptAt)
	for _, w := range windings {
		j.Windings = append(j.Windings, watch.Winding(w))
	}
	j.KeptAt = j.KeptAt.UTC()
	return j, err
}

// queueJobs adds to a page's batch the jobs that the condition on j finds, by their codes, with prices and usual parts.
func queueJobs(batch *pgx.Batch, list *[]JobRow, where string, args ...any) {
	at := map[int64]int{}
	batch.Queue(`SELECT `+jobFields+` FROM job j WHERE `+where+` ORDER BY j.code, j.id`, args...).Query(func(rows pgx.Rows) (err error) {
		*list, err = pgx.CollectRows(rows, scanJob)
		for i, j := range *list {
			at[j.ID] = i
		}
		return err
	})
	batch.Queue(`SELECT p.job_id, p.from_day, p.minor, p.currency, p.includes_tax, p.tax_basis_points FROM job_price p JOIN job j ON j.id = p.job_id
		WHERE `+where+` ORDER BY p.job_id, p.from_day`, args...).Query(func(rows pgx.Rows) error {
		var id int64
		var p pricelist.Price
		_, err := pgx.ForEachRow(rows, []any{&id, &p.From, &p.Minor, &p.Currency, &p.IncludesTax, &p.TaxBasisPoints}, func() error {
			j := &(*list)[at[id]]
			j.Prices = append(j.Prices, p)
			return nil
		})
		return err
	})
	batch.Queue(`SELECT p.job_id, p.description, p.pieces, p.optional, coalesce(p.part_id, 0), coalesce(c.number, ''), c.price_minor, coalesce(c.currency, ''),
			coalesce(c.includes_tax, false), coalesce(c.tax_basis_points, 0)
		FROM job_part p JOIN job j ON j.id = p.job_id LEFT JOIN part c ON c.id = p.part_id
		WHERE `+where+` ORDER BY p.job_id, p.ordinal`, args...).Query(func(rows pgx.Rows) error {
		var id int64
		var p pricelist.UsualPart
		var minor *int64
		var price pricelist.Price
		_, err := pgx.ForEachRow(rows, []any{&id, &p.Description, &p.Pieces, &p.Optional, &p.PartID, &p.Number, &minor, &price.Currency, &price.IncludesTax,
			&price.TaxBasisPoints}, func() error {
			if p.Price = nil; minor != nil {
				priced := price
				priced.Minor, p.Price = *minor, &priced
			}
			j := &(*list)[at[id]]
			j.Parts = append(j.Parts, p)
			return nil
		})
		return err
	})
}

// jobsOffered finds the jobs that are offered today.
const jobsOffered = `j.ended_at IS NULL`

// PriceList reads the jobs that are offered, by their codes, in one round trip.
func (s *Store) PriceList(ctx context.Context) (list []JobRow, err error) {
	var batch pgx.Batch
	queueJobs(&batch, &list, jobsOffered)
	if err := s.db.SendBatch(ctx, &batch).Close(); err != nil {
		return nil, fmt.Errorf("price list: %w", Translate(err))
	}
	return list, nil
}

// Job reads one job, also one that is offered no longer. The error wraps domain.ErrNotFound.
func (s *Store) Job(ctx context.Context, id int64) (JobRow, error) {
	var list []JobRow
	var batch pgx.Batch
	queueJobs(&batch, &list, `j.id = $1`, id)
	if err := s.db.SendBatch(ctx, &batch).Close(); err != nil {
		return JobRow{}, fmt.Errorf("job %d: %w", id, Translate(err))
	}
	if len(list) == 0 {
		return JobRow{}, fmt.Errorf("job %d: %w", id, domain.ErrNotFound)
	}
	return list[0], nil
}

// jobFacts is what the shop's journal keeps of a job.
type jobFacts struct {
	Code     string          `json:"job_code"`
	Name     string          `json:"name"`
	NameDe   string          `json:"name_de,omitempty"`
	NameFr   string          `json:"name_fr,omitempty"`
	Kind     string          `json:"kind"`
	Windings []watch.Winding `json:"windings,omitempty"`
	Minutes  int             `json:"minutes"`
	Prices   []jobPriceFacts `json:"prices"`
	Parts    []string        `json:"usual_parts,omitempty"`
}

type jobPriceFacts struct {
	From        string `json:"from_day"`
	Minor       int64  `json:"unit_minor"`
	Currency    string `json:"currency"`
	IncludesTax bool   `json:"prices_include_tax"`
	Tax         string `json:"tax_percent"`
}

func factsOfJob(j pricelist.Job) jobFacts {
	f := jobFacts{Code: j.Code, Name: j.Name, NameDe: j.NameDe, NameFr: j.NameFr, Kind: j.Kind.Words(), Windings: j.Windings, Minutes: j.Minutes}
	for _, p := range j.Prices {
		f.Prices = append(f.Prices, jobPriceFacts{p.From.Format(time.DateOnly), p.Minor, p.Currency, p.IncludesTax, estimate.FormatPercent(p.TaxBasisPoints)})
	}
	for _, p := range j.Parts {
		f.Parts = append(f.Parts, p.Words())
	}
	return f
}

// SaveJob keeps a job with all its prices and usual parts, adding it where its ID is 0, and returns its id. version is
// the one that the form was made of. The error is a *domain.InvalidError (see pricelist.Job.Problems; "code" also where
// another job has it), or wraps domain.ErrNotFound or domain.ErrChanged.
func (s *Store) SaveJob(ctx context.Context, j pricelist.Job, version int64, by Actor, at time.Time) (int64, error) {
	j = j.Tidied()
	if err := domain.Invalid(j.Problems()); err != nil {
		return 0, err
	}
	n := note{kind: docket.PriceListChanged, by: by, at: at, summary: j.KeptSummary(), facts: factsOfJob(j)}
	err := s.changeShop(ctx, &n, func(tx pgx.Tx) (err error) {
		if j.ID, err = writeJob(ctx, tx, j, version, by, at); err != nil {
			return err
		}
		if err := linkParts(ctx, tx, j.Parts); err != nil {
			return err
		}
		return writeJobLists(ctx, tx, j)
	})
	if err != nil {
		return 0, fmt.Errorf("save job %s: %w", j.Code, Translate(err))
	}
	return j.ID, nil
}

// writeJob writes the row of a job, and returns its id.
func writeJob(ctx context.Context, tx pgx.Tx, j pricelist.Job, version int64, by Actor, at time.Time) (int64, error) {
	err := mayKeep(ctx, tx, "job", "code = $1", j.Code, j.ID, version, "code", "Another job has this code.")
	if err != nil {
		return 0, err
	}
	windings := make([]string, len(j.Windings))
	for i, w := range j.Windings {
		windings[i] = string(w)
	}
	if j.ID == 0 {
		err = tx.QueryRow(ctx, `INSERT INTO job (code, name, name_de, name_fr, kind, windings, minutes, kept_by, kept_at)
			VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9) RETURNING id`, j.Code, j.Name, j.NameDe, j.NameFr, string(j.Kind), windings, j.Minutes,
			by.StaffID, docket.Moment(at)).Scan(&j.ID)
		return j.ID, err
	}
	_, err = tx.Exec(ctx, `UPDATE job SET code = $2, name = $3, name_de = $4, name_fr = $5, kind = $6, windings = $7, minutes = $8,
		version = version + 1, kept_by = $9, kept_at = $10, ended_at = NULL WHERE id = $1`, j.ID, j.Code, j.Name, j.NameDe, j.NameFr,
		string(j.Kind), windings, j.Minutes, by.StaffID, docket.Moment(at))
	return j.ID, err
}

// linkParts names the part of the catalogue for usual parts that were typed by its number.
func linkParts(ctx context.Context, tx pgx.Tx, parts []pricelist.UsualPart) error {
	var batch pgx.Batch
	for i := range parts {
		p := &parts[i]
		batch.Queue(`SELECT id, name FROM part WHERE number = upper($1) AND ended_at IS NULL`, p.Description).Query(func(rows pgx.Rows) error {
			_, err := pgx.ForEachRow(rows, []any{&p.PartID, &p.Description}, func() error { return nil })
			return err
		})
	}
	return tx.SendBatch(ctx, &batch).Close()
}

// writeJobLists writes the prices and usual parts of a job in place of those that stood.
func writeJobLists(ctx context.Context, tx pgx.Tx, j pricelist.Job) error {
	var batch pgx.Batch
	batch.Queue(`DELETE FROM job_price WHERE job_id = $1`, j.ID)
	for _, p := range j.Prices {
		batch.Queue(`INSERT INTO job_price (job_id, from_day, minor, currency, includes_tax, tax_basis_points) VALUES ($1, $2, $3, $4, $5, $6)`,
			j.ID, p.From, p.Minor, p.Currency, p.IncludesTax, p.TaxBasisPoints)
	}
	batch.Queue(`DELETE FROM job_part WHERE job_id = $1`, j.ID)
	for i, p := range j.Parts {
		batch.Queue(`INSERT INTO job_part (job_id, ordinal, description, pieces, optional, part_id) VALUES ($1, $2, $3, $4, $5, $6)`, j.ID, i+1, p.Description,
			p.Pieces, p.Optional, nullID(p.PartID))
	}
	return tx.SendBatch(ctx, &batch).Close()
}

// EndJob has a job be offered no longer; estimates keep what they say. The error wraps domain.ErrNotFound.
func (s *Store) EndJob(ctx context.Context, id int64, by Actor, at time.Time) error {
	n := note{kind: docket.PriceListChanged, by: by, at: at}
	err := s.changeShop(ctx, &n, func(tx pgx.Tx) error {
		var j pricelist.Job
		err := tx.QueryRow(ctx, `UPDATE job SET ended_at = $2, version = version + 1 WHERE id = $1 AND ended_at IS NULL RETURNING code, name`, id,
			docket.Moment(at)).Scan(&j.Code, &j.Name)
		n.summary = j.EndedSummary()
		return err
	})
	if err != nil {
		return fmt.Errorf("end job %d: %w", id, Translate(err))
	}
	return nil
}
