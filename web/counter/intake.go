package counter

import (
	"fmt"
	"net/http"
	"time"

	"ledgerwheel/domain/customer"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/watch"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/view"
)

// intakeRoutes are the pages of the counter: taking in, customers, watches, photographs, and the papers of an intake.
func (s *Room) intakeRoutes() []page.Route {
	return append([]page.Route{
		page.Get("/intake", page.Needs(staff.TakeIn), s.showIntake),
		page.Post("/intake", page.Needs(staff.TakeIn), s.takeIn),
		page.Get("/intake/customers", page.Needs(staff.TakeIn), s.suggestCustomers),
		page.Get("/intake/watches", page.Needs(staff.TakeIn), s.suggestWatches),
		page.Get("/dockets/{number}/intake", page.Needs(staff.ViewDockets), s.showIntakeSheet),
		page.Post("/dockets/{number}/intake", page.Needs(staff.TakeIn), s.correctIntake),
		page.Post("/dockets/{number}/intake/condition", page.Needs(staff.AddNotes), s.noteCondition),
		page.Get("/customers", page.Needs(staff.ViewDockets), s.showCustomers),
		page.Get("/customers/{id}", page.Needs(staff.ViewDockets), s.showCustomer),
		page.Get("/customers/{id}/edit", page.Needs(staff.ManageCustomers), s.editCustomer),
		page.Post("/customers/{id}/edit", page.Needs(staff.ManageCustomers), s.saveCustomer),
		page.Get("/watches/{id}", page.Needs(staff.ViewDockets), s.showWatch),
		page.Get("/watches/{id}/edit", page.Needs(staff.ManageWatches), s.editWatch),
		page.Post("/watches/{id}/edit", page.Needs(staff.ManageWatches), s.saveWatch),
		page.Get("/said/money", page.Needs(staff.ViewDockets), s.sayMoney),
		page.Post("/dockets/{number}/photos", page.Needs(staff.AddPhotos), s.addPhotos),
		page.Post("/dockets/{number}/photos/{id}", page.Needs(staff.AddPhotos), s.captionPhoto),
		page.Post("/dockets/{number}/photos/{id}/sight", page.Needs(staff.AddPhotos), s.sightOfPhoto),
		page.Post("/dockets/{number}/photos/{id}/remove", page.Needs(staff.RemovePhotos), s.removePhoto),
		page.Get("/photos/{id}/{size}", page.Needs(staff.ViewDockets), s.showPhoto),
	}, s.intakePaperRoutes()...)
}

func (s *Room) showIntake(w http.ResponseWriter, r *http.Request) error {
	f := s.freshIntake(r)
	in := s.readIntake(r, f)
	if !f.OK() {
		return page.BadRequest(errUnknownChoice)
	}
	return s.renderIntake(w, r, http.StatusOK, f, in)
}

// takeIn opens the docket, unless the clerk only wants to look something up or has yet to mend something.
func (s *Room) takeIn(w http.ResponseWriter, r *http.Request) error {
	f, err := page.ReadForm(w, r)
	if err != nil {
		return err
	}
	in := s.readIntake(r, f)
	if f.Text("do") == "look-up" {
		f.Problems = map[string]string{}
		return s.renderIntake(w, r, http.StatusOK, f, in)
	}
	f.FailAll(in.Problems())
	var n docket.Number
	if f.OK() {
		n, err = s.store.TakeIn(r.Context(), in)
		if err != nil && !refuseIntake(f, err) {
			return err
		}
	}
	if !f.OK() {
		return s.renderIntake(w, r, http.StatusUnprocessableEntity, f, in)
	}
	s.Say(r.Context(), "Taken in as docket "+n.String()+".")
	return page.SeeOther(w, r, view.DocketURL(n.String(), "intake")+"?taken-in=yes")
}

func (s *Room) renderIntake(w http.ResponseWriter, r *http.Request, status int, f *page.Form, in store.TakingIn) error {
	help, err := s.store.IntakeHelp(r.Context(), question(in))
	if err != nil {
		return err
	}
	outline := conditionForm(f, in.Condition, in.Watch.CrownAt)
	v := intakeView{
		Form: f.View(), Unsaved: r.Method == http.MethodPost, Currency: in.Shop.Currency, Outline: outline,
		Customers: customerChoicesOf(f, help, in.Shop.PhoneRegion), Watches: s.watchChoices(r, f, in, help),
		Contacts: page.Options(customer.Contacts, customer.Contact.Words), Lumes: page.Options(watch.Lumes, watch.Lume.Words),
		Windings: page.Options(watch.Windings, watch.Winding.Words), Crowns: crownOptions(), Places: placeOptions(),
		Wanted:   page.Options(docket.WantedServices(), docket.Wanted.Label),
		Calibres: help.Calibres, CaseMaterials: watch.CaseMaterials, Straps: watch.Straps,
	}
	v.PromiseDays, v.PromiseHint = s.promises(r)
	return page.Render(w, r, status, intake(s.Page(r, "Take in a watch"), v))
}

// promises are the usual days, for the field to offer, and the first of them in words.
func (s *Room) promises(r *http.Request) (days []string, hint string) {
	for _, after := range usualPromiseDays {
		days = append(days, s.Today(r).AddDate(0, 0, after).Format(time.DateOnly))
	}
	return days, fmt.Sprintf("in %d days unless you say another; empty promises nothing", usualPromiseDays[0])
}
