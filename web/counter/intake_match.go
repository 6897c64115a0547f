package counter

import (
	"errors"
	"net/http"
	"strconv"
	"strings"

	"ledgerwheel/domain/customer"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/watch"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/view"
)

var errUnknownChoice = errors.New("no such choice")

// suggestCustomers answers while the clerk types, with a piece of the page: the customers in the record who may be
// meant. The query names what is being typed, q, and what the customer's other fields hold.
func (s *Room) suggestCustomers(w http.ResponseWriter, r *http.Request) error {
	f := &page.Form{Values: r.URL.Query(), Problems: map[string]string{}}
	in := s.readIntake(r, f)
	q := question(in)
	q.Find, q.WatchID, q.Watch = f.Text("q"), 0, watch.Watch{}
	help, err := s.store.IntakeHelp(r.Context(), q)
	if err != nil {
		return err
	}
	f.Problems = map[string]string{}
	return page.Render(w, r, http.StatusOK, customerChoiceList(customerChoicesOf(f, help, in.Shop.PhoneRegion)))
}

// suggestWatches answers likewise with the watches seen before.
func (s *Room) suggestWatches(w http.ResponseWriter, r *http.Request) error {
	f := &page.Form{Values: r.URL.Query(), Problems: map[string]string{}}
	in := s.readIntake(r, f)
	q := question(in)
	q.Find, q.Customer = "", customer.Customer{}
	help, err := s.store.IntakeHelp(r.Context(), q)
	if err != nil {
		return err
	}
	f.Problems = map[string]string{}
	return page.Render(w, r, http.StatusOK, watchChoiceList(s.watchChoices(r, f, in, help)))
}

// customerChoicesOf offers the customer chosen, those like the one typed, and those found; each once.
func customerChoicesOf(f *page.Form, help store.IntakeHelp, home string) customerChoices {
	v := customerChoices{Form: f.View()}
	offered := map[int64]bool{}
	offer := func(c customer.Customer, why string) {
		if !offered[c.ID] {
			offered[c.ID] = true
			v.Options = append(v.Options, view.Option{Value: strconv.FormatInt(c.ID, 10), Text: c.Name,
				Hint: joined(c.PhoneIn(home), c.Email, why)})
		}
	}
	if help.Chosen != nil {
		offer(*help.Chosen, "")
	}
	for _, m := range help.Alike {
		offer(m.Customer, m.Reasons.Words())
	}
	for _, row := range help.Found {
		offer(row.Customer, "")
	}
	if len(v.Options) > 0 {
		v.Options = append(v.Options, view.Option{Value: choiceNew, Text: "None of these: a new customer"})
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

// watchChoices offers the watches seen before with their history, the dockets one may come back from, and, to those
// who may be warned, the notes of the shop's list.
func (s *Room) watchChoices(r *http.Request, f *page.Form, in store.TakingIn, help store.IntakeHelp) watchChoices {
	v := watchChoices{Form: f.View(), Comebacks: []view.Option{{Value: "0", Text: "No"}}}
	for _, seen := range help.Watches {
		option := view.Option{Value: strconv.FormatInt(seen.Watch.ID, 10), Text: seenTitle(seen.Watch), Hint: seenHint(seen)}
		v.Options = append(v.Options, option)
		if len(seen.Dockets) > 0 {
			v.Histories = append(v.Histories, watchHistory{Watch: option.Text, Dockets: s.history(r, seen.Dockets, ofWatch)})
		}
		for _, d := range seen.Dockets {
			if d.Promise.MayComeBack(in.ReceivedOn()) {
				v.Comebacks = append(v.Comebacks, view.Option{Value: strconv.FormatInt(d.ID, 10),
					Text: "Yes, from docket " + d.Number.String(), Hint: joined(d.Watch, s.leftOn(r, d))})
			}
		}
	}
	if len(v.Options) > 0 {
		v.Options = append(v.Options, view.Option{Value: choiceNew, Text: "None of these: a watch not seen before"})
	}
	if page.May(r, staff.SeeWatchList) {
		v.Notes = s.listedNotes(r, help.Listed)
	}
	return v
}

func seenTitle(w watch.Watch) string {
	if w.Serial == "" {
		return w.Title()
	}
	return w.Title() + ", serial " + w.Serial
}

func seenHint(seen store.SeenWatch) string {
	hint := []string{"of " + seen.CustomerName}
	if seen.Match != watch.SerialDiffers {
		hint = append(hint, seen.Match.Words())
	}
	if seen.LastOpen {
		hint = append(hint, "in the shop now, docket "+seen.LastDocket)
	}
	return joined(hint...)
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
