package view

import (
	"cmp"
)

// IntakeView is the page on which a clerk takes in a watch.
type IntakeView struct {
	Form    Form
	Unsaved bool // drawn again with typing that is not in the record yet

	Currency  string // of the amounts, ISO 4217
	Customers CustomerChoices
	Watches   WatchChoices
	Outline   OutlineForm

	Contacts, Lumes, Windings, Crowns, Wanted, Places []Option
	Calibres, CaseMaterials, Straps                   []string
	PromiseDays                                       []string // usual promises, YYYY-MM-DD
	PromiseHint                                       string
}

// intakeOrder is the order in which the page asks, for the summary of what to mend.
var intakeOrder = []string{"phone", "email", "name", "customer_choice", "address", "preferred_contact",
	"maker", "model", "reference", "serial", "movement_serial", "calibre", "watch_choice", "warranty_of", "case_material", "strap", "lume",
	"winding", "water_resistance", "crown_at", "complaint", "service_wanted", "promised_on", "declared_value",
	"approval_limit", "place", "condition"}

// leave says to js/leave.js whether the typing is still to be saved.
func (v IntakeView) leave() string { return when(v.Unsaved, "unsaved") }

// moreOpen opens what is seldom asked of a customer when something stands there.
func (v IntakeView) moreOpen() bool {
	return v.Form.Values.Get("address") != "" || v.Form.Values.Get("preferred_contact") != "" ||
		v.Form.Problems["address"] != "" || v.Form.Problems["preferred_contact"] != ""
}

// customerField is a field whose typing offers the customers already in the record.
func (v IntakeView) customerField(name, label string) Field {
	return v.Form.Field(name, label).WithAttr("data-suggest-url", "/intake/customers").WithAttr("data-suggest-into", "customer-choices").
		WithAttr("data-suggest-with", "name phone email customer_choice").WithAttr("data-suggest-least", "3")
}

// serialField is a field whose typing offers the watches seen before.
func (v IntakeView) serialField(name, label string) Field {
	return v.Form.Field(name, label).WithAttr("data-suggest-url", "/intake/watches").WithAttr("data-suggest-into", "watch-choices").
		WithAttr("data-suggest-with", "maker serial movement_serial customer_choice watch_choice warranty_of").
		WithAttr("data-suggest-least", "3").WithAttr("spellcheck", "false").WithAttr("dir", "auto")
}

func (v IntakeView) amountField(name, label string) Field {
	return v.Form.Field(name, label).WithUnit(v.Currency)
}

func (v IntakeView) phone() Field {
	f := v.customerField("phone", "Telephone")
	f.Type = "tel"
	return f.Focused()
}

func (v IntakeView) email() Field {
	f := v.customerField("email", "E-mail address")
	f.Type, f.InputMode = "email", "email"
	return f
}

// CustomerChoices are the customers in the record who may be the one at the counter. No options draw nothing.
type CustomerChoices struct {
	Form    Form
	Options []Option // the last one is "new"
}

func (v CustomerChoices) field() Field {
	return v.Form.Field("customer_choice", "Already in the record?").WithOptions(v.Options...)
}

// WatchChoices are the watches seen before, their history, the dockets under whose warranty one may come back, and the
// notes of the shop's list that agree with what was typed.
type WatchChoices struct {
	Form      Form
	Options   []Option // the last one is "new"
	Histories []WatchHistory
	Comebacks []Option // the first one is "0", for none
	Notes     []ListedNote
}

func (v WatchChoices) field() Field {
	return v.Form.Field("watch_choice", "Seen before?").WithOptions(v.Options...)
}

func (v WatchChoices) comeback() Field {
	f := v.Form.Field("warranty_of", "Does it come back under warranty?").WithOptions(v.Comebacks...)
	return f.WithValue(cmp.Or(f.Value, "0"))
}

// WatchHistory is what was done before to one watch.
type WatchHistory struct {
	Watch   string
	Dockets []HistoryRow
}

// HistoryRow is one docket in a history.
type HistoryRow struct {
	Number, Stage, Received, HandedBack string
	Who                                 string // the customer, or the watch, whichever the history is not of
	Complaint                           string
}

// ListedNote is one entry of the shop's list that agrees with a serial. Its number is all that shows at first.
type ListedNote struct {
	Number, Serial, Agreement, Reported, Source, Note string
}

func (n ListedNote) reported() string { return cmp.Or(n.Reported, "on a day not given") }
