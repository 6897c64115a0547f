package stock

import (
	"errors"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"ledgerwheel/domain"
	"ledgerwheel/domain/figure"
	"ledgerwheel/domain/ledger"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
)

const stocktakeURL = "/stock/stocktake"

func (s *Room) showStocktake(w http.ResponseWriter, r *http.Request) error {
	return s.renderStocktake(w, r, http.StatusOK, r.URL.Query().Get("label"), 0, page.EmptyForm())
}

// renderStocktake shows the stocktake with the drawer whose label was scanned, if one was. typed is a form that was refused:
// of the drawer, or where explained is not 0 of the part whose difference was to be booked.
func (s *Room) renderStocktake(w http.ResponseWriter, r *http.Request, status int, label string, explained int64, typed *page.Form) error {
	label = strings.TrimSpace(label)
	t, err := s.store.Stocktake(r.Context(), label)
	if err != nil {
		return err
	}
	v := stocktakeView{Under: t.ID != 0, Problems: typed.Problems, Label: label, Counted: t.Counted, All: t.All}
	if t.ID != 0 {
		v.Begun = "Begun by " + t.BegunBy + " on " + s.Moment(r, t.BegunAt) + ". Leave it when you like: what is counted stays."
	}
	if t.Found != nil && t.ID != 0 {
		v.Drawer = drawerOf(*t.Found)
		v.Drawer.Form = page.EmptyForm().View()
		if explained == 0 {
			v.Drawer.Form = typed.View()
		}
	} else if label != "" && t.ID != 0 {
		v.Unknown = "No part has the label or number " + label + "."
	}
	if t.Next != nil {
		v.Next, v.NextURL = t.Next.Title(), stocktakeURL+"?"+url.Values{"label": {t.Next.Number}}.Encode()
		if t.Next.Drawer != "" {
			v.Next = t.Next.Drawer + ": " + v.Next
		}
	}
	for _, d := range t.Differ {
		row := differView{ID: page.Itoa64(d.Part.ID), Title: d.Part.Title(), Said: differWords(d), By: d.By + ", " + s.Moment(r, d.At),
			AgainURL: stocktakeURL + "?" + url.Values{"label": {ledger.LabelCode(d.Part.ID)}}.Encode(), Form: page.EmptyForm().View()}
		if d.Part.ID == explained {
			row.Form = typed.View()
		}
		v.Differ = append(v.Differ, row)
	}
	for _, d := range t.Lately {
		v.Lately = append(v.Lately, d.Part.Title()+": "+latelyWords(d))
	}
	return page.Render(w, r, status, stocktakePage(s.Page(r, "Stocktake"), v))
}

// drawerOf is the form of a drawer: each lot that lies in it by the book, or that the part has, is counted. The book's own
// numbers are not shown, so that nobody counts towards them (common practice).
func drawerOf(d store.DrawerToCount) *drawerView {
	v := &drawerView{ID: page.Itoa64(d.ID), Title: d.Title(), Drawer: d.Drawer, Unit: d.Unit, Seq: page.Itoa64(d.Seq), Counted: d.Counted}
	if !d.Ages || len(d.Lots) == 0 || d.Balance.InLot(0) > 0 {
		name := "Counted"
		if d.Ages && len(d.Lots) > 0 {
			name = "Without a lot"
		}
		v.Lots = append(v.Lots, drawerLot{"0", name})
	}
	for _, l := range d.Lots {
		if d.Balance.InLot(l.ID) > 0 || len(d.Balance.Lots()) == 0 {
			v.Lots = append(v.Lots, drawerLot{page.Itoa64(l.ID), "Lot " + l.Number})
		}
	}
	return v
}

// differWords say what was counted beside what the book had.
func differWords(d store.DrawerTaken) string {
	var said []string
	for i, t := range d.Taken {
		if t.Difference() == 0 {
			continue
		}
		words := strconv.Itoa(t.Pieces) + " counted, the book had " + strconv.Itoa(t.Book) + " (" + figure.Signed(float64(t.Difference()), 0) + ")"
		if d.Lots[i] != "" {
			words = "lot " + d.Lots[i] + ": " + words
		}
		said = append(said, words)
	}
	return strings.Join(said, "; ")
}

func latelyWords(d store.DrawerTaken) string {
	if !ledger.Differs(d.Taken) {
		sum := 0
		for _, t := range d.Taken {
			sum += t.Pieces
		}
		return strconv.Itoa(sum) + ", as the book has it"
	}
	return differWords(d)
}

func (s *Room) beginStocktake(w http.ResponseWriter, r *http.Request) error {
	return s.settleStocktake(w, r, "", 0, page.EmptyForm(), s.store.BeginStocktake(r.Context(), page.Actor(r), s.Now()), "The stocktake is begun: scan the first label.")
}

func (s *Room) endStocktake(w http.ResponseWriter, r *http.Request) error {
	return s.settleStocktake(w, r, "", 0, page.EmptyForm(), s.store.EndStocktake(r.Context(), page.Actor(r), s.Now()), "The stocktake is ended.")
}

// settleStocktake answers what a form of the stocktake led to.
func (s *Room) settleStocktake(w http.ResponseWriter, r *http.Request, label string, explained int64, f *page.Form, err error, said string) error {
	if errors.Is(err, domain.ErrChanged) {
		f.Fail("pieces", "Something moved while you counted: count again.")
		return s.renderStocktake(w, r, http.StatusConflict, label, explained, f)
	}
	if err != nil && !f.Takes(err) {
		return err
	}
	if !f.OK() {
		return s.renderStocktake(w, r, http.StatusUnprocessableEntity, label, explained, f)
	}
	s.Say(r.Context(), said)
	return page.SeeOther(w, r, stocktakeURL)
}

// countDrawer takes what was counted in a drawer.
func (s *Room) countDrawer(w http.ResponseWriter, r *http.Request) error {
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
		field := "counted." + lot
		if id, _ := ledger.ReadLabel(f.Text(field)); id != 0 {
			f.Fail(field, "That is a label. Count this drawer first, then scan the next.")
			f.Values.Set(field, "")
			continue
		}
		counts = append(counts, ledger.Count{Lot: n, Pieces: f.Int(field)})
	}
	id := f.ID("part")
	label := ledger.LabelCode(id)
	said := ""
	if f.OK() {
		var taken []ledger.Taken
		taken, err = s.store.CountDrawer(r.Context(), id, counts, f.ID("seen"), page.Actor(r), s.Now())
		if err == nil {
			said = "Counted, as the book has it."
			if ledger.Differs(taken) {
				said = "Counted. It is not what the book has: explain it below, now or at the end."
			}
		}
	}
	return s.settleStocktake(w, r, label, 0, f, err, said)
}

// bookTaken books a difference with its explanation.
func (s *Room) bookTaken(w http.ResponseWriter, r *http.Request) error {
	f, err := page.ReadForm(w, r)
	if err != nil {
		return err
	}
	id := f.ID("part")
	if f.OK() {
		err = s.store.BookTaken(r.Context(), id, f.Text("why"), page.Actor(r), s.Now())
	}
	return s.settleStocktake(w, r, "", id, f, err, "The difference is booked.")
}
