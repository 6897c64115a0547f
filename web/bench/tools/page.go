package tools

import (
	"net/http"
	"net/url"
	"slices"

	"github.com/go-chi/chi/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/staff"
	"ledgerwheel/store"
	"ledgerwheel/web/bench/tools/balance"
	"ledgerwheel/web/bench/tools/toolset"
	"ledgerwheel/web/page"
	"ledgerwheel/web/view"
)

func (s *Room) benchRoutes() []page.Route {
	return []page.Route{
		page.Get("/bench", page.Needs(staff.UseBenchTools), s.showBench),
		page.Get("/bench/{tool}", page.Needs(staff.UseBenchTools), s.showBenchTool),
		page.Get("/dockets/{number}/bench/{tool}", page.Needs(staff.ViewDockets), s.showDocketBench),
		page.Post("/dockets/{number}/bench/{tool}/keep", page.Needs(staff.Diagnose), s.keepBench),
	}
}

func (s *Room) showBench(w http.ResponseWriter, r *http.Request) error {
	return page.Render(w, r, http.StatusOK, benchIndex(s.Page(r, "Bench tools"), indexView{Tools: Links("/bench/")}))
}

// allTools are the tools in the order of the list.
func allTools() []toolset.Tool {
	return slices.Concat(toolset.Movement(), balance.Tools(), toolset.Repair())
}

// Links lead to every tool below an address.
func Links(under string) []view.BenchLink {
	var links []view.BenchLink
	for _, t := range allTools() {
		links = append(links, view.BenchLink{Title: t.Title, Purpose: t.Purpose, Href: under + t.Slug, TestID: "bench-" +
			t.Slug})
	}
	return links
}

// pathTool is the tool that an address names.
func pathTool(r *http.Request) (toolset.Tool, error) {
	slug := chi.URLParam(r, "tool")
	tools := allTools()
	at := slices.IndexFunc(tools, func(t toolset.Tool) bool { return t.Slug == slug })
	if at < 0 {
		return toolset.Tool{}, domain.ErrNotFound
	}
	return tools[at], nil
}

// benchWork is a tool with what was asked of it.
type benchWork struct {
	tool     toolset.Tool
	typed    url.Values
	asked    bool // there is something to answer
	answer   toolset.Answer
	problems map[string]string
}

func (b benchWork) answered() bool { return b.asked && len(b.problems) == 0 }

// workOut answers what given holds of the tool's fields, or what the fields begin with when it holds none.
func workOut(t toolset.Tool, given, start url.Values) benchWork {
	b := benchWork{tool: t, typed: url.Values{}}
	for _, f := range t.Fields {
		if given.Has(f.Name) {
			b.typed.Set(f.Name, page.CleanText(given.Get(f.Name)))
			b.asked = true
		}
	}
	if !b.asked {
		b.typed = start
		return b
	}
	b.answer, b.problems = t.Solve(b.typed)
	return b
}

// status is 422 where what was typed is refused.
func (b benchWork) status() int {
	if len(b.problems) > 0 {
		return http.StatusUnprocessableEntity
	}
	return http.StatusOK
}

func (s *Room) showBenchTool(w http.ResponseWriter, r *http.Request) error {
	t, err := pathTool(r)
	if err != nil {
		return err
	}
	start, _ := t.Start(nil)
	b := workOut(t, r.URL.Query(), start)
	return page.Render(w, r, b.status(), benchTool(s.Page(r, t.Title), b.view("/bench/"+t.Slug)))
}

func (s *Room) showDocketBench(w http.ResponseWriter, r *http.Request) error {
	t, err := pathTool(r)
	if err != nil {
		return err
	}
	n, err := page.PathNumber(r)
	if err != nil {
		return err
	}
	sheet, err := s.store.BenchSheet(r.Context(), n)
	if err != nil {
		return err
	}
	start, filled := t.Start(&sheet.Head.Calibre)
	b := workOut(t, r.URL.Query(), start)
	f := page.EmptyForm()
	return s.renderDocketBench(w, r, b.status(), sheet, b, filled, f)
}

// renderDocketBench shows a tool on a docket; f is the form in which the answer was to be kept, when it was refused.
func (s *Room) renderDocketBench(w http.ResponseWriter, r *http.Request, status int, sheet store.BenchSheet,
	b benchWork, filled bool, f *page.Form) error {
	p, d := s.DocketPage(r, sheet.Head, "bench")
	p.Title = b.tool.Title + " for " + d.Number
	v := b.view(view.DocketURL(d.Number, "bench/"+b.tool.Slug))
	switch {
	case b.asked:
	case sheet.Head.Calibre.ID == 0:
		v.Filled = "This watch’s calibre is not in the shop’s list, so nothing is filled in."
	case filled:
		v.Filled = "Filled in from calibre " + sheet.Head.Calibre.Name +
			". Check it against the movement before you rely on it."
	case b.tool.Fill != nil:
		v.Filled = "Calibre " + sheet.Head.Calibre.Name + " knows nothing of this yet."
	}
	if b.answered() {
		v.Keep = s.keepView(r, sheet, b, f)
	}
	for _, k := range sheet.Kept {
		v.Kept = append(v.Kept, keptView{Tool: k.Tool, KeptAs: string(k.KeptAs), By: k.By, At: s.Moment(r, k.At),
			Figures: k.Figures, Inputs: k.Inputs, Again: view.DocketURL(d.Number, "bench/"+k.Slug) + "?" + k.Typed + "#answer"})
	}
	return page.Render(w, r, status, docketBench(p, d, v))
}

// view is the tool's page; at is its address.
func (b benchWork) view(at string) toolView {
	t := b.tool
	v := toolView{Title: t.Title, Purpose: t.Purpose, Action: at + "#answer", Fresh: at, Formulas: t.Formulas,
		Cautions: t.Cautions}
	typed := view.Form{Values: b.typed, Problems: b.problems}
	for _, f := range t.Fields {
		if n := len(v.Groups); n == 0 || v.Groups[n-1].Legend != f.Group {
			v.Groups = append(v.Groups, groupView{Legend: f.Group})
		}
		g := &v.Groups[len(v.Groups)-1]
		g.Fields = append(g.Fields, askedField(f, typed))
	}
	v.Problems = b.problemList()
	if b.answered() {
		v.Answer = &b.answer
	}
	return v
}

// problemList has the problems in the order of the fields, those of the form as a whole first.
func (b benchWork) problemList() []view.Problem {
	var list []view.Problem
	left := map[string]bool{}
	for name := range b.problems {
		left[name] = true
	}
	add := func(name string) {
		if left[name] {
			list = append(list, view.Problem{Name: name, Text: b.problems[name]})
			delete(left, name)
		}
	}
	add("")
	for _, f := range b.tool.Fields {
		add(f.Name)
	}
	for name := range left { // of no field that is shown: said without a link
		list = append(list, view.Problem{Text: b.problems[name]})
	}
	return list
}

// shortOption is the longest option, in characters, that half a line shows whole.
const shortOption = 18

func askedField(f toolset.Field, typed view.Form) fieldView {
	field := typed.Field(f.Name, f.Label).WithHint(f.Hint).WithWidth(view.Half)
	switch f.Kind {
	case "number":
		field = field.WithUnit(f.Unit)
	case "select":
		for _, o := range f.Options {
			field.Options = append(field.Options, view.Option{Value: o[0], Text: o[1]})
			if len([]rune(o[1])) > shortOption {
				field = field.WithWidth(view.Full)
			}
		}
	case "textarea", "checkbox":
		field = field.WithWidth(view.Full)
	default:
		field = field.WithUnit(f.Unit).WithAttr("dir", "auto")
	}
	return fieldView{Kind: f.Kind, Field: field}
}

// answerTable is a table of an answer as pages set tables.
func answerTable(t toolset.Table) view.DataView {
	d := view.DataView{TableView: view.TableView{Caption: t.Caption}, Stack: true}
	for i, head := range t.Head {
		d.Columns = append(d.Columns, view.Column{Text: head, Numeric: i > 0 && t.Numeric(i)})
	}
	for _, cells := range t.Rows {
		row := view.Row{Head: true}
		for _, c := range cells {
			row.Cells = append(row.Cells, view.Txt(c))
		}
		d.Rows = append(d.Rows, row)
	}
	return d
}
