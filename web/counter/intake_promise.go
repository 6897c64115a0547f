package counter

import (
	"net/http"
	"time"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/promise"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
)

// doPropose is the button that takes the day that is proposed.
const doPropose = "propose"

// foresee is by when the watch on the desk will be ready, worked out when it is asked for first.
func (s *Room) foresee(r *http.Request, d *desk) (promise.Forecast, error) {
	if d.promises == nil {
		v, _ := page.ViewerOf(r.Context())
		p, err := s.store.Promises(r.Context(), v.Shop, s.Now())
		if err != nil {
			return promise.Forecast{}, err
		}
		d.promises = &p
	}
	return forecastFor(*d.promises, d.form), nil
}

func forecastFor(p store.Promises, f *page.Form) promise.Forecast {
	wanted := docket.Wanted(f.Text("service_wanted"))
	if !wanted.Known() {
		wanted = docket.WantedService
	}
	back := f.Text("warranty_of")
	return p.Propose(wanted, wanted == docket.WantedWarranty || back != "" && back != "0")
}

// proposeDay fills in the day that is proposed: in a form that opens, when the button asks for it, and where the day proposed
// before still stands though something else is wanted now.
func (s *Room) proposeDay(r *http.Request, d *desk) error {
	f, err := s.foresee(r, d)
	if err != nil {
		return err
	}
	proposed := f.Day(promise.Level).Format(time.DateOnly)
	stood := d.form.Text("promised_on")
	if d.form.Text("do") == doPropose || r.Method == http.MethodGet || stood != "" && stood == d.form.Text("proposed_on") {
		d.form.Values.Set("promised_on", proposed)
	}
	d.form.Values.Set("proposed_on", proposed)
	return nil
}

// suggestPromise answers while the day is typed, or another service chosen, with how often such a day is kept.
func (s *Room) suggestPromise(w http.ResponseWriter, r *http.Request) error {
	d := s.deskOf(r, &page.Form{Values: r.URL.Query(), Problems: map[string]string{}})
	v, err := s.promiseView(r, d)
	if err != nil {
		return err
	}
	return page.Render(w, r, http.StatusOK, promiseSaid(v))
}

// promiseView says how often the day that stands in the form is kept, and which day is proposed.
func (s *Room) promiseView(r *http.Request, d *desk) (promiseView, error) {
	f, err := s.foresee(r, d)
	if err != nil {
		return promiseView{}, err
	}
	p := f.Proposed(time.Time{})
	v := promiseView{Proposed: p.Day.Format("Mon 2 Jan"), Chance: promise.InTen(p.ChancePercent), From: p.From()}
	for _, level := range [...]float64{0.5, promise.Level, 0.9} {
		v.Days = append(v.Days, f.Day(level).Format(time.DateOnly))
	}
	typed, err := time.Parse(time.DateOnly, d.form.Text("promised_on"))
	switch {
	case err != nil: // no day, or none that can be read: what is wrong with it is said when it is sent
	case typed.Equal(p.Day):
		v.Stands = true
	case !typed.Before(s.Today(r)) && typed.Before(s.Today(r).AddDate(2, 0, 0)):
		v.Typed, v.TypedChance = typed.Format("Mon 2 Jan"), promise.InTen(promise.Percent(f.Chance(typed)))
	}
	return v, nil
}
