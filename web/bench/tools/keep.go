package tools

import (
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strings"

	"ledgerwheel/domain/diagnosis"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/stock"
	"ledgerwheel/domain/text"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/sheet"
	"ledgerwheel/web/view"
)

// KeptInput is what stands before the names of a tool's fields where its answer is kept, so that they never meet the
// fields of what it is kept as.
const KeptInput = "tool."

// keepBench works the answer out anew from what it was worked out from, and keeps it as a finding, as a part or as a
// correction to the calibre. No figure that was posted is believed.
func (s *Room) keepBench(w http.ResponseWriter, r *http.Request) error {
	t, err := pathTool(r)
	if err != nil {
		return err
	}
	f, c, err := s.ChangeForm(w, r)
	if err != nil {
		return err
	}
	c.Version = 0 // an answer is added; a correction goes by the calibre's own version
	record, err := s.store.BenchSheet(r.Context(), c.Number)
	if err != nil {
		return err
	}
	b := workOut(t, f.Under(KeptInput), nil)
	if !b.answered() {
		if b.asked {
			return s.renderDocketBench(w, r, http.StatusUnprocessableEntity, record, b, false, page.EmptyForm())
		}
		return page.BadRequest(errors.New("nothing to keep was sent"))
	}
	said, leadTo, err := s.keepAs(r, f, c, record, b)
	return s.Settle(w, r, sheet.Ending{Form: f, Change: c, Err: err, Said: said,
		To:      view.DocketURL(c.Number.String(), leadTo),
		Changed: func() error { return s.calibreChanged(w, r, f, b) },
		Again:   func(status int) error { return s.renderDocketBench(w, r, status, record, b, false, f) }})
}

// keepAs keeps the answer as the form says, and gives what to say of it and the sheet that shows it.
func (s *Room) keepAs(r *http.Request, f *page.Form, c store.Change, sheet store.BenchSheet, b benchWork) (said,
	leadTo string, err error) {
	ctx, res := r.Context(), b.result()
	switch as := f.Text("as"); {
	case as == "finding" && b.answer.Finding != "" && page.May(r, staff.Diagnose):
		found := b.finding(f)
		if f.FailUnder("finding.", found.Problems()); f.OK() {
			_, err = s.store.KeepBenchFinding(ctx, c, res, found)
		}
		return "Kept as a finding on the " + found.Component.Words() + ".", "diagnosis#" + string(found.Component), err
	case as == "part" && b.answer.Part != nil && page.May(r, staff.NeedParts):
		part, problems := b.part(f)
		if f.FailUnder("part.", problems); f.OK() {
			_, err = s.store.KeepBenchPart(ctx, c, res, part)
		}
		return "Kept as a part: " + part.Description + ".", "parts", err
	case as == "correction" && len(b.answer.Correction) > 0 && page.May(r, staff.ManageCalibres):
		k := sheet.Head.Calibre
		if sheet.CalibreVersion == 0 {
			f.Fail("", "This watch’s calibre is not in the shop’s list, so there is nothing to correct.")
		} else {
			err = s.store.KeepBenchCorrection(ctx, c, res, k.ID, f.ID("correction.version"), b.answer.Correction)
		}
		return "Calibre " + k.Name + " is corrected.", "bench/" + b.tool.Slug + "#kept", err
	case slices.Contains([]string{"finding", "part", "correction"}, as):
		return "", "", page.ErrForbidden
	}
	return "", "", page.BadRequest(fmt.Errorf("an answer can't be kept as %q", f.Text("as")))
}

// calibreChanged says that somebody else corrected the calibre meanwhile, and shows the tool on it as it is now.
func (s *Room) calibreChanged(w http.ResponseWriter, r *http.Request, f *page.Form, b benchWork) error {
	n, err := page.PathNumber(r)
	if err != nil {
		return err
	}
	sheet, err := s.store.BenchSheet(r.Context(), n)
	if err != nil {
		return err
	}
	f.Fail("", "Somebody changed the calibre since you opened the page. Below it stands as it is now: look again, and "+
		"keep the correction if it still holds.")
	return s.renderDocketBench(w, r, http.StatusConflict, sheet, b, false, f)
}

// result is the answer with all it was worked out from, as the journal keeps it.
func (b benchWork) result() store.BenchResult {
	res := store.BenchResult{Tool: b.tool.Title, Slug: b.tool.Slug, Typed: b.typed.Encode(), Inputs: []string{},
		Figures: []string{}}
	for _, f := range b.tool.Fields {
		if said := f.Said(b.typed.Get(f.Name)); said != "" {
			res.Inputs = append(res.Inputs, b.tool.Label(f)+": "+said)
		}
	}
	add := func(label, value, note string) {
		if note != "" {
			value += " (" + note + ")"
		}
		res.Figures = append(res.Figures, label+": "+value)
	}
	for _, row := range b.answer.Rows {
		add(row.Label, row.Value, row.Note)
	}
	for _, t := range b.answer.Tables {
		for _, row := range t.Rows {
			var cells []string
			for i, cell := range row {
				if i < len(t.Head) && cell != "" {
					cell = t.Head[i] + " " + cell
				}
				if cell != "" {
					cells = append(cells, cell)
				}
			}
			add(t.Caption, strings.Join(cells, "; "), "")
		}
	}
	if b.answer.Finding != "" {
		add("In words", b.answer.Finding, "")
	}
	if p := b.answer.Part; p != nil {
		add("Part", p.Name, p.Specification)
	}
	return res
}

// finding is the answer as a finding: what is wrong in the watchmaker's words, or else in the tool's; what doesn't
// stand there stands in the note.
func (b benchWork) finding(f *page.Form) diagnosis.Finding {
	sentence := b.answer.Finding
	found := diagnosis.Finding{Component: diagnosis.Component(f.Text("finding.component")), Fault: f.Text("finding.fault"),
		Severity: diagnosis.Severity(f.Text("finding.severity")), Note: f.Text("finding.note")}
	short := strings.TrimSuffix(sentence, ".")
	if found.Fault == "" && !text.TooLong(short, diagnosis.MaxFault) {
		found.Fault = short
		return found.Tidied()
	}
	if found.Fault == "" {
		found.Fault = b.tool.Title
	}
	found.Note = strings.TrimSpace(sentence + "\n" + found.Note)
	return found.Tidied()
}

// part is the answer as a part line.
func (b benchWork) part(f *page.Form) (stock.PartLine, map[string]string) {
	p := b.answer.Part
	typed := stock.Form{Description: p.Name, Reference: f.Text("part.reference"), Supplier: f.Text("part.supplier"),
		Quantity: f.Text("part.quantity"), OldPart: f.Text("part.old_part"), Note: f.Text("part.note")}
	if whole := p.Words(); !text.TooLong(whole, stock.MaxText) {
		typed.Description = whole
	} else {
		typed.Note = strings.TrimSpace(p.Specification + "\n" + typed.Note)
	}
	return typed.Check()
}

// keepView offers the ways of keeping an answer that the answer and the person's role allow.
func (s *Room) keepView(r *http.Request, record store.BenchSheet, b benchWork, f *page.Form) *keepView {
	number := record.Head.Docket.Number.String()
	v := &keepView{Action: view.DocketURL(number, "bench/"+b.tool.Slug+"/keep") + "#keep"}
	for _, field := range b.tool.Fields {
		v.Typed = append(v.Typed, view.FieldValue{Name: KeptInput + field.Name, Value: b.typed.Get(field.Name)})
	}
	for name, why := range f.Problems {
		if f.Text("as") == "correction" {
			name = "" // a field of the calibre, which this page doesn't ask for
		}
		v.Refused = append(v.Refused, view.Problem{Name: name, Text: why})
	}
	slices.SortFunc(v.Refused, func(x, y view.Problem) int { return strings.Compare(x.Name, y.Name) })
	if len(v.Refused) > 0 {
		v.Refusal = "What you typed is kept. Please correct this and send it again:"
	}
	if record.Head.Docket.Closed() {
		if len(v.Refused) == 0 {
			return nil
		}
		return v
	}
	as := f.Text("as")
	if b.answer.Finding != "" && page.May(r, staff.Diagnose) {
		v.Finding = b.findingForm(f)
		v.Finding.Open = as == "finding"
	}
	if b.answer.Part != nil && page.May(r, staff.NeedParts) {
		v.Part = b.partForm(f)
		v.Part.Open = as == "part"
	}
	if len(b.answer.Correction) > 0 && record.CalibreVersion != 0 && page.May(r, staff.ManageCalibres) {
		v.Correction = b.correctionForm(record.Head.Calibre, record.CalibreVersion)
		if v.Correction != nil {
			v.Correction.Open = as == "correction"
		}
	}
	if v.Finding == nil && v.Part == nil && v.Correction == nil && len(v.Refused) == 0 {
		return nil
	}
	return v
}

func (b benchWork) findingForm(f *page.Form) *keepForm {
	typed := f.View()
	components := append([]view.Option{{Text: "Choose"}}, page.Options(diagnosis.Components, diagnosis.Component.Words)...)
	component := typed.Field("finding.component", "Component").WithWidth(view.Half).WithOptions(components...).Need()
	if component.Value == "" {
		component.Value = string(b.tool.Component)
	}
	return &keepForm{Lede: b.answer.Finding, Fields: []fieldView{
		{Kind: "select", Field: component},
		{Kind: "text", Field: typed.Field("finding.fault", "In other words").Maybe().WithWidth(view.Half).
			WithHint("Left empty, the sentence above is the finding.").WithMaxLength(diagnosis.MaxFault).WithAttr("dir",
			"auto")},
		{Kind: "radio", Field: typed.Field("finding.severity",
			"How much it matters").WithOptions(page.Options(diagnosis.Severities, diagnosis.Severity.Words)...).Need()},
		{Kind: "textarea", Field: typed.Field("finding.note", "Note").Maybe().WithRows(2).WithAttr("dir", "auto")},
	}}
}

func (b benchWork) partForm(f *page.Form) *keepForm {
	typed := f.View()
	pieces := typed.Field("part.quantity", "Pieces").WithWidth(view.Quarter)
	if !f.Values.Has("part.quantity") {
		pieces.Value = "1"
	}
	return &keepForm{Lede: b.answer.Part.Words(), Fields: []fieldView{
		{Kind: "number", Field: pieces},
		{Kind: "text", Field: typed.Field("part.supplier",
			"Supplier").Maybe().WithWidth(view.Half).WithMaxLength(stock.MaxText).WithAttr("dir", "auto")},
		{Kind: "text", Field: typed.Field("part.reference",
			"Reference").Maybe().WithWidth(view.Quarter).WithMaxLength(stock.MaxText)},
		{Kind: "select", Field: typed.Field("part.old_part",
			"The part it replaces").WithWidth(view.Half).WithOptions(sheet.OldPartOptions()...)},
		{Kind: "text", Field: typed.Field("part.note", "Note").Maybe().WithWidth(view.Half).WithAttr("dir", "auto")},
	}}
}
