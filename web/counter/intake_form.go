package counter

import (
	"errors"
	"net/http"
	"strconv"

	"ledgerwheel/domain/customer"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/text"
	"ledgerwheel/domain/tongue"
	"ledgerwheel/domain/watch"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/view"
)

// freshIntake is the form as it opens. Customer and watch may be chosen already by the link that led here.
func (s *Room) freshIntake(r *http.Request) *page.Form {
	f := page.EmptyForm()
	for name, value := range map[string]string{
		"crown_at": strconv.Itoa(watch.CrownAtThree), "service_wanted": string(docket.WantedService),
		"place":           string(docket.PlaceSafe),
		"customer_choice": r.URL.Query().Get("customer"), "watch_choice": r.URL.Query().Get("watch"),
		"with": r.URL.Query().Get("with"), "parcel": r.URL.Query().Get("parcel"),
	} {
		f.Values.Set(name, value)
	}
	return f
}

// readIntake reads the whole form. What can't be read becomes a problem of its field.
func (s *Room) readIntake(r *http.Request, f *page.Form) store.TakingIn {
	v, _ := page.ViewerOf(r.Context())
	in := store.TakingIn{
		Shop: v.Shop, By: page.Actor(r), At: s.Now(),
		Customer: readCustomer(f).Tidied(v.Shop.PhoneRegion), Watch: readWatch(f).Tidied(),
		Intake: readWork(f, v.Shop.Currency, v.Shop.Locale), Condition: readCondition(f),
		Place: docket.PlaceAt(docket.PlaceKind(f.Text("place")), ""),
	}
	in.CustomerID, in.NewCustomer = readChoice(f, "customer_choice")
	in.WatchID, in.NewWatch = readChoice(f, "watch_choice")
	in.Intake.WarrantyOf = f.ID("warranty_of")
	in.ParcelID = f.ID("parcel")
	if with := f.Text("with"); with != "" {
		var err error
		if in.With, err = docket.ParseNumber(with); err != nil {
			f.Fail("with", text.Sentence(err.Error()))
		}
	}
	return in
}

// readChoice reads one of those offered, or that it is none of them.
func readChoice(f *page.Form, name string) (id int64, isNew bool) {
	switch f.Text(name) {
	case choiceNew:
		return 0, true
	case choiceOther:
		return 0, false
	}
	return f.ID(name), false
}

func readCustomer(f *page.Form) customer.Customer {
	return customer.Customer{Name: f.Text("name"), Phone: f.Text("phone"), Email: f.Text("email"),
		Address: f.Text("address"),
		Notes:   f.Text("notes"), PreferredContact: customer.Contact(f.Text("preferred_contact")),
		Tongue: tongue.Tongue(f.Text("tongue")), Firm: f.Checked("firm"), TaxNumber: f.Text("tax_number")}
}

func readWatch(f *page.Form) watch.Watch {
	return watch.Watch{Maker: f.Text("maker"), Model: f.Text("model"), Reference: f.Text("reference"),
		Serial:         f.Text("serial"),
		MovementSerial: f.Text("movement_serial"), CalibreName: f.Text("calibre"), CaseMaterial: f.Text("case_material"),
		Strap: f.Text("strap"), Lume: watch.Lume(f.Text("lume")), Winding: watch.Winding(f.Text("winding")),
		WaterResistanceMarked: f.Text("water_resistance"), CrownAt: f.Int("crown_at"), Notes: f.Text("notes")}
}

// readWork reads what is to be done, until when and for how much.
func readWork(f *page.Form, currency, locale string) docket.Intake {
	return docket.Intake{Complaint: f.Text("complaint"), OrderNumber: text.Line(f.Text("order_number")), Wanted: docket.Wanted(f.Text("service_wanted")),
		PromisedOn:         f.Day("promised_on"),
		DeclaredValueMinor: f.Amount("declared_value", currency, locale),
		ApprovalLimitMinor: f.Amount("approval_limit", currency, locale)}
}

// refuseIntake notes why nothing was saved, and reports whether err was a refusal rather than a failure.
func refuseIntake(f *page.Form, err error) bool {
	var alike *store.AlikeError
	if !errors.As(err, &alike) {
		return f.Takes(err)
	}
	if alike.Customer {
		f.Fail("customer_choice", "The record has somebody like this. Say who it is, or that it is somebody new.")
	}
	if alike.Watch {
		f.Fail("watch_choice", "The record has a watch with this serial. Say whether it is the same watch.")
	}
	return true
}

func crownOptions() []view.Option {
	var list []view.Option
	for hour := 1; hour <= 12; hour++ {
		list = append(list, view.Option{Value: strconv.Itoa(hour), Text: strconv.Itoa(hour) + " o'clock"})
	}
	return list
}

func placeOptions() []view.Option {
	words := map[docket.PlaceKind]string{docket.PlaceSafe: "Into the safe", docket.PlaceCounter: "Stays at the counter"}
	var list []view.Option
	for _, k := range docket.TakeInPlaces() {
		list = append(list, view.Option{Value: string(k), Text: words[k]})
	}
	return list
}
