package counter

import (
	"errors"
	"net/http"
	"slices"
	"strings"

	"ledgerwheel/domain/watch"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/view"
)

// A part that two people noted differently is asked about beside it: the form carries its name and who noted it
// otherwise in fields of their own, and the answer in one named after the part.
const (
	askedField   = "asked"
	askedByField = "asked_by"
)

func answerField(p watch.Part) string { return "keep-" + string(p) }

// readAnswers reads what was said of the parts that the form asks about.
func readAnswers(f *page.Form) map[watch.Part]watch.Answer {
	answers := map[watch.Part]watch.Answer{}
	for _, asked := range f.Values[askedField] {
		p := watch.Part(asked)
		answers[p] = watch.Answer(f.Text(answerField(p)))
	}
	return answers
}

// takenWords tells of parts that were taken over from others.
func takenWords(taken []watch.Part) string {
	if len(taken) == 0 {
		return ""
	}
	return " What someone else noted meanwhile is kept: " + partsInWords(taken) + "."
}

func partsInWords(parts []watch.Part) string {
	words := make([]string, len(parts))
	for i, p := range parts {
		words[i] = p.Words()
	}
	return strings.Join(words, ", ")
}

// conditionClash shows the form again, put together as far as it goes, and asks about the parts that somebody else
// noted otherwise. It goes out with the version of what it shows.
func (s *Room) conditionClash(w http.ResponseWriter, r *http.Request, f *page.Form, err error) error {
	var clash *store.ConditionClash
	if !errors.As(err, &clash) {
		return err
	}
	f.Values.Set("version", page.Itoa64(clash.Version))
	f.Values.Del(askedField)
	f.Values.Del(askedByField)
	for _, p := range clash.Clashes {
		by := clash.Changed[p]
		f.Values.Add(askedField, string(p))
		f.Values.Add(askedByField, by.Name+", "+s.Moment(r, by.At))
		f.Values.Del(answerField(p))
		f.Fail("no_marks."+string(p), "You and "+by.Name+" noted different things. Say which is right.")
	}
	return s.renderIntakeSheet(w, r, http.StatusConflict, sheetForm{part: partCondition, form: f,
		condition: clash.Merged, taken: clash.Taken})
}

// askWhichHolds puts the questions that the form asks, and what was taken over, beside their parts.
func askWhichHolds(v *view.OutlineForm, f *page.Form, typed sheetForm, theirs watch.Condition) {
	for i := range v.Parts {
		part := watch.Part(v.Parts[i].Value)
		if at := slices.Index(f.Values[askedField], string(part)); at >= 0 && at < len(f.Values[askedByField]) {
			v.Parts[i].Clash = clashView(f, part, f.Values[askedByField][at], typed.condition, theirs)
		}
		if slices.Contains(typed.taken, part) {
			v.Parts[i].Taken = "Someone else changed this meanwhile; it is kept as they noted it."
		}
	}
}

func clashView(f *page.Form, p watch.Part, by string, mine, theirs watch.Condition) *view.OutlineClash {
	name := answerField(p)
	answer := view.Field{Name: name, Label: "Which is right?", Value: f.Text(name), ID: view.FieldID(name),
		Options: []view.Option{{Value: string(watch.KeepTheirs), Text: "Theirs"},
			{Value: string(watch.KeepMine), Text: "Mine, as it stands below"}}}
	if theirs.MarksOf(p) > 0 && mine.MarksOf(p) > 0 {
		answer.Options = append(answer.Options, view.Option{Value: string(watch.KeepBoth), Text: "The marks of both"})
	}
	return &view.OutlineClash{Part: string(p), By: by, Theirs: theirs.SaidOf(p), Answer: answer,
		Carried: []view.FieldValue{{Name: askedField, Value: string(p)}, {Name: askedByField, Value: by}}}
}
