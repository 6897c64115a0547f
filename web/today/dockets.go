package today

import (
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"time"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/text"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/view"
)

// The values of the list's filter that are no ids or stages.
const (
	benchNobody = "nobody"
	ageOverdue  = "overdue"
)

// ages are how long a watch may have been in the shop, in days, for the filter.
var ages = []struct {
	days int
	text string
}{{7, "more than a week"}, {14, "more than two weeks"}, {30, "more than a month"}, {90, "more than three months"}}

// showDockets lists dockets, narrowed by the address's query.
func (s *Room) showDockets(w http.ResponseWriter, r *http.Request) error {
	q := r.URL.Query()
	filter, err := s.docketFilter(r, q)
	if err != nil {
		return page.BadRequest(err)
	}
	list, err := s.store.Dockets(r.Context(), filter)
	if err != nil {
		return err
	}
	v := docketsView{Filter: filterFields(q, filter, list.Bench), Rows: s.docketRows(r, list.Rows),
		MayTakeIn: page.May(r, staff.TakeIn)}
	for name, values := range q {
		if len(values) > 0 && values[0] != "" && name != "before" && name != "after" && values[0] != string(store.InShop) {
			v.Filtered = true
		}
	}
	v.Hidden, v.Narrowed = narrowed(filter, list.Rows)
	v.Pager = docketsPager(q, list)
	return page.Render(w, r, http.StatusOK, docketsPage(s.Page(r, "Dockets"), v))
}

// docketFilter reads the query. Anything that no form of ours sends is an error.
func (s *Room) docketFilter(r *http.Request, q url.Values) (store.DocketFilter, error) {
	f := store.DocketFilter{Keeping: store.Keeping(q.Get("show")), Stage: docket.Stage(q.Get("stage")),
		Place: docket.PlaceKind(q.Get("place")), Today: s.Today(r)}
	if f.Keeping == "" {
		f.Keeping = store.InShop
	}
	if !slices.Contains([]store.Keeping{store.InShop, store.Gone, store.Either}, f.Keeping) {
		return f, fmt.Errorf("show: %q", f.Keeping)
	}
	if f.Stage != "" && !f.Stage.Known() {
		return f, fmt.Errorf("stage: %q", f.Stage)
	}
	if f.Place != "" && !slices.Contains(docket.PlaceKinds(), f.Place) {
		return f, fmt.Errorf("place: %q", f.Place)
	}
	switch age := q.Get("age"); age {
	case "":
	case ageOverdue:
		f.Overdue = true
	default:
		days, err := strconv.Atoi(age)
		if err != nil || days < 1 || days > 10_000 {
			return f, fmt.Errorf("age: %q", age)
		}
		f.ReceivedBefore = f.Today.AddDate(0, 0, -days)
	}
	ids := map[string]*int64{"before": &f.Before, "after": &f.After, "customer": &f.CustomerID, "watch": &f.WatchID}
	if q.Get("bench") == benchNobody {
		f.Unassigned = true
	} else {
		ids["bench"] = &f.BenchID
	}
	for name, id := range ids {
		if err := readID(q, name, id); err != nil {
			return f, err
		}
	}
	if f.Before != 0 && f.After != 0 {
		return f, fmt.Errorf("both before and after")
	}
	return f, nil
}

func readID(q url.Values, name string, id *int64) (err error) {
	typed := q.Get(name)
	if typed == "" {
		return nil
	}
	if *id, err = strconv.ParseInt(typed, 10, 64); err != nil || *id < 1 {
		return fmt.Errorf("%s: %q", name, typed)
	}
	return nil
}

func filterFields(q url.Values, f store.DocketFilter, bench []staff.Member) []view.Field {
	form := view.Form{Values: q}
	field := func(name, label, any string) view.Field {
		return form.Field(name, label).WithWidth(view.Quarter).WithOptions(view.Option{Text: any})
	}
	show := form.Field("show", "Watches").WithWidth(view.Quarter).WithValue(string(f.Keeping)).WithOptions(
		view.Option{Value: string(store.InShop), Text: "In the shop"},
		view.Option{Value: string(store.Gone), Text: "Gone"},
		view.Option{Value: string(store.Either), Text: "All"})
	stage := field("stage", "Stage", "Any stage")
	stage.Options = append(stage.Options, page.Options(docket.Stages(), docket.Stage.Label)...)
	who := field("bench", "In whose hands", "Anybody's")
	who.Options = append(who.Options, view.Option{Value: benchNobody, Text: "Nobody's"})
	for _, m := range bench {
		text := m.Name
		if m.Disabled {
			text += " (left the shop)"
		}
		who.Options = append(who.Options, view.Option{Value: strconv.FormatInt(m.ID, 10), Text: text})
	}
	age := field("age", "In the shop for", "Any time")
	age.Options = append(age.Options, view.Option{Value: ageOverdue, Text: "longer than promised: overdue"})
	for _, a := range ages {
		age.Options = append(age.Options, view.Option{Value: strconv.Itoa(a.days), Text: a.text})
	}
	return []view.Field{show, stage, who, age}
}

// narrowed says what narrows the list besides the fields of its form, and carries it on.
func narrowed(f store.DocketFilter, rows []store.DocketRow) (hidden []view.FieldValue, words string) {
	if f.CustomerID != 0 {
		hidden = append(hidden, view.FieldValue{Name: "customer", Value: strconv.FormatInt(f.CustomerID, 10)})
		words = "Of one customer."
		if len(rows) > 0 {
			words = "Of " + rows[0].Customer + "."
		}
	}
	if f.WatchID != 0 {
		hidden = append(hidden, view.FieldValue{Name: "watch", Value: strconv.FormatInt(f.WatchID, 10)})
		words = "Of one watch."
		if len(rows) > 0 {
			words = "Of one watch: " + rows[0].Watch + "."
		}
	}
	if f.Place != "" {
		hidden = append(hidden, view.FieldValue{Name: "place", Value: string(f.Place)})
		words = "Whose watch is: " + f.Place.Label() + "."
	}
	return hidden, words
}

func docketsPager(q url.Values, list store.DocketList) view.PagerView {
	var p view.PagerView
	if len(list.Rows) == 0 {
		return p
	}
	first, last := list.Rows[0].Docket, list.Rows[len(list.Rows)-1].Docket
	at := func(name string, id int64) string {
		to := url.Values{}
		for k, v := range q {
			if k != "before" && k != "after" && len(v) > 0 && v[0] != "" {
				to[k] = v
			}
		}
		to.Set(name, strconv.FormatInt(id, 10))
		return "/dockets?" + to.Encode()
	}
	if list.Newer {
		p.Newer = at("after", first.ID)
	}
	if list.Older {
		p.Older = at("before", last.ID)
	}
	if list.Newer || list.Older {
		p.Here = first.Number.String() + " to " + last.Number.String()
	}
	return p
}

// docketRows are dockets as lists show them.
func (s *Room) docketRows(r *http.Request, rows []store.DocketRow) []docketRowView {
	today := s.Today(r)
	views := make([]docketRowView, len(rows))
	for i, row := range rows {
		views[i] = docketRowView{Number: row.Docket.Number.String(), Watch: row.Watch, Customer: row.Customer,
			Stage: text.Capital(row.Docket.Stage.Label()), Waits: row.WaitsFor(), Place: row.Docket.Place.String(),
			Bench:    row.Bench,
			Promised: shortDay(row.Docket.PromisedOn, today), Overdue: row.Docket.Overdue(today)}
		if row.Facts.Closed {
			views[i].Since = "since " + s.Day(r, page.Civil(row.Docket.HandedBackAt.In(page.ZoneOf(r))))
		}
	}
	return views
}

// shortDay writes a civil day without its year while that is the present one.
func shortDay(day, today time.Time) string {
	switch {
	case day.IsZero():
		return ""
	case day.Year() == today.Year():
		return day.Format("Mon 2 Jan")
	}
	return day.Format("2 Jan 2006")
}
