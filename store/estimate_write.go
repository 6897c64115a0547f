package store

import (
	"context"
	"fmt"
	"reflect"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/estimate"
)

// writeEstimate brings the kept revisions of a docket from one state of the estimate to the next.
func writeEstimate(ctx context.Context, tx pgx.Tx, docketID int64, c Change, was, next estimate.Estimate) error {
	var batch pgx.Batch
	for _, r := range was.Revisions {
		if _, kept := next.Find(r.Number); !kept {
			batch.Queue(`DELETE FROM estimate_revision WHERE id = $1`, r.ID) // its lines go with it
		}
	}
	// A revision is superseded before another takes its place: only one may be approved at a time.
	for _, superseded := range []bool{true, false} {
		for _, r := range next.Revisions {
			if (r.State == estimate.Superseded) != superseded {
				continue
			}
			old, there := was.Find(r.Number)
			if there && reflect.DeepEqual(old, r) {
				continue
			}
			if err := queueRevision(&batch, docketID, c, old, r); err != nil {
				return err
			}
		}
	}
	return tx.SendBatch(ctx, &batch).Close()
}

// queueRevision writes r, which was old; a zero old is a revision not kept yet.
func queueRevision(batch *pgx.Batch, docketID int64, c Change, old, r estimate.Revision) error {
	sum, err := r.AgreedTotals() // before an answer nothing is left out, so this is all that is offered
	if err != nil {
		return fmt.Errorf("revision %d: %w", r.Number, err)
	}
	if old.Number == 0 {
		batch.Queue(`INSERT INTO estimate_revision (docket_id, number, state, currency, prices_include_tax, note, valid_until,
			net_minor, tax_minor, gross_minor, made_by, made_at) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12)`,
			docketID, r.Number, string(r.State), r.Currency, r.Rule.PricesIncludeTax, r.Note, r.ValidUntil,
			sum.NetMinor, sum.TaxMinor, sum.GrossMinor, c.By.StaffID, docket.Moment(c.At))
	} else {
		batch.Queue(`UPDATE estimate_revision SET state = $3, prices_include_tax = $4, note = $5, valid_until = $6,
			net_minor = $7, tax_minor = $8, gross_minor = $9, sent_at = $10 WHERE docket_id = $1 AND number = $2`,
			docketID, r.Number, string(r.State), r.Rule.PricesIncludeTax, r.Note, r.ValidUntil,
			sum.NetMinor, sum.TaxMinor, sum.GrossMinor, nullTime(r.SentAt))
	}
	if r.State == estimate.Sent && old.State == estimate.Draft {
		batch.Queue(`UPDATE estimate_revision SET sent_by = $3, sent_under = `+newestShop+`,
			tongue = (SELECT tongue FROM docket WHERE id = $1) WHERE docket_id = $1 AND number = $2`, docketID, r.Number,
			c.By.StaffID)
	}
	if a := r.Answer; a != nil && old.Answer == nil {
		batch.Queue(`UPDATE estimate_revision SET decided_at = $3, decided_name = $4, decided_via = $5, decided_note = $6, answer_taken_by = $7
			WHERE docket_id = $1 AND number = $2`, docketID, r.Number, a.At, a.Name, string(a.By), a.Note, nullID(c.By.StaffID))
		if call := a.Consent; call != nil {
			batch.Queue(`UPDATE estimate_revision SET agreed_at = $3, called_number = $4, called_by = $5, agreed_added = $6, agreed_minor = $7
				WHERE docket_id = $1 AND number = $2`, docketID, r.Number, call.At, call.Number, call.CalledBy, call.Added, call.TotalMinor)
		}
	}
	if !reflect.DeepEqual(old.Lines, r.Lines) {
		queueLines(batch, docketID, r)
	}
	return nil
}

func queueLines(batch *pgx.Batch, docketID int64, r estimate.Revision) {
	const revision = `(SELECT id FROM estimate_revision WHERE docket_id = $1 AND number = $2)`
	batch.Queue(`DELETE FROM estimate_line WHERE revision_id = `+revision, docketID, r.Number)
	for i, l := range r.Lines {
		batch.Queue(`INSERT INTO estimate_line (revision_id, ordinal, kind, description, quantity_milli, unit_minor, tax_basis_points,
			optional, declined, part_id) VALUES (`+revision+`, $3, $4, $5, $6, $7, $8, $9, $10, $11)`, docketID, r.Number, i+1, string(l.Kind),
			l.Description, l.QuantityMilli, l.UnitMinor, l.TaxBasisPoints, l.Optional, l.Declined, nullID(l.PartID))
	}
}

// revisionFacts is what the journal keeps of a revision: all that the customer saw and said.
type revisionFacts struct {
	Revision         int          `json:"revision"`
	Currency         string       `json:"currency"`
	GrossMinor       int64        `json:"gross_minor"`
	TaxMinor         int64        `json:"tax_minor"`
	PricesIncludeTax bool         `json:"prices_include_tax"`
	ValidUntil       string       `json:"valid_until"`
	Note             string       `json:"note,omitempty"`
	Lines            []lineFacts  `json:"lines"`
	Answer           *answerFacts `json:"answer,omitempty"`
}

type lineFacts struct {
	Kind        string `json:"kind"`
	Description string `json:"description"`
	Quantity    string `json:"quantity"`
	UnitMinor   int64  `json:"unit_minor"`
	TaxPercent  string `json:"tax_percent"`
	Optional    bool   `json:"optional,omitempty"`
	LeftOut     bool   `json:"left_out,omitempty"`
}

type answerFacts struct {
	Name string `json:"name"`
	Way  string `json:"way"`
	Note string `json:"note,omitempty"`

	AgreedAt string `json:"agreed_at,omitempty"` // RFC 3339, of an answer by telephone, as what follows
	Number   string `json:"number_called,omitempty"`
	CalledBy string `json:"called_by,omitempty"`
	Added    string `json:"added,omitempty"`
	Agreed   int64  `json:"agreed_minor,omitempty"`
}

func revisionEvent(kind docket.Kind, done string, r estimate.Revision, a *estimate.Answer) event {
	sum, _ := r.AgreedTotals() // what could not be summed was never kept
	facts := revisionFacts{Revision: r.Number, Currency: r.Currency, GrossMinor: sum.GrossMinor, TaxMinor: sum.TaxMinor,
		PricesIncludeTax: r.Rule.PricesIncludeTax, ValidUntil: r.ValidUntil.Format("2006-01-02"), Note: r.Note}
	for _, l := range r.Lines {
		facts.Lines = append(facts.Lines, lineFacts{Kind: l.Kind.Words(), Description: l.Description,
			Quantity: estimate.FormatQuantity(l.QuantityMilli), UnitMinor: l.UnitMinor,
			TaxPercent: estimate.FormatPercent(l.TaxBasisPoints), Optional: l.Optional, LeftOut: l.Declined})
	}
	if a != nil {
		facts.Answer = &answerFacts{Name: a.Name, Way: a.By.Words(), Note: a.Note}
		if call := a.Consent; call != nil {
			facts.Answer.AgreedAt, facts.Answer.Number, facts.Answer.CalledBy = call.At.UTC().Format(time.RFC3339), call.Number, call.CalledBy
			facts.Answer.Added, facts.Answer.Agreed = call.Added, call.TotalMinor
		}
	}
	return event{kind: kind, facts: facts, summary: r.Summary(done)}
}
