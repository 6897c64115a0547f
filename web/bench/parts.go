package bench

import (
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/ledger"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/stock"
	"ledgerwheel/domain/text"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/sheet"
	"ledgerwheel/web/view"
)

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

func (s *Room) partsRoutes() []page.Route {
	routes := []page.Route{
		page.Get("/dockets/{number}/parts", page.Needs(staff.ViewDockets), s.showParts),
		page.Post("/dockets/{number}/parts", page.Needs(staff.NeedParts), s.addPart),
		page.Post("/dockets/{number}/parts/{id}", page.Needs(staff.NeedParts), s.correctPart),
		page.Post("/dockets/{number}/parts/{id}/old-part", page.Needs(staff.NeedParts), s.setOldPart),
		page.Post("/dockets/{number}/parts/{id}/payer", page.Needs(staff.NeedParts), s.setPartPayer),
		page.Get("/parts", page.Needs(staff.OrderParts), s.showOutstanding),
		page.Post("/parts", page.Needs(staff.OrderParts), s.bookIn),
	}
	for _, m := range partMoves {
		routes = append(routes, page.Post("/dockets/{number}/parts/{id}/"+m.slug, page.Needs(m.may), s.movePart(m.to)))
	}
	return routes
}

func (s *Room) showParts(w http.ResponseWriter, r *http.Request) error {
	return s.renderParts(w, r, http.StatusOK, partsTyped{form: page.EmptyForm()})
}

// partsTyped is the form of the sheet that was refused, and which part it was about; id 0 is a new one.
type partsTyped struct {
	form *page.Form
	id   int64
	what string // "order", "correct", "fit" or "payer"
}

func (s *Room) renderParts(w http.ResponseWriter, r *http.Request, status int, typed partsTyped) error {
	n, err := page.PathNumber(r)
	if err != nil {
		return err
	}
	record, err := s.store.PartsSheet(r.Context(), n)
	if err != nil {
		return err
	}
	p, d := s.DocketPage(r, record.Head, "parts")
	fresh := page.EmptyForm()
	fresh.Values.Set("quantity", "1")
	v := partsView{Form: typed.form.View(), New: fresh.View(), MayNeed: page.May(r, staff.NeedParts) && !d.Closed,
		Outstanding: stock.Outstanding(record.Lines()), ToFit: stock.ToFit(record.Lines()), OldParts: sheet.OldPartOptions(),
		ToReturn: len(stock.ToReturn(record.Lines()))}
	if typed.id == 0 && !typed.form.OK() {
		v.New = typed.form.View()
	}
	for _, c := range record.Suppliers {
		v.Suppliers = append(v.Suppliers, c.Supplier)
	}
	for _, row := range record.Parts {
		pv := s.partView(r, record.Head, row, record.Held(row.PartLine), record.Drawers)
		if typed.id == row.ID && typed.what != "" {
			pv.Form, pv.Open = typed.form.View(), typed.what
		}
		v.Parts = append(v.Parts, pv)
	}
	// What still waits comes first, what is done with last; within that the order in which the parts were noted.
	slices.SortStableFunc(v.Parts, func(a, b partView) int { return a.Rank - b.Rank })
	return page.Render(w, r, status, partsPage(p, d, v))
}

func (s *Room) partView(r *http.Request, head store.Head, row store.PartRow, held bool, drawers map[int64]store.CatalogueRow) partView {
	id := strconv.FormatInt(row.ID, 10)
	v := partView{ID: id, Description: row.Description, Reference: row.Reference, Supplier: row.Supplier,
		Quantity: row.Quantity,
		State:    row.State.Words(), Waiting: row.State == stock.Needed || row.State == stock.Ordered,
		Since: s.Moment(r, row.Since), Note: row.Note,
		OldPart: row.OldPart.Words(), HasOldPart: row.OldPart != stock.OldPartNone, Rank: slices.Index(stock.States,
			row.State),
		URL: view.DocketURL(head.Docket.Number.String(), "parts/"+id)}
	closed := head.Docket.Closed()
	for _, m := range partMoves {
		allowed := slices.Contains(row.State.Moves(), m.to) && page.May(r, m.may) &&
			(!closed || stock.AfterLeaving(row.State, m.to))
		if allowed {
			v.Moves = append(v.Moves, partMoveView{Slug: m.slug, Text: m.text, AsksSupplier: m.to == stock.Ordered,
				AsksOldPart: m.to == stock.Fitted && row.OldPart == stock.OldPartNone,
				AsksMoney:   m.to == stock.Fitted && !held})
		}
	}
	if in, ok := drawers[row.PartID]; ok {
		v.Drawer, v.DrawerURL, v.Short = drawerWords(row.PartLine, in)
	}
	v.Payer, v.PayerWhy = row.Money.Payer.Words(), row.Money.Why
	v.NotHeld = row.State == stock.Fitted && !held
	v.ToBePriced = v.NotHeld && row.Money.Payer == stock.PayerCustomer
	v.MaySayPayer = v.NotHeld && page.May(r, staff.NeedParts) && !closed
	v.MayCorrect = page.May(r, staff.NeedParts) && !closed
	if v.MayCorrect && row.OldPart == stock.OldPartToReturn {
		v.OldMoves = []view.Option{{Value: string(stock.OldPartReturned), Text: "Old part returned"},
			{Value: string(stock.OldPartLeft), Text: "Old part left with the shop"}}
	}
	f := page.EmptyForm()
	setPart(f, row.PartLine)
	v.Form = f.View()
	return v
}

// drawerWords say how a docket's part stands in the drawer, and whether too few are free for it.
func drawerWords(p stock.PartLine, in store.CatalogueRow) (words, href string, short bool) {
	at := in.Number
	if in.Drawer != "" {
		at += ", drawer " + in.Drawer
	}
	href = "/stock/" + page.Itoa64(in.ID)
	switch {
	case p.State == stock.Arrived:
		return at + ": " + strconv.Itoa(p.Quantity) + " reserved for this docket", href, false
	case p.State == stock.Needed && in.Free() < p.Quantity:
		return at + ": " + strconv.Itoa(max(in.Free(), 0)) + " free, " + strconv.Itoa(p.Quantity) + " needed. Order the rest.", href, true
	case p.State == stock.Needed:
		return at + ": " + strconv.Itoa(in.Free()) + " free; reserved when the estimate is approved", href, false
	}
	return at, href, false
}

// setPart puts a part into a form as it would be typed.
func setPart(f *page.Form, p stock.PartLine) {
	typed := p.Form()
	for name, value := range map[string]string{"description": typed.Description, "reference": typed.Reference,
		"supplier": typed.Supplier,
		"quantity": typed.Quantity, "old_part": typed.OldPart, "note": typed.Note,
		"payer": string(p.Money.Payer), "payer_why": p.Money.Why} {
		f.Values.Set(name, value)
	}
}

func readPart(f *page.Form) (stock.PartLine, map[string]string) {
	return stock.Form{Description: f.Text("description"), Reference: f.Text("reference"), Supplier: f.Text("supplier"),
		Quantity: f.Text("quantity"), State: f.Text("state"), OldPart: f.Text("old_part"), Note: f.Text("note")}.Check()
}

func (s *Room) addPart(w http.ResponseWriter, r *http.Request) error {
	f, c, err := s.ChangeForm(w, r)
	if err != nil {
		return err
	}
	c.Version = 0 // an addition does not depend on what others did meanwhile
	drawer, err := s.fromDrawers(r, f)
	if err != nil {
		return err
	}
	part, problems := readPart(f)
	part.Money, part.PartID = readMoney(f), drawer
	f.FailAll(problems)
	if f.OK() {
		_, err = s.store.AddPart(r.Context(), c, part)
	}
	return s.Settle(w, r, sheet.Ending{Form: f, Change: c, Err: err, Said: "Noted: " + part.Description + ", " +
		part.State.Words() + ".",
		To:    view.DocketURL(c.Number.String(), "parts"),
		Again: func(status int) error { return s.renderParts(w, r, status, partsTyped{form: f}) }})
}

// fromDrawers finds the part of the catalogue that was typed, and says in the form what was left empty of it. 0 is for none.
func (s *Room) fromDrawers(r *http.Request, f *page.Form) (int64, error) {
	typed := f.Text("drawer")
	if typed == "" {
		return 0, nil
	}
	found, err := s.store.Catalogue(r.Context(), typed, "", false)
	if err != nil {
		return 0, err
	}
	p, choices, ok := ledger.Chosen(found.Plain(), typed)
	if !ok {
		why := "No part of the catalogue is called so."
		if len(choices) > 0 {
			numbers := make([]string, min(len(choices), 5))
			for i := range numbers {
				numbers[i] = choices[i].Number
			}
			why = "More than one is called so: type the number, such as " + strings.Join(numbers, ", ") + "."
		}
		f.Fail("drawer", why)
		return 0, nil
	}
	for name, value := range map[string]string{"description": p.Name, "reference": p.Number} {
		if f.Text(name) == "" {
			f.Values.Set(name, value)
		}
	}
	return p.ID, nil
}

func (s *Room) correctPart(w http.ResponseWriter, r *http.Request) error {
	return s.changePart(w, r, "correct", func(f *page.Form, c store.Change, id int64) error {
		part, problems := readPart(f)
		if f.FailAll(problems); !f.OK() {
			return nil
		}
		return s.store.CorrectPart(r.Context(), c, id, part)
	})
}

func (s *Room) setOldPart(w http.ResponseWriter, r *http.Request) error {
	return s.changePart(w, r, "old-part", func(f *page.Form, c store.Change, id int64) error {
		return s.store.SetOldPart(r.Context(), c, id, stock.OldPart(f.Text("old_part")))
	})
}

func (s *Room) setPartPayer(w http.ResponseWriter, r *http.Request) error {
	return s.changePart(w, r, "payer", func(f *page.Form, c store.Change, id int64) error {
		return s.store.SetPartPayer(r.Context(), c, id, readMoney(f))
	})
}

func readMoney(f *page.Form) stock.Money {
	return stock.Money{Payer: stock.Payer(f.Text("payer")), Why: text.Lines(f.Raw("payer_why"))}
}

func (s *Room) movePart(to stock.State) page.Handler {
	what := map[stock.State]string{stock.Ordered: "order", stock.Fitted: "fit"}[to]
	return func(w http.ResponseWriter, r *http.Request) error {
		return s.changePart(w, r, what, func(f *page.Form, c store.Change, id int64) error {
			m := store.PartMove{To: to, Supplier: text.Line(f.Text("supplier")), Reference: text.Line(f.Text("reference")),
				Money: readMoney(f)}
			if to == stock.Fitted && f.Values.Has("old_part") {
				o := stock.OldPart(f.Text("old_part"))
				m.OldPart = &o
			}
			return s.store.MovePart(r.Context(), c, id, m)
		})
	}
}

// changePart runs a change of one part and answers for it; what names the form to show again when it is refused.
func (s *Room) changePart(w http.ResponseWriter, r *http.Request, what string, do func(*page.Form, store.Change,
	int64) error) error {
	f, c, err := s.ChangeForm(w, r)
	if err != nil {
		return err
	}
	id, err := page.PathID(r, "id")
	if err != nil {
		return err
	}
	err = do(f, c, id)
	if errors.Is(err, stock.ErrMove) {
		f.Fail("", "The part is no longer where it was: look where it stands now.")
		err = nil
	}
	return s.Settle(w, r, sheet.Ending{Form: f, Change: c, Err: err,
		To:      view.DocketURL(c.Number.String(), "parts") + "#part-" + strconv.FormatInt(id, 10),
		Changed: s.partClash(w, r, f, id, err),
		Again:   func(status int) error { return s.renderParts(w, r, status, partsTyped{form: f, id: id, what: what}) }})
}

// partClash shows a correction that was put together as far as it goes with what somebody else corrected meanwhile, and
// theirs beside what both changed. It is nil for whatever else stands against the change.
func (s *Room) partClash(w http.ResponseWriter, r *http.Request, f *page.Form, id int64, err error) func() error {
	var clash *store.PartClash
	if !errors.As(err, &clash) {
		return nil
	}
	return func() error {
		f.Values.Set("version", page.Itoa64(clash.Version))
		setPart(f, clash.Merged)
		for _, name := range clash.Clashes {
			f.Fail(name, s.TheirsWords(r, clash.Changed[name], clash.Theirs.FieldWords(name)))
		}
		return s.renderParts(w, r, http.StatusConflict, partsTyped{form: f, id: id, what: "correct"})
	}
}

func (s *Room) showOutstanding(w http.ResponseWriter, r *http.Request) error {
	return s.renderOutstanding(w, r, http.StatusOK, page.EmptyForm())
}

func (s *Room) renderOutstanding(w http.ResponseWriter, r *http.Request, status int, f *page.Form) error {
	q := r.URL.Query()
	filter := store.OutstandingFilter{State: stock.Ordered, Supplier: q.Get("supplier")}
	if q.Get("state") == string(stock.Needed) {
		filter.State = stock.Needed
	}
	if typed := q.Get("after"); typed != "" {
		var err error
		if filter.After, err = strconv.ParseInt(typed, 10, 64); err != nil || filter.After < 0 {
			return page.BadRequest(fmt.Errorf("after: %q is no part", typed))
		}
	}
	list, err := s.store.OutstandingParts(r.Context(), filter)
	if err != nil {
		return err
	}
	v := outstandingView{Form: f.View(), Needed: filter.State == stock.Needed, Supplier: filter.Supplier,
		State:  string(filter.State),
		Action: r.URL.RequestURI()}
	for _, c := range list.Suppliers {
		v.Suppliers = append(v.Suppliers, supplierView{Name: c.Supplier, Parts: c.Parts,
			Current: c.Supplier == filter.Supplier,
			Href:    outstandingURL(filter.State, c.Supplier, 0)})
	}
	v.AllHref = outstandingURL(filter.State, "", 0)
	v.OrderedHref, v.NeededHref = outstandingURL(stock.Ordered, filter.Supplier, 0), outstandingURL(stock.Needed,
		filter.Supplier, 0)
	for _, p := range list.Parts {
		number := p.Number.String()
		v.Parts = append(v.Parts, outstandingPartView{Key: number + ":" + strconv.FormatInt(p.ID, 10),
			Description: p.Description, Reference: p.Reference,
			Supplier: p.Supplier, Quantity: strconv.Itoa(p.Quantity), Since: s.Day(r, s.CivilDayOf(r, p.Since)), Number: number,
			Href: view.DocketURL(number, "parts"), Watch: p.Watch, Customer: p.Customer, Gone: p.Gone, Free: freeWords(p.Free),
			Ticked: filter.Supplier != "" && f.OK() || slices.Contains(f.Values["part"], number+":"+strconv.FormatInt(p.ID,
				10))})
	}
	if filter.After > 0 {
		v.Pager.Newer, v.Pager.NewerText = outstandingURL(filter.State, filter.Supplier, 0), "From the beginning"
	}
	if list.More {
		v.Pager.Older, v.Pager.OlderText = outstandingURL(filter.State, filter.Supplier, list.Parts[len(list.Parts)-1].ID),
			"Further"
	}
	return page.Render(w, r, status, outstandingParts(s.Page(r, "Parts outstanding"), v))
}

// freeWords say how many are free in the drawer; "" for a part that is not of the catalogue.
func freeWords(free *int) string {
	if free == nil {
		return ""
	}
	return strconv.Itoa(max(*free, 0)) + " free in the drawer"
}

// bookIn books in the parts ticked on the list of what is outstanding.
func (s *Room) bookIn(w http.ResponseWriter, r *http.Request) error {
	f, err := page.ReadForm(w, r)
	if err != nil {
		return err
	}
	var keys []store.PartKey
	for _, typed := range f.Values["part"] {
		number, id, _ := strings.Cut(typed, ":")
		n, errN := docket.ParseNumber(number)
		i, errI := strconv.ParseInt(id, 10, 64)
		if errN != nil || errI != nil {
			return page.BadRequest(errors.Join(errN, errI))
		}
		keys = append(keys, store.PartKey{Number: n, ID: i})
	}
	switch {
	case len(keys) == 0:
		f.Fail("part", "Tick the parts that have come.")
	case len(keys) > store.OutstandingPage:
		return page.BadRequest(errors.New("more parts than a page shows"))
	}
	if !f.OK() {
		return s.renderOutstanding(w, r, http.StatusUnprocessableEntity, f)
	}
	n, err := s.store.ArriveParts(r.Context(), page.Actor(r), s.Now(), keys)
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
	s.Say(r.Context(), said)
	return page.SeeOther(w, r, outstandingURL(stock.Ordered, r.URL.Query().Get("supplier"), 0))
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
