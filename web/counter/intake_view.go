package counter

import (
	"cmp"

	"ledgerwheel/web/view"
)

// intakeView is the page on which a clerk takes in a watch.
type intakeView struct {
	Form    view.Form
	Unsaved bool // drawn again with typing that is not in the record yet

	Currency  string // of the amounts, ISO 4217
	Customers customerChoices
	Watches   watchChoices
	Outline   view.OutlineForm

	Contacts, Lumes, Windings, Crowns, Wanted, Places []view.Option
	Calibres, CaseMaterials, Straps                   []string
	PromiseDays                                       []string // usual promises, YYYY-MM-DD
	PromiseHint                                       string
}

// intakeOrder is the order in which the page asks, for the summary of what to mend.
var intakeOrder = []string{"phone", "email", "name", "customer_choice", "address", "preferred_contact",
	"maker", "model", "reference", "serial", "movement_serial", "calibre", "watch_choice", "warranty_of", "case_material",
	"strap", "lume",
	"winding", "water_resistance", "crown_at", "complaint", "service_wanted", "promised_on", "declared_value",
	"approval_limit", "place", "condition"}

// leave says to js/leave.js whether the typing is still to be saved.
func (v intakeView) leave() string { return view.When(v.Unsaved, "unsaved") }

// moreOpen opens what is seldom asked of a customer when something stands there.
func (v intakeView) moreOpen() bool {
	return v.Form.Values.Get("address") != "" || v.Form.Values.Get("preferred_contact") != "" ||
		v.Form.Problems["address"] != "" || v.Form.Problems["preferred_contact"] != ""
}

// customerField is a field whose typing offers the customers already in the record.
func (v intakeView) customerField(name, label string) view.Field {
	return v.Form.Field(name, label).WithAttr("data-suggest-url", "/intake/customers").WithAttr("data-suggest-into",
		"customer-choices").
		WithAttr("data-suggest-with", "name phone email customer_choice").WithAttr("data-suggest-least", "3")
}

// serialField is a field whose typing offers the watches seen before.
func (v intakeView) serialField(name, label string) view.Field {
	return v.Form.Field(name, label).WithAttr("data-suggest-url", "/intake/watches").WithAttr("data-suggest-into",
		"watch-choices").
		WithAttr("data-suggest-with", "maker serial movement_serial customer_choice watch_choice warranty_of").
		WithAttr("data-suggest-least", "3").WithAttr("spellcheck", "false").WithAttr("dir", "auto")
}

func (v intakeView) amountField(name, label string) view.Field {
	return v.Form.Field(name, label).WithUnit(v.Currency)
}

func (v intakeView) phone() view.Field {
	f := v.customerField("phone", "Telephone")
	f.Type = "tel"
	return f.Focused()
}

func (v intakeView) email() view.Field {
	f := v.customerField("email", "E-mail address")
	f.Type, f.InputMode = "email", "email"
	return f
}

// customerChoices are the customers in the record who may be the one at the counter. No options draw nothing.
type customerChoices struct {
	Form    view.Form
	Options []view.Option // the last one is "new"
}

func (v customerChoices) field() view.Field {
	return v.Form.Field("customer_choice", "Already in the record?").WithOptions(v.Options...)
}

// watchChoices are the watches seen before, their history, the dockets under whose warranty one may come back, and the
// notes of the shop's list that agree with what was typed.
type watchChoices struct {
	Form      view.Form
	Options   []view.Option // the last one is "new"
	Histories []watchHistory
	Comebacks []view.Option // the first one is "0", for none
	Notes     []noteView
}

func (v watchChoices) field() view.Field {
	return v.Form.Field("watch_choice", "Seen before?").WithOptions(v.Options...)
}

func (v watchChoices) comeback() view.Field {
	f := v.Form.Field("warranty_of", "Does it come back under warranty?").WithOptions(v.Comebacks...)
	return f.WithValue(cmp.Or(f.Value, "0"))
}

// watchHistory is what was done before to one watch.
type watchHistory struct {
	Watch   string
	Dockets []historyRow
}

// historyRow is one docket in a history.
type historyRow struct {
	Number, Stage, Received, HandedBack string
	Who                                 string // the customer, or the watch, whichever the history is not of
	Complaint                           string
}

// noteView is one entry of the shop's list that agrees with a serial. Its number is all that shows at first.
type noteView struct {
	Number, Serial, Agreement, Reported, Source, Note string
}

func (n noteView) reported() string { return cmp.Or(n.Reported, "on a day not given") }
