package uncollected

import (
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/uncollected"
	"ledgerwheel/web/page"
	"ledgerwheel/web/view"
)

func (s *Room) profileRoutes() []page.Route {
	return []page.Route{
		page.Get("/place-profile", page.Needs(staff.ManageSettings), s.showProfile),
		page.Post("/place-profile", page.Needs(staff.ManageSettings), s.confirm),
	}
}

func (s *Room) showProfile(w http.ResponseWriter, r *http.Request) error {
	return s.renderProfile(w, r, http.StatusOK, nil)
}

// confirm keeps the profile that was chosen, with the waits as the owner types them where it is their own.
func (s *Room) confirm(w http.ResponseWriter, r *http.Request) error {
	f, err := page.ReadForm(w, r)
	if err != nil {
		return err
	}
	p, ok := uncollected.ProfileOf(uncollected.Key(f.Text("profile")))
	switch {
	case f.Text("profile") == string(uncollected.Own):
		p = readOwn(f)
		f.FailAll(p.Problems())
	case !ok:
		f.Fail("profile", "Choose a profile.")
	}
	if !f.Checked("checked") {
		f.Fail("checked", "Hold the numbers against the law of your place first, and say here that you did.")
	}
	if f.OK() {
		if err := s.store.ConfirmProfile(r.Context(), p, page.Actor(r), s.Now()); err != nil && !f.Takes(err) {
			return err
		}
	}
	if !f.OK() {
		return s.renderProfile(w, r, http.StatusUnprocessableEntity, f)
	}
	s.Say(r.Context(), "The profile is confirmed: days are counted by it from now on.")
	return page.SeeOther(w, r, "/place-profile")
}

// spans are the waits of a profile of one's own, by the first part of their fields.
func spans(p *uncollected.Profile) map[string]*uncollected.Span {
	return map[string]*uncollected.Span{"collect": &p.Collect, "wait": &p.Wait, "notice": &p.Notice, "unowed": &p.Unowed}
}

func readOwn(f *page.Form) uncollected.Profile {
	p := uncollected.Profile{Key: uncollected.Own, Place: f.Text("place"), Source: f.Text("source"), Form: f.Text("form")}
	for name, span := range spans(&p) {
		for part, number := range map[string]*int{"-months": &span.Months, "-days": &span.Days} {
			if f.Text(name+part) != "" {
				*number = f.Int(name + part)
			}
		}
	}
	return p.Tidied()
}

func (s *Room) renderProfile(w http.ResponseWriter, r *http.Request, status int, typed *page.Form) error {
	confirmed, err := s.store.PlaceProfile(r.Context())
	if err != nil {
		return err
	}
	v := profileView{NoAdvice: uncollected.NoAdvice, Standing: "No profile is confirmed: days are counted, and nothing is concluded from them."}
	values := url.Values{"profile": {string(confirmed.Profile.Key)}}
	if confirmed.Confirmed() {
		v.Standing = confirmed.Profile.Place + ", confirmed by " + confirmed.By + " on " + s.Moment(r, confirmed.At) + "."
	}
	if own := confirmed.Profile; own.Key == uncollected.Own {
		values.Set("place", own.Place)
		values.Set("source", own.Source)
		values.Set("form", own.Form)
		for name, span := range spans(&own) {
			setNumber(values, name+"-months", span.Months)
			setNumber(values, name+"-days", span.Days)
		}
	}
	form := view.Form{Values: values}
	if typed != nil {
		form = typed.View()
	}
	v.Problems = form.Problems
	v.Choice = form.Field("profile", "Profile of the place").Need()
	for _, p := range uncollected.Profiles() {
		v.Choice.Options = append(v.Choice.Options, view.Option{Value: string(p.Key), Text: p.Place, Hint: profileWords(p)})
	}
	v.Choice.Options = append(v.Choice.Options, view.Option{Value: string(uncollected.Own), Text: "Our own",
		Hint: "The waits that you type below."})
	v.Own = []view.Field{form.Field("place", "Place").WithWidth(view.Third), form.Field("source", "The law, or who told you").WithWidth(view.Third),
		form.Field("form", "How the formal notice goes").WithWidth(view.Third)}
	for _, o := range []struct{ name, label string }{{"collect", "First reminder after"}, {"wait", "Formal notice after"},
		{"notice", "Formal notice runs"}, {"unowed", "Runs where nothing is owed"}} {
		v.Own = append(v.Own, form.Field(o.name+"-months", o.label+", months").WithUnit("months").WithWidth(view.Quarter),
			form.Field(o.name+"-days", o.label+", days").WithUnit("days").WithWidth(view.Quarter))
	}
	v.Checked = form.Field("checked", "I have held these numbers against the law of our place")
	return page.Render(w, r, status, placeProfile(s.Page(r, "Uncollected watches"), v))
}

func setNumber(values url.Values, name string, n int) {
	if n != 0 {
		values.Set(name, strconv.Itoa(n))
	}
}

// profileWords say a profile in a few sentences, with its source and what of it comes from memory.
func profileWords(p uncollected.Profile) string {
	said := []string{"Formal notice after " + p.Wait.Words() + ", by " + p.Form + ", running for " + p.Notice.Words() + "."}
	if p.Unowed != p.Notice {
		said = append(said, "Where nothing is owed: "+p.Unowed.Words()+".")
	}
	said = append(said, p.Also...)
	said = append(said, "Source: "+p.Source+".")
	if p.Memory != "" {
		said = append(said, "From memory, to be checked first: "+p.Memory)
	}
	return strings.Join(said, " ")
}
