package counter

import (
	"net/http"
	"strconv"

	"ledgerwheel/domain/figure"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/watch"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/sheet"
)

func (s *Room) showWatch(w http.ResponseWriter, r *http.Request) error {
	id, err := page.PathID(r, "id")
	if err != nil {
		return err
	}
	before, err := pathBefore(r)
	if err != nil {
		return err
	}
	record, err := s.store.WatchSheet(r.Context(), id, before)
	if err != nil {
		return err
	}
	v := watchView{Title: record.Watch.Title(), Terms: sheet.WatchTerms(record.Watch, record.Calibre),
		Calibre:  calibreWords(record.Calibre),
		Customer: record.Customer.Name, CustomerURL: sheet.CustomerURL(record.Customer.ID), EditURL: watchURL(id) + "/edit",
		MayEdit: page.May(r, staff.ManageWatches), MayTakeIn: page.May(r, staff.TakeIn),
		TakeInURL: "/intake?customer=" + strconv.FormatInt(record.Customer.ID, 10) + "&watch=" + strconv.FormatInt(id, 10),
		Dockets:   s.history(r, record.Dockets, ofWatch), Older: olderURL(watchURL(id), record.Dockets, record.OlderDockets)}
	if before != 0 {
		v.Newest = watchURL(id)
	} else if len(record.Dockets) > 0 && record.Dockets[0].Open {
		v.InShop = record.Dockets[0].Number.String()
	}
	return page.Render(w, r, http.StatusOK, watchPage(s.Page(r, record.Watch.Title()), v))
}

// calibreWords are the figures of a calibre in the shop's list, or nothing.
func calibreWords(k watch.Calibre) string {
	if k.ID == 0 {
		return ""
	}
	lift, reserve := "", ""
	if k.LiftAngleDeg != 0 {
		lift = "lift angle " + figure.Plain(k.LiftAngleDeg) + "°"
	}
	if k.PowerReserveHours != 0 {
		reserve = "power reserve " + figure.Plain(k.PowerReserveHours) + " h"
	}
	return joined(k.Name, strconv.Itoa(k.BeatsPerHour)+" beats per hour", lift, reserve)
}

// watchForm is a watch as it would be typed.
func watchForm(w watch.Watch, version int64) *page.Form {
	f := page.EmptyForm()
	for name, value := range map[string]string{"maker": w.Maker, "model": w.Model, "reference": w.Reference,
		"serial":          w.Serial,
		"movement_serial": w.MovementSerial, "calibre": w.CalibreName, "case_material": w.CaseMaterial, "strap": w.Strap,
		"lume": string(w.Lume), "winding": string(w.Winding), "water_resistance": w.WaterResistanceMarked,
		"crown_at": strconv.Itoa(w.CrownAt), "notes": w.Notes, "version": strconv.FormatInt(version, 10)} {
		f.Values.Set(name, value)
	}
	return f
}

func (s *Room) editWatch(w http.ResponseWriter, r *http.Request) error {
	return s.renderWatchForm(w, r, http.StatusOK, nil, nil)
}

// renderWatchForm shows the form as typed, or, for nil, as the record has it. mine are a watch's particulars that
// met somebody else's: the form is then brought to the version of theirs.
func (s *Room) renderWatchForm(w http.ResponseWriter, r *http.Request, status int, f *page.Form,
	mine *watch.Watch) error {
	id, err := page.PathID(r, "id")
	if err != nil {
		return err
	}
	sheet, err := s.store.WatchSheet(r.Context(), id, 0)
	if err != nil {
		return err
	}
	v := watchFormView{Title: sheet.Watch.Title(), Action: watchURL(id) + "/edit", Back: watchURL(id),
		Calibres: sheet.Calibres,
		Lumes:    page.Options(watch.Lumes, watch.Lume.Words), Windings: page.Options(watch.Windings, watch.Winding.Words),
		Crowns:        crownOptions(),
		CaseMaterials: watch.CaseMaterials, Straps: watch.Straps}
	if f == nil {
		f = watchForm(sheet.Watch, sheet.Version)
	}
	if mine != nil {
		v.Theirs = watchDifferences(sheet.Watch, *mine)
		f.Values.Set("version", strconv.FormatInt(sheet.Version, 10))
	}
	if len(sheet.Dockets) > 0 && sheet.Dockets[0].Open {
		v.InShop = sheet.Dockets[0].Number.String()
	}
	v.Form = f.View()
	return page.Render(w, r, status, watchFormPage(s.Page(r, "Correct a watch"), v))
}

func watchDifferences(theirs, mine watch.Watch) []difference {
	return differences([][3]string{
		{"Maker", theirs.Maker, mine.Maker}, {"Model", theirs.Model, mine.Model}, {"Reference", theirs.Reference,
			mine.Reference},
		{"Case serial", theirs.Serial, mine.Serial}, {"Movement serial", theirs.MovementSerial, mine.MovementSerial},
		{"Calibre", theirs.CalibreName, mine.CalibreName}, {"Case material", theirs.CaseMaterial, mine.CaseMaterial},
		{"Strap", theirs.Strap, mine.Strap}, {"Luminous paint", theirs.Lume.Words(), mine.Lume.Words()},
		{"Winding", theirs.Winding.Words(), mine.Winding.Words()},
		{"Water resistance marked", theirs.WaterResistanceMarked, mine.WaterResistanceMarked},
		{"Crown", "at " + strconv.Itoa(theirs.CrownAt), "at " + strconv.Itoa(mine.CrownAt)},
		{"Notes", theirs.Notes, mine.Notes},
	})
}

func (s *Room) saveWatch(w http.ResponseWriter, r *http.Request) error {
	f, err := page.ReadForm(w, r)
	if err != nil {
		return err
	}
	id, err := page.PathID(r, "id")
	if err != nil {
		return err
	}
	c := store.WatchChange{Watch: readWatch(f).Tidied(), Version: f.ID("version"), By: page.Actor(r), At: s.Now()}
	c.Watch.ID = id
	f.FailAll(c.Watch.Problems())
	if f.OK() {
		err = s.store.SaveWatch(r.Context(), c)
	}
	return s.Settle(w, r, sheet.Ending{Form: f, Err: err, Said: "The watch is as you corrected it.", To: watchURL(id),
		Changed: func() error { return s.renderWatchForm(w, r, http.StatusConflict, f, &c.Watch) },
		Again:   func(status int) error { return s.renderWatchForm(w, r, status, f, nil) }})
}
