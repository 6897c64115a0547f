package regulation

import (
	"errors"
	"net/http"

	"ledgerwheel/domain"
	"ledgerwheel/domain/timing"
	"ledgerwheel/web/page"
	"ledgerwheel/web/runs"
)

// newGrade opens the form of a grade of the shop's own, filled in from the grade that the query names, if any.
func (s *Room) newGrade(w http.ResponseWriter, r *http.Request) error {
	f := page.EmptyForm()
	positions := timing.Positions()
	if from := r.URL.Query().Get("from"); from != "" {
		versions, err := s.store.GradeLimits(r.Context(), from)
		if err != nil {
			return err
		}
		runs.Fill(f, versions[0].Limits.Typed())
		f.Values.Del("name")
		positions = versions[0].Limits.Needed()
	}
	for _, p := range positions {
		f.Values.Add("positions", string(p))
	}
	return s.renderNewGrade(w, r, http.StatusOK, f)
}

func (s *Room) renderNewGrade(w http.ResponseWriter, r *http.Request, status int, f *page.Form) error {
	v := limitsForm(f, publishView{Over: "Rate limits", Title: "A grade of your own", Version: "1", Save: "Add the grade",
		Lede:   "Calibres can be judged by it, and any docket. Its figures are corrected by publishing a new version.",
		Action: "/rate-limits/new", Back: "/rate-limits"})
	return page.Render(w, r, status, publishLimits(s.Page(r, "A new grade"), v))
}

func (s *Room) addGrade(w http.ResponseWriter, r *http.Request) error {
	f, err := page.ReadForm(w, r)
	if err != nil {
		return err
	}
	positions, err := readPositions(f)
	if err != nil {
		return err
	}
	l, problems := timing.ParseRateLimits(timing.GradeKey(f.Text("name"), nil), 1, f.Text, positions)
	f.FailAll(problems)
	if !f.OK() {
		return s.renderNewGrade(w, r, http.StatusUnprocessableEntity, f)
	}
	key, err := s.store.AddGrade(r.Context(), l, page.Actor(r), s.Now())
	switch {
	case errors.Is(err, domain.ErrChanged):
		f.Fail("name", timing.GradeNameTaken)
		return s.renderNewGrade(w, r, http.StatusConflict, f)
	case err != nil && f.Takes(err):
		return s.renderNewGrade(w, r, http.StatusUnprocessableEntity, f)
	case err != nil:
		return err
	}
	s.Say(r.Context(), "The grade "+l.Name+" is added.")
	return page.SeeOther(w, r, "/rate-limits/"+key)
}
