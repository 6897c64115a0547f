package tools

import (
	"strings"
	"testing"

	"ledgerwheel/domain/stock"
	"ledgerwheel/domain/watch"
	"ledgerwheel/web/bench/tools/toolset"
	"ledgerwheel/web/page"
)

func TestAnswersAsPartAndCorrection(t *testing.T) {
	t.Parallel()
	b := benchWork{tool: toolset.Tool{Title: "Mainspring"}, answer: toolset.Answer{Part: &toolset.Part{Name: "Mainspring",
		Specification: "1.20 × 0.105 × 360 mm"},
		Finding: strings.Repeat("The spring is too strong. ", 8)}}
	f := page.EmptyForm()
	f.Values.Set("part.quantity", "2")
	part, problems := b.part(f)
	if len(problems) != 0 || part.Description != "Mainspring, 1.20 × 0.105 × 360 mm" || part.Quantity != 2 ||
		part.State != stock.Needed {
		t.Errorf("the part is %+v, %v", part, problems)
	}
	b.answer.Part.Specification = strings.Repeat("0123456789", 30)
	if part, problems = b.part(f); len(problems) != 0 || part.Description != "Mainspring" ||
		part.Note != b.answer.Part.Specification {
		t.Errorf("the long part is %+v, %v", part, problems)
	}
	if found := b.finding(f); found.Fault != "Mainspring" || !strings.HasPrefix(found.Note, "The spring is too strong.") {
		t.Errorf("the long finding is %+v", found)
	}
	f.Values.Set("finding.fault", "too strong")
	if found := b.finding(f); found.Fault != "too strong" || !strings.HasPrefix(found.Note, "The spring is too strong.") {
		t.Errorf("the finding in other words is %+v", found)
	}

	k := watch.Calibre{Name: "Tarnside 7", BeatsPerHour: 18000, GradeKey: "modern", PowerReserveHours: 40}
	b.answer.Correction = map[string]string{"power_reserve_hours": "42", "beats_per_hour": "18000"}
	form := b.correctionForm(k, 3)
	if form == nil || form.Version != "3" || len(form.Said) != 1 || !strings.Contains(form.Said[0].Cell.Text, "40 → 42") {
		t.Errorf("the correction is offered as %+v", form)
	}
	b.answer.Correction = map[string]string{"power_reserve_hours": "40"}
	if form := b.correctionForm(k, 3); form != nil {
		t.Error("a correction is offered that changes nothing")
	}
}
