package orders

import (
	"net/http"
	"net/url"
	"slices"
	"strconv"

	"ledgerwheel/domain/message"
	"ledgerwheel/domain/purchase"
	"ledgerwheel/domain/staff"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/view"
)

func orderURL(id int64, under string) string {
	if under != "" {
		under = "/" + under
	}
	return "/orders/" + page.Itoa64(id) + under
}

// openStages are those at which an order asks for something.
var openStages = []purchase.Stage{purchase.Drafted, purchase.Underway, purchase.InPart}

func (s *Room) showOrders(w http.ResponseWriter, r *http.Request) error {
	return s.renderOrders(w, r, http.StatusOK, page.EmptyForm())
}

// renderOrders lists orders: those that ask for something, or those that are done with.
func (s *Room) renderOrders(w http.ResponseWriter, r *http.Request, status int, f *page.Form) error {
	q := r.URL.Query()
	done := q.Get("show") == "done"
	filter := store.OrdersFilter{Stages: openStages}
	if done {
		filter.Stages = []purchase.Stage{purchase.Complete, purchase.CalledOff}
	}
	if typed := q.Get("after"); typed != "" {
		after, err := strconv.ParseInt(typed, 10, 64)
		if err != nil || after < 0 {
			return page.BadRequest(err)
		}
		filter.After = after
	}
	list, err := s.store.Orders(r.Context(), filter, s.Today(r))
	if err != nil {
		return err
	}
	v := ordersView{Form: f.View(), Done: done, May: page.May(r, staff.ManageStock), Late: list.Late, Refused: list.Refused}
	for _, p := range list.Suppliers {
		v.Suppliers = append(v.Suppliers, view.Option{Value: page.Itoa64(p.ID), Text: p.Name})
	}
	if !done {
		slices.SortStableFunc(list.Orders, func(a, b store.OrderRow) int {
			return slices.Index(openStages, a.Stands) - slices.Index(openStages, b.Stands)
		})
	}
	for _, o := range list.Orders {
		row := orderRow{Number: o.Number, Href: orderURL(o.ID, ""), Supplier: o.Supplier, Stage: o.Stands.Words(), Mark: stageMark(o.Stands),
			Lines: strconv.Itoa(o.Lines), Refused: o.MailState == message.Refused}
		if !o.SentOn.IsZero() {
			row.Sent = s.Day(r, o.SentOn)
		}
		if o.ToCome > 0 && o.Stands != purchase.Drafted {
			row.Lines = strconv.Itoa(o.ToCome) + " of " + row.Lines + " to come"
			row.Due, row.Late = s.dueWords(r, o.DueOn)
		}
		v.Rows = append(v.Rows, row)
	}
	if list.More {
		next := url.Values{"after": {page.Itoa64(list.Orders[len(list.Orders)-1].ID)}}
		if done {
			next.Set("show", "done")
		}
		v.MoreURL = "/orders?" + next.Encode()
	}
	return page.Render(w, r, status, ordersPage(s.Page(r, "Orders"), v))
}

func stageMark(s purchase.Stage) view.MarkKind {
	switch s {
	case purchase.Complete:
		return view.Pass
	case purchase.CalledOff:
		return view.Fail
	case purchase.InPart:
		return view.Undecided
	}
	return view.NotMeasured
}

// start opens the draft of an order to a supplier, for what the lists don't know.
func (s *Room) start(w http.ResponseWriter, r *http.Request) error {
	f, err := page.ReadForm(w, r)
	if err != nil {
		return err
	}
	supplier := f.ID("supplier")
	if supplier == 0 {
		f.Fail("supplier", "Choose a supplier.")
		return s.renderOrders(w, r, http.StatusUnprocessableEntity, f)
	}
	id, err := s.store.StartOrder(r.Context(), supplier, s.Today(r), page.Actor(r), s.Now())
	if err != nil {
		return err
	}
	return page.SeeOther(w, r, orderURL(id, ""))
}

// showLate lists what should have come, at whose door, the longest late supplier first.
func (s *Room) showLate(w http.ResponseWriter, r *http.Request) error {
	list, more, err := s.store.LateLines(r.Context(), s.Today(r))
	if err != nil {
		return err
	}
	v := lateView{More: more}
	at := map[int64]int{}
	today := s.Today(r)
	for _, l := range list {
		i, ok := at[l.Supplier.ID]
		if !ok {
			i = len(v.Doors)
			at[l.Supplier.ID] = i
			v.Doors = append(v.Doors, doorView{Supplier: l.Supplier.Name, Phone: l.Supplier.Phone, Email: l.Supplier.Email, Account: l.Supplier.Account})
		}
		days := purchase.Standing{ToCome: l.ToCome, DueOn: l.DueOn}.DaysLate(today)
		row := lateRow{Part: l.Description, Number: l.Line.Number, Pieces: strconv.Itoa(l.ToCome), Due: s.Day(r, l.DueOn), Late: plural(days, "day", "days"),
			Order: l.Order, Href: orderURL(l.OrderID, "")}
		if l.Docket.Seq != 0 {
			row.Docket, row.Customer = l.Docket.String(), l.Customer
			if !l.PromisedOn.IsZero() {
				row.Promised, row.Past = s.Day(r, l.PromisedOn), !today.Before(l.PromisedOn)
			}
		}
		v.Doors[i].Rows = append(v.Doors[i].Rows, row)
	}
	return page.Render(w, r, http.StatusOK, latePage(s.Page(r, "Late orders"), v))
}

func plural(n int, one, more string) string {
	if n == 1 {
		return "1 " + one
	}
	return strconv.Itoa(n) + " " + more
}
