package stock

import (
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strconv"

	"ledgerwheel/domain"
	"ledgerwheel/domain/figure"
	"ledgerwheel/domain/ledger"
	"ledgerwheel/domain/money"
	"ledgerwheel/domain/staff"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/view"
)

func partURL(id int64, under string) string {
	if under != "" {
		under = "/" + under
	}
	return "/stock/" + page.Itoa64(id) + under
}

func (s *Room) showCatalogue(w http.ResponseWriter, r *http.Request) error {
	q := r.URL.Query()
	v := catalogueView{Typed: q.Get("q"), Short: q.Get("show") == "short", May: page.May(r, staff.ManageStock)}
	list, err := s.store.Catalogue(r.Context(), v.Typed, q.Get("after"), v.Short)
	if err != nil {
		return err
	}
	for _, p := range list.Parts {
		row := partRow{Number: p.Number, Name: p.Name, Href: partURL(p.ID, ""), Drawer: p.Drawer, Free: strconv.Itoa(p.Free()), Reserved: p.Reserved}
		if p.PriceMinor != nil {
			row.Price = money.Format(*p.PriceMinor, p.Currency, page.LocaleOf(r))
		}
		row.ToOrder = p.ToOrder(p.Free(), 0)
		v.Rows = append(v.Rows, row)
	}
	if page.May(r, staff.PrintPapers) {
		v.LabelsURL = underQuery("/stock/labels", q)
	}
	if list.More {
		next := url.Values{"after": {list.Parts[len(list.Parts)-1].Number}}
		for name, value := range map[string]string{"q": v.Typed, "show": q.Get("show")} {
			if value != "" {
				next.Set(name, value)
			}
		}
		v.MoreURL = "/stock?" + next.Encode()
	}
	return page.Render(w, r, http.StatusOK, cataloguePage(s.Page(r, "Stock"), v))
}

// The forms of a part's page.
const (
	formReceive = "receive"
	formCount   = "count"
	formTakeOut = "take-out"
)

func (s *Room) showPart(w http.ResponseWriter, r *http.Request) error {
	return s.renderPart(w, r, http.StatusOK, "", page.EmptyForm())
}

// renderPart shows a part's page; typed is the form of that name as it was refused.
func (s *Room) renderPart(w http.ResponseWriter, r *http.Request, status int, name string, typed *page.Form) error {
	id, err := page.PathID(r, "id")
	if err != nil {
		return err
	}
	before := int64(0)
	if typed := r.URL.Query().Get("before"); typed != "" {
		if before, err = strconv.ParseInt(typed, 10, 64); err != nil || before < 1 {
			return page.BadRequest(fmt.Errorf("before: %q is no move", typed))
		}
	}
	p, err := s.store.PartStock(r.Context(), id, before)
	if err != nil {
		return err
	}
	v := partView{Number: p.Number, Name: p.Name, URL: partURL(id, ""), Seq: page.Itoa64(p.Seq), Ages: p.Ages, Unit: p.Unit, May: page.May(r, staff.ManageStock) && !p.Ended,
		Problems: typed.Problems, Failed: name, Terms: s.partTerms(r, p), Receive: view.Form{}, Count: view.Form{}, TakeOut: view.Form{}}
	switch name {
	case formReceive:
		v.Receive = typed.View()
	case formCount:
		v.Count = typed.View()
	case formTakeOut:
		v.TakeOut = typed.View()
	}
	today := s.Today(r)
	for _, l := range p.Balance.Lots() {
		row := lotRow{ID: page.Itoa64(l.Lot), Pieces: l.Pieces, Number: "without a lot"}
		for _, known := range p.Lots {
			if known.ID == l.Lot {
				row.Number, row.Usable, row.Past = known.Number, s.Day(r, known.UsableTo), known.Past(today)
			}
		}
		v.Lots = append(v.Lots, row)
	}
	if p.Older > 0 {
		v.OlderURL = partURL(id, "") + "?before=" + page.Itoa64(p.Older)
	}
	for _, h := range p.Balance.Reservations() {
		v.Held = append(v.Held, heldRow{Docket: p.Held[h.DocketID], Pieces: h.Pieces})
	}
	for _, m := range p.Moves {
		v.Moves = append(v.Moves, moveRow{At: s.Moment(r, m.At), What: m.Kind.Words(), Pieces: signed(m.Move), Docket: m.Docket, Lot: m.LotNumber, By: m.By, Why: m.Why})
	}
	return page.Render(w, r, status, partPage(s.Page(r, p.Number), v))
}

// signed is how many pieces a move put into the drawer or took out of it; a reservation does neither.
func signed(m ledger.Move) string {
	switch m.Kind {
	case ledger.Fitted, ledger.SentBack, ledger.WrittenOff:
		return figure.Signed(-float64(m.Pieces), 0)
	case ledger.Reserved, ledger.Released:
		return "(" + strconv.Itoa(m.Pieces) + ")"
	}
	return figure.Signed(float64(m.Pieces), 0)
}

func (s *Room) partTerms(r *http.Request, p store.PartStock) []view.TermView {
	terms := []view.TermView{view.Term("In the drawer", strconv.Itoa(p.OnHand)), view.Term("Free", strconv.Itoa(p.Free()))}
	amount := func(term string, minor *int64) {
		if minor != nil {
			terms = append(terms, view.Term(term, money.Format(*minor, p.Currency, page.LocaleOf(r))))
		}
	}
	if p.Drawer != "" {
		terms = append(terms, view.Term("Place", p.Drawer))
	}
	amount("Costs the shop", p.CostMinor)
	amount("Costs the customer", p.PriceMinor)
	if p.ReorderAt != nil {
		said := "at " + strconv.Itoa(*p.ReorderAt) + ", up to " + strconv.Itoa(p.ReorderTo)
		if n := p.ToOrder(p.Free(), 0); n > 0 {
			said += ": order " + strconv.Itoa(n)
		}
		terms = append(terms, view.Term("Ordered again", said))
	}
	for _, f := range p.Fits {
		terms = append(terms, view.Term("Fits", f))
	}
	return terms
}

// after answers what a form of a part's page led to.
func (s *Room) after(w http.ResponseWriter, r *http.Request, name string, f *page.Form, err error, said string) error {
	if errors.Is(err, domain.ErrChanged) {
		f.Fail("pieces", "Something moved while you counted: look at the ledger, and count again.")
		return s.renderPart(w, r, http.StatusConflict, name, f)
	}
	if err != nil && !f.Takes(err) {
		return err
	}
	if !f.OK() {
		return s.renderPart(w, r, http.StatusUnprocessableEntity, name, f)
	}
	id, err := page.PathID(r, "id")
	if err != nil {
		return err
	}
	s.Say(r.Context(), said)
	return page.SeeOther(w, r, partURL(id, ""))
}

func (s *Room) receive(w http.ResponseWriter, r *http.Request) error {
	id, err := page.PathID(r, "id")
	if err != nil {
		return err
	}
	f, err := page.ReadForm(w, r)
	if err != nil {
		return err
	}
	pieces := f.Int("pieces")
	l := ledger.Lot{Number: f.Text("lot")}
	if f.Text("made_on") != "" {
		l.MadeOn = f.Day("made_on")
	}
	if f.Text("usable_to") != "" {
		l.UsableTo = f.Day("usable_to")
	}
	if f.OK() {
		err = s.store.ReceiveStock(r.Context(), id, pieces, l, s.Today(r), page.Actor(r), s.Now())
	}
	return s.after(w, r, formReceive, f, err, "Received: the ledger has it.")
}

// count books a stocktake: of each lot that the page listed, what was counted.
func (s *Room) count(w http.ResponseWriter, r *http.Request) error {
	id, err := page.PathID(r, "id")
	if err != nil {
		return err
	}
	f, err := page.ReadForm(w, r)
	if err != nil {
		return err
	}
	var counts []ledger.Count
	for _, lot := range f.Values["lots"] {
		n, err := strconv.ParseInt(lot, 10, 64)
		if err != nil {
			return page.BadRequest(err)
		}
		counts = append(counts, ledger.Count{Lot: n, Pieces: f.Int("counted." + lot), Why: f.Text("why")})
	}
	if f.OK() {
		err = s.store.CountStock(r.Context(), id, counts, f.ID("seen"), page.Actor(r), s.Now())
	}
	return s.after(w, r, formCount, f, err, "The count is booked.")
}

// takeOut writes pieces off, or notes that they went back to the supplier.
func (s *Room) takeOut(w http.ResponseWriter, r *http.Request) error {
	id, err := page.PathID(r, "id")
	if err != nil {
		return err
	}
	f, err := page.ReadForm(w, r)
	if err != nil {
		return err
	}
	m := ledger.Move{Kind: ledger.Kind(f.Text("kind")), Pieces: f.Int("pieces"), Lot: f.ID("lot"), Why: f.Text("out_why")}
	if !slices.Contains([]ledger.Kind{ledger.WrittenOff, ledger.SentBack}, m.Kind) {
		f.Fail("kind", "Say what became of them.")
	}
	if m.Pieces < 1 {
		f.Fail("pieces", "Give the number of pieces, 1 or more.")
	}
	if why := m.NeedsReason(); why != "" {
		f.Fail("out_why", why)
	}
	if f.OK() {
		err = s.store.MoveStock(r.Context(), id, []ledger.Move{m}, page.Actor(r), s.Now())
	}
	return s.after(w, r, formTakeOut, f, err, "Taken out: the ledger has it.")
}
