package counter

import (
	"context"
	"errors"
	"net/http"
	"strconv"
	"strings"
	"unicode"

	"ledgerwheel/domain"
	"ledgerwheel/domain/customer"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/watch"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
)

// desk is a watch being taken in: what was typed, what that says, and what the record knows of it.
type desk struct {
	form     *page.Form
	in       store.TakingIn
	found    store.Found // by the one field
	help     store.IntakeHelp
	with     *store.Visit    // that the watch is to join; nil for a visit of its own
	region   string          // of telephone numbers without their country
	filled   string          // the field that took what the one field held, as the record knows nothing of it
	promises *store.Promises // what promised days are worked out from; nil until it is asked for
}

// Choices that name no record.
const (
	choiceNew   = "new"   // it is none of those in the record
	choiceOther = "other" // somebody else, or another watch, which is still to be found or typed
)

// newCustomerFields and newWatchFields are drawn only while nobody, and no watch, is chosen. What was typed there
// before is carried along as "typed.name", and comes back when the choice is taken back.
var (
	newCustomerFields = []string{"name", "phone", "email", "address", "preferred_contact", "tongue", "firm", "tax_number"}
	newWatchFields    = []string{"maker", "model", "serial"}
)

func typedName(field string) string { return "typed." + field }

func carry(f *page.Form, fields []string) {
	for _, name := range fields {
		if v := f.Values.Get(name); v != "" {
			f.Values.Set(typedName(name), v)
			f.Values.Del(name)
		}
	}
}

func bringBack(f *page.Form, fields []string) {
	for _, name := range fields {
		if v := f.Values.Get(typedName(name)); v != "" && f.Values.Get(name) == "" {
			f.Values.Set(name, v)
		}
		f.Values.Del(typedName(name))
	}
}

// choose does what a button "choose" asks for: "customer:12" or "watch:34", "watch:new", "customer:other" and the like,
// "another:12" for a watch of customer 12 that the record has not, or "docket:26-00001-O" for the watch and the customer
// of a docket.
func (s *Room) choose(ctx context.Context, f *page.Form) error {
	what, of, _ := strings.Cut(f.Text("choose"), ":")
	f.Values.Del("choose")
	switch what {
	case "customer":
		setCustomer(f, of)
	case "watch":
		setWatch(f, of)
	case "another":
		setCustomer(f, of)
		setWatch(f, choiceOther)
	case "docket":
		n, err := docket.ParseNumber(of)
		if err != nil {
			return page.BadRequest(err)
		}
		h, err := s.store.Head(ctx, n)
		if err != nil {
			return err
		}
		setOfDocket(f, h)
	default:
		return nil
	}
	if what != "customer" || of != choiceOther {
		f.Values.Del("sought")
	}
	return nil
}

func setOfDocket(f *page.Form, h store.Head) {
	setWatch(f, strconv.FormatInt(h.Watch.ID, 10))
	setCustomer(f, strconv.FormatInt(h.Customer.ID, 10))
}

func setCustomer(f *page.Form, choice string) {
	f.Values.Set("customer_choice", choice)
	if isRecord(choice) {
		carry(f, newCustomerFields)
	} else {
		bringBack(f, newCustomerFields)
	}
}

func setWatch(f *page.Form, choice string) {
	f.Values.Set("watch_choice", choice)
	f.Values.Del("warranty_of")
	if isRecord(choice) {
		carry(f, newWatchFields)
		if f.Values.Get("customer_choice") == "" { // whoever was typed stays at hand; the watch says whose it is
			carry(f, newCustomerFields)
		}
	} else {
		bringBack(f, newWatchFields)
	}
}

func isRecord(choice string) bool {
	return choice != "" && choice != choiceNew && choice != choiceOther
}

// lookUp seeks what stands in the one field. A docket's number, and a serial that one watch bears, choose at once; what
// the record knows nothing of goes into its own field of the new customer or watch. Anything else waits in found.
func (s *Room) lookUp(r *http.Request, d *desk) error {
	typed := docket.InAddress(d.form.Text("sought"))
	if typed == "" {
		return nil
	}
	n, notNumber := docket.ParseNumber(typed)
	if notNumber == nil {
		h, err := s.store.Head(r.Context(), n)
		if err == nil {
			setOfDocket(d.form, h)
			d.form.Values.Del("sought")
			return nil
		}
		if !errors.Is(err, domain.ErrNotFound) {
			return err
		}
	}
	if err := s.find(r, d, typed); err != nil {
		return err
	}
	if id, ok := onlyWatch(d.found, typed); ok {
		setWatch(d.form, strconv.FormatInt(id, 10))
		d.form.Values.Del("sought")
		d.found = store.Found{}
		return nil
	}
	if nothingFound(d.found) && notNumber != nil {
		d.fill(typed)
	}
	return nil
}

func (s *Room) find(r *http.Request, d *desk, typed string) (err error) {
	d.found, err = s.store.Find(r.Context(), store.FindQuery{Text: typed, Region: d.region, Year: s.Today(r).Year()})
	return err
}

// onlyWatch is the one watch whose whole serial was typed.
func onlyWatch(found store.Found, typed string) (id int64, ok bool) {
	for _, w := range found.Serials {
		if w.Watch.SerialAgreement(watch.Watch{Serial: typed}) == watch.SerialDiffers {
			continue
		}
		if ok {
			return 0, false
		}
		id, ok = w.Watch.ID, true
	}
	return id, ok && len(found.Phones) == 0 && len(found.Dockets) == 0
}

func nothingFound(f store.Found) bool {
	return len(f.Dockets)+len(f.Serials)+len(f.Phones)+len(f.Names)+len(f.Emails) == 0
}

// fill puts what was looked for in vain into its own field, if that is on the page and empty.
func (d *desk) fill(typed string) {
	field := fieldFor(typed, d.region)
	choice := d.form.Text("customer_choice")
	if field == "serial" {
		choice = d.form.Text("watch_choice")
	}
	if isRecord(choice) || d.form.Text(field) != "" {
		return
	}
	d.form.Values.Set(field, typed)
	d.form.Values.Del("sought")
	d.filled = field
}

// fieldFor names the field of a new customer or watch that what was typed belongs in.
func fieldFor(typed, region string) string {
	if field := customer.FieldFor(typed, region); field != "" {
		return field
	}
	return "serial"
}

// askRecord asks what the record knows of customer and watch as they stand in the form.
func (s *Room) askRecord(r *http.Request, d *desk) (err error) {
	problems := d.form.Problems
	d.form.Problems = map[string]string{}
	d.in = s.readIntake(r, d.form)
	read := d.form.Problems
	d.form.Problems = problems
	d.form.FailAll(read)
	q := store.IntakeQuestion{CustomerID: d.in.CustomerID, Customer: d.in.Customer, WatchID: d.in.WatchID,
		Watch: d.in.Watch, Offered: offered(d.found)}
	q.OwnerToo = d.form.Text("customer_choice") == "" && d.in.Customer == (customer.Customer{})
	if typed := d.form.Text("sought"); q.Watch.Serial == "" && strings.ContainsFunc(typed, unicode.IsDigit) {
		q.Watch.Serial = docket.InAddress(typed) // whatever else it may be: the shop's list is to be asked
	}
	if d.help, err = s.store.IntakeHelp(r.Context(), q); err != nil {
		return err
	}
	if q.OwnerToo && d.help.Chosen != nil {
		d.in.CustomerID = d.help.Chosen.ID
		d.form.Values.Set("customer_choice", strconv.FormatInt(d.in.CustomerID, 10))
	}
	return nil
}

// offeredMost bounds how many customers are offered with their watches.
const offeredMost = 6

// offered are the customers found, those meant most likely first.
func offered(found store.Found) []int64 {
	var ids []int64
	for _, c := range foundCustomers(found) {
		ids = append(ids, c.Customer.ID)
	}
	return ids
}

func foundCustomers(found store.Found) []store.FoundCustomer {
	var list []store.FoundCustomer
	known := map[int64]bool{}
	for _, group := range [][]store.FoundCustomer{found.Phones, found.Emails, found.Names} {
		for _, c := range group {
			if !known[c.Customer.ID] && len(list) < offeredMost {
				known[c.Customer.ID] = true
				list = append(list, c)
			}
		}
	}
	return list
}
