package counter

import (
	"cmp"
	"maps"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"ledgerwheel/domain/text"
	"ledgerwheel/domain/watch"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/sheet"
	"ledgerwheel/web/view"
)

// noMarksAnywhere says in one press that every part was seen and none has marks.
const noMarksAnywhere = "no_marks_anywhere"

// readCondition reads what an outline posts; see view.OutlineForm.
func readCondition(f *page.Form) watch.Condition {
	var c watch.Condition
	for _, m := range view.MarksFromForm(f.Values) {
		c.Marks = append(c.Marks, watch.ConditionMark{Part: watch.Part(m.Part), Kind: watch.MarkKind(m.Kind),
			Note:   text.Line(m.Note),
			Placed: m.Placed, X: m.X, Y: m.Y})
	}
	for _, part := range f.Values["clear"] {
		c.NoMarksSeen = append(c.NoMarksSeen, watch.Part(part))
	}
	if f.Checked(noMarksAnywhere) {
		c.NoMarksSeen = slices.Clone(watch.Parts)
	}
	return c
}

// conditionForm is the outline with what is known or typed. Problems of single marks go beside them; those of parts
// become one of the form's own, "condition".
func conditionForm(f *page.Form, c watch.Condition, crownAt int) view.OutlineForm {
	v := view.OutlineForm{CrownHour: crownAt, Kinds: page.Options(watch.MarkKinds, watch.MarkKind.Words),
		Marks: outlineMarks(c.Marks)}
	for _, p := range view.OutlineParts() {
		p.Clear = slices.Contains(c.NoMarksSeen, watch.Part(p.Value))
		v.Parts = append(v.Parts, p)
	}
	var about []string
	for _, name := range slices.SortedFunc(maps.Keys(f.Problems), byMark) {
		place, rest, _ := strings.Cut(name, ".")
		if place != "marks" && place != "no_marks" {
			continue
		}
		why := f.Problems[name]
		delete(f.Problems, name)
		index, _, _ := strings.Cut(rest, ".")
		if i, err := strconv.Atoi(index); err == nil && place == "marks" && i < len(v.Marks) {
			v.Marks[i].Error = cmp.Or(v.Marks[i].Error, why)
			why = text.Capital(c.Marks[i].Part.Words()) + ": " + why
		} else if rest != "" {
			why = text.Capital(watch.Part(rest).Words()) + ": " + why
		}
		about = append(about, why)
	}
	if len(about) > 0 {
		f.Fail("condition", strings.Join(about, " "))
	}
	v.Error = f.Problems["condition"]
	return v
}

// byMark puts the problems of marks before those of parts, and parts in the order of the outline.
func byMark(a, b string) int {
	rank := func(name string) int {
		part, isPart := strings.CutPrefix(name, "no_marks.")
		if !isPart {
			return -1
		}
		return slices.Index(watch.Parts, watch.Part(part))
	}
	return cmp.Or(cmp.Compare(rank(a), rank(b)), cmp.Compare(a, b))
}

func outlineMarks(marks []watch.ConditionMark) []view.OutlineMark {
	list := make([]view.OutlineMark, len(marks))
	for i, m := range marks {
		list[i] = view.OutlineMark{Part: string(m.Part), Kind: string(m.Kind), KindText: text.Capital(m.Kind.Words()),
			Note: m.Note,
			X:    m.X, Y: m.Y, Placed: m.Placed}
	}
	return list
}

// noteCondition notes the condition of a docket, together with what others noted since the form was opened.
func (s *Room) noteCondition(w http.ResponseWriter, r *http.Request) error {
	f, c, err := s.ChangeForm(w, r)
	if err != nil {
		return err
	}
	condition := readCondition(f)
	taken, err := s.store.NoteCondition(r.Context(), c, store.ConditionTyped{Condition: condition,
		Answers: readAnswers(f)})
	return s.Settle(w, r, sheet.Ending{Form: f, Change: c, Err: err, Closed: "condition",
		Said:    "The condition is noted." + takenWords(taken),
		To:      view.DocketURL(c.Number.String(), "intake") + "#condition",
		Changed: func() error { return s.conditionClash(w, r, f, err) },
		Again: func(status int) error {
			return s.renderIntakeSheet(w, r, status, sheetForm{part: partCondition, form: f, condition: condition})
		}})
}
