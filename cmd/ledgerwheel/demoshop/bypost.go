package demoshop

import (
	"context"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/parcel"
	"ledgerwheel/domain/photo"
	"ledgerwheel/domain/staff"
	"ledgerwheel/store"
)

// estuary is whom Tern Quay sends by; its terms are invented too.
var estuary = parcel.Carrier{Name: "Estuary Insured", LimitMinor: 250000, Currency: "GBP", Note: "Their terms of 1 March, page 4: watches, signed for."}

// carriers writes down whom the shop sends by, if it is not yet.
func (f *filler) carriers(ctx context.Context) error {
	kept, err := f.store.Carriers(ctx)
	if err != nil || len(kept) > 0 {
		return err
	}
	return f.store.KeepCarrier(ctx, estuary, f.staff[staff.Owner], f.calendar.at(firstBack, "09:05"))
}

// cameByPost writes down the parcel in which the watch of a job comes, before it is taken in; an earlier filling may have come so
// far.
func (f *filler) cameByPost(ctx context.Context, a parcel.Arrival, c store.Change) (int64, error) {
	kept, err := f.store.ParcelsIn(ctx, 0)
	if err != nil {
		return 0, err
	}
	for _, p := range kept {
		if p.Number == a.Number {
			return p.ID, nil
		}
	}
	pic, err := f.darkroom.print(backScratched)
	if err != nil {
		return 0, err
	}
	return f.store.KeepParcelIn(ctx, a, []photo.Picture{pic}, c.By, c.At)
}

// sentByPost is the watch's leaving by post to an address: made ready, and given to the carrier.
func (j *job) sentByPost(to parcel.Address, p parcel.Posting, value int64, old docket.OldParts) *job {
	who := customers[j.intake.customer]
	j.then(staff.Clerk, func(ctx context.Context, f *filler, c store.Change) error {
		sheet, err := f.store.PostSheet(ctx, c.Number)
		if err != nil {
			return err
		}
		return f.store.PrepareParcel(ctx, c, parcel.Dispatch{Carrier: sheet.Carriers[0], To: to, ValueMinor: value, Contents: "1 watch, 1 warranty card",
			Cell: parcel.CellNone, NothingBarred: true,
			Consent: parcel.Consent{By: who.Name, On: f.calendar.civil(c.At), How: parcel.ByMail}}, f.calendar.civil(c.At))
	})
	return j.then(staff.Clerk, func(ctx context.Context, f *filler, c store.Change) error {
		return f.store.GiveParcel(ctx, c, p, old, "", f.calendar.civil(c.At))
	})
}
