package handover

import (
	"errors"
	"fmt"
	"net/http"
	"strconv"
	"strings"

	"github.com/go-chi/chi/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/visit"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/sheet"
	"ledgerwheel/web/view"
)

func (s *Room) togetherRoutes() []page.Route {
	return []page.Route{
		page.Get("/visits/{visit}/hand-over", page.Needs(staff.ViewDockets), s.showTogether),
		page.Post("/visits/{visit}/hand-over", page.Needs(staff.HandOver), s.handOverTogether),
		page.Get("/visits/{visit}/hand-over/sum", page.Needs(staff.TakePayment), s.saySum),
		page.Get("/visits/{visit}/papers/receipt", page.Needs(staff.PrintPapers), s.showVisitReceipt),
		page.Get("/visits/{visit}/papers/receipt.pdf", page.Needs(staff.PrintPapers), s.sendVisitReceipt),
		page.Get("/visits/{visit}/papers/cards", page.Needs(staff.PrintCard), s.showVisitCards),
	}
}

// togetherURL is where the watches of a visit are handed over, in their papers' words below it.
func togetherURL(n visit.Number) string { return sheet.VisitURL(n) + "/hand-over" }

// alone asks for the sheet of one docket of a visit, its money too, where the others could go with it.
const alone = "alone"

// leaving reads the watches of the visit that the address names. The error wraps domain.ErrNotFound.
func (s *Room) leaving(r *http.Request) (store.VisitLeaving, error) {
	n, err := visit.Parse(chi.URLParam(r, "visit"))
	if err != nil {
		return store.VisitLeaving{}, fmt.Errorf("%w: %w", domain.ErrNotFound, err)
	}
	return s.store.VisitLeaving(r.Context(), n)
}

// toOne leads to the page of the only docket of a visit; one that was brought alone has pages of its own.
func toOne(w http.ResponseWriter, r *http.Request, v store.VisitLeaving, slug string) error {
	return page.SeeOther(w, r, view.DocketURL(v.Sheets[0].Head.Docket.Number.String(), slug))
}

func (s *Room) showTogether(w http.ResponseWriter, r *http.Request) error {
	v, err := s.leaving(r)
	if err != nil {
		return err
	}
	if len(v.Sheets) == 1 {
		return toOne(w, r, v, "hand-over")
	}
	return s.renderTogether(w, r, http.StatusOK, v, nil)
}

// handOverTogether has the watches that are ticked leave against one payment, all or none.
func (s *Room) handOverTogether(w http.ResponseWriter, r *http.Request) error {
	f, err := page.ReadForm(w, r)
	if err != nil {
		return err
	}
	v, err := s.leaving(r)
	if err != nil {
		return err
	}
	if f.Text("do") == doCheck {
		return s.checkTogether(w, r, f, v)
	}
	in, err := s.readTogether(r, f, v)
	if err != nil {
		return err
	}
	if !f.OK() {
		return s.renderTogether(w, r, http.StatusUnprocessableEntity, v, f)
	}
	status := http.StatusUnprocessableEntity
	switch err = s.store.HandOverTogether(r.Context(), in); {
	case errors.Is(err, domain.ErrChanged) && f.Takes(err):
		// What others did is looked at before it is ticked again.
		for _, g := range in.Going {
			if name := "go-" + g.Number.String(); f.Problems[name] != "" {
				f.Values.Del(name)
				f.Values.Del("version-" + g.Number.String())
			}
		}
		status = http.StatusConflict
	case err != nil && !f.Takes(err):
		return err
	}
	if f.OK() {
		s.Say(r.Context(), s.leftWords(r, v, in))
		return page.SeeOther(w, r, togetherURL(v.ID))
	}
	if v, err = s.store.VisitLeaving(r.Context(), v.ID); err != nil {
		return err
	}
	return s.renderTogether(w, r, status, v, f)
}

// leftWords say who took how many, and what goes back of the money.
func (s *Room) leftWords(r *http.Request, v store.VisitLeaving, in store.Together) string {
	said := "The watch has"
	if n := len(in.Going); n > 1 {
		said = strconv.Itoa(n) + " watches have"
	}
	said += " left the shop with " + in.Leaving.CollectedBy + "."
	code := v.Sheets[0].Head.Docket.Currency
	if paid, bad := in.Leaving.Pay.Settle(dueOf(ticked(v, in.Going)), code); len(bad) == 0 && paid.ChangeMinor > 0 {
		said = "Change to give: " + formatMoney(r, paid.ChangeMinor, code) + ". " + said
	}
	return said
}

// checkTogether says whose ticket it is, and shows the form as it was typed, with the sum of what is ticked.
func (s *Room) checkTogether(w http.ResponseWriter, r *http.Request, f *page.Form, v store.VisitLeaving) error {
	if typed := f.Text("ticket"); typed != "" {
		why, err := s.store.VisitTicketProblem(r.Context(), v, typed)
		if err != nil {
			return err
		}
		if why != "" {
			f.Fail("ticket", why)
		}
	}
	return s.renderTogether(w, r, http.StatusOK, v, f)
}

// readTogether reads which watches go, and what is said once for all of them.
func (s *Room) readTogether(r *http.Request, f *page.Form, v store.VisitLeaving) (store.Together, error) {
	in := store.Together{Visit: v.ID, Reason: f.Text("reason"), By: page.Actor(r), At: s.Now(),
		Leaving: docket.Leaving{CollectedBy: f.Text("collected_by"), Ticket: f.Text("ticket"), Shown: docket.Shown(f.Text("shown")),
			Done: f.Values["done"], Identity: f.Text("identity"), IssueCard: f.Checked("card"),
			Pay: readTender(f, v.Sheets[0].Head.Docket.Currency, page.LocaleOf(r))}}
	if seen := f.Text("due"); seen != "" {
		minor, err := strconv.ParseInt(seen, 10, 64)
		if err != nil {
			return in, page.BadRequest(err)
		}
		in.SeenDueMinor = &minor
	}
	for name := range f.Values {
		typed, ok := strings.CutPrefix(name, "go-")
		if !ok || !f.Checked(name) {
			continue
		}
		n, err := docket.ParseNumber(typed)
		if err != nil {
			return in, page.BadRequest(err)
		}
		g := store.Going{Number: n, OldParts: docket.OldParts(f.Text("old_parts-" + typed))}
		if g.Version, err = strconv.ParseInt(f.Text("version-"+typed), 10, 64); err != nil {
			return in, page.BadRequest(fmt.Errorf("the form needs the version of %s that was seen: %w", n, err))
		}
		in.Going = append(in.Going, g)
	}
	return in, nil
}

// ticked are the sheets of those that go.
func ticked(v store.VisitLeaving, going []store.Going) (list []store.HandOverSheet) {
	for _, sheet := range v.Sheets {
		for _, g := range going {
			if g.Number == sheet.Head.Docket.Number {
				list = append(list, sheet)
			}
		}
	}
	return list
}

// dueOf is what is to be paid for these, in minor units.
func dueOf(sheets []store.HandOverSheet) int64 {
	var dues []int64
	for _, sheet := range sheets {
		dues = append(dues, sheet.Head.Facts.DueMinor)
	}
	return docket.DueOf(dues)
}

// saySum says what is due for the watches that are ticked, and what goes back of what is typed: pieces of the page.
func (s *Room) saySum(w http.ResponseWriter, r *http.Request) error {
	v, err := s.leaving(r)
	if err != nil {
		return err
	}
	f := page.EmptyForm()
	f.Values = r.URL.Query()
	code := v.Sheets[0].Head.Docket.Currency
	var going []store.Going
	for _, sheet := range v.Sheets {
		if n := sheet.Head.Docket.Number; f.Checked("go-" + n.String()) {
			going = append(going, store.Going{Number: n})
		}
	}
	due := dueOf(ticked(v, going))
	return page.Render(w, r, http.StatusOK, sums(s.sumView(r, due, code), s.changeWords(r, f, due, code)))
}

// changeWords say what goes back of what is typed so far, or what is still missing; "" while nothing is counted.
func (s *Room) changeWords(r *http.Request, f *page.Form, due int64, code string) string {
	t := readTender(f, code, page.LocaleOf(r))
	if t.Given+t.Card+t.Transfer+t.Other == 0 && f.OK() {
		return ""
	}
	paid, bad := t.Settle(due, code)
	f.FailAll(bad)
	return firstProblem(f, "Change: "+formatMoney(r, paid.ChangeMinor, code)+".")
}

func (s *Room) sumView(r *http.Request, due int64, code string) sumView {
	return sumView{Due: formatMoney(r, due, code), Minor: strconv.FormatInt(due, 10)}
}
