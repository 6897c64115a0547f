package web

import (
	"context"
	"net/http"
	"net/url"
	"slices"

	"github.com/go-chi/chi/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/diagnosis"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/stock"
	"ledgerwheel/store"
	"ledgerwheel/web/view"
)

type benchStore interface {
	BenchSheet(ctx context.Context, n docket.Number) (store.BenchSheet, error)
	KeepBenchFinding(ctx context.Context, c store.Change, r store.BenchResult, f diagnosis.Finding) (int64, error)
	KeepBenchPart(ctx context.Context, c store.Change, r store.BenchResult, p stock.PartLine) (int64, error)
	KeepBenchCorrection(ctx context.Context, c store.Change, r store.BenchResult, calibreID, version int64, fields map[string]string) error
}

func (s *Server) benchRoutes() []route {
	return []route{
		{http.MethodGet, "/bench", needs(staff.UseBenchTools), s.showBench},
		{http.MethodGet, "/bench/{tool}", needs(staff.UseBenchTools), s.showBenchTool},
		{http.MethodGet, "/dockets/{number}/bench/{tool}", needs(staff.ViewDockets), s.showDocketBench},
		{http.MethodPost, "/dockets/{number}/bench/{tool}/keep", needs(staff.Diagnose), s.keepBench},
	}
}

func (s *Server) showBench(w http.ResponseWriter, r *http.Request) error {
	return render(w, r, http.StatusOK, view.BenchIndex(s.page(r, "Bench tools"), view.BenchIndexView{Tools: benchLinks("/bench/")}))
}

// benchLinks lead to every tool below an address.
func benchLinks(under string) []view.BenchLink {
	var links []view.BenchLink
	for _, t := range benchTools() {
		links = append(links, view.BenchLink{Title: t.Title, Purpose: t.Purpose, Href: under + t.Slug, TestID: "bench-" + t.Slug})
	}
	return links
}

// pathTool is the tool that an address names.
func pathTool(r *http.Request) (benchTool, error) {
	slug := chi.URLParam(r, "tool")
	tools := benchTools()
	at := slices.IndexFunc(tools, func(t benchTool) bool { return t.Slug == slug })
	if at < 0 {
		return benchTool{}, domain.ErrNotFound
	}
	return tools[at], nil
}

// benchWork is a tool with what was asked of it.
type benchWork struct {
	tool     benchTool
	typed    url.Values
	asked    bool // there is something to answer
	answer   benchAnswer
	problems map[string]string
}

func (b benchWork) answered() bool { return b.asked && len(b.problems) == 0 }

// workOut answers what given holds of the tool's fields, or what the fields begin with when it holds none.
func workOut(t benchTool, given, start url.Values) benchWork {
	b := benchWork{tool: t, typed: url.Values{}}
	for _, f := range t.Fields {
		if given.Has(f.Name) {
			b.typed.Set(f.Name, cleanText(given.Get(f.Name)))
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

func (s *Server) showBenchTool(w http.ResponseWriter, r *http.Request) error {
	t, err := pathTool(r)
	if err != nil {
		return err
	}
	start, _ := t.start(nil)
	b := workOut(t, r.URL.Query(), start)
	return render(w, r, b.status(), view.BenchTool(s.page(r, t.Title), b.view("/bench/"+t.Slug)))
}

func (s *Server) showDocketBench(w http.ResponseWriter, r *http.Request) error {
	t, err := pathTool(r)
	if err != nil {
		return err
	}
	n, err := pathNumber(r)
	if err != nil {
		return err
	}
	sheet, err := s.store.BenchSheet(r.Context(), n)
	if err != nil {
		return err
	}
	start, filled := t.start(&sheet.Head.Calibre)
	b := workOut(t, r.URL.Query(), start)
	f := emptyForm()
	return s.renderDocketBench(w, r, b.status(), sheet, b, filled, f)
}

// renderDocketBench shows a tool on a docket; f is the form in which the answer was to be kept, when it was refused.
func (s *Server) renderDocketBench(w http.ResponseWriter, r *http.Request, status int, sheet store.BenchSheet, b benchWork, filled bool, f *form) error {
	p, d := s.docketPage(r, sheet.Head, "bench")
	p.Title = b.tool.Title + " for " + d.Number
	v := b.view(view.DocketURL(d.Number, "bench/"+b.tool.Slug))
	switch {
	case b.asked:
	case sheet.Head.Calibre.ID == 0:
		v.Filled = "This watch’s calibre is not in the shop’s list, so nothing is filled in."
	case filled:
		v.Filled = "Filled in from calibre " + sheet.Head.Calibre.Name + ". Check it against the movement before you rely on it."
	case b.tool.Fill != nil:
		v.Filled = "Calibre " + sheet.Head.Calibre.Name + " knows nothing of this yet."
	}
	if b.answered() {
		v.Keep = s.benchKeepView(r, sheet, b, f)
	}
	for _, k := range sheet.Kept {
		v.Kept = append(v.Kept, view.BenchKeptView{Tool: k.Tool, KeptAs: string(k.KeptAs), By: k.By, At: s.moment(r, k.At),
			Figures: k.Figures, Inputs: k.Inputs, Again: view.DocketURL(d.Number, "bench/"+k.Slug) + "?" + k.Typed + "#answer"})
	}
	return render(w, r, status, view.DocketBench(p, d, v))
}

// view is the tool's page; at is its address.
func (b benchWork) view(at string) view.BenchView {
	t := b.tool
	v := view.BenchView{Title: t.Title, Purpose: t.Purpose, Action: at + "#answer", Fresh: at, Cautions: t.Cautions}
	typed := view.Form{Values: b.typed, Problems: b.problems}
	for _, f := range t.Fields {
		if n := len(v.Groups); n == 0 || v.Groups[n-1].Legend != f.Group {
			v.Groups = append(v.Groups, view.BenchGroupView{Legend: f.Group})
		}
		g := &v.Groups[len(v.Groups)-1]
		g.Fields = append(g.Fields, askedField(f, typed))
	}
	v.Problems = b.problemList()
	for _, f := range t.Formulas {
		v.Formulas = append(v.Formulas, view.BenchFormulaView{Text: f.Text, Source: f.Source, Limits: f.Limits})
	}
	if b.answered() {
		v.Answer = shownAnswer(b.answer)
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

func askedField(f benchField, typed view.Form) view.BenchFieldView {
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
	return view.BenchFieldView{Kind: f.Kind, Field: field}
}

func shownAnswer(a benchAnswer) *view.BenchAnswerView {
	v := &view.BenchAnswerView{Drawing: a.Drawing, Finding: a.Finding}
	for _, row := range a.Rows {
		v.Rows = append(v.Rows, view.BenchRowView{Label: row.Label, Value: row.Value, Note: row.Note})
	}
	for _, t := range a.Tables {
		v.Tables = append(v.Tables, shownTable(t))
	}
	return v
}

func shownTable(t benchTable) view.DataView {
	d := view.DataView{TableView: view.TableView{Caption: t.Caption}, Stack: true}
	for i, head := range t.Head {
		d.Columns = append(d.Columns, view.Column{Text: head, Numeric: i > 0 && t.numeric(i)})
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
