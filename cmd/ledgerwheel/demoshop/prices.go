package demoshop

import (
	"context"
	"strings"
	"time"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/estimate"
	"ledgerwheel/domain/staff"
	"ledgerwheel/store"
)

// priced is a line of an estimate for one piece of work or one part; the price is in minor units with tax.
func priced(kind estimate.Kind, description string, minor int64) estimate.Line {
	return estimate.Line{Kind: kind, Description: description, QuantityMilli: 1000, UnitMinor: minor}
}

func labour(description string, minor int64) estimate.Line {
	return priced(estimate.Labour, description, minor)
}

func material(description string, minor int64) estimate.Line {
	return priced(estimate.Part, description, minor)
}

func outside(description string, minor int64) estimate.Line {
	return priced(estimate.OutsideWork, description, minor)
}

func lessBy(description string, minor int64) estimate.Line {
	return priced(estimate.Discount, description, -minor)
}

// offered is a line that the customer may leave out.
func offered(l estimate.Line) estimate.Line {
	l.Optional = true
	return l
}

// drafted prices the work in a new revision.
func (j *job) drafted(note string, lines ...estimate.Line) *job {
	j.drafts++
	return j.then(j.hands, func(ctx context.Context, f *filler, c store.Change) error {
		r := estimate.Revision{Rule: estimate.TaxRule{PricesIncludeTax: f.shop.PricesIncludeTax}, Note: note,
			ValidUntil: f.calendar.civil(c.At).AddDate(0, 0, f.shop.EstimateDays)}
		for _, l := range lines {
			l.TaxBasisPoints = f.shop.TaxBasisPoints
			r.Lines = append(r.Lines, l)
		}
		_, err := f.store.SaveDraft(ctx, c, r)
		return err
	})
}

// sent sends the revision drafted last, which makes the customer's private link.
func (j *job) sent() *job {
	number := j.drafts
	return j.then(staff.Clerk, func(ctx context.Context, f *filler, c store.Change) error {
		return f.store.SendEstimate(ctx, c, number, f.calendar.civil(c.At))
	})
}

// answered is the customer's answer at the counter or by telephone.
func (j *job) answered(approve bool, note string) *job {
	number := j.drafts
	return j.then(staff.Clerk, func(ctx context.Context, f *filler, c store.Change) error {
		return f.store.AnswerEstimate(ctx, c, estimate.Answer{Revision: number, Approve: approve,
			Name: customers[j.intake.customer].Name, Note: note}, f.calendar.civil(c.At))
	})
}

// answeredOnThePhone is the customer's answer to a call a quarter of an hour before it is written down.
func (j *job) answeredOnThePhone(note string) *job {
	number := j.drafts
	return j.then(staff.Clerk, func(ctx context.Context, f *filler, c store.Change) error {
		sheet, err := f.store.EstimateSheet(ctx, c.Number)
		if err != nil {
			return err
		}
		who := customers[j.intake.customer]
		return f.store.AnswerEstimate(ctx, c, estimate.Answer{Revision: number, Approve: true, Name: who.Name, Note: note,
			Consent: &estimate.Consent{At: c.At.Add(-15 * time.Minute), Number: who.Phone, CalledBy: c.By.Name,
				Added: strings.Join(sheet.Estimate.Added(number), "\n"), TotalMinor: sheet.Row(number).GrossMinor}}, f.calendar.civil(c.At))
	})
}

// answeredByLink is the customer's answer through the private link, leaving out the lines at those indexes.
func (j *job) answeredByLink(approve bool, note string, without ...int) *job {
	number := j.drafts
	return j.then("", func(ctx context.Context, f *filler, c store.Change) error {
		sheet, err := f.store.EstimateSheet(ctx, c.Number)
		if err != nil {
			return err
		}
		rev, _ := sheet.Estimate.Find(number)
		shown, err := rev.Without(without)
		if err != nil {
			return err
		}
		return f.store.AnswerByLink(ctx, c, sheet.Link.ID, estimate.Answer{Revision: number, Approve: approve,
			Name: customers[j.intake.customer].Name, Note: note, DeclinedLines: without, ShownMinor: &shown.GrossMinor},
			f.calendar.civil(c.At))
	})
}

// declined sets the watch aside to go back unrepaired.
func (j *job) declined() *job { return j.move(staff.Clerk, docket.StageDeclined, safe, "") }

// asks is a question of the customer through the private link.
func (j *job) asks(words string) *job {
	return j.then("", func(ctx context.Context, f *filler, c store.Change) error {
		sheet, err := f.store.EstimateSheet(ctx, c.Number)
		if err != nil {
			return err
		}
		return f.store.AskByLink(ctx, c, sheet.Link.ID, words)
	})
}

// tells is the counter's answer to the newest question.
func (j *job) tells(words string) *job {
	return j.then(staff.Clerk, func(ctx context.Context, f *filler, c store.Change) error {
		o, err := f.store.Overview(ctx, c.Number)
		if err != nil {
			return err
		}
		return f.store.AnswerQuestion(ctx, c, o.Questions[len(o.Questions)-1].ID, words)
	})
}
