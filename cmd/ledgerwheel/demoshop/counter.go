package demoshop

import (
	"context"
	"fmt"
	"slices"
	"time"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/finaltest"
	"ledgerwheel/domain/parcel"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/uncollected"
	"ledgerwheel/domain/warranty"
	"ledgerwheel/domain/watch"
	"ledgerwheel/store"
)

// arrival is what the counter hears and sees when a watch comes in.
type arrival struct {
	back      int    // working days ago
	clock     string // of the shop
	customer  string // key in customers
	watch     string // key in watches
	complaint string
	wanted    docket.Wanted
	limit     int64 // approval limit, minor units; 0 for always ask
	declared  int64 // value, minor units; 0 for not declared
	dueDays   int   // promised for so many days later; 0 for nothing promised
	marks     []watch.ConditionMark
	unlooked  bool   // condition still to be noted
	comeback  string // key of the job it returns from, under warranty
	byOwner   bool   // taken in by the owner
	with      string // key of the job whose watch came with it, on one ticket
	byPost    *parcel.Arrival
	order     string // number that a firm gave its order
}

// marked is a mark on the outline, at fractions of its width and height.
func marked(part watch.Part, kind watch.MarkKind, x, y float64, note string) watch.ConditionMark {
	return watch.ConditionMark{Part: part, Kind: kind, Placed: true, X: x, Y: y, Note: note}
}

// unplaced is a mark that nobody pointed at on the outline.
func unplaced(part watch.Part, kind watch.MarkKind, note string) watch.ConditionMark {
	return watch.ConditionMark{Part: part, Kind: kind, Note: note}
}

// open begins a job with the watch's coming in.
func (b *book) open(key string, in arrival) *job {
	j := &job{key: key, story: b, intake: in, hands: staff.Watchmaker}
	b.jobs = append(b.jobs, j)
	by := staff.Clerk
	if in.byOwner {
		by = staff.Owner
	}
	return j.on(in.back, in.clock).then(by, j.takeIn)
}

// before is the job, the newest but for j itself, that pred holds for; nil when there is none.
func (j *job) before(pred func(*job) bool) *job {
	var found *job
	for _, other := range j.story.jobs {
		if other != j && other.steps[0].at.Before(j.steps[0].at) && pred(other) {
			found = other
		}
	}
	return found
}

func (j *job) takeIn(ctx context.Context, f *filler, c store.Change) error {
	in := j.intake
	taking := store.TakingIn{
		Shop: f.shop, Customer: customers[in.customer].Tidied(f.shop.PhoneRegion), NewCustomer: true,
		Watch: f.watch(in.watch), NewWatch: true, Place: docket.PlaceAt(docket.PlaceSafe, ""), By: c.By, At: c.At,
		Intake: docket.Intake{Complaint: in.complaint, OrderNumber: in.order, Wanted: in.wanted, DeclaredValueMinor: amount(in.declared),
			ApprovalLimitMinor: amount(in.limit)},
	}
	if in.dueDays > 0 {
		taking.Intake.PromisedOn = openOn(taking.ReceivedOn().AddDate(0, 0, in.dueDays))
	}
	if !in.unlooked {
		taking.Condition = conditionOf(in.marks)
	}
	if err := f.known(ctx, j, &taking); err != nil {
		return err
	}
	if in.byPost != nil {
		var err error
		if taking.ParcelID, err = f.cameByPost(ctx, *in.byPost, c); err != nil {
			return err
		}
	}
	promises, err := f.store.Promises(ctx, f.shop, c.At)
	if err != nil {
		return err
	}
	proposed := promises.Propose(in.wanted, in.wanted == docket.WantedWarranty).Proposed(taking.Intake.PromisedOn)
	taking.Proposed = &proposed
	n, err := f.store.TakeIn(ctx, taking)
	if err == nil && n != j.number {
		err = fmt.Errorf("the docket became %s", n)
	}
	return err
}

// known fills in the customer, watch and docket that the record has from an earlier job.
func (f *filler) known(ctx context.Context, j *job, taking *store.TakingIn) error {
	for _, look := range []struct {
		job  *job
		fill func(store.Head)
	}{
		{j.before(func(o *job) bool { return o.intake.customer == j.intake.customer }),
			func(h store.Head) { taking.CustomerID, taking.NewCustomer = h.Customer.ID, false }},
		{j.before(func(o *job) bool { return o.intake.watch == j.intake.watch }),
			func(h store.Head) { taking.WatchID, taking.NewWatch = h.Watch.ID, false }},
		{j.before(func(o *job) bool { return o.key == j.intake.comeback }),
			func(h store.Head) { taking.Intake.WarrantyOf = h.Docket.ID }},
		{j.before(func(o *job) bool { return o.key == j.intake.with }), func(h store.Head) { taking.With = h.Docket.Number }},
	} {
		if look.job == nil {
			continue
		}
		h, err := f.store.Head(ctx, look.job.number)
		if err != nil {
			return err
		}
		look.fill(h)
	}
	return nil
}

// conditionOf is the marks, and of every other part that none were seen.
func conditionOf(marks []watch.ConditionMark) watch.Condition {
	c := watch.Condition{Marks: marks}
	for _, p := range watch.Parts {
		if !slices.ContainsFunc(marks, func(m watch.ConditionMark) bool { return m.Part == p }) {
			c.NoMarksSeen = append(c.NoMarksSeen, p)
		}
	}
	return c
}

// amount is an amount said, or nil for one that was not.
func amount(minor int64) *int64 {
	if minor == 0 {
		return nil
	}
	return &minor
}

// move takes the docket to another stage.
func (j *job) move(by staff.Role, to docket.Stage, place docket.Place, why string) *job {
	return j.then(by, func(ctx context.Context, f *filler, c store.Change) error {
		var hand int64
		if place.Kind == docket.PlaceBench {
			hand = f.staff[benches[place.Detail]].StaffID
		}
		return f.store.Move(ctx, c, to, docket.Act{Reason: why, Place: place}, hand)
	})
}

// benches are who works at each.
var benches = map[string]staff.Role{"1": staff.Watchmaker, "2": staff.Owner}

// bench is where whoever has the work in hand sits.
func (j *job) bench() docket.Place {
	if j.hands == staff.Owner {
		return bench2
	}
	return bench1
}

// inHands says who does the bench work from here on.
func (j *job) inHands(r staff.Role) *job {
	j.hands = r
	return j
}

var (
	safe   = docket.PlaceAt(docket.PlaceSafe, "")
	bench1 = docket.PlaceAt(docket.PlaceBench, "1")
	bench2 = docket.PlaceAt(docket.PlaceBench, "2")
)

func sentTo(workshop string) docket.Place { return docket.PlaceAt(docket.PlaceSentOut, workshop) }

// put records that the watch lies somewhere else.
func (j *job) put(by staff.Role, place docket.Place) *job {
	return j.then(by, func(ctx context.Context, f *filler, c store.Change) error {
		return f.store.MoveWatch(ctx, c,
			place)
	})
}

// withdrawn is the customer's taking the watch back.
func (j *job) withdrawn(why string) *job {
	return j.move(staff.Clerk, docket.StageWithdrawn, safe, why)
}

// deposit is money taken before the work is done.
func (j *job) deposit(minor int64, how docket.Method, note string) *job {
	return j.then(staff.Clerk, func(ctx context.Context, f *filler, c store.Change) error {
		return f.store.TakePayment(ctx, c, docket.Payment{Minor: minor, Method: how, Note: note, Beyond: true})
	})
}

// pays is all that is due.
func (j *job) pays(how docket.Method) *job {
	return j.then(staff.Clerk, func(ctx context.Context, f *filler, c store.Change) error {
		h, err := f.store.Head(ctx, c.Number)
		if err != nil {
			return err
		}
		p := docket.Payment{Minor: h.Facts.DueMinor, Method: how}
		if how == docket.Cash { // in notes of twenty
			p.GivenMinor = (p.Minor + 1999) / 2000 * 2000
		}
		return f.store.TakePayment(ctx, c, p)
	})
}

// charged sets the price in place of the estimate's.
func (j *job) charged(minor int64, why string) *job {
	return j.then(staff.Owner, func(ctx context.Context, f *filler, c store.Change) error {
		return f.store.Charge(ctx, c, docket.Charge{Minor: &minor, Reason: why,
			Word: docket.Word{How: docket.SaidInPerson, On: c.At, By: c.By.Name}})
	})
}

// collected is the watch's leaving with its customer, who shows the ticket.
func (j *job) collected(old docket.OldParts) *job {
	return j.then(staff.Clerk, func(ctx context.Context, f *filler, c store.Change) error {
		return f.store.HandOver(ctx, c, docket.Leaving{CollectedBy: customers[j.intake.customer].Name,
			Proof:  docket.ProofTicket,
			Ticket: c.Number.String(), OldParts: old}, "")
	})
}

// collectedBy is its leaving with somebody without the ticket, who showed who they are; what the house asks is done.
func (j *job) collectedBy(name string, shown docket.Shown, identity string, old docket.OldParts) *job {
	return j.then(staff.Clerk, func(ctx context.Context, f *filler, c store.Change) error {
		sh, err := f.store.Shop(ctx)
		if err != nil {
			return err
		}
		return f.store.HandOver(ctx, c, docket.Leaving{CollectedBy: name, Shown: shown, Done: sh.NoTicketAsks(), Identity: identity,
			OldParts: old}, "")
	})
}

// letter reminds the customer of a watch that waits.
func (j *job) letter(kind uncollected.NoticeKind, title, body string) *job {
	return j.then(staff.Owner, func(ctx context.Context, f *filler, c store.Change) error {
		h, err := f.store.Head(ctx, c.Number)
		if err != nil {
			return err
		}
		return f.store.WriteNotice(ctx, c, uncollected.Letter{Kind: kind, Tongue: "en", Title: title,
			Addressee: h.Customer.Name + "\n14 Lamp Lane\nSaltby", Body: "Dear " + h.Customer.Name + ",\n\n" + body +
				"\n\nYours faithfully,\nTern Quay Watch Works"})
	})
}

// posted keeps the proof that the newest letter was posted.
func (j *job) posted(number string) *job {
	return j.then(staff.Clerk, func(ctx context.Context, f *filler, c store.Change) error {
		record, err := f.store.UncollectedSheet(ctx, c.Number)
		if err != nil {
			return err
		}
		newest := record.Notices[len(record.Notices)-1]
		return f.store.PostNotice(ctx, c, newest.ID, uncollected.Posting{On: newest.WrittenOn, Number: number})
	})
}

// disputed notes that the customer disputes the bill, and settled that it no longer stands.
func (j *job) disputed(words string) *job {
	return j.then(staff.Clerk, func(ctx context.Context, f *filler, c store.Change) error {
		return f.store.NoteBlock(ctx, c, uncollected.BillDisputed, words)
	})
}

func (j *job) settled(why string) *job {
	return j.then(staff.Clerk, func(ctx context.Context, f *filler, c store.Change) error {
		record, err := f.store.UncollectedSheet(ctx, c.Number)
		if err != nil {
			return err
		}
		return f.store.LiftBlock(ctx, c, record.Blocks[len(record.Blocks)-1].ID, why)
	})
}

// card issues the warranty card, for the shop's usual term or, above nought, so many months.
func (j *job) card(months int) *job {
	return j.then(staff.Owner, func(ctx context.Context, f *filler, c store.Change) error {
		w, err := f.wording(ctx, c)
		if months > 0 {
			w.Months = months
		}
		if err == nil {
			_, err = f.store.IssueCard(ctx, c, w)
		}
		return err
	})
}

// wording is what the record suggests for a card, which counts from today while the watch is still here.
func (f *filler) wording(ctx context.Context, c store.Change) (warranty.Wording, error) {
	sheet, err := f.store.CardSheet(ctx, c.Number)
	w := sheet.Suggested
	w.StartsOn = f.calendar.civil(c.At)
	return w, err
}

func (j *job) cardAgain(why string) *job {
	return j.then(staff.Owner, func(ctx context.Context, f *filler, c store.Change) error {
		w, err := f.wording(ctx, c)
		if err == nil {
			_, err = f.store.ReissueCard(ctx, c, w, why)
		}
		return err
	})
}

func (j *job) cardVoid(why string) *job {
	return j.then(staff.Owner, func(ctx context.Context, f *filler, c store.Change) error {
		return f.store.VoidCard(ctx, c,
			why)
	})
}

// corrected brings the particulars of the watch up to date.
func (j *job) corrected(change func(*watch.Watch)) *job {
	return j.then(staff.Clerk, func(ctx context.Context, f *filler, c store.Change) error {
		h, err := f.store.Head(ctx, c.Number)
		if err != nil {
			return err
		}
		sheet, err := f.store.WatchSheet(ctx, h.Watch.ID, 0)
		if err != nil {
			return err
		}
		w := h.Watch
		change(&w)
		return f.store.SaveWatch(ctx, store.WatchChange{Watch: w.Tidied(), Version: sheet.Version, By: c.By, At: c.At})
	})
}

// Results of the final test. What a calibre cannot have is not applicable.
const (
	noDate  = "No calendar."
	noWater = "Not marked as resisting water."
)

// mostInAirBar is up to what overpressure Tern Quay tests in air alone; beyond it in water, after the dry test.
const mostInAirBar = 3

// passes gives every test a pass with these figures: hours of power reserve, and bar of overpressure, 0 for a watch
// that is not tested under pressure.
func passes(reserveHours, bar float64, date bool) finaltest.Sheet {
	s := finaltest.Sheet{}.With(finaltest.Result{Test: finaltest.PowerReserve, Outcome: finaltest.OutcomePass,
		Figure: reserveHours, HasFigure: true}).
		With(finaltest.Result{Test: finaltest.WindingAndSetting, Outcome: finaltest.OutcomePass}).
		With(finaltest.Result{Test: finaltest.HandsClearance, Outcome: finaltest.OutcomePass}).
		With(finaltest.Result{Test: finaltest.CaseAndStrap, Outcome: finaltest.OutcomePass})
	water := finaltest.Result{Test: finaltest.WaterResistance, Outcome: finaltest.OutcomePass, Figure: bar,
		HasFigure: true, Medium: finaltest.MediumAir}
	switch {
	case bar == 0:
		water = finaltest.Result{Test: finaltest.WaterResistance, Outcome: finaltest.OutcomeNotApplicable, Note: noWater}
	case bar > mostInAirBar:
		water.Medium, water.DryFirst = finaltest.MediumWater, true
	}
	s = s.With(water)
	if date {
		return s.With(finaltest.Result{Test: finaltest.DateChange, Outcome: finaltest.OutcomePass})
	}
	return s.With(finaltest.Result{Test: finaltest.DateChange, Outcome: finaltest.OutcomeNotApplicable, Note: noDate})
}

// tested records the final test.
func (j *job) tested(by staff.Role, s finaltest.Sheet, note string) *job {
	return j.then(by, func(ctx context.Context, f *filler, c store.Change) error {
		_, err := f.store.RecordFinalTest(ctx, c, s, note)
		return err
	})
}

// after moves the clock on.
func (j *job) after(d time.Duration) *job {
	j.clock = j.clock.Add(d)
	return j
}
