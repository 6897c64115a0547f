package orders

import (
	"net/http"
	"strconv"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/ledger"
	"ledgerwheel/domain/purchase"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/sheet"
)

// typedLot reads a lot as a form has it, behind the name of each field.
func typedLot(f *page.Form, behind string) ledger.Lot {
	l := ledger.Lot{Number: f.Text("lot" + behind)}
	if f.Text("made_on"+behind) != "" {
		l.MadeOn = f.Day("made_on" + behind)
	}
	if f.Text("usable_to"+behind) != "" {
		l.UsableTo = f.Day("usable_to" + behind)
	}
	return l
}

// came writes down a delivery: of each line, the pieces that came.
func (s *Room) came(w http.ResponseWriter, r *http.Request) error {
	f, c, err := s.changeOf(w, r)
	if err != nil {
		return err
	}
	var list []store.Happening
	for _, typed := range f.Values["line"] {
		id, err := strconv.ParseInt(typed, 10, 64)
		if err != nil {
			return page.BadRequest(err)
		}
		if f.Text("pieces."+typed) == "" || f.Text("pieces."+typed) == "0" {
			continue
		}
		list = append(list, store.Happening{Event: purchase.Event{Kind: purchase.Came, LineID: id, Pieces: f.Int("pieces." + typed)}, Lot: typedLot(f, "."+typed)})
	}
	if len(list) == 0 && f.OK() {
		first := ""
		if typed := f.Text("line"); typed != "" {
			first = "pieces." + typed
		}
		f.Fail(first, "Say of at least one line how many pieces came.")
	}
	if f.OK() {
		err = s.store.WriteDown(r.Context(), c, list)
	}
	return s.settle(w, r, formCame, f, err, "What came is written down.")
}

// cameWrong writes down pieces that came in place of a line's, or that nobody ordered.
func (s *Room) cameWrong(w http.ResponseWriter, r *http.Request) error {
	f, c, err := s.changeOf(w, r)
	if err != nil {
		return err
	}
	h := store.Happening{Event: purchase.Event{Kind: purchase.CameWrong, LineID: f.ID("line"), Pieces: f.Int("pieces"), Note: f.Text("note"),
		Fate: purchase.Fate(f.Text("fate"))}, Lot: typedLot(f, "")}
	if h.LineID == 0 {
		h.Kind = purchase.Unordered
	}
	if h.PartID, err = s.drawerOf(r, f, h.Fate); err != nil {
		return err
	}
	if f.OK() {
		err = plainFields(s.store.WriteDown(r.Context(), c, []store.Happening{h}), h.LineID)
	}
	return s.settle(w, r, formWrong, f, err, "What came instead is written down.")
}

// drawerOf is the part of the catalogue that was typed for what goes into the drawer; 0 for what goes elsewhere.
func (s *Room) drawerOf(r *http.Request, f *page.Form, fate purchase.Fate) (int64, error) {
	if fate != purchase.IntoStock {
		return 0, nil
	}
	found, err := s.store.Catalogue(r.Context(), f.Text("drawer"), "", false)
	if err != nil {
		return 0, err
	}
	p, _, ok := ledger.Chosen(found.Plain(), f.Text("drawer"))
	if f.Text("drawer") == "" || !ok {
		f.Fail("drawer", "Give the number of the part that it is, as the catalogue has it.")
	}
	return p.ID, nil
}

// settleKept writes down what became of pieces that were kept aside.
func (s *Room) settleKept(w http.ResponseWriter, r *http.Request) error {
	f, c, err := s.changeOf(w, r)
	if err != nil {
		return err
	}
	h := store.Happening{Event: purchase.Event{Kind: purchase.Settled, OfID: f.ID("of"), Pieces: f.Int("pieces"), Fate: purchase.Fate(f.Text("fate"))}, Lot: typedLot(f, "")}
	if h.OfID == 0 {
		f.Fail("of", "Say of which pieces.")
	}
	if h.PartID, err = s.drawerOf(r, f, h.Fate); err != nil {
		return err
	}
	if f.OK() {
		o, err := s.store.Order(r.Context(), c.ID)
		if err != nil {
			return err
		}
		for _, e := range o.Kept() {
			if e.ID == h.OfID {
				h.LineID = e.LineID
			}
		}
		return s.settle(w, r, formKept, f, plainFields(s.store.WriteDown(r.Context(), c, []store.Happening{h}), h.LineID), "What became of it is written down.")
	}
	return s.settle(w, r, formKept, f, nil, "")
}

// miscounted puts a delivery right that was booked in with more than came.
func (s *Room) miscounted(w http.ResponseWriter, r *http.Request) error {
	f, c, err := s.changeOf(w, r)
	if err != nil {
		return err
	}
	m := store.Miscount{LineID: f.ID("line"), Pieces: f.Int("pieces"), Lot: f.Text("lot"), Why: f.Text("note")}
	if m.LineID == 0 {
		f.Fail("line", "Say of which line.")
	}
	if f.OK() {
		err = s.store.PutRight(r.Context(), c, m)
	}
	return s.settle(w, r, formCount, f, err, "The delivery is put right.")
}

// heard writes down what the supplier says: the day, a back order, or that pieces are not to come.
func (s *Room) heard(w http.ResponseWriter, r *http.Request) error {
	f, c, err := s.changeOf(w, r)
	if err != nil {
		return err
	}
	e := purchase.Event{Kind: purchase.EventKind(f.Text("kind")), LineID: f.ID("line")}
	switch e.Kind {
	case purchase.Confirmed, purchase.BackOrdered:
		if f.Text("due_on") != "" {
			e.DueOn = f.Day("due_on")
		} else if e.Kind == purchase.Confirmed {
			f.Fail("due_on", "Give the day that the supplier names.")
		}
	case purchase.Cancelled:
		e.Pieces = f.Int("pieces")
	default:
		f.Fail("kind", "Say what the supplier says.")
	}
	if e.LineID == 0 && e.Kind != purchase.Confirmed {
		f.Fail("line", "Say of which line.")
	}
	if f.OK() {
		err = plainFields(s.store.WriteDown(r.Context(), c, []store.Happening{{Event: e}}), e.LineID)
	}
	return s.settle(w, r, formHeard, f, err, "What the supplier says is written down.")
}

// promise says the day for which a docket's watch is promised, now that its parts came or are late.
func (s *Room) promise(w http.ResponseWriter, r *http.Request) error {
	f, err := page.ReadForm(w, r)
	if err != nil {
		return err
	}
	n, err := docket.ParseNumber(f.Text("docket"))
	if err != nil {
		return page.BadRequest(err)
	}
	day := f.Day("promised_on")
	c := store.Change{Number: n, Version: f.ID("docket_version"), By: page.Actor(r), At: s.Now(), Tell: sheet.ReadTell(f)}
	if f.OK() {
		err = s.store.Promise(r.Context(), c, day)
	}
	return s.settle(w, r, formPromise, f, err, n.String()+" is promised for "+s.Day(r, day)+".")
}
