package demoshop

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"time"

	"ledgerwheel/domain"
	"ledgerwheel/domain/ledger"
	"ledgerwheel/domain/logo"
	"ledgerwheel/domain/message"
	"ledgerwheel/domain/purchase"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/stock"
	"ledgerwheel/store"
	"ledgerwheel/web/office/orders"
)

// others are the suppliers beside Coldharbour, all invented.
var others = []purchase.Supplier{
	{Name: marrow, Email: "cases@marrowstile.example", Phone: "01632 960 317", Address: "9 Tannery Row\nBrindlehaven", Account: "S 2206", LeadDays: pieces(9)},
	{Name: pellDesk, Email: "parts@pellwarne.example", Phone: "01632 960 488", Account: "UK-0417", LeadDays: pieces(14)},
}

// suppliers adds those that the list lacks, and notes the ids of all.
func (f *filler) suppliers(ctx context.Context) error {
	list, err := f.store.Suppliers(ctx)
	if err != nil {
		return err
	}
	f.houses = map[string]int64{}
	for _, s := range list {
		f.houses[s.Name] = s.ID
	}
	for i, s := range others {
		if f.houses[s.Name] != 0 {
			continue
		}
		if f.houses[s.Name], err = f.store.SaveSupplier(ctx, s, 0, f.staff[staff.Watchmaker], f.calendar.at(firstBack, "09:35").Add(time.Duration(i)*time.Minute)); err != nil {
			return err
		}
	}
	return nil
}

// reorders are when the drawers are looked through, and for what: what is used at the bench without a docket, such as oils and
// cells that are changed at the counter, is written off, and ordered again where that leaves too few.
func (b *book) reorders() {
	parts := []string{"CEL-377", "SL-SET", "OIL-F"}
	for i, back := range []int{585, 560, 532, 505, 478, 449, 424, 396, 370, 343, 312, 281, 258, 232, 207, 183, 160, 134, 109, 84, 58} {
		b.reorder(back, coldharbour, parts[i%len(parts)])
	}
	// The newest went by mail, and is not confirmed yet.
	nth := len(b.acts)/2 + 1
	b.acts = append(b.acts, act{b.calendar.at(1, "11:10"), func(ctx context.Context, f *filler, at time.Time) error {
		return f.usedAndOrdered(ctx, nth, f.houses[coldharbour], "CEL-377", purchase.ByMail, at)
	}}, act{b.calendar.at(27, "10:05"), mailOfOrders})
	slices.SortStableFunc(b.acts, func(x, y act) int { return x.at.Compare(y.at) })
}

// reorder has a part used up to its reorder level, ordered again by telephone, and received four working days later.
func (b *book) reorder(back int, supplier, number string) {
	nth := len(b.acts)/2 + 1
	// The life of a lot is told by its number, which is drawn from the order's.
	b.acts = append(b.acts, act{b.calendar.at(back, "16:10"), func(ctx context.Context, f *filler, at time.Time) error {
		return f.usedAndOrdered(ctx, nth, f.houses[supplier], number, purchase.ByTelephone, at)
	}}, act{b.calendar.at(back-4, "10:20"), func(ctx context.Context, f *filler, at time.Time) error { return f.reorderCame(ctx, nth, at) }})
}

// reorderMark stands on the orders of the drawers, by which they are known again.
func reorderMark(nth int) string { return fmt.Sprintf("Our list %d.", nth) }

// reorderOf finds the order that the nth looking through led to. The error wraps domain.ErrNotFound.
func (f *filler) reorderOf(ctx context.Context, nth int) (store.Order, error) {
	list, err := f.store.Orders(ctx, store.OrdersFilter{Stages: purchase.Stages}, f.now)
	if err != nil {
		return store.Order{}, err
	}
	for _, row := range list.Orders {
		if row.Note == reorderMark(nth) {
			return f.store.Order(ctx, row.ID)
		}
	}
	return store.Order{}, domain.ErrNotFound
}

func (f *filler) usedAndOrdered(ctx context.Context, nth int, supplierID int64, number string, way purchase.Way, at time.Time) error {
	by := f.staff[staff.Watchmaker]
	if o, err := f.reorderOf(ctx, nth); err == nil {
		return f.goesOut(ctx, o.ID, way, by, at.Add(3*time.Minute))
	} else if !errors.Is(err, domain.ErrNotFound) {
		return err
	}
	found, err := f.store.Catalogue(ctx, number, "", false)
	if err != nil {
		return err
	}
	p := found.Parts[0]
	for left := p.Free() - *p.ReorderAt; left > 0; {
		s, err := f.store.PartStock(ctx, p.ID, 0)
		if err != nil {
			return err
		}
		lot := s.Balance.Lots()[0]
		m := ledger.Move{Kind: ledger.WrittenOff, Pieces: min(left, lot.Pieces), Lot: lot.Lot, Why: "Used at the counter and the bench, without a docket."}
		if err := f.store.MoveStock(ctx, p.ID, []ledger.Move{m}, by, at); err != nil {
			return err
		}
		left -= m.Pieces
	}
	today := f.calendar.civil(at)
	if _, err := f.store.Gather(ctx, []store.Pick{{PartID: p.ID, SupplierID: supplierID}}, today, by, at.Add(time.Minute)); err != nil {
		return err
	}
	id, err := f.store.StartOrder(ctx, supplierID, today, by, at.Add(time.Minute))
	if err != nil {
		return err
	}
	o, err := f.store.Order(ctx, id)
	if err != nil {
		return err
	}
	c := store.OrderChange{ID: id, Version: o.Version, Today: today, By: by, At: at.Add(2 * time.Minute)}
	if err := f.store.SaveOrder(ctx, c, o.Lines, reorderMark(nth)); err != nil {
		return err
	}
	return f.goesOut(ctx, id, way, by, at.Add(3*time.Minute))
}

// goesOut sends a draft.
func (f *filler) goesOut(ctx context.Context, id int64, way purchase.Way, by store.Actor, at time.Time) error {
	o, err := f.store.Order(ctx, id)
	if err != nil || o.Stands != purchase.Drafted {
		return err
	}
	var letter store.OrderLetter
	c := store.OrderChange{ID: id, Version: o.Version, Today: f.calendar.civil(at), By: by, At: at}
	if way == purchase.ByMail {
		picture := func(name string) []byte {
			png, _ := f.store.Logo(ctx, logo.Name(name)) // a paper is never kept back by it
			return png
		}
		if letter, err = orders.Letter(o, c.Today, at, picture); err != nil {
			return err
		}
	}
	return f.store.SendOrder(ctx, c, way, letter)
}

// mailOfOrders has the mails with orders taken by the supplier's server of the time, as carry does with those to customers.
func mailOfOrders(ctx context.Context, f *filler, at time.Time) error {
	list, err := f.store.Orders(ctx, store.OrdersFilter{Stages: []purchase.Stage{purchase.Underway}}, f.calendar.civil(at))
	if err != nil {
		return err
	}
	for _, o := range list.Orders {
		if o.MailState != message.Queued || at.After(f.now.AddDate(0, 0, -1)) {
			continue
		}
		begun := at
		decision, _, err := f.store.BeginOrderMail(ctx, o.ID, true, begun)
		if err == nil && decision.Act == message.Wait { // an earlier filling was cut off between question and answer
			begun = decision.Until
			decision, _, err = f.store.BeginOrderMail(ctx, o.ID, true, begun)
		}
		if err == nil && decision.Act == message.Try {
			_, err = f.store.EndOrderMail(ctx, o.ID, begun, message.Answer{Step: message.Content, Taken: true}, begun)
		}
		if err != nil {
			return err
		}
	}
	return nil
}

func (f *filler) reorderCame(ctx context.Context, nth int, at time.Time) error {
	o, err := f.reorderOf(ctx, nth)
	if err != nil || o.Stands != purchase.Underway {
		return err
	}
	today := f.calendar.civil(at)
	var list []store.Happening
	for _, l := range o.Lines {
		list = append(list, store.Happening{Event: purchase.Event{Kind: purchase.Came, LineID: l.ID, Pieces: l.Pieces},
			Lot: ledger.Lot{Number: fmt.Sprintf("L %d-%02d", today.Year(), nth), MadeOn: today.AddDate(0, -3, 0), UsableTo: today.AddDate(0, 36, 0)}})
	}
	return f.store.WriteDown(ctx, store.OrderChange{ID: o.ID, Version: o.Version, Today: today, By: f.staff[staff.Clerk], At: at}, list)
}

// sentFor has parts of the docket, as described, ordered from a supplier.
func (j *job) sentFor(way purchase.Way, supplier string, descriptions ...string) *job {
	return j.then(staff.Watchmaker, func(ctx context.Context, f *filler, c store.Change) error {
		today := f.calendar.civil(c.At)
		sheet, err := f.store.PartsSheet(ctx, c.Number)
		if err != nil {
			return err
		}
		var picks []store.Pick
		for _, p := range sheet.Parts {
			if slices.Contains(descriptions, p.Description) && p.State == stock.Needed {
				picks = append(picks, store.Pick{PartLineID: p.ID, SupplierID: f.houses[supplier]})
			}
		}
		if _, err := f.store.Gather(ctx, picks, today, c.By, c.At); err != nil {
			return err
		}
		id, err := f.store.StartOrder(ctx, f.houses[supplier], today, c.By, c.At)
		if err != nil {
			return err
		}
		return f.goesOut(ctx, id, way, c.By, c.At)
	})
}

// heard writes down what happened to a part that was ordered, the day that is named being so many working days back.
func (j *job) heard(description string, e purchase.Event, dueBack int) *job {
	if dueBack != 0 {
		e.DueOn = j.story.calendar.day(dueBack)
	}
	return j.then(staff.Clerk, func(ctx context.Context, f *filler, c store.Change) error {
		sheet, err := f.store.PartsSheet(ctx, c.Number)
		if err != nil {
			return err
		}
		for _, p := range sheet.Parts {
			if p.Description != description || p.State != stock.Ordered {
				continue
			}
			id, line, err := f.store.LineOfPart(ctx, p.ID)
			if err != nil {
				return err
			}
			o, err := f.store.Order(ctx, id)
			if err != nil {
				return err
			}
			e := e
			e.LineID = line
			return f.store.WriteDown(ctx, store.OrderChange{ID: id, Version: o.Version, Today: f.calendar.civil(c.At), By: c.By, At: c.At},
				[]store.Happening{{Event: e}})
		}
		return fmt.Errorf("%s is not on order", description)
	})
}
