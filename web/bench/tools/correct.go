package tools

import (
	"cmp"
	"strconv"

	"ledgerwheel/domain/watch"
	"ledgerwheel/web/view"
)

// correctionForm shows what the calibre would say otherwise; nil where it says so already, or could not say so.
func (b benchWork) correctionForm(k watch.Calibre, version int64) *keepForm {
	next, problems := k.Correct(b.answer.Correction)
	if len(problems) > 0 {
		return nil
	}
	changes := watch.CalibreDifferences(k, next)
	if len(changes) == 0 {
		return nil
	}
	form := &keepForm{Lede: "Calibre " + k.Name + " in the shop’s list, for every watch that has it.",
		Version: strconv.FormatInt(version, 10)}
	for _, d := range changes {
		form.Said = append(form.Said, view.Term(d.Label(), cmp.Or(d.Was, "not known")+" → "+cmp.Or(d.Now, "not known")))
	}
	return form
}
