package today

import (
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/visit"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/sheet"
	"ledgerwheel/web/view"
)

// findHeadings are the groups of what is found, in words.
var findHeadings = map[store.FindGroup]string{
	store.FoundDockets: "Dockets", store.FoundSerials: "Watches by serial", store.FoundPhones: "Customers by telephone",
	store.FoundNames: "Customers by name", store.FoundEmails: "Customers by e-mail",
	store.FoundWatches: "Watches by maker, model and reference", store.FoundBoth: "Watches by owner and watch",
}

// showFound answers the one find box. A whole docket number that exists leads straight to the docket, which is what
// a scanner's reader wants, and so does one hit with one open docket; everything else is listed by sort. in, from and id ask for a further page of one sort.
func (s *Room) showFound(w http.ResponseWriter, r *http.Request) error {
	query := r.URL.Query()
	viewer, _ := page.ViewerOf(r.Context())
	q := store.FindQuery{Text: page.CleanText(query.Get("q")), Region: viewer.Shop.PhoneRegion, Year: s.Today(r).Year(),
		Group: store.FindGroup(query.Get("in")), From: store.FindCursor{Key: query.Get("from")}}
	if q.Group != "" && !slices.Contains(store.FindGroups(), q.Group) {
		return page.BadRequest(fmt.Errorf("in: %q", q.Group))
	}
	if err := readID(query, "id", &q.From.ID); err != nil {
		return page.BadRequest(err)
	}
	if n, err := visit.Parse(q.Text); err == nil && q.Group == "" {
		switch known, err := s.store.VisitKnown(r.Context(), n); {
		case err != nil:
			return err
		case known: // a ticket of several watches was scanned
			return page.SeeOther(w, r, "/v/"+n.Compact())
		}
	}
	found, err := s.store.Find(r.Context(), q)
	if err != nil {
		return err
	}
	if found.Exact != (docket.Number{}) && q.Group == "" {
		return page.SeeOther(w, r, view.DocketURL(found.Exact.String(), ""))
	}
	if only := onlyOpenDocket(found); only != "" && q.Group == "" {
		return page.SeeOther(w, r, view.DocketURL(only, ""))
	}
	p := s.Page(r, "Find")
	p.Find.Value = q.Text
	return page.Render(w, r, http.StatusOK, foundPage(p, s.foundView(r, q, found)))
}

func (s *Room) foundView(r *http.Request, q store.FindQuery, f store.Found) foundView {
	v := foundView{Query: q.Text, Instead: f.Instead, Asked: q.Text != "", Nothing: q.Text != "" && f.Empty(),
		MayTakeIn: page.May(r, staff.TakeIn),
		Further:   q.Group != "", All: "/find?" + url.Values{"q": {q.Text}}.Encode()}
	viewer, _ := page.ViewerOf(r.Context())
	dockets, home := f.Dockets, viewer.Shop.PhoneRegion
	if f.Misread != nil && q.Group == "" {
		v.Likely, dockets = s.docketRows(r, dockets[:f.LikelyCount]), dockets[f.LikelyCount:]
		v.Misread = misreadWords(q.Text, f, len(v.Likely))
	}
	for _, g := range store.FindGroups() {
		group := foundGroupView{Key: string(g), Heading: findHeadings[g]}
		switch g {
		case store.FoundDockets:
			group.Dockets = s.docketRows(r, dockets)
		case store.FoundPhones:
			group.Customers = foundCustomers(f.Phones, home)
		case store.FoundNames:
			group.Customers = foundCustomers(f.Names, home)
		case store.FoundEmails:
			group.Customers = foundCustomers(f.Emails, home)
		case store.FoundSerials:
			group.Watches = foundWatches(f.Serials)
		case store.FoundBoth:
			group.Watches = foundWatches(f.Both)
		case store.FoundWatches:
			group.Watches = foundWatches(f.Watches)
		}
		rows := len(group.Dockets) + len(group.Customers) + len(group.Watches)
		if from, more := f.Next(g); more {
			group.More = "/find?" + url.Values{"q": {q.Text}, "in": {string(g)}, "from": {from.Key},
				"id": {idOrNone(from.ID)}}.Encode()
			group.Sparse = rows < store.FindPage
		}
		if rows > 0 || group.More != "" {
			v.Groups = append(v.Groups, group)
		}
	}
	return v
}

func idOrNone(id int64) string {
	if id == 0 {
		return ""
	}
	return strconv.FormatInt(id, 10)
}

// misreadWords says what is wrong with a docket's number. Any eight digits have the shape of one, so where nothing
// like it exists and something else was found, nothing is said.
func misreadWords(typed string, f store.Found, likely int) string {
	somethingElse := len(f.Dockets)-f.LikelyCount+len(f.Phones)+len(f.Names)+len(f.Emails)+len(f.Serials)+
		len(f.Watches)+len(f.Both) > 0
	if likely == 0 && somethingElse && !strings.Contains(typed, "-") {
		return ""
	}
	why := f.Misread.Error()
	return "In " + typed + " " + why + "."
}

// foundCustomers are customers for people in the country home, by which their telephone numbers are written.
func foundCustomers(list []store.FoundCustomer, home string) []foundCustomerView {
	views := make([]foundCustomerView, len(list))
	for i, c := range list {
		views[i] = foundCustomerView{Name: c.Customer.Name, Href: sheet.CustomerURL(c.Customer.ID),
			Phone: c.Customer.PhoneIn(home), Email: c.Customer.Email, Dockets: docketLinksOf(c.Dockets)}
	}
	return views
}

func foundWatches(list []store.FoundWatch) []foundWatchView {
	views := make([]foundWatchView, len(list))
	for i, w := range list {
		views[i] = foundWatchView{Watch: w.Watch.Title(), Href: "/watches/" + strconv.FormatInt(w.Watch.ID, 10),
			Serial:   w.Watch.Serial,
			Movement: w.Watch.MovementSerial, Owner: w.Owner, OwnerHref: sheet.CustomerURL(w.OwnerID),
			Dockets: docketLinksOf(w.Dockets)}
	}
	return views
}

func docketLinksOf(list []store.FoundDocket) []docketLink {
	views := make([]docketLink, len(list))
	for i, d := range list {
		views[i] = docketLink{Number: d.Number, Stage: d.Stage.Label()}
		if !d.Open && d.Stage.Exit() {
			views[i].Stage += ", handed back"
		}
	}
	return views
}
