package today

import (
	"cmp"
	"net/http"
	"time"

	"ledgerwheel/domain/staff"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/sheet"
	"ledgerwheel/web/view"
)

const (
	suggestions      = 8   // at a time; more are on the page of what is found
	suggestsInWindow = 600 // from one machine: four hands that type without a rest
	suggestWindow    = time.Minute
	leastSuggested   = 2 // characters; fewer match half the shop
)

func (s *Room) suggestRoutes() []page.Route {
	bound := s.PerMachine(page.Bound{Times: suggestsInWindow, Within: suggestWindow, Title: "Too many questions",
		Text: "Wait a minute; the find box itself works meanwhile."})
	return []page.Route{page.Get("/find/suggest", page.Needs(staff.ViewDockets), bound(s.suggest))}
}

// suggest answers the find box while it is typed in, with the first of what its page would show.
func (s *Room) suggest(w http.ResponseWriter, r *http.Request) error {
	viewer, _ := page.ViewerOf(r.Context())
	q := store.FindQuery{Text: page.CleanText(r.URL.Query().Get("q")), Region: viewer.Shop.PhoneRegion,
		Year: s.Today(r).Year()}
	var list []suggestion
	if len([]rune(q.Text)) >= leastSuggested {
		found, err := s.store.Find(r.Context(), q)
		if err != nil {
			return err
		}
		list = suggested(found, viewer.Shop.PhoneRegion)
	}
	return page.Render(w, r, http.StatusOK, suggestList(list[:min(len(list), suggestions)]))
}

// suggested are what was found, each docket, customer and watch once.
func suggested(f store.Found, home string) []suggestion {
	var list []suggestion
	seen := map[string]bool{}
	add := func(s suggestion) {
		if !seen[s.Href] {
			seen[s.Href] = true
			list = append(list, s)
		}
	}
	for _, d := range f.Dockets {
		add(suggestion{Href: view.DocketURL(d.Docket.Number.String(), ""), Number: d.Docket.Number.String(),
			Name: d.Customer, More: d.Watch})
	}
	for _, w := range append(append(append([]store.FoundWatch{}, f.Serials...), f.Both...), f.Watches...) {
		if open := openOf(w.Dockets); open != "" {
			add(suggestion{Href: view.DocketURL(open, ""), Number: open, Name: w.Owner, More: w.Watch.Title()})
			continue
		}
		add(suggestion{Href: "/watches/" + page.Itoa64(w.Watch.ID), Name: w.Watch.Title(),
			More: cmp.Or(w.Watch.Serial, w.Owner)})
	}
	for _, c := range append(append(append([]store.FoundCustomer{}, f.Phones...), f.Names...), f.Emails...) {
		more := cmp.Or(c.Customer.PhoneIn(home), c.Customer.Email)
		add(suggestion{Href: sheet.CustomerURL(c.Customer.ID), Name: c.Customer.Name, More: more})
		if open := openOf(c.Dockets); open != "" {
			add(suggestion{Href: view.DocketURL(open, ""), Number: open, Name: c.Customer.Name, More: "in the shop"})
		}
	}
	return list
}

// openOf is the only open docket of a list, "" where there is none or another.
func openOf(list []store.FoundDocket) string {
	open := ""
	for _, d := range list {
		if d.Open && open != "" {
			return ""
		}
		if d.Open {
			open = d.Number
		}
	}
	return open
}

// onlyOpenDocket is the one open docket of the one customer or watch that was found, "" where more was found, or
// something else than was typed.
func onlyOpenDocket(f store.Found) string {
	if f.Instead != "" || f.Misread != nil {
		return ""
	}
	for _, g := range store.FindGroups() {
		if _, more := f.Next(g); more {
			return ""
		}
	}
	open, hits := map[string]bool{}, map[string]bool{}
	for _, d := range f.Dockets {
		hits["docket "+d.Docket.Number.String()] = true
		if !d.Facts.Closed {
			open[d.Docket.Number.String()] = true
		}
	}
	for _, list := range [][]store.FoundWatch{f.Serials, f.Both, f.Watches} {
		for _, w := range list {
			hits["owner "+page.Itoa64(w.OwnerID)] = true
			noteOpen(open, w.Dockets)
		}
	}
	for _, list := range [][]store.FoundCustomer{f.Phones, f.Names, f.Emails} {
		for _, c := range list {
			hits["owner "+page.Itoa64(c.Customer.ID)] = true
			noteOpen(open, c.Dockets)
		}
	}
	if len(hits) != 1 || len(open) != 1 {
		return ""
	}
	for number := range open {
		return number
	}
	return ""
}

func noteOpen(open map[string]bool, list []store.FoundDocket) {
	for _, d := range list {
		if d.Open {
			open[d.Number] = true
		}
	}
}
