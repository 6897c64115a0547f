package web

import (
	"context"
	"fmt"
	"net/http"
	"time"

	"ledgerwheel/domain/customer"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/watch"
	"ledgerwheel/store"
	"ledgerwheel/web/view"
)

// intakeStore is what taking in asks of the record.
type intakeStore interface {
	IntakeHelp(ctx context.Context, q store.IntakeQuestion) (store.IntakeHelp, error)
	TakeIn(ctx context.Context, in store.TakingIn) (docket.Number, error)
	Head(ctx context.Context, n docket.Number) (store.Head, error)
	IntakeSheet(ctx context.Context, n docket.Number) (store.IntakeSheet, error)
	CorrectIntake(ctx context.Context, c store.Change, said docket.Intake) error
	NoteCondition(ctx context.Context, c store.Change, condition watch.Condition) error
	customerStore
	watchStore
	photoStore
}

// intakeRoutes are the pages of the counter: taking in, customers, watches, photographs, and the papers of an intake.
func (s *Server) intakeRoutes() []route {
	return append([]route{
		{http.MethodGet, "/intake", needs(staff.TakeIn), s.showIntake},
		{http.MethodPost, "/intake", needs(staff.TakeIn), s.takeIn},
		{http.MethodGet, "/intake/customers", needs(staff.TakeIn), s.suggestCustomers},
		{http.MethodGet, "/intake/watches", needs(staff.TakeIn), s.suggestWatches},
		{http.MethodGet, "/dockets/{number}/intake", needs(staff.ViewDockets), s.showIntakeSheet},
		{http.MethodPost, "/dockets/{number}/intake", needs(staff.TakeIn), s.correctIntake},
		{http.MethodPost, "/dockets/{number}/intake/condition", needs(staff.AddNotes), s.noteCondition},
		{http.MethodGet, "/customers", needs(staff.ViewDockets), s.showCustomers},
		{http.MethodGet, "/customers/{id}", needs(staff.ViewDockets), s.showCustomer},
		{http.MethodGet, "/customers/{id}/edit", needs(staff.ManageCustomers), s.editCustomer},
		{http.MethodPost, "/customers/{id}/edit", needs(staff.ManageCustomers), s.saveCustomer},
		{http.MethodGet, "/watches/{id}", needs(staff.ViewDockets), s.showWatch},
		{http.MethodGet, "/watches/{id}/edit", needs(staff.ManageWatches), s.editWatch},
		{http.MethodPost, "/watches/{id}/edit", needs(staff.ManageWatches), s.saveWatch},
		{http.MethodPost, "/dockets/{number}/photos", needs(staff.AddPhotos), s.addPhotos},
		{http.MethodPost, "/dockets/{number}/photos/{id}", needs(staff.AddPhotos), s.captionPhoto},
		{http.MethodGet, "/photos/{id}/{size}", needs(staff.ViewDockets), s.showPhoto},
	}, s.intakePaperRoutes()...)
}

func (s *Server) showIntake(w http.ResponseWriter, r *http.Request) error {
	f := s.freshIntake(r)
	in := s.readIntake(r, f)
	if !f.OK() {
		return badRequest(errUnknownChoice)
	}
	return s.renderIntake(w, r, http.StatusOK, f, in)
}

// takeIn opens the docket, unless the clerk only wants to look something up or has yet to mend something.
func (s *Server) takeIn(w http.ResponseWriter, r *http.Request) error {
	f, err := readForm(w, r)
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
	s.say(r.Context(), "Taken in as docket "+n.String()+".")
	return seeOther(w, r, view.DocketURL(n.String(), "intake")+"?taken-in=yes")
}

func (s *Server) renderIntake(w http.ResponseWriter, r *http.Request, status int, f *form, in store.TakingIn) error {
	help, err := s.store.IntakeHelp(r.Context(), question(in))
	if err != nil {
		return err
	}
	outline := conditionForm(f, in.Condition, in.Watch.CrownAt)
	v := view.IntakeView{
		Form: f.view(), Unsaved: r.Method == http.MethodPost, Currency: in.Shop.Currency, Outline: outline,
		Customers: s.customerChoices(f, help), Watches: s.watchChoices(r, f, in, help),
		Contacts: options(customer.Contacts, customer.Contact.Words), Lumes: options(watch.Lumes, watch.Lume.Words),
		Windings: options(watch.Windings, watch.Winding.Words), Crowns: crownOptions(), Places: placeOptions(),
		Wanted:   options(docket.WantedServices(), docket.Wanted.Label),
		Calibres: help.Calibres, CaseMaterials: watch.CaseMaterials, Straps: watch.Straps,
	}
	v.PromiseDays, v.PromiseHint = s.promises(r)
	return render(w, r, status, view.Intake(s.page(r, "Take in a watch"), v))
}

// promises are the usual days, for the field to offer, and the first of them in words.
func (s *Server) promises(r *http.Request) (days []string, hint string) {
	for _, after := range usualPromiseDays {
		days = append(days, s.today(r).AddDate(0, 0, after).Format(time.DateOnly))
	}
	return days, fmt.Sprintf("in %d days unless you say another; empty promises nothing", usualPromiseDays[0])
}
