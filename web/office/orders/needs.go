package orders

import (
	"net/http"
	"slices"
	"strconv"
	"strings"

	"ledgerwheel/domain/staff"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/view"
)

func (s *Room) showNeeds(w http.ResponseWriter, r *http.Request) error {
	return s.renderNeeds(w, r, http.StatusOK, page.EmptyForm())
}

// needKey is how a form names a need.
func needKey(n store.Need) string {
	if n.PartLineID != 0 {
		return "line-" + page.Itoa64(n.PartLineID)
	}
	return "part-" + page.Itoa64(n.PartID)
}

// renderNeeds lists what is to be ordered, by supplier; what nobody supplies yet comes first.
func (s *Room) renderNeeds(w http.ResponseWriter, r *http.Request, status int, f *page.Form) error {
	needs, err := s.store.Needs(r.Context())
	if err != nil {
		return err
	}
	v := needsView{Form: f.View(), May: page.May(r, staff.ManageStock), More: needs.More}
	groups := map[int64]*groupView{0: {Name: "From whom?"}}
	order := []int64{0}
	for _, p := range needs.Suppliers {
		groups[p.ID], order = &groupView{Name: p.Name}, append(order, p.ID)
		v.Suppliers = append(v.Suppliers, view.Option{Value: page.Itoa64(p.ID), Text: p.Name})
	}
	typed := r.Method == http.MethodPost
	for _, n := range slices.Concat(needs.Dockets, needs.Drawers) {
		g := groups[n.SupplierID]
		if g == nil { // its supplier is offered no more
			g = groups[0]
		}
		row := needRow{Key: needKey(n), Part: n.Description, Number: n.Number, Pieces: strconv.Itoa(n.Pieces), Drawer: n.PartLineID == 0,
			Ticked: n.Agreed() && g != groups[0]}
		if typed {
			row.Ticked = slices.Contains(f.Values["need"], row.Key)
		}
		switch {
		case row.Drawer:
			row.Note = "the drawer has " + strconv.Itoa(n.Free) + " free"
		case !n.Agreed():
			row.Note = "no estimate is agreed yet"
		case n.Free >= n.Pieces && n.PartID != 0:
			row.Note = "the drawer has " + strconv.Itoa(n.Free) + " free: take it from there"
			row.Ticked = typed && row.Ticked
		}
		if !row.Drawer {
			row.Docket = n.Docket.String()
			if !n.PromisedOn.IsZero() {
				row.Promised = "promised " + s.Day(r, n.PromisedOn)
			}
		}
		g.AsksSupplier = g == groups[0]
		g.Rows = append(g.Rows, row)
		v.Count++
	}
	for _, id := range order {
		if g := groups[id]; len(g.Rows) > 0 {
			v.Groups = append(v.Groups, *g)
		}
	}
	return page.Render(w, r, status, needsPage(s.Page(r, "To be ordered"), v))
}

// gather puts what is ticked on a draft for each supplier.
func (s *Room) gather(w http.ResponseWriter, r *http.Request) error {
	f, err := page.ReadForm(w, r)
	if err != nil {
		return err
	}
	var picks []store.Pick
	for _, key := range f.Values["need"] {
		kind, typed, _ := strings.Cut(key, "-")
		id, err := strconv.ParseInt(typed, 10, 64)
		if err != nil || kind != "line" && kind != "part" {
			return page.BadRequest(err)
		}
		p := store.Pick{SupplierID: f.ID("supplier." + key)}
		if kind == "line" {
			p.PartLineID = id
		} else if p.PartID = id; f.Text("pieces."+key) != "" {
			if p.Pieces = f.Int("pieces." + key); p.Pieces < 1 || p.Pieces > 10_000 {
				f.Fail("pieces."+key, "Give the number of pieces, from 1 to 10000.")
			}
		}
		if p.SupplierID == 0 {
			f.Fail("supplier."+key, "Choose a supplier.")
		}
		picks = append(picks, p)
	}
	if len(picks) == 0 {
		f.Fail("need", "Tick what is to be ordered.")
	}
	if !f.OK() {
		return s.renderNeeds(w, r, http.StatusUnprocessableEntity, f)
	}
	g, err := s.store.Gather(r.Context(), picks, s.Today(r), page.Actor(r), s.Now())
	if err != nil && !f.Takes(err) {
		return err
	}
	if !f.OK() {
		return s.renderNeeds(w, r, http.StatusUnprocessableEntity, f)
	}
	said := plural(g.Put, "part is", "parts are") + " on the draft."
	if len(g.Orders) > 1 {
		said = plural(g.Put, "part is", "parts are") + " on " + strconv.Itoa(len(g.Orders)) + " drafts."
	}
	if g.Passed > 0 {
		said += " " + plural(g.Passed, "was", "were") + " left out: on an order by now, or needed no more."
	}
	s.Say(r.Context(), said)
	if len(g.Orders) == 1 {
		return page.SeeOther(w, r, orderURL(g.Orders[0], ""))
	}
	return page.SeeOther(w, r, "/orders")
}
