package page

import (
	"encoding/hex"
	"maps"
	"net/http"
	"slices"

	"ledgerwheel/web/view"
)

// sureField carries, on the page that asks once more, what the answer was given for.
const sureField = "sure_of"

// Sure asks once more before something that can't be undone, on a page of its own that says what will happen, and
// reports whether that was answered with a yes. The yes counts only for what the form says now. Where it reports false,
// the answer is written.
func (s *Host) Sure(w http.ResponseWriter, r *http.Request, f *Form, q view.SureView) (bool, error) {
	given := f.Raw(sureField)
	f.Values.Del(sureField)
	sum := sumOf("sure", r.URL.RequestURI(), f.Values, nil)
	of := hex.EncodeToString(sum[:16])
	if given == of {
		return true, nil
	}
	q.Action, q.Back = r.URL.RequestURI(), withKept(pageOfForms(r), "")
	for _, name := range slices.Sorted(maps.Keys(f.Values)) {
		for _, value := range f.Values[name] {
			q.Fields = append(q.Fields, view.FieldValue{Name: name, Value: value})
		}
	}
	q.Fields = append(q.Fields, view.FieldValue{Name: sureField, Value: of})
	return false, Render(w, r, http.StatusOK, view.SurePage(s.Page(r, q.Title), q))
}
