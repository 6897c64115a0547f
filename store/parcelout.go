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
	"ledgerwheel/domain/parcel"
	"ledgerwheel/domain/shop"
)

// ParcelOut is a parcel in which the watch of a docket goes back.
type ParcelOut struct {
	parcel.Dispatch
	parcel.Posting
	ID        int64
	Given     bool // the carrier has it
	ReadyAt   time.Time
	ReadyBy   string
	SettledAt time.Time
	SettledBy string
}

// PostSheet is what the sheet of sending a watch by post shows.
type PostSheet struct {
	Head     Head
	Holds    parcel.Holds
	Carriers []parcel.Carrier
	// Parcel is the one that is ready or was given to the carrier; nil before.
	Parcel *ParcelOut
	// Before is where the customer's last parcel went; nil for none.
	Before *parcel.Address
	// Shop is the settings as they stood when the parcel was made ready, by which its label is printed; today's where none is.
	Shop shop.Shop
}

const parcelOutSQL = `SELECT p.id, p.state = 'given', ` + carrierFields + `, p.value_minor, p.currency, ` + addressFields + `,
	p.contents, p.cell, p.radium_asked, p.consent_by, p.consent_on, p.consent_how, p.ready_at, r.name, p.number, p.proof,
	p.settled_at, coalesce(g.name, '')
	FROM parcel_out p JOIN carrier c ON c.id = p.carrier_id JOIN staff r ON r.id = p.ready_by LEFT JOIN staff g ON g.id = p.settled_by `

const addressFields = `p.to_name, p.to_firm, p.street, p.town, p.region, p.postcode, p.country`

func addressTargets(a *parcel.Address) []any {
	return []any{&a.Name, &a.Firm, &a.Street, &a.Town, &a.Region, &a.Postcode, &a.Country}
}

func scanParcelOut(row pgx.CollectableRow) (ParcelOut, error) {
	var p ParcelOut
	var settled *time.Time
	targets := append([]any{&p.ID, &p.Given}, carrierTargets(&p.Carrier)...)
	targets = append(targets, &p.ValueMinor, &p.Currency)
	targets = append(targets, addressTargets(&p.To)...)
	targets = append(targets, &p.Contents, &p.Cell, &p.RadiumAsked, &p.Consent.By, &p.Consent.On, &p.Consent.How, &p.ReadyAt,
		&p.ReadyBy, &p.Number, &p.Proof, &settled, &p.SettledBy)
	err := row.Scan(targets...)
	p.NothingBarred = true
	p.Consent.On, p.ReadyAt, p.SettledAt = p.Consent.On.UTC(), p.ReadyAt.UTC(), timeOr(settled)
	return p, err
}

// PostSheet reads the sheet in one round trip; the error wraps domain.ErrNotFound.
func (s *Store) PostSheet(ctx context.Context, n docket.Number) (PostSheet, error) {
	var sheet PostSheet
	var found bool
	var hazards []string
	var batch pgx.Batch
	stood := stoodShops{}
	under := `SELECT ready_under FROM parcel_out WHERE docket_id = (SELECT id FROM docket WHERE number = $1) AND state <> 'withdrawn' ORDER BY id DESC LIMIT 1`
	queueShops(&batch, stood, under, n.String())
	batch.Queue(`SELECT coalesce((`+under+`), 0)`, n.String()).Query(stood.give(&sheet.Shop))
	queueHead(&batch, n, &sheet.Head, &found)
	queueHazardSlugs(&batch, n, &hazards)
	queueCarriers(&batch, &sheet.Carriers)
	batch.Queue(parcelOutSQL+`WHERE p.docket_id = (SELECT id FROM docket WHERE number = $1) AND p.state <> 'withdrawn'
		ORDER BY p.id DESC LIMIT 1`, n.String()).Query(func(rows pgx.Rows) error {
		list, err := pgx.CollectRows(rows, scanParcelOut)
		if len(list) > 0 {
			sheet.Parcel = &list[0]
		}
		return err
	})
	batch.Queue(`SELECT `+addressFields+` FROM docket d JOIN docket o ON o.customer_id = d.customer_id
		JOIN parcel_out p ON p.docket_id = o.id WHERE d.number = $1 AND p.state = 'given' ORDER BY p.id DESC LIMIT 1`, n.String()).
		Query(func(rows pgx.Rows) error {
			list, err := pgx.CollectRows(rows, func(row pgx.CollectableRow) (a parcel.Address, err error) {
				err = row.Scan(addressTargets(&a)...)
				return a, err
			})
			if len(list) > 0 {
				sheet.Before = &list[0]
			}
			return err
		})
	if err := s.sendSheet(ctx, &batch, &found); err != nil {
		return PostSheet{}, fmt.Errorf("post of docket %s: %w", n, err)
	}
	sheet.Holds = holdsOf(hazards)
	return sheet, nil
}

// holdsOf is what the hazards noted on a docket say of sending its watch.
func holdsOf(hazards []string) parcel.Holds {
	return parcel.Holds{Cell: slices.Contains(hazards, string(diagnosis.CoinCell)),
		Radium: slices.Contains(hazards, string(diagnosis.RadioactiveLume))}
}

// PrepareParcel writes down the parcel in which a watch that may leave is to go, in place of one that was ready before. today
// is the civil day in the shop. The error is a *domain.InvalidError (see parcel.Dispatch.Problems; "" where the watch can't
// leave yet), or as of the other changes of a docket.
func (s *Store) PrepareParcel(ctx context.Context, c Change, p parcel.Dispatch, today time.Time) error {
	p = p.Tidied()
	return s.change(ctx, c, func(tx pgx.Tx, d docket.Docket) ([]event, error) {
		if _, ok := docket.LeavingMove(d.Stage); !ok {
			return nil, domain.Invalid(map[string]string{"": docket.StayProblem(d.Stage)})
		}
		p.Currency = d.Currency
		holds, err := keptTerms(ctx, tx, d, &p)
		if err != nil {
			return nil, err
		}
		if err := domain.Invalid(p.Problems(holds, today)); err != nil {
			return nil, err
		}
		at := docket.Moment(c.At)
		if _, err := tx.Exec(ctx, `UPDATE parcel_out SET state = 'withdrawn', settled_at = $2, settled_by = $3
			WHERE docket_id = $1 AND state = 'ready'`, d.ID, at, c.By.StaffID); err != nil {
			return nil, err
		}
		_, err = tx.Exec(ctx, `INSERT INTO parcel_out (docket_id, state, carrier_id, value_minor, currency, to_name, to_firm, street, town,
			region, postcode, country, contents, cell, radium_asked, consent_by, consent_on, consent_how, ready_at, ready_by, ready_under)
			VALUES ($1, 'ready', $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15, $16, $17, $18, $19, `+newestShop+`)`, d.ID, p.Carrier.ID,
			p.ValueMinor, p.Currency, p.To.Name, p.To.Firm, p.To.Street, p.To.Town, p.To.Region, p.To.Postcode, p.To.Country, p.Contents,
			string(p.Cell), p.RadiumAsked, p.Consent.By, p.Consent.On, string(p.Consent.How), at, c.By.StaffID)
		return []event{{kind: docket.ParcelReady, summary: p.PreparedSummary(), facts: map[string]string{"carrier": p.Carrier.Name,
			"insured up to": parcel.Amount(p.Carrier.LimitMinor, p.Carrier.Currency), "declared value": parcel.Amount(p.ValueMinor, p.Currency),
			"cell": p.Cell.Words(), "carrier asked about radium": p.RadiumAsked, "consent of": p.Consent.By}}}, err
	})
}

// keptTerms fills in the carrier's terms as they stand, held until the end, and reads what the docket knows of the watch.
func keptTerms(ctx context.Context, tx pgx.Tx, d docket.Docket, p *parcel.Dispatch) (parcel.Holds, error) {
	rows, _ := tx.Query(ctx, `SELECT `+carrierFields+` FROM carrier c WHERE c.id = $1 AND c.ended_at IS NULL FOR SHARE`, p.Carrier.ID)
	carrier, err := pgx.CollectExactlyOneRow(rows, scanCarrier)
	if err != nil && !errors.Is(err, pgx.ErrNoRows) {
		return parcel.Holds{}, err
	}
	p.Carrier = carrier
	rows, _ = tx.Query(ctx, `SELECT hazard FROM hazard WHERE docket_id = $1`, d.ID)
	hazards, err := pgx.CollectRows(rows, pgx.RowTo[string])
	return holdsOf(hazards), err
}

// WithdrawParcel takes back that a parcel is ready. Where none is, nothing is done.
func (s *Store) WithdrawParcel(ctx context.Context, c Change) error {
	return s.change(ctx, c, func(tx pgx.Tx, d docket.Docket) ([]event, error) {
		done, err := tx.Exec(ctx, `UPDATE parcel_out SET state = 'withdrawn', settled_at = $2, settled_by = $3
			WHERE docket_id = $1 AND state = 'ready'`, d.ID, docket.Moment(c.At), c.By.StaffID)
		if err != nil || done.RowsAffected() == 0 {
			return nil, err
		}
		return []event{{kind: docket.ParcelWithdrawn, summary: parcel.WithdrawnSummary}}, nil
	})
}

// GiveParcel records that the carrier has the parcel that was ready, and lets the watch leave as it would over the counter:
// money must be paid, or the owner writes a reason. today is the civil day in the shop. The error is a *domain.InvalidError,
// a *docket.Refusal, or as of the other changes of a docket.
func (s *Store) GiveParcel(ctx context.Context, c Change, given parcel.Posting, old docket.OldParts, reason string, today time.Time) error {
	given = given.Tidied()
	return s.change(ctx, c, func(tx pgx.Tx, d docket.Docket) ([]event, error) {
		p, err := readyParcel(ctx, tx, d, today)
		if err != nil {
			return nil, err
		}
		bad := given.Problems()
		if why := old.Unanswered(); why != "" {
			bad["old_parts"] = why
		}
		if err := domain.Invalid(bad); err != nil {
			return nil, err
		}
		m, ok := docket.LeavingMove(d.Stage)
		if !ok {
			return nil, domain.Invalid(map[string]string{"": docket.StayProblem(d.Stage)})
		}
		if _, err := tx.Exec(ctx, `UPDATE parcel_out SET state = 'given', number = $2, proof = $3, settled_at = $4, settled_by = $5
			WHERE id = $1`, p.ID, given.Number, given.Proof, docket.Moment(c.At), c.By.StaffID); err != nil {
			return nil, err
		}
		events, err := recordLeaving(ctx, tx, d, docket.Leaving{CollectedBy: p.Carrier.Name, Proof: docket.ProofCarrier,
			Identity: given.IdentityWords(), OldParts: old}, nil)
		if err != nil {
			return nil, err
		}
		events = append(events, event{kind: docket.ParcelGiven, summary: given.GivenSummary(p.Carrier.Name),
			facts: map[string]string{"carrier": p.Carrier.Name, "parcel number": given.Number, "proof of posting": given.Proof,
				"declared value": parcel.Amount(p.ValueMinor, p.Currency)}})
		f, err := factsOf(ctx, tx, d)
		if err != nil {
			return nil, err
		}
		act := docket.Act{Role: c.By.Role, Reason: reason, Place: docket.PlaceAt(docket.PlaceCustomer, "")}
		if err := m.Check(f, act); err != nil {
			return nil, err
		}
		after := d.Apply(m, f, act, c.At)
		billed, err := saveMove(ctx, tx, c, d, after, 0)
		if err != nil {
			return nil, err
		}
		events = append(billed, events...)
		told, err := s.tell(ctx, tx, after, c, sentWord(p.Carrier.Name, given))
		return append(append(events, moveEvents(m, f, act, "")...), told...), err
	})
}

// readyParcel is the parcel that was prepared, held against the carrier's terms as they stand now.
func readyParcel(ctx context.Context, tx pgx.Tx, d docket.Docket, today time.Time) (ParcelOut, error) {
	rows, _ := tx.Query(ctx, parcelOutSQL+`WHERE p.docket_id = $1 AND p.state = 'ready'`, d.ID)
	p, err := pgx.CollectExactlyOneRow(rows, scanParcelOut)
	if errors.Is(err, pgx.ErrNoRows) {
		return p, domain.Invalid(map[string]string{"": "No parcel is ready: write down first by whom, where to and for what value it goes."})
	}
	if err != nil {
		return p, err
	}
	holds, err := keptTerms(ctx, tx, d, &p.Dispatch)
	if err == nil && len(p.Dispatch.Problems(holds, today)) > 0 {
		err = domain.Invalid(map[string]string{"": "The carrier's terms, or what is known of the watch, changed since the parcel was made ready. Prepare it again."})
	}
	return p, err
}
