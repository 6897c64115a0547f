package demoshop

import (
	"context"

	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/watch"
)

// listed are the watches that Tern Quay was told to look out for, with how many working days ago. The second nearly
// fits a watch that comes in later: a zero of its serial was read as the letter.
var listed = []struct {
	back  int
	entry watch.WatchListEntry
}{
	{214, watch.WatchListEntry{Serial: "BH-77204", Maker: "Brackenholt", Source: "Saltby constabulary, note 61-118",
		Note: "Taken from a moored ketch. Steel bracelet with one link missing."}},
	{133, watch.WatchListEntry{Serial: "VM 41O88", Maker: "Vintermoor", Source: "Insurers’ circular 12, item 40",
		Note: "Reported by the widow of the owner; monogram inside the case back."}},
	{88, watch.WatchListEntry{Serial: "SK 9315", Maker: "Skerrow & Daughters", Source: "Owner, by letter",
		Note: "Open-face pocket watch, silver, presentation engraving scraped off."}},
	{31, watch.WatchListEntry{Serial: "0552-7719", Source: "Saltby constabulary, note 61-204",
		Note: "Maker not known. Gold lady’s watch on a rope bracelet."}},
}

// watchList adds the entries that are not there yet.
func (f *filler) watchList(ctx context.Context) error {
	kept, err := f.store.Listed(ctx, 0)
	if err != nil {
		return err
	}
	known := map[string]bool{}
	for _, e := range kept {
		known[e.Serial] = true
	}
	for _, l := range listed {
		if known[l.entry.Serial] {
			continue
		}
		e := l.entry
		e.Reported = f.calendar.day(l.back)
		if err := f.store.AddToWatchList(ctx, e, f.staff[staff.Owner], f.calendar.at(l.back, "12:20")); err != nil {
			return err
		}
	}
	return nil
}
