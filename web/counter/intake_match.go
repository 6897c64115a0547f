package counter

import (
	"errors"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/watch"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/sheet"
	"ledgerwheel/web/view"
)

var errUnknownChoice = errors.New("no such choice")

// suggestFound answers while the clerk types into the one field, with a piece of the page: the customers with their
// watches, the watches and the dockets that may be meant, or into which field it goes when the record has none.
func (s *Room) suggestFound(w http.ResponseWriter, r *http.Request) error {
	d := s.deskOf(r, &page.Form{Values: r.URL.Query(), Problems: map[string]string{}})
	d.form.Values.Set("sought", d.form.Text("q"))
	typed := docket.InAddress(d.form.Text("sought"))
	if err := s.find(r, d, typed); err != nil {
		return err
	}
	if nothingFound(d.found) {
		d.filled = fieldFor(typed, d.region)
	}
	if err := s.askRecord(r, d); err != nil {
		return err
	}
	return page.Render(w, r, http.StatusOK, foundList(s.foundView(r, d)))
}

// suggestCustomers answers while the fields of a new customer are typed in, with those in the record who are like it.
func (s *Room) suggestCustomers(w http.ResponseWriter, r *http.Request) error {
	d := s.deskOf(r, &page.Form{Values: r.URL.Query(), Problems: map[string]string{}})
	if err := s.askRecord(r, d); err != nil {
		return err
	}
	return page.Render(w, r, http.StatusOK, alikeList(alikeCustomers(d)))
}

// suggestWatches answers likewise with the watches seen before, and with the notes of the shop's list.
func (s *Room) suggestWatches(w http.ResponseWriter, r *http.Request) error {
	d := s.deskOf(r, &page.Form{Values: r.URL.Query(), Problems: map[string]string{}})
	if err := s.askRecord(r, d); err != nil {
		return err
	}
	d.form.Problems = map[string]string{}
	return page.Render(w, r, http.StatusOK, seenList(s.watchChoices(r, d)))
}

// foundView lists what the one field found.
func (s *Room) foundView(r *http.Request, d *desk) foundView {
	v := foundView{Form: d.form.View(), Filled: d.filled}
	listed := map[int64]bool{}
	for _, c := range foundCustomers(d.found) {
		id := strconv.FormatInt(c.Customer.ID, 10)
		hit := customerHit{ID: id, Name: c.Customer.Name, Hint: joined(c.Customer.PhoneIn(d.region), c.Customer.Email)}
		for _, seen := range d.help.Watches {
			if seen.CustomerID == c.Customer.ID && len(hit.Watches) < watchesOffered {
				hit.Watches = append(hit.Watches, s.seenOffer(r, seen, false))
				listed[seen.Watch.ID] = true
			}
		}
		slices.SortStableFunc(hit.Watches, choosableFirst)
		v.Customers = append(v.Customers, hit)
	}
	for _, f := range d.found.Serials {
		if !listed[f.Watch.ID] && len(v.Watches) < watchesOffered {
			v.Watches = append(v.Watches, offerOf(f))
		}
	}
	for _, row := range d.found.Dockets {
		if n := row.Docket.Number.String(); len(v.Dockets) < watchesOffered {
			v.Dockets = append(v.Dockets, offer{Choice: "docket:" + n, Text: "Docket " + n,
				Hint: joined(row.Watch, row.Customer)})
		}
	}
	if len(v.Customers)+len(v.Watches)+len(v.Dockets) > 0 {
		v.Filled = ""
	}
	if typed := d.form.Text("sought"); typed != "" && page.May(r, staff.SeeWatchList) {
		v.Notes = s.listedNotes(r, d.help.Listed)
	}
	return v
}

// watchesOffered bounds how many watches, and how many dockets, stand in one list.
const watchesOffered = 5

// seenOffer offers a watch seen before. Of one that is in the shop it says under which docket.
func (s *Room) seenOffer(r *http.Request, seen store.SeenWatch, sayWhose bool) offer {
	o := offer{Choice: "watch:" + strconv.FormatInt(seen.Watch.ID, 10), Text: seenTitle(seen.Watch)}
	if seen.LastOpen {
		o.InShop = seen.LastDocket
		return o
	}
	var hint []string
	if sayWhose {
		hint = append(hint, "of "+seen.CustomerName)
	}
	if seen.Match != watch.SerialDiffers {
		hint = append(hint, seen.Match.Words())
	}
	if len(seen.Dockets) > 0 {
		hint = append(hint, "last here "+s.Day(r, seen.Dockets[0].ReceivedOn))
	}
	o.Hint = joined(hint...)
	return o
}

func offerOf(f store.FoundWatch) offer {
	o := offer{Choice: "watch:" + strconv.FormatInt(f.Watch.ID, 10), Text: seenTitle(f.Watch), Hint: "of " + f.Owner}
	if len(f.Dockets) > 0 && f.Dockets[0].Open {
		o.InShop = f.Dockets[0].Number
	}
	return o
}

// chosenCustomer is who was chosen, nil while nobody is.
func chosenCustomer(d *desk) *chosen {
	c := d.help.Chosen
	if c == nil || c.ID != d.in.CustomerID {
		return nil
	}
	who := &chosen{ID: strconv.FormatInt(c.ID, 10), Title: c.Name, Firm: c.Firm, Hint: joined(c.PhoneIn(d.region), c.Email)}
	if c.Email != "" {
		who.NoMail = c.Mail.Why()
	}
	if who.NoMail != "" && !c.Mail.BackAt.IsZero() {
		who.AskURL = sheet.CustomerURL(c.ID) + "/edit"
	}
	return who
}

// alikeCustomers offers those in the record who are like the customer typed, until the clerk says that it is none of
// them.
func alikeCustomers(d *desk) alikeView {
	v := alikeView{Form: d.form.View()}
	if d.in.CustomerID != 0 || d.in.NewCustomer {
		return v
	}
	for _, m := range d.help.Alike {
		v.Offers = append(v.Offers, offer{Choice: "customer:" + strconv.FormatInt(m.Customer.ID, 10), Text: m.Customer.Name,
			Hint: joined(m.Customer.PhoneIn(d.region), m.Customer.Email, m.Reasons.Words())})
	}
	return v
}

// joined sets the parts of a line apart; empty ones are left out.
func joined(parts ...string) string {
	var kept []string
	for _, p := range parts {
		if p != "" {
			kept = append(kept, p)
		}
	}
	return strings.Join(kept, " · ")
}

// watchChoices is the watch chosen with its history and the dockets that it may come back from; or those to choose
// from, and, for those who may be warned, the notes of the shop's list.
func (s *Room) watchChoices(r *http.Request, d *desk) watchChoices {
	choice := d.form.Text("watch_choice")
	v := watchChoices{Form: d.form.View(), New: choice == choiceNew || choice == choiceOther}
	for _, seen := range d.help.Watches {
		switch {
		case seen.Watch.ID == d.in.WatchID:
			s.chooseWatch(r, d, &v, seen)
		case d.in.WatchID != 0 || d.in.NewWatch:
		case seen.Match != watch.SerialDiffers:
			v.Seen = append(v.Seen, s.seenOffer(r, seen, true))
		case seen.CustomerID == d.in.CustomerID && !v.New && len(v.Theirs) < watchesOffered:
			v.Theirs = append(v.Theirs, s.seenOffer(r, seen, false))
		}
	}
	slices.SortStableFunc(v.Theirs, choosableFirst)
	if page.May(r, staff.SeeWatchList) && d.form.Text("sought") == "" {
		v.Notes = s.listedNotes(r, d.help.Listed)
	}
	return v
}

func (s *Room) chooseWatch(r *http.Request, d *desk, v *watchChoices, seen store.SeenWatch) {
	o := s.seenOffer(r, seen, d.in.CustomerID != seen.CustomerID)
	v.Chosen = &chosen{ID: strconv.FormatInt(seen.Watch.ID, 10), Title: o.Text, Hint: o.Hint, InShop: o.InShop}
	if len(seen.Dockets) > 0 {
		v.History = s.history(r, seen.Dockets, ofWatch)
	}
	for _, past := range seen.Dockets {
		if past.Promise.MayComeBack(d.in.ReceivedOn()) {
			v.Comebacks = append(v.Comebacks, view.Option{Value: strconv.FormatInt(past.ID, 10),
				Text: "Yes, from docket " + past.Number.String(), Hint: joined(past.Watch, s.leftOn(r, past))})
		}
	}
}

func seenTitle(w watch.Watch) string {
	if w.Serial == "" {
		return w.Title()
	}
	return w.Title() + ", serial " + w.Serial
}

func (s *Room) listedNotes(r *http.Request, listed []store.WatchListMatch) []noteView {
	var notes []noteView
	for _, m := range listed {
		notes = append(notes, noteView{Number: strconv.FormatInt(m.Entry.ID, 10), Serial: m.Entry.Serial,
			Agreement: m.Match.Words(), Reported: s.Day(r, m.Entry.Reported), Source: m.Entry.Source, Note: m.Entry.Note})
	}
	return notes
}

// historyOf says whose history it is, and so whose name each line has yet to give.
type historyOf int

const (
	ofWatch historyOf = iota
	ofCustomer
)

func (s *Room) history(r *http.Request, dockets []store.PastDocket, of historyOf) []historyRow {
	rows := make([]historyRow, len(dockets))
	for i, d := range dockets {
		rows[i] = historyRow{Number: d.Number.String(), Stage: d.Stage.Label(), Received: s.Day(r, d.ReceivedOn),
			HandedBack: s.leftOn(r, d), Who: d.CustomerName, Complaint: page.Shortened(d.Complaint, 120)}
		if of == ofCustomer {
			rows[i].Who = d.Watch
		}
	}
	return rows
}

// leftOn says when the watch left the shop, or nothing while it is there.
func (s *Room) leftOn(r *http.Request, d store.PastDocket) string {
	if d.HandedBackAt.IsZero() {
		return ""
	}
	v, _ := page.ViewerOf(r.Context())
	return "left on " + s.Day(r, page.Civil(d.HandedBackAt.In(v.Shop.Location())))
}
