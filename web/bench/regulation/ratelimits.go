package web

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/go-chi/chi/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/text"
	"ledgerwheel/domain/timing"
	"ledgerwheel/store"
	"ledgerwheel/web/view"
)

type rateLimitsStore interface {
	NewestLimits(ctx context.Context) ([]store.LimitsVersion, error)
	GradeLimits(ctx context.Context, grade string) ([]store.LimitsVersion, error)
	PublishLimits(ctx context.Context, l timing.RateLimits, by store.Actor, at time.Time) error
}

// rateLimitsRoutes are the pages on which the shop's rate limits are explained and published.
func (s *Server) rateLimitsRoutes() []route {
	return []route{
		{http.MethodGet, "/rate-limits", needs(staff.ViewDockets), s.showGrades},
		{http.MethodGet, "/rate-limits/{grade}", needs(staff.ViewDockets), s.showGrade},
		{http.MethodGet, "/rate-limits/{grade}/new", needs(staff.ManageLimits), s.newLimits},
		{http.MethodPost, "/rate-limits/{grade}/new", needs(staff.ManageLimits), s.publishLimits},
	}
}

func (s *Server) showGrades(w http.ResponseWriter, r *http.Request) error {
	grades, err := s.store.NewestLimits(r.Context())
	if err != nil {
		return err
	}
	viewer, _ := viewerOf(r.Context())
	v := view.GradesView{Rule: judgingRule(viewer.Shop).String(), May: may(r, staff.ManageLimits)}
	for _, g := range grades {
		row := view.GradeRowView{Name: g.Limits.Name, Href: "/rate-limits/" + g.Limits.Grade, Version: "Version " + strconv.Itoa(g.Limits.Version),
			Made: s.madeWords(r, g), Reasons: g.Limits.Reasons, TestID: "grade-" + g.Limits.Grade}
		for _, c := range timing.Criteria() {
			if limit, set := g.Limits.Limit(c.Key); set {
				row.Limits = append(row.Limits, view.Term(text.Capital(limit.Label()), limit.Text()))
			}
		}
		v.Grades = append(v.Grades, row)
	}
	return render(w, r, http.StatusOK, view.Grades(s.page(r, "Rate limits"), v))
}

// madeWords says when a version was published and by whom.
func (s *Server) madeWords(r *http.Request, v store.LimitsVersion) string {
	if v.MadeBy == "" {
		return "came with the program"
	}
	return s.moment(r, v.MadeAt) + ", " + v.MadeBy
}

// gradeOf reads the versions of the grade that the address names, newest first.
func (s *Server) gradeOf(r *http.Request) ([]store.LimitsVersion, error) {
	return s.store.GradeLimits(r.Context(), chi.URLParam(r, "grade"))
}

func (s *Server) showGrade(w http.ResponseWriter, r *http.Request) error {
	versions, err := s.gradeOf(r)
	if err != nil {
		return err
	}
	shown := versions[0]
	if typed := r.URL.Query().Get("version"); typed != "" {
		at := slices.IndexFunc(versions, func(v store.LimitsVersion) bool { return strconv.Itoa(v.Limits.Version) == typed })
		if at < 0 {
			return domain.ErrNotFound
		}
		shown = versions[at]
	}
	return render(w, r, http.StatusOK, view.Grade(s.page(r, "Rate limits: "+shown.Limits.Name), s.gradeView(r, shown, versions)))
}

func (s *Server) gradeView(r *http.Request, shown store.LimitsVersion, versions []store.LimitsVersion) view.GradeView {
	l := shown.Limits
	v := view.GradeView{Name: l.Name, Version: "Version " + strconv.Itoa(l.Version), Made: s.madeWords(r, shown), Reasons: l.Reasons,
		Positions: positionsNeeded(l), Shipped: shown.MadeBy == ""}
	if newest := versions[0]; newest.ID != shown.ID {
		v.Newest, v.NewestHref = "version "+strconv.Itoa(newest.Limits.Version), "/rate-limits/"+l.Grade
	}
	for _, c := range timing.Criteria() {
		row := view.GradeLimitView{Label: text.Capital(c.Label), Bounds: "not judged", TestID: "limit-" + keySlug(c.Key)}
		if limit, set := l.Limit(c.Key); set {
			row.Bounds, row.Reason = limit.Text(), limit.Reason
		}
		v.Limits = append(v.Limits, row)
	}
	v.Versions = view.DataView{TableView: view.TableView{ID: "version-list", Caption: "Versions, newest first", HideCaption: true, TestID: "versions"},
		Columns: []view.Column{{Text: "version"}, {Text: "published"}, {Text: "what changed"}}, Stack: true}
	for i, old := range versions {
		changes := "the first version"
		if i+1 < len(versions) {
			changes = cmp.Or(strings.Join(timing.LimitChanges(versions[i+1].Limits, old.Limits), "; "), "nothing")
		}
		v.Versions.Rows = append(v.Versions.Rows, view.Row{Head: true, Now: old.ID == shown.ID, TestID: "version-" + strconv.Itoa(old.Limits.Version),
			Cells: []view.Cell{view.Lnk("Version "+strconv.Itoa(old.Limits.Version), limitsURL(old.Limits)), {Text: s.madeWords(r, old), Auto: true}, view.Txt(changes)}})
	}
	if may(r, staff.ManageLimits) {
		v.Publish = &view.LinkView{Text: fmt.Sprintf("Publish version %d", versions[0].Limits.Version+1), Href: "/rate-limits/" + l.Grade + "/new", TestID: "publish-link"}
	}
	return v
}

// positionsNeeded says in a sentence which positions a run is needed in.
func positionsNeeded(l timing.RateLimits) string {
	needed := l.Needed()
	if len(needed) == len(timing.Positions()) {
		return "A run is needed in all six positions."
	}
	names := make([]string, len(needed))
	for i, p := range needed {
		names[i] = string(p)
	}
	return "A run is needed in " + strings.Join(names, ", ") + "."
}

func (s *Server) newLimits(w http.ResponseWriter, r *http.Request) error {
	versions, err := s.gradeOf(r)
	if err != nil {
		return err
	}
	f := emptyForm()
	fill(f, versions[0].Limits.Typed())
	for _, p := range versions[0].Limits.Needed() {
		f.Values.Add("positions", string(p))
	}
	return s.renderPublish(w, r, http.StatusOK, f, versions, "")
}

func (s *Server) renderPublish(w http.ResponseWriter, r *http.Request, status int, f *form, versions []store.LimitsVersion, changed string) error {
	newest := versions[0].Limits
	base := "/rate-limits/" + newest.Grade
	v := view.PublishView{Form: f.view(), Name: newest.Name, Version: strconv.Itoa(newest.Version + 1), Action: base + "/new", Back: base,
		Changed: changed, Order: []string{"name", "reasons", "positions", "limits"}}
	v.Positions = f.view().Field("positions", "Positions a run is needed in")
	for _, p := range timing.Positions() {
		v.Positions.Options = append(v.Positions.Options, view.Option{Value: string(p), Text: string(p)})
	}
	for _, c := range timing.Criteria() {
		v.Criteria = append(v.Criteria, view.CriterionView{Label: text.Capital(c.Label),
			Lower:  f.view().Field(c.LowerField(), "At least").WithUnit(c.Unit).WithWidth(view.Quarter),
			Upper:  f.view().Field(c.UpperField(), "At most").WithUnit(c.Unit).WithWidth(view.Quarter),
			Reason: f.view().Field(c.ReasonField(), "Why there").WithWidth(view.Half)})
		v.Order = append(v.Order, c.LowerField(), c.UpperField(), c.ReasonField())
	}
	return render(w, r, status, view.PublishLimits(s.page(r, v.Name+", new version"), v))
}

func (s *Server) publishLimits(w http.ResponseWriter, r *http.Request) error {
	f, err := readForm(w, r)
	if err != nil {
		return err
	}
	versions, err := s.gradeOf(r)
	if err != nil {
		return err
	}
	newest := versions[0].Limits
	var positions []timing.Position
	for _, text := range f.Values["positions"] {
		p, err := timing.ParsePosition(text)
		if err != nil {
			return badRequest(err)
		}
		positions = append(positions, p)
	}
	if len(positions) == 0 {
		f.Fail("positions", "Choose the positions that a run is needed in.")
	}
	l, problems := timing.ParseRateLimits(newest.Grade, f.Int("version"), f.Text, positions)
	f.FailAll(problems)
	if !f.OK() {
		return s.renderPublish(w, r, http.StatusUnprocessableEntity, f, versions, "")
	}
	err = s.store.PublishLimits(r.Context(), l, actor(r), s.now())
	switch {
	case errors.Is(err, domain.ErrChanged):
		if versions, err = s.gradeOf(r); err != nil {
			return err
		}
		return s.renderPublish(w, r, http.StatusConflict, f, versions, fmt.Sprintf("%s was published while you were writing. What you typed is kept: "+
			"compare it with that version, then publish yours as the next one or leave it.", text.Capital(versionName(versions[0].Limits))))
	case err != nil && f.takes(err):
		return s.renderPublish(w, r, http.StatusUnprocessableEntity, f, versions, "")
	case err != nil:
		return err
	}
	s.say(r.Context(), versionName(l)+" is published.")
	return seeOther(w, r, "/rate-limits/"+l.Grade)
}
