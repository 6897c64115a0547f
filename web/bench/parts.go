package web

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/stock"
	"ledgerwheel/domain/text"
	"ledgerwheel/store"
	"ledgerwheel/web/view"
)

type partsStore interface {
	PartsSheet(ctx context.Context, n docket.Number) (store.PartsSheet, error)
	AddPart(ctx context.Context, c store.Change, p stock.PartLine) (int64, error)
	CorrectPart(ctx context.Context, c store.Change, id int64, p stock.PartLine) error
	MovePart(ctx context.Context, c store.Change, id int64, m store.PartMove) error
	SetOldPart(ctx context.Context, c store.Change, id int64, o stock.OldPart) error
	OutstandingParts(ctx context.Context, f store.OutstandingFilter) (store.Outstanding, error)
	ArriveParts(ctx context.Context, by store.Actor, at time.Time, parts []store.PartKey) (int, error)
}

// partMoves are the ways of a part through the shop: the address, where it leads, and who may take it there.
var partMoves = []struct {
	slug string
	to   stock.State
	may  staff.Permission
	text string // of the button
}{
	{"order", stock.Ordered, staff.OrderParts, "Ordered"},
	{"arrive", stock.Arrived, staff.OrderParts, "Arrived"},
	{"fit", stock.Fitted, staff.NeedParts, "Fitted"},
	{"need", stock.Needed, staff.NeedParts, "Needed again"},
	{"cancel", stock.Cancelled, staff.NeedParts, "Not needed"},
}

func (s *Server) partsRoutes() []route {
	routes := []route{
		{http.MethodGet, "/dockets/{number}/parts", needs(staff.ViewDockets), s.showParts},
		{http.MethodPost, "/dockets/{number}/parts", needs(staff.NeedParts), s.addPart},
		{http.MethodPost, "/dockets/{number}/parts/{id}", needs(staff.NeedParts), s.correctPart},
		{http.MethodPost, "/dockets/{number}/parts/{id}/old-part", needs(staff.NeedParts), s.setOldPart},
		{http.MethodGet, "/parts", needs(staff.OrderParts), s.showOutstanding},
		{http.MethodPost, "/parts", needs(staff.OrderParts), s.bookIn},
	}
	for _, m := range partMoves {
		routes = append(routes, route{http.MethodPost, "/dockets/{number}/parts/{id}/" + m.slug, needs(m.may), s.movePart(m.to)})
	}
	return routes
}

func (s *Server) showParts(w http.ResponseWriter, r *http.Request) error {
	return s.renderParts(w, r, http.StatusOK, partsTyped{form: emptyForm()})
}

// partsTyped is the form of the sheet that was refused, and which part it was about; id 0 is a new one.
type partsTyped struct {
	form *form
	id   int64
	what string // "order" or "correct"
}

func (s *Server) renderParts(w http.ResponseWriter, r *http.Request, status int, typed partsTyped) error {
	n, err := pathNumber(r)
	if err != nil {
		return err
	}
	sheet, err := s.store.PartsSheet(r.Context(), n)
	if err != nil {
		return err
	}
	p, d := s.docketPage(r, sheet.Head, "parts")
	fresh := emptyForm()
	fresh.Values.Set("quantity", "1")
	v := view.PartsView{Form: typed.form.view(), New: fresh.view(), MayNeed: may(r, staff.NeedParts) && !d.Closed,
		Outstanding: stock.Outstanding(sheet.Lines()), ToFit: stock.ToFit(sheet.Lines()), OldParts: oldPartOptions(),
		ToReturn: len(stock.ToReturn(sheet.Lines()))}
	if typed.id == 0 && !typed.form.OK() {
		v.New = typed.form.view()
	}
	for _, c := range sheet.Suppliers {
		v.Suppliers = append(v.Suppliers, c.Supplier)
	}
	for _, row := range sheet.Parts {
		pv := s.partView(r, sheet.Head, row)
		if typed.id == row.ID && typed.what != "" {
			pv.Form, pv.Open = typed.form.view(), typed.what
		}
		v.Parts = append(v.Parts, pv)
	}
	// What still waits comes first, what is done with last; within that the order in which the parts were noted.
	slices.SortStableFunc(v.Parts, func(a, b view.PartView) int { return a.Rank - b.Rank })
	return render(w, r, status, view.Parts(p, d, v))
}

func (s *Server) partView(r *http.Request, head store.Head, row store.PartRow) view.PartView {
	id := strconv.FormatInt(row.ID, 10)
	v := view.PartView{ID: id, Description: row.Description, Reference: row.Reference, Supplier: row.Supplier, Quantity: row.Quantity,
		State: row.State.Words(), Waiting: row.State == stock.Needed || row.State == stock.Ordered, Since: s.moment(r, row.Since), Note: row.Note,
		OldPart: row.OldPart.Words(), HasOldPart: row.OldPart != stock.OldPartNone, Rank: slices.Index(stock.States, row.State),
		URL: view.DocketURL(head.Docket.Number.String(), "parts/"+id)}
	closed := head.Docket.Closed()
	for _, m := range partMoves {
		allowed := slices.Contains(row.State.Moves(), m.to) && may(r, m.may) && (!closed || stock.AfterLeaving(row.State, m.to))
		if allowed {
			v.Moves = append(v.Moves, view.PartMoveView{Slug: m.slug, Text: m.text, AsksSupplier: m.to == stock.Ordered,
				AsksOldPart: m.to == stock.Fitted && row.OldPart == stock.OldPartNone})
		}
	}
	v.MayCorrect = may(r, staff.NeedParts) && !closed
	if v.MayCorrect && row.OldPart == stock.OldPartToReturn {
		v.OldMoves = []view.Option{{Value: string(stock.OldPartReturned), Text: "Old part returned"}, {Value: string(stock.OldPartLeft), Text: "Old part left with the shop"}}
	}
	f := emptyForm()
	typed := row.Form()
	for name, value := range map[string]string{"description": typed.Description, "reference": typed.Reference, "supplier": typed.Supplier,
		"quantity": typed.Quantity, "old_part": typed.OldPart, "note": typed.Note} {
		f.Values.Set(name, value)
	}
	v.Form = f.view()
	return v
}

func readPart(f *form) (stock.PartLine, map[string]string) {
	return stock.Form{Description: f.Text("description"), Reference: f.Text("reference"), Supplier: f.Text("supplier"),
		Quantity: f.Text("quantity"), State: f.Text("state"), OldPart: f.Text("old_part"), Note: f.Text("note")}.Check()
}

func (s *Server) addPart(w http.ResponseWriter, r *http.Request) error {
	f, c, err := s.changeForm(w, r)
	if err != nil {
		return err
	}
	c.Version = 0 // an addition does not depend on what others did meanwhile
	part, problems := readPart(f)
	f.FailAll(problems)
	if f.OK() {
		_, err = s.store.AddPart(r.Context(), c, part)
	}
	return s.settle(w, r, ending{form: f, change: c, err: err, said: "Noted: " + part.Description + ", " + part.State.Words() + ".",
		to:    view.DocketURL(c.Number.String(), "parts"),
		again: func(status int) error { return s.renderParts(w, r, status, partsTyped{form: f}) }})
}

func (s *Server) correctPart(w http.ResponseWriter, r *http.Request) error {
	return s.changePart(w, r, "correct", func(f *form, c store.Change, id int64) error {
		part, problems := readPart(f)
		if f.FailAll(problems); !f.OK() {
			return nil
		}
		return s.store.CorrectPart(r.Context(), c, id, part)
	})
}

func (s *Server) setOldPart(w http.ResponseWriter, r *http.Request) error {
	return s.changePart(w, r, "old-part", func(f *form, c store.Change, id int64) error {
		return s.store.SetOldPart(r.Context(), c, id, stock.OldPart(f.Text("old_part")))
	})
}

func (s *Server) movePart(to stock.State) handler {
	what := ""
	if to == stock.Ordered {
		what = "order"
	}
	return func(w http.ResponseWriter, r *http.Request) error {
		return s.changePart(w, r, what, func(f *form, c store.Change, id int64) error {
			m := store.PartMove{To: to, Supplier: text.Line(f.Text("supplier")), Reference: text.Line(f.Text("reference"))}
			if to == stock.Fitted && f.Values.Has("old_part") {
				o := stock.OldPart(f.Text("old_part"))
				m.OldPart = &o
			}
			return s.store.MovePart(r.Context(), c, id, m)
		})
	}
}

// changePart runs a change of one part and answers for it; what names the form to show again when it is refused.
func (s *Server) changePart(w http.ResponseWriter, r *http.Request, what string, do func(*form, store.Change, int64) error) error {
	f, c, err := s.changeForm(w, r)
	if err != nil {
		return err
	}
	id, err := pathID(r, "id")
	if err != nil {
		return err
	}
	err = do(f, c, id)
	if errors.Is(err, stock.ErrMove) {
		f.Fail("", "The part is no longer where it was: look where it stands now.")
		err = nil
	}
	return s.settle(w, r, ending{form: f, change: c, err: err,
		to:    view.DocketURL(c.Number.String(), "parts") + "#part-" + strconv.FormatInt(id, 10),
		again: func(status int) error { return s.renderParts(w, r, status, partsTyped{form: f, id: id, what: what}) }})
}

func (s *Server) showOutstanding(w http.ResponseWriter, r *http.Request) error {
	return s.renderOutstanding(w, r, http.StatusOK, emptyForm())
}

func (s *Server) renderOutstanding(w http.ResponseWriter, r *http.Request, status int, f *form) error {
	q := r.URL.Query()
	filter := store.OutstandingFilter{State: stock.Ordered, Supplier: q.Get("supplier")}
	if q.Get("state") == string(stock.Needed) {
		filter.State = stock.Needed
	}
	if typed := q.Get("after"); typed != "" {
		var err error
		if filter.After, err = strconv.ParseInt(typed, 10, 64); err != nil || filter.After < 0 {
			return badRequest(fmt.Errorf("after: %q is no part", typed))
		}
	}
	list, err := s.store.OutstandingParts(r.Context(), filter)
	if err != nil {
		return err
	}
	v := view.OutstandingView{Form: f.view(), Needed: filter.State == stock.Needed, Supplier: filter.Supplier, State: string(filter.State),
		Action: r.URL.RequestURI()}
	for _, c := range list.Suppliers {
		v.Suppliers = append(v.Suppliers, view.SupplierView{Name: c.Supplier, Parts: c.Parts, Current: c.Supplier == filter.Supplier,
			Href: outstandingURL(filter.State, c.Supplier, 0)})
	}
	v.AllHref = outstandingURL(filter.State, "", 0)
	v.OrderedHref, v.NeededHref = outstandingURL(stock.Ordered, filter.Supplier, 0), outstandingURL(stock.Needed, filter.Supplier, 0)
	for _, p := range list.Parts {
		number := p.Number.String()
		v.Parts = append(v.Parts, view.OutstandingPartView{Key: number + ":" + strconv.FormatInt(p.ID, 10), Description: p.Description, Reference: p.Reference,
			Supplier: p.Supplier, Quantity: strconv.Itoa(p.Quantity), Since: s.day(r, s.civilDayOf(r, p.Since)), Number: number,
			Href: view.DocketURL(number, "parts"), Watch: p.Watch, Customer: p.Customer, Gone: p.Gone,
			Ticked: filter.Supplier != "" && f.OK() || slices.Contains(f.Values["part"], number+":"+strconv.FormatInt(p.ID, 10))})
	}
	if filter.After > 0 {
		v.Pager.Newer, v.Pager.NewerText = outstandingURL(filter.State, filter.Supplier, 0), "From the beginning"
	}
	if list.More {
		v.Pager.Older, v.Pager.OlderText = outstandingURL(filter.State, filter.Supplier, list.Parts[len(list.Parts)-1].ID), "Further"
	}
	return render(w, r, status, view.OutstandingParts(s.page(r, "Parts outstanding"), v))
}

// bookIn books in the parts ticked on the list of what is outstanding.
func (s *Server) bookIn(w http.ResponseWriter, r *http.Request) error {
	f, err := readForm(w, r)
	if err != nil {
		return err
	}
	var keys []store.PartKey
	for _, typed := range f.Values["part"] {
		number, id, _ := strings.Cut(typed, ":")
		n, errN := docket.ParseNumber(number)
		i, errI := strconv.ParseInt(id, 10, 64)
		if errN != nil || errI != nil {
			return badRequest(errors.Join(errN, errI))
		}
		keys = append(keys, store.PartKey{Number: n, ID: i})
	}
	switch {
	case len(keys) == 0:
		f.Fail("part", "Tick the parts that have come.")
	case len(keys) > store.OutstandingPage:
		return badRequest(errors.New("more parts than a page shows"))
	}
	if !f.OK() {
		return s.renderOutstanding(w, r, http.StatusUnprocessableEntity, f)
	}
	n, err := s.store.ArriveParts(r.Context(), actor(r), s.now(), keys)
	if err != nil {
		return err
	}
	said := strconv.Itoa(n) + " parts booked in."
	if n == 1 {
		said = "One part booked in."
	}
	if missed := len(keys) - n; missed > 0 {
		said += fmt.Sprintf(" %d stood elsewhere by now and were left alone.", missed)
	}
	s.say(r.Context(), said)
	return seeOther(w, r, outstandingURL(stock.Ordered, r.URL.Query().Get("supplier"), 0))
}

func outstandingURL(state stock.State, supplier string, after int64) string {
	q := url.Values{"state": {string(state)}}
	if supplier != "" {
		q.Set("supplier", supplier)
	}
	if after > 0 {
		q.Set("after", strconv.FormatInt(after, 10))
	}
	return "/parts?" + q.Encode()
}
