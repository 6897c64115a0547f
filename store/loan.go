package store

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/loan"
	"ledgerwheel/domain/shop"
	"ledgerwheel/domain/text"
	"ledgerwheel/domain/till"
)

// Loan is a loan watch that was handed out with a docket.
type Loan struct {
	loan.Out
	loan.Back
	ID        int64
	Watch     loan.Watch
	DocketID  int64
	Docket    string
	Customer  string
	Gone      bool // the customer's own watch has left the shop
	OutAt     time.Time
	OutBy     string
	KeptOut   string // why it stays out; "" where it does not
	BackAt    time.Time
	BackBy    string
	OutOfShop bool
	// InTillMinor is what of the deposit lies in the till, in minor units of the watch's currency.
	InTillMinor int64
}

// LoanWatch is one that the shop lends, and the loan that it is out with; nil where it is in.
type LoanWatch struct {
	loan.Watch
	Out *Loan
}

const loanWatchFields = `w.id, w.maker, w.model, w.serial, w.value_minor, w.currency, w.state`

func loanWatchTargets(w *loan.Watch) []any {
	return []any{&w.ID, &w.Maker, &w.Model, &w.Serial, &w.ValueMinor, &w.Currency, &w.State}
}

const loanSQL = `SELECT l.id, ` + loanWatchFields + `, d.id, d.number, c.name, NOT d.open, l.out_at, o.name, l.out_state, l.due_on, l.deposit_minor,
	l.deposit_how, l.kept_out_why, l.back_at, coalesce(b.name, ''), l.back_state, l.deposit_back,
	coalesce((SELECT sum(t.minor) FROM till_move t WHERE t.loan_id = l.id AND t.kind = 'deposits'), 0)::bigint
	FROM loan l JOIN loan_watch w ON w.id = l.loan_watch_id JOIN docket d ON d.id = l.docket_id JOIN customer c ON c.id = d.customer_id
	JOIN staff o ON o.id = l.out_by LEFT JOIN staff b ON b.id = l.back_by `

func scanLoan(row pgx.CollectableRow) (Loan, error) {
	var l Loan
	var due, back *time.Time
	targets := append([]any{&l.ID}, loanWatchTargets(&l.Watch)...)
	targets = append(targets, &l.DocketID, &l.Docket, &l.Customer, &l.Gone, &l.OutAt, &l.OutBy, &l.Out.State, &due, &l.DepositMinor, &l.DepositHow,
		&l.KeptOut, &back, &l.BackBy, &l.Back.State, &l.DepositBack, &l.InTillMinor)
	err := row.Scan(targets...)
	l.WatchID, l.OutAt, l.DueOn, l.BackAt = l.Watch.ID, l.OutAt.UTC(), timeOr(due), timeOr(back)
	l.OutOfShop = back == nil
	return l, err
}

// queueLoanWatches adds to a page's batch the reading of what the shop lends, and where each is.
func queueLoanWatches(batch *pgx.Batch, list *[]LoanWatch) {
	var out []Loan
	batch.Queue(loanSQL + `WHERE l.back_at IS NULL`).Query(func(rows pgx.Rows) (err error) {
		out, err = pgx.CollectRows(rows, scanLoan)
		return err
	})
	batch.Queue(`SELECT ` + loanWatchFields + ` FROM loan_watch w WHERE w.ended_at IS NULL ORDER BY lower(w.maker), w.id`).
		Query(func(rows pgx.Rows) (err error) {
			*list, err = pgx.CollectRows(rows, func(row pgx.CollectableRow) (w LoanWatch, err error) {
				err = row.Scan(loanWatchTargets(&w.Watch)...)
				for i := range out {
					if out[i].WatchID == w.ID {
						w.Out = &out[i]
					}
				}
				return w, err
			})
			return err
		})
}

// LoanWatches lists what the shop lends.
func (s *Store) LoanWatches(ctx context.Context) (list []LoanWatch, err error) {
	var batch pgx.Batch
	queueLoanWatches(&batch, &list)
	if err := s.db.SendBatch(ctx, &batch).Close(); err != nil {
		return nil, fmt.Errorf("loan watches: %w", Translate(err))
	}
	return list, nil
}

// KeepLoanWatch adds a watch to those that the shop lends. The error is a *domain.InvalidError.
func (s *Store) KeepLoanWatch(ctx context.Context, w loan.Watch, by Actor, at time.Time) error {
	w = w.Tidied()
	if err := domain.Invalid(w.Problems()); err != nil {
		return err
	}
	n := note{kind: docket.LoanWatchChanged, by: by, at: at, summary: w.KeptSummary(), facts: map[string]string{"state": w.State,
		"value": loan.Amount(w.ValueMinor, w.Currency)}}
	err := s.changeShop(ctx, &n, func(tx pgx.Tx) error {
		_, err := tx.Exec(ctx, `INSERT INTO loan_watch (maker, model, serial, value_minor, currency, state, kept_by, kept_at)
			VALUES ($1, $2, $3, $4, $5, $6, $7, $8)`, w.Maker, w.Model, w.Serial, w.ValueMinor, w.Currency, w.State, by.StaffID, docket.Moment(at))
		return err
	})
	if err != nil {
		return fmt.Errorf("keep loan watch: %w", Translate(err))
	}
	return nil
}

// EndLoanWatch has a watch be lent no more. The error wraps domain.ErrNotFound, or is a *domain.InvalidError while it is out.
func (s *Store) EndLoanWatch(ctx context.Context, id int64, by Actor, at time.Time) error {
	n := note{kind: docket.LoanWatchChanged, by: by, at: at}
	err := s.changeShop(ctx, &n, func(tx pgx.Tx) error {
		var w loan.Watch
		err := tx.QueryRow(ctx, `UPDATE loan_watch w SET ended_at = $2 WHERE id = $1 AND ended_at IS NULL RETURNING `+loanWatchFields, id,
			docket.Moment(at)).Scan(loanWatchTargets(&w)...)
		if err != nil {
			return err
		}
		n.summary = w.EndedSummary()
		var out bool
		err = tx.QueryRow(ctx, `SELECT EXISTS (SELECT FROM loan WHERE loan_watch_id = $1 AND back_at IS NULL)`, id).Scan(&out)
		if err == nil && out {
			err = domain.Invalid(map[string]string{"": "It is out with a customer: take it back first."})
		}
		return err
	})
	if err != nil {
		return fmt.Errorf("end loan watch: %w", Translate(err))
	}
	return nil
}

// LoanSheet is what the sheet of a docket's loan watch shows.
type LoanSheet struct {
	Head  Head
	Loans []Loan // of this docket, newest first
	In    []loan.Watch
	Shop  shop.Shop // as it stood when the newest was handed out, or today's
}

// Current is the loan that is out, nil for none.
func (l LoanSheet) Current() *Loan {
	for i := range l.Loans {
		if l.Loans[i].OutOfShop {
			return &l.Loans[i]
		}
	}
	return nil
}

// LoanSheet reads the sheet in one round trip; the error wraps domain.ErrNotFound.
func (s *Store) LoanSheet(ctx context.Context, n docket.Number) (LoanSheet, error) {
	var sheet LoanSheet
	var found bool
	var list []LoanWatch
	var batch pgx.Batch
	stood := stoodShops{}
	under := `SELECT out_under FROM loan WHERE docket_id = (SELECT id FROM docket WHERE number = $1) ORDER BY id DESC LIMIT 1`
	queueShops(&batch, stood, under, n.String())
	batch.Queue(`SELECT coalesce((`+under+`), 0)`, n.String()).Query(stood.give(&sheet.Shop))
	queueHead(&batch, n, &sheet.Head, &found)
	batch.Queue(loanSQL+`WHERE l.docket_id = (SELECT id FROM docket WHERE number = $1) ORDER BY l.id DESC`, n.String()).
		Query(func(rows pgx.Rows) (err error) {
			sheet.Loans, err = pgx.CollectRows(rows, scanLoan)
			return err
		})
	queueLoanWatches(&batch, &list)
	if err := s.sendSheet(ctx, &batch, &found); err != nil {
		return LoanSheet{}, fmt.Errorf("loan of docket %s: %w", n, err)
	}
	for _, w := range list {
		if w.Out == nil {
			sheet.In = append(sheet.In, w.Watch)
		}
	}
	return sheet, nil
}

// HandOutLoan lends a watch to the customer of a docket. today is the civil day in the shop. The error is a
// *domain.InvalidError, or as of the other changes of a docket.
func (s *Store) HandOutLoan(ctx context.Context, c Change, o loan.Out, today time.Time) error {
	o = o.Tidied()
	if err := domain.Invalid(o.Problems(today)); err != nil {
		return err
	}
	return s.change(ctx, c, func(tx pgx.Tx, d docket.Docket) ([]event, error) {
		var w loan.Watch
		err := tx.QueryRow(ctx, `SELECT `+loanWatchFields+` FROM loan_watch w WHERE w.id = $1 AND w.ended_at IS NULL FOR UPDATE`, o.WatchID).
			Scan(loanWatchTargets(&w)...)
		if errors.Is(err, pgx.ErrNoRows) {
			return nil, domain.Invalid(map[string]string{"watch": "Choose one of those listed."})
		}
		if err != nil {
			return nil, err
		}
		var out, has bool
		err = tx.QueryRow(ctx, `SELECT EXISTS (SELECT FROM loan WHERE loan_watch_id = $1 AND back_at IS NULL),
			EXISTS (SELECT FROM loan WHERE docket_id = $2 AND back_at IS NULL)`, o.WatchID, d.ID).Scan(&out, &has)
		switch {
		case err != nil:
			return nil, err
		case out:
			return nil, domain.Invalid(map[string]string{"watch": "This one is out with a customer already."})
		case has:
			return nil, domain.Invalid(map[string]string{"watch": "This customer has a loan watch already: take that one back first."})
		}
		var id int64
		if err := tx.QueryRow(ctx, `INSERT INTO loan (loan_watch_id, docket_id, out_at, out_by, out_state, due_on, deposit_minor, deposit_how, out_under)
			VALUES ($1, $2, $3, $4, $5, $6, $7, $8, `+newestShop+`) RETURNING id`, o.WatchID, d.ID, docket.Moment(c.At), c.By.StaffID, o.State, nullTime(o.DueOn),
			o.DepositMinor, o.DepositHow).Scan(&id); err != nil {
			return nil, err
		}
		facts := map[string]string{"state": o.State, "value": loan.Amount(w.ValueMinor, w.Currency)}
		if o.DepositMinor != nil {
			facts["deposit"] = loan.Amount(*o.DepositMinor, w.Currency) + ", " + o.DepositHow
		}
		if minor := o.TillMinor(); minor > 0 {
			on, err := s.moveForLoan(ctx, tx, Loan{ID: id, Watch: w}, till.Deposits, minor, c)
			if err != nil {
				return nil, err
			}
			facts["till_day"] = on.Format(time.DateOnly)
		}
		return []event{{kind: docket.LoanOut, summary: loan.OutSummary(w), facts: facts}}, nil
	})
}

// TakeLoanBack records that the loan watch of a docket came back, which may be after the docket was closed. The error is a
// *domain.InvalidError, or as of the other changes of a docket.
func (s *Store) TakeLoanBack(ctx context.Context, c Change, b loan.Back) error {
	b = b.Tidied()
	return s.changeAny(ctx, c, func(tx pgx.Tx, d docket.Docket) ([]event, error) {
		l, err := loanOut(ctx, tx, d)
		if err != nil {
			return nil, err
		}
		b := b.Settled(l.InTillMinor)
		if err := domain.Invalid(b.Problems(l.DepositMinor != nil, l.InTillMinor)); err != nil {
			return nil, err
		}
		facts := map[string]string{"state": b.State, "deposit": b.DepositBack}
		if l.InTillMinor > 0 {
			on, err := s.depositSettled(ctx, tx, l, *b.ReturnedMinor, c)
			if err != nil {
				return nil, err
			}
			facts["till_day"], facts["deposit_returned"] = on.Format(time.DateOnly), loan.Amount(*b.ReturnedMinor, l.Watch.Currency)
		}
		if _, err := tx.Exec(ctx, `UPDATE loan SET back_at = $2, back_by = $3, back_state = $4, deposit_back = $5 WHERE id = $1`, l.ID,
			docket.Moment(c.At), c.By.StaffID, b.State, b.DepositBack); err != nil {
			return nil, err
		}
		_, err = tx.Exec(ctx, `UPDATE loan_watch SET state = $2 WHERE id = $1 AND state <> $2`, l.WatchID, b.State)
		return []event{{kind: docket.LoanBack, summary: loan.BackSummary(l.Watch), facts: facts}}, err
	})
}

// depositSettled takes the deposit of a loan out of the till, and puts what is kept of it back as the shop's own.
func (s *Store) depositSettled(ctx context.Context, tx pgx.Tx, l Loan, returnedMinor int64, c Change) (on time.Time, err error) {
	if kept := l.InTillMinor - returnedMinor; kept > 0 {
		if _, err := s.moveForLoan(ctx, tx, l, till.Kept, kept, c); err != nil {
			return on, err
		}
	}
	on, err = s.moveForLoan(ctx, tx, l, till.Deposits, -l.InTillMinor, c)
	var bad *domain.InvalidError
	if errors.As(err, &bad) { // there is less cash than that
		err = invalid("deposit_returned", bad.Problems["amount"])
	}
	return on, err
}

// KeepLoanOut notes why the loan watch stays out although the customer's own leaves. The error is a *domain.InvalidError, or as
// of the other changes of a docket.
func (s *Store) KeepLoanOut(ctx context.Context, c Change, why string) error {
	why = text.Lines(why)
	return s.change(ctx, c, func(tx pgx.Tx, d docket.Docket) ([]event, error) {
		if p := loan.KeptOutProblem(why); p != "" {
			return nil, domain.Invalid(map[string]string{"kept_out_why": p})
		}
		l, err := loanOut(ctx, tx, d)
		if err != nil {
			return nil, err
		}
		_, err = tx.Exec(ctx, `UPDATE loan SET kept_out_why = $2, kept_out_by = $3 WHERE id = $1`, l.ID, why, c.By.StaffID)
		return []event{{kind: docket.LoanKeptOut, summary: loan.KeptOutSummary(l.Watch), why: why}}, err
	})
}

// loanOut is the loan of a docket that is out.
func loanOut(ctx context.Context, tx pgx.Tx, d docket.Docket) (Loan, error) {
	rows, _ := tx.Query(ctx, loanSQL+`WHERE l.docket_id = $1 AND l.back_at IS NULL FOR UPDATE OF l`, d.ID)
	l, err := pgx.CollectExactlyOneRow(rows, scanLoan)
	if errors.Is(err, pgx.ErrNoRows) {
		err = domain.Invalid(map[string]string{"": "No loan watch is out with this docket."})
	}
	return l, err
}
