package counter

import (
	"cmp"
	"net/url"
	"slices"

	"github.com/a-h/templ"

	"ledgerwheel/web/view"
)

// intakeView is the page on which a clerk takes in a watch.
type intakeView struct {
	Form    view.Form
	Unsaved bool   // drawn again with typing that is not in the record yet
	Focus   string // the field or button that has the keyboard when the page opens

	With     *withView // the visit that the watch joins; nil for one of its own
	Currency string    // of the amounts, ISO 4217
	Found    foundView
	Customer *chosen // nil while nobody is chosen
	Alike    alikeView
	Watches  watchChoices
	Outline  view.OutlineForm

	Contacts, Tongues, Lumes, Windings, Crowns, Wanted, Places []view.Option
	Calibres, CaseMaterials, Straps                            []string
	Promise                                                    promiseView
}

// promiseView is which day is proposed for the watch, and how often the day that stands in the form is kept.
type promiseView struct {
	Proposed, Chance, From string
	Days                   []string // for the field to offer, YYYY-MM-DD
	Stands                 bool     // the day proposed stands in the form
	Typed, TypedChance     string   // another day that does; "" for none
}

// sentence says it of the day that stands there.
func (v promiseView) sentence() string {
	switch {
	case v.Stands:
		return v.Proposed + ": kept " + v.Chance + "; " + v.From + "."
	case v.Typed != "":
		return v.Typed + ": kept " + v.TypedChance + "."
	}
	return ""
}

// promiseField is the promised day, or the service wanted, whose change is answered with how often the day is kept.
func (v intakeView) promiseField(name, label, with string) view.Field {
	return v.field(name, label).WithAttr("data-suggest-url", "/intake/promise").WithAttr("data-suggest-into", "promise-said").
		WithAttr("data-suggest-with", with).WithWidth(view.Half)
}

// intakeOrder is the order in which the page asks, for the summary of what to put right.
var intakeOrder = slices.Concat([]string{"with", "sought", "customer_choice"}, customerOrder, []string{"watch_choice", "warranty_of",
	"maker", "model", "serial"}, moreOfWatch, []string{"complaint", "service_wanted", "promised_on", "declared_value",
	"approval_limit", "place", "condition"})

// moreOfWatch and moreOfCustomer are seldom asked at the counter, and folded.
var (
	customerOrder  = []string{"phone", "name", "email", "address", "preferred_contact", "tongue", "tax_number"}
	moreOfCustomer = []string{"address", "preferred_contact", "tongue"}
	ofFirm         = []string{"firm", "order_number", "tax_number"}
	moreOfWatch    = []string{"reference", "movement_serial", "calibre", "case_material", "strap", "lume", "winding",
		"water_resistance", "crown_at"}
)

// unlessSaid are the values that such a field has when nobody said anything.
var unlessSaid = map[string]string{"crown_at": "3"}

// open unfolds the fields when something was said in one of them, or is wrong there.
func (v intakeView) open(fields []string) bool {
	return slices.ContainsFunc(fields, func(name string) bool {
		said := v.Form.Values.Get(name)
		return said != "" && said != unlessSaid[name] || v.Form.Problems[name] != ""
	})
}

// firm unfolds the order number for a customer who is a firm, or when it was given.
func (v intakeView) firm() bool { return v.Customer != nil && v.Customer.Firm || v.open(ofFirm) }

func (v intakeView) conditionOpen() bool {
	return len(v.Outline.Marks) > 0 || len(v.Form.Values["clear"]) > 0 || v.Form.Values.Get(noMarksAnywhere) != "" || v.Form.Problems["condition"] != ""
}

// leave says to js/leave.js whether the typing is still to be saved.
func (v intakeView) leave() string { return view.When(v.Unsaved, "unsaved") }

// address is where the page opens with the same choices.
func (v intakeView) address() string {
	q := url.Values{}
	if v.Customer != nil {
		q.Set("customer", v.Customer.ID)
	}
	if v.Watches.Chosen != nil {
		q.Set("watch", v.Watches.Chosen.ID)
	}
	if parcel := v.Form.Values.Get("parcel"); parcel != "" {
		q.Set("parcel", parcel)
	}
	if v.With != nil {
		q.Set("with", v.With.Docket)
	}
	if len(q) == 0 {
		return "/intake"
	}
	return "/intake?" + q.Encode()
}

// newCustomer and newWatch say that the fields of a customer, or a watch, that the record has not are asked for.
func (v intakeView) newCustomer() bool { return v.Customer == nil }

func (v intakeView) newWatch() bool {
	return v.Watches.Chosen == nil && (len(v.Watches.Theirs) == 0 || v.open(newWatchFields))
}

// carried is what was typed of a new customer or watch before one of the record was chosen.
func (v intakeView) carried() []view.FieldValue {
	var list []view.FieldValue
	for _, name := range slices.Concat(newCustomerFields, newWatchFields) {
		if value := v.Form.Values.Get(typedName(name)); value != "" {
			list = append(list, view.FieldValue{Name: typedName(name), Value: value})
		}
	}
	return list
}

// focused puts the keyboard where the clerk goes on: to what was found, to the next thing that is to be said.
func (v intakeView) focused() intakeView {
	switch {
	case len(v.Form.Problems) > 0: // their summary has it
	case v.Found.any():
		v.Found.Focus = true
	case v.Customer != nil && v.Watches.Chosen == nil && !v.newWatch():
		v.Watches.Focus = true
	default:
		v.Focus = v.nextField()
	}
	return v
}

// nextField is the first that is still to be said; the one field while nobody has said anything.
func (v intakeView) nextField() string {
	said := func(name string) bool { return v.Form.Values.Get(name) != "" }
	switch {
	case v.Found.Filled == "serial":
		return "maker"
	case v.With != nil && v.newWatch() && !said("maker"):
		return "maker"
	case v.Customer == nil && v.Watches.Chosen == nil && v.Found.Filled == "" && !v.Watches.New && !said("customer_choice"):
		return "sought"
	case v.Customer == nil && v.Form.Values.Get("customer_choice") == choiceOther:
		return "sought"
	case v.newCustomer() && !said("name"):
		return "name"
	case v.newCustomer() && !said("phone"):
		return "phone"
	case v.newWatch() && !said("maker"):
		return "maker"
	}
	return "complaint"
}

// field is a field of the form, with the keyboard if it is its turn.
func (v intakeView) field(name, label string) view.Field {
	f := v.Form.Field(name, label)
	f.Focus = v.Focus == name
	return f
}

// find is the one field by which customer and watch are found.
func (v intakeView) find() view.Field {
	f := v.field("sought", "Find customer and watch").WithHint("telephone, e-mail, name or serial, or scan an old ticket").
		WithAttr("data-suggest-url", "/intake/found").WithAttr("data-suggest-into", "found").
		WithAttr("data-suggest-least", "3").WithAttr("spellcheck", "false").WithAttr("dir", "auto").
		WithAttr("data-find", "found")
	f.Type = "search"
	return f
}

// customerField is a field whose typing offers the customers already in the record.
func (v intakeView) customerField(name, label string) view.Field {
	return v.field(name, label).WithAttr("data-suggest-url", "/intake/customers").
		WithAttr("data-suggest-into", "customer-choices").
		WithAttr("data-suggest-with", "name phone email customer_choice").WithAttr("data-suggest-least", "3")
}

// serialField is a field whose typing offers the watches seen before.
func (v intakeView) serialField(name, label string) view.Field {
	return v.field(name, label).WithAttr("data-suggest-url", "/intake/watches").
		WithAttr("data-suggest-into", "watch-choices").
		WithAttr("data-suggest-with", "maker serial movement_serial customer_choice watch_choice warranty_of").
		WithAttr("data-suggest-least", "3").WithAttr("spellcheck", "false").WithAttr("dir", "auto")
}

func (v intakeView) amountField(name, label string) view.Field {
	return v.field(name, label).WithUnit(v.Currency)
}

func (v intakeView) phone() view.Field {
	f := v.customerField("phone", "Telephone")
	f.Type = "tel"
	return f
}

func (v intakeView) email() view.Field {
	f := v.customerField("email", "E-mail address")
	f.Type, f.InputMode = "email", "email"
	return f
}

// chosen is a customer or a watch of the record that this intake is of.
type chosen struct {
	ID, Title, Hint string
	InShop          string // docket under which the watch is in the shop already
	Firm            bool   // the customer is one
	NoMail          string // why no mail goes to the customer, as a sentence; "" where it does
	AskURL          string // where another address is written down; "" where there is nothing to ask
}

// offer is one that may be meant: a press on it chooses it.
type offer struct {
	Choice     string // value of the button "choose"
	Text, Hint string
	InShop     string // docket under which the watch is in the shop, so that it can't be taken in
}

// choosableFirst puts watches that are in the shop behind those that can be taken in.
func choosableFirst(a, b offer) int {
	return cmp.Compare(min(len(a.InShop), 1), min(len(b.InShop), 1))
}

// noneChoosable says that nothing of a list in that order can be chosen.
func noneChoosable(list []offer) bool { return len(list) == 0 || list[0].InShop != "" }

// firstOffer gives the keyboard to an offer.
func firstOffer(focus bool) templ.Attributes {
	if !focus {
		return nil
	}
	return templ.Attributes{"autofocus": true, "id": "first-offer"}
}

// customerHit is a customer found, with the watches that the record has of theirs.
type customerHit struct {
	ID, Name, Hint string
	Watches        []offer
}

// foundView is what the one field found. Filled names the field that takes what the record has not.
type foundView struct {
	Form             view.Form
	Customers        []customerHit
	Watches, Dockets []offer
	Filled           string
	Notes            []noteView
	Focus            bool // the first of them has the keyboard
}

func (v foundView) any() bool { return len(v.Customers)+len(v.Watches)+len(v.Dockets) > 0 }

// none is the last offer: what was looked for goes into the form of a new customer or watch.
func (v foundView) none() offer { return offer{Choice: choiceNew, Text: "None of these: new"} }

// another is the last offer under a customer: a watch of theirs that the record has not.
func (h customerHit) another() offer {
	return offer{Choice: "another:" + h.ID, Text: view.When(len(h.Watches) > 0, "Another watch of theirs") +
		view.When(len(h.Watches) == 0, "A watch of theirs, not seen before")}
}

// filledWords say where what was looked for in vain went.
func (v foundView) filledWords() string {
	switch v.Filled {
	case "phone":
		return "Not in the record: the new customer's telephone."
	case "email":
		return "Not in the record: the new customer's e-mail address."
	case "name":
		return "Not in the record: the new customer's name."
	case "serial":
		return "Not in the record: the new watch's serial."
	}
	return ""
}

// alikeView are customers of the record who are like the one typed.
type alikeView struct {
	Form   view.Form
	Offers []offer
}

// watchChoices is the watch chosen, or those that may be meant: Theirs are the chosen customer's, Seen bear the serial
// that was typed. Notes are those of the shop's list that agree with it.
type watchChoices struct {
	Form         view.Form
	New          bool // said to be none of them
	Chosen       *chosen
	Theirs, Seen []offer
	History      []historyRow
	Comebacks    []view.Option
	Notes        []noteView
	Focus        bool // the first of Theirs has the keyboard
}

func (v watchChoices) comeback() view.Field {
	f := v.Form.Field("warranty_of", "Does it come back under warranty?").
		WithOptions(append([]view.Option{{Value: "0", Text: "No"}}, v.Comebacks...)...)
	return f.WithValue(cmp.Or(f.Value, "0"))
}

// historyRow is one docket in a history.
type historyRow struct {
	Number, Stage, Received, HandedBack string
	Who                                 string // the customer, or the watch, whichever the history is not of
	Complaint                           string
}

// noteView is one entry of the shop's list that agrees with a serial. Its number and what to do are all that shows at
// first: the customer may read along.
type noteView struct {
	Number, Serial, Agreement, Reported, Source, Note string
}

func (n noteView) reported() string { return cmp.Or(n.Reported, "on a day not given") }
