package counter

import (
	"net/http"

	"ledgerwheel/domain/customer"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/watch"
	"ledgerwheel/web/page"
	"ledgerwheel/web/view"
)

// intakeRoutes are the pages of the counter: taking in, customers, watches, photographs, and the papers of an intake.
func (s *Room) intakeRoutes() []page.Route {
	return append([]page.Route{
		page.Get("/intake", page.Needs(staff.TakeIn), s.showIntake),
		page.Post("/intake", page.Needs(staff.TakeIn), s.takeIn),
		page.Get("/intake/found", page.Needs(staff.TakeIn), s.suggestFound),
		page.Get("/intake/customers", page.Needs(staff.TakeIn), s.suggestCustomers),
		page.Get("/intake/promise", page.Needs(staff.TakeIn), s.suggestPromise),
		page.Get("/intake/watches", page.Needs(staff.TakeIn), s.suggestWatches),
		page.Get("/dockets/{number}/intake", page.Needs(staff.ViewDockets), s.showIntakeSheet),
		page.Post("/dockets/{number}/intake", page.Needs(staff.TakeIn), s.correctIntake),
		page.Post("/dockets/{number}/intake/condition", page.Needs(staff.AddNotes), s.noteCondition),
		page.Get("/visits/{visit}", page.Needs(staff.ViewDockets), s.showVisit),
		page.Get("/v/{code}", page.Needs(staff.ViewDockets), s.followVisit),
		page.Get("/customers", page.Needs(staff.ViewDockets), s.showCustomers),
		page.Get("/customers/{id}", page.Needs(staff.ViewDockets), s.showCustomer),
		page.Get("/customers/{id}/edit", page.Needs(staff.ManageCustomers), s.editCustomer),
		page.Post("/customers/{id}/mail", page.Needs(staff.ManageCustomers), s.changeMail),
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
	d := s.deskOf(r, s.freshIntake(r))
	if err := s.joinVisit(r, d); err != nil {
		return err
	}
	if err := s.askRecord(r, d); err != nil {
		return err
	}
	if !d.form.OK() {
		return page.BadRequest(errUnknownChoice)
	}
	return s.renderIntake(w, r, http.StatusOK, d)
}

func (s *Room) deskOf(r *http.Request, f *page.Form) *desk {
	v, _ := page.ViewerOf(r.Context())
	return &desk{form: f, region: v.Shop.PhoneRegion}
}

// Buttons of the form, by their value "do". Anything else looks up, and saves nothing.
const (
	doTakeIn        = "take-in"
	doTakeInPrint   = "take-in-print"
	doTakeInAnother = "take-in-another" // of the same customer, on the same ticket
)

// takeIn opens the docket, unless the clerk only looks something up or has yet to put something right.
func (s *Room) takeIn(w http.ResponseWriter, r *http.Request) error {
	f, err := page.ReadForm(w, r)
	if err != nil {
		return err
	}
	d, do := s.deskOf(r, f), f.Text("do")
	if f.Text("choose") == choiceNew { // none of those found
		d.fill(docket.InAddress(f.Text("sought")))
	}
	if err := s.choose(r.Context(), f); err != nil {
		return err
	}
	if err := s.joinVisit(r, d); err != nil {
		return err
	}
	if do != doTakeIn && do != doTakeInPrint && do != doTakeInAnother {
		return s.lookAround(w, r, d)
	}
	if err := s.settleFind(r, d); err != nil {
		return err
	}
	d.in = s.readIntake(r, f)
	f.FailAll(d.in.Problems())
	if err := s.warnOfValue(r, d); err != nil {
		return err
	}
	var n docket.Number
	if f.OK() {
		foreseen, err := s.foresee(r, d)
		if err != nil {
			return err
		}
		proposed := foreseen.Proposed(d.in.Intake.PromisedOn)
		d.in.Proposed = &proposed
	}
	if f.OK() {
		n, err = s.store.TakeIn(r.Context(), d.in)
		if err != nil && !refuseIntake(f, err) {
			return err
		}
	}
	if !f.OK() {
		if err := s.askRecord(r, d); err != nil {
			return err
		}
		return s.renderIntake(w, r, http.StatusUnprocessableEntity, d)
	}
	s.Say(r.Context(), "Taken in as docket "+n.String()+".")
	if do == doTakeInAnother {
		return page.SeeOther(w, r, anotherURL(n))
	}
	if do == doTakeInPrint {
		return page.SeeOther(w, r, view.DocketURL(n.String(), "papers/"+bothPapers)+"?print=now")
	}
	return page.SeeOther(w, r, view.DocketURL(n.String(), "intake")+"?taken-in=yes")
}

// lookAround shows the form again with what the record knows.
func (s *Room) lookAround(w http.ResponseWriter, r *http.Request, d *desk) error {
	if err := s.lookUp(r, d); err != nil {
		return err
	}
	if err := s.askRecord(r, d); err != nil {
		return err
	}
	d.form.Problems = map[string]string{}
	return s.renderIntake(w, r, http.StatusOK, d)
}

// settleFind sees to what was left in the one field when the form is sent: it is looked up, and nothing of it is lost.
func (s *Room) settleFind(r *http.Request, d *desk) error {
	typed := docket.InAddress(d.form.Text("sought"))
	if typed == "" {
		return nil
	}
	if err := s.find(r, d, typed); err != nil {
		return err
	}
	if nothingFound(d.found) {
		d.fill(typed)
	}
	if d.form.Text("sought") != "" {
		d.form.Fail("sought", "Say who or what is meant, or empty this field.")
	}
	return nil
}

func (s *Room) renderIntake(w http.ResponseWriter, r *http.Request, status int, d *desk) error {
	outline := conditionForm(d.form, d.in.Condition, d.in.Watch.CrownAt)
	v := intakeView{
		With: s.withView(d),
		Form: d.form.View(), Unsaved: r.Method == http.MethodPost, Currency: d.in.Shop.Currency, Outline: outline,
		Found: s.foundView(r, d), Customer: chosenCustomer(d), Alike: alikeCustomers(d), Watches: s.watchChoices(r, d),
		Contacts: page.Options(customer.Contacts, customer.Contact.Words), Tongues: tongueOptions(r), Lumes: page.Options(watch.Lumes, watch.Lume.Words),
		Windings: page.Options(watch.Windings, watch.Winding.Words), Crowns: crownOptions(), Places: placeOptions(),
		Wanted:   page.Options(docket.WantedServices(), docket.Wanted.Label),
		Calibres: d.help.Calibres, CaseMaterials: watch.CaseMaterials, Straps: watch.Straps,
	}
	if err := s.proposeDay(r, d); err != nil {
		return err
	}
	var err error
	if v.Promise, err = s.promiseView(r, d); err != nil {
		return err
	}
	v.Form = d.form.View()
	return page.Render(w, r, status, intake(s.Page(r, "Take in a watch"), v.focused()))
}
