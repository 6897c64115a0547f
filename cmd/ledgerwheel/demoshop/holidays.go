package demoshop

import (
	"context"
	"time"

	"ledgerwheel/domain/shop"
	"ledgerwheel/domain/staff"
)

// holidays are the days on which Tern Quay is closed: over New Year every year, and this year's regatta, which moves.
func (f *filler) holidays(ctx context.Context) error {
	known, err := f.store.Holidays(ctx)
	if err != nil || len(known) > 0 {
		return err
	}
	at := f.calendar.at(firstBack, "09:25")
	day := func(year int, month time.Month, d int) time.Time {
		return time.Date(year, month, d, 0, 0, 0, 0, time.UTC)
	}
	regatta := f.calendar.day(1).AddDate(0, 5, 0)
	for _, h := range []shop.Holiday{
		{Name: "New Year", From: day(at.Year()-1, time.December, 31), To: day(at.Year(), time.January, 1), Yearly: true},
		{Name: "Saltby regatta", From: regatta, To: regatta.AddDate(0, 0, 1)},
	} {
		if err := f.store.AddHoliday(ctx, h, f.staff[staff.Owner], at); err != nil {
			return err
		}
	}
	return nil
}
