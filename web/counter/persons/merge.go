package persons

import (
	"errors"
	"net/http"
	"strconv"
	"strings"

	"ledgerwheel/domain"
	"ledgerwheel/domain/customer"
	"ledgerwheel/domain/staff"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/sheet"
	"ledgerwheel/web/view"
)

func (s *Room) mergeRoutes() []page.Route {
	return []page.Route{
		page.Get("/customers/{id}/merge", page.Needs(staff.MergeCustomers), s.showMerge),
		page.Post("/customers/{id}/merge", page.Needs(staff.MergeCustomers), s.merge),
	}
}

func mergeURL(id int64) string { return sheet.CustomerURL(id) + "/merge" }

// pair is two records laid side by side.
type pair struct {
	kept, other               customer.Customer
	keptVersion, otherVersion int64
}

func (s *Room) pair(r *http.Request, keptID, otherID int64) (p pair, err error) {
	if p.kept, p.keptVersion, err = s.store.Customer(r.Context(), keptID); err != nil {
		return p, err
	}
	p.other, p.otherVersion, err = s.store.Customer(r.Context(), otherID)
	return p, err
}

// showMerge asks which record, until one is chosen, and then which particulars to keep.
func (s *Room) showMerge(w http.ResponseWriter, r *http.Request) error {
	id, err := page.PathID(r, "id")
	if err != nil {
		return err
	}
	if into, err := s.store.MergedInto(r.Context(), id); err != nil {
		return err
	} else if into != 0 {
		return page.SeeOther(w, r, sheet.CustomerURL(into))
	}
	other, err := strconv.ParseInt(r.URL.Query().Get("other"), 10, 64)
	if err != nil || other == id {
		return s.chooseOther(w, r, id)
	}
	p, err := s.pair(r, id, other)
	if err != nil {
		return err
	}
	f := page.EmptyForm()
	for _, one := range customer.SideBySide(p.kept, p.other, phoneRegion(r)) {
		f.Values.Set(one.Field, string(one.Usual))
	}
	f.Values.Set("kept_version", strconv.FormatInt(p.keptVersion, 10))
	f.Values.Set("other_version", strconv.FormatInt(p.otherVersion, 10))
	return s.renderMerge(w, r, http.StatusOK, p, f, false)
}

// chooseOther lists records that may be of the same person, and whom a search finds.
func (s *Room) chooseOther(w http.ResponseWriter, r *http.Request, id int64) error {
	c, _, err := s.store.Customer(r.Context(), id)
	if err != nil {
		return err
	}
	v := chooseView{Name: c.Name, Action: mergeURL(id), Back: sheet.CustomerURL(id), Query: strings.TrimSpace(r.URL.Query().Get("q"))}
	region := phoneRegion(r)
	add := func(other customer.Customer, why string) {
		if other.ID != id {
			v.Others = append(v.Others, otherRow{Href: mergeURL(id) + "?other=" + strconv.FormatInt(other.ID, 10), Name: other.Name,
				Phone: other.PhoneIn(region), Email: other.Email, Why: why})
		}
	}
	if v.Query == "" {
		alike, err := s.store.AlikeCustomers(r.Context(), c)
		if err != nil {
			return err
		}
		for _, m := range alike {
			add(m.Customer, m.Reasons.Words())
		}
		return page.Render(w, r, http.StatusOK, choosePage(s.Page(r, "Merge records"), v))
	}
	found, _, err := s.store.FindCustomers(r.Context(), v.Query, region, store.CustomerPage)
	if err != nil {
		return err
	}
	for _, row := range found {
		add(row.Customer, customer.Likeness(c, row.Customer).Words())
	}
	return page.Render(w, r, http.StatusOK, choosePage(s.Page(r, "Merge records"), v))
}

func phoneRegion(r *http.Request) string {
	viewer, _ := page.ViewerOf(r.Context())
	return viewer.Shop.PhoneRegion
}

func (s *Room) renderMerge(w http.ResponseWriter, r *http.Request, status int, p pair, f *page.Form, changed bool) error {
	v := mergeView{Form: f.View(), Name: p.kept.Name, Action: mergeURL(p.kept.ID), Back: sheet.CustomerURL(p.kept.ID),
		Swap: mergeURL(p.other.ID) + "?other=" + strconv.FormatInt(p.kept.ID, 10), Other: strconv.FormatInt(p.other.ID, 10),
		KeptID: strconv.FormatInt(p.kept.ID, 10), Changed: changed}
	for _, one := range customer.SideBySide(p.kept, p.other, phoneRegion(r)) {
		if !one.Differs() {
			v.Same = append(v.Same, view.Term(one.Label, one.Kept))
			continue
		}
		field := f.View().Field(one.Field, one.Label).WithOptions(
			view.Option{Value: string(customer.OfKept), Text: sideWords(one.Kept), Hint: "this record"},
			view.Option{Value: string(customer.OfOther), Text: sideWords(one.Other), Hint: "the other record"})
		if one.Both {
			field.Options = append(field.Options, view.Option{Value: string(customer.OfBoth), Text: "Both, one below the other"})
		}
		v.Differ = append(v.Differ, field)
	}
	return page.Render(w, r, status, mergePage(s.Page(r, "Merge records"), v))
}

func sideWords(said string) string {
	if said == "" {
		return "nothing"
	}
	return said
}

func (s *Room) merge(w http.ResponseWriter, r *http.Request) error {
	f, err := page.ReadForm(w, r)
	if err != nil {
		return err
	}
	id, err := page.PathID(r, "id")
	if err != nil {
		return err
	}
	m := store.Merging{Kept: id, Other: f.ID("other"), KeptVersion: f.ID("kept_version"), OtherVersion: f.ID("other_version"),
		Why: f.Text("why"), By: page.Actor(r), At: s.Now(), Sides: map[string]customer.Side{}}
	p, err := s.pair(r, id, m.Other)
	if err != nil {
		return err
	}
	for _, one := range customer.SideBySide(p.kept, p.other, phoneRegion(r)) {
		if one.Differs() {
			m.Sides[one.Field] = customer.Side(f.Text(one.Field))
		}
	}
	c, bad := customer.Merged(p.kept, p.other, m.Sides)
	f.FailAll(bad)
	if m.Why == "" {
		f.Fail("why", "Write why: it goes into the journal.")
	}
	if f.OK() {
		sure, err := s.Sure(w, r, f, view.SureView{Title: "Merge these two records?", Button: "Merge the records",
			Text: "All watches, dockets and messages of customer " + strconv.FormatInt(m.Other, 10) + " (" + p.other.Name + ") go over to customer " +
				strconv.FormatInt(id, 10) + ", who is called " + c.Name + " from now on. How both records read stays to be seen on the customer's page."})
		if !sure {
			return err
		}
		err = s.store.MergeCustomers(r.Context(), m)
		if errors.Is(err, domain.ErrChanged) {
			return s.mergeChanged(w, r, id, m.Other, f)
		}
		if err != nil && !f.Takes(err) {
			return err
		}
	}
	if !f.OK() {
		return s.renderMerge(w, r, http.StatusUnprocessableEntity, p, f, false)
	}
	s.Say(r.Context(), "The two records are one.")
	return page.SeeOther(w, r, sheet.CustomerURL(id))
}

// mergeChanged lays both records beside each other as they are now, since somebody changed one of them meanwhile.
func (s *Room) mergeChanged(w http.ResponseWriter, r *http.Request, id, other int64, f *page.Form) error {
	for _, one := range []int64{id, other} {
		if into, err := s.store.MergedInto(r.Context(), one); err != nil {
			return err
		} else if into != 0 {
			s.Say(r.Context(), "The two records were merged by somebody else.")
			return page.SeeOther(w, r, sheet.CustomerURL(into))
		}
	}
	p, err := s.pair(r, id, other)
	if err != nil {
		return err
	}
	f.Values.Set("kept_version", strconv.FormatInt(p.keptVersion, 10))
	f.Values.Set("other_version", strconv.FormatInt(p.otherVersion, 10))
	return s.renderMerge(w, r, http.StatusConflict, p, f, true)
}
