package regulation

import (
	"cmp"
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"github.com/go-chi/chi/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/text"
	"ledgerwheel/domain/timing"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/runs"
	"ledgerwheel/web/view"
)

// rateLimitsRoutes are the pages on which the shop's rate limits are explained and published.
func (s *Room) rateLimitsRoutes() []page.Route {
	return []page.Route{
		page.Get("/rate-limits", page.Needs(staff.ViewDockets), s.showGrades),
		page.Get("/rate-limits/new", page.Needs(staff.ManageLimits), s.newGrade),
		page.Post("/rate-limits/new", page.Needs(staff.ManageLimits), s.addGrade),
		page.Get("/rate-limits/{grade}", page.Needs(staff.ViewDockets), s.showGrade),
		page.Get("/rate-limits/{grade}/new", page.Needs(staff.ManageLimits), s.newLimits),
		page.Post("/rate-limits/{grade}/new", page.Needs(staff.ManageLimits), s.publishLimits),
	}
}

func (s *Room) showGrades(w http.ResponseWriter, r *http.Request) error {
	grades, err := s.store.NewestLimits(r.Context())
	if err != nil {
		return err
	}
	viewer, _ := page.ViewerOf(r.Context())
	v := gradesView{Rule: runs.JudgingRule(viewer.Shop).String(), May: page.May(r, staff.ManageLimits)}
	for _, g := range grades {
		row := gradeRowView{Name: g.Limits.Name, Href: "/rate-limits/" + g.Limits.Grade, Version: "Version " +
			strconv.Itoa(g.Limits.Version),
			Made: s.madeWords(r, g), Reasons: g.Limits.Reasons, TestID: "grade-" + g.Limits.Grade}
		for _, c := range timing.Criteria() {
			if limit, set := g.Limits.Limit(c.Key); set {
				row.Limits = append(row.Limits, view.Term(text.Capital(limit.Label()), limit.Text()))
			}
		}
		v.Grades = append(v.Grades, row)
	}
	return page.Render(w, r, http.StatusOK, gradesPage(s.Page(r, "Rate limits"), v))
}

// madeWords says when a version was published and by whom.
func (s *Room) madeWords(r *http.Request, v store.LimitsVersion) string {
	if v.MadeBy == "" {
		return "came with the program"
	}
	return s.Moment(r, v.MadeAt) + ", " + v.MadeBy
}

// gradeOf reads the versions of the grade that the address names, newest first.
func (s *Room) gradeOf(r *http.Request) ([]store.LimitsVersion, error) {
	return s.store.GradeLimits(r.Context(), chi.URLParam(r, "grade"))
}

func (s *Room) showGrade(w http.ResponseWriter, r *http.Request) error {
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
	return page.Render(w, r, http.StatusOK, gradePage(s.Page(r, "Rate limits: "+shown.Limits.Name),
		s.gradeView(r, shown, versions)))
}

func (s *Room) gradeView(r *http.Request, shown store.LimitsVersion, versions []store.LimitsVersion) gradeView {
	l := shown.Limits
	v := gradeView{Name: l.Name, Version: "Version " + strconv.Itoa(l.Version), Made: s.madeWords(r, shown),
		Reasons:   l.Reasons,
		Positions: positionsNeeded(l), Shipped: shown.MadeBy == ""}
	if newest := versions[0]; newest.ID != shown.ID {
		v.Newest, v.NewestHref = "version "+strconv.Itoa(newest.Limits.Version), "/rate-limits/"+l.Grade
	}
	for _, c := range timing.Criteria() {
		row := gradeLimitView{Label: text.Capital(c.Label), Bounds: "not judged", TestID: "limit-" + runs.KeySlug(c.Key)}
		if limit, set := l.Limit(c.Key); set {
			row.Bounds, row.Reason = limit.Text(), limit.Reason
		}
		v.Limits = append(v.Limits, row)
	}
	v.Versions = view.DataView{TableView: view.TableView{ID: "version-list", Caption: "Versions, newest first",
		HideCaption: true, TestID: "versions"},
		Columns: []view.Column{{Text: "version"}, {Text: "published"}, {Text: "what changed"}}, Stack: true}
	for i, old := range versions {
		changes := "the first version"
		if i+1 < len(versions) {
			changes = cmp.Or(strings.Join(timing.LimitChanges(versions[i+1].Limits, old.Limits), "; "), "nothing")
		}
		v.Versions.Rows = append(v.Versions.Rows, view.Row{Head: true, Now: old.ID == shown.ID, TestID: "version-" +
			strconv.Itoa(old.Limits.Version),
			Cells: []view.Cell{view.Lnk("Version "+strconv.Itoa(old.Limits.Version), runs.LimitsURL(old.Limits)),
				{Text: s.madeWords(r, old), Auto: true}, view.Txt(changes)}})
	}
	if page.May(r, staff.ManageLimits) {
		v.From = &view.LinkView{Text: "A new grade from these figures", Href: "/rate-limits/new?from=" + l.Grade,
			TestID: "grade-from"}
		v.Publish = &view.LinkView{Text: fmt.Sprintf("Publish version %d", versions[0].Limits.Version+1),
			Href: "/rate-limits/" + l.Grade + "/new", TestID: "publish-link"}
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

func (s *Room) newLimits(w http.ResponseWriter, r *http.Request) error {
	versions, err := s.gradeOf(r)
	if err != nil {
		return err
	}
	f := page.EmptyForm()
	runs.Fill(f, versions[0].Limits.Typed())
	for _, p := range versions[0].Limits.Needed() {
		f.Values.Add("positions", string(p))
	}
	return s.renderPublish(w, r, http.StatusOK, f, versions, "")
}

func (s *Room) renderPublish(w http.ResponseWriter, r *http.Request, status int, f *page.Form,
	versions []store.LimitsVersion, changed string) error {
	newest := versions[0].Limits
	base := "/rate-limits/" + newest.Grade
	version := strconv.Itoa(newest.Version + 1)
	v := limitsForm(f, publishView{Over: "Rate limits", Title: newest.Name + ", version " + version, Version: version,
		Lede: "A new version. Dockets judged before keep theirs; nothing is edited.", Save: "Publish version " + version,
		Action: base + "/new", Back: base, Changed: changed})
	return page.Render(w, r, status, publishLimits(s.Page(r, newest.Name+", new version"), v))
}

// limitsForm gives a form of rate limits its fields.
func limitsForm(f *page.Form, v publishView) publishView {
	v.Form, v.Order = f.View(), []string{"name", "reasons", "positions", "limits"}
	v.Positions = f.View().Field("positions", "Positions a run is needed in")
	for _, p := range timing.Positions() {
		v.Positions.Options = append(v.Positions.Options, view.Option{Value: string(p), Text: string(p)})
	}
	for _, c := range timing.Criteria() {
		v.Criteria = append(v.Criteria, criterionView{Label: text.Capital(c.Label),
			Lower:  f.View().Field(c.LowerField(), "At least").WithUnit(c.Unit).WithWidth(view.Quarter),
			Upper:  f.View().Field(c.UpperField(), "At most").WithUnit(c.Unit).WithWidth(view.Quarter),
			Reason: f.View().Field(c.ReasonField(), "Why there").WithWidth(view.Half)})
		v.Order = append(v.Order, c.LowerField(), c.UpperField(), c.ReasonField())
	}
	return v
}

// readPositions reads the positions ticked; none is a problem of the field.
func readPositions(f *page.Form) ([]timing.Position, error) {
	var positions []timing.Position
	for _, text := range f.Values["positions"] {
		p, err := timing.ParsePosition(text)
		if err != nil {
			return nil, page.BadRequest(err)
		}
		positions = append(positions, p)
	}
	if len(positions) == 0 {
		f.Fail("positions", "Choose the positions that a run is needed in.")
	}
	return positions, nil
}

func (s *Room) publishLimits(w http.ResponseWriter, r *http.Request) error {
	f, err := page.ReadForm(w, r)
	if err != nil {
		return err
	}
	versions, err := s.gradeOf(r)
	if err != nil {
		return err
	}
	newest := versions[0].Limits
	positions, err := readPositions(f)
	if err != nil {
		return err
	}
	l, problems := timing.ParseRateLimits(newest.Grade, f.Int("version"), f.Text, positions)
	f.FailAll(problems)
	if !f.OK() {
		return s.renderPublish(w, r, http.StatusUnprocessableEntity, f, versions, "")
	}
	err = s.store.PublishLimits(r.Context(), l, page.Actor(r), s.Now())
	switch {
	case errors.Is(err, domain.ErrChanged):
		if versions, err = s.gradeOf(r); err != nil {
			return err
		}
		return s.renderPublish(w, r, http.StatusConflict, f, versions, fmt.Sprintf("%s was published while you were "+
			"writing. What you typed is kept: "+
			"compare it with that version, then publish yours as the next one or leave it.",
			text.Capital(runs.VersionName(versions[0].Limits))))
	case err != nil && f.Takes(err):
		return s.renderPublish(w, r, http.StatusUnprocessableEntity, f, versions, "")
	case err != nil:
		return err
	}
	s.Say(r.Context(), runs.VersionName(l)+" is published.")
	return page.SeeOther(w, r, "/rate-limits/"+l.Grade)
}
