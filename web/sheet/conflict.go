package sheet

import (
	"cmp"
	"maps"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"ledgerwheel/domain/text"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/view"
)

// conflict answers a form whose docket was changed by somebody else since the page was opened: it shows what
// changed and everything that was typed, and offers to do the same on the docket as it is now. Fields whose values are
// no words, such as the id of a person, are said as words has them, and not at all where that is "". Status 409.
func (s *Frame) conflict(w http.ResponseWriter, r *http.Request, f *page.Form, c store.Change,
	words map[string]string) error {
	changes, err := s.store.ChangesSince(r.Context(), c.Number, c.Version)
	if err != nil {
		return err
	}
	// The form goes out again with the version of the last change shown, not the newest, so that nobody
	// agrees to a change unseen.
	version := c.Version
	v := conflictView{Number: c.Number.String(), Action: r.URL.RequestURI(), Back: backFrom(r, c),
		More: len(changes) == store.JournalPage}
	for _, e := range changes {
		v.Changes = append(v.Changes, s.EntryView(r, e))
		version = e.Seq
	}
	v.Version = strconv.FormatInt(version, 10)
	v.Typed, v.Fields = typedValues(f, words)
	v.Files = r.MultipartForm != nil && len(r.MultipartForm.File) > 0
	p := s.Page(r, "Someone else saved first")
	return page.Render(w, r, http.StatusConflict, conflict(p, v))
}

// typedValues lists what a form holds, once for reading and once for sending again. Fields left empty are
// only sent again.
func typedValues(f *page.Form, words map[string]string) (typed []view.TermView, fields []view.FieldValue) {
	for _, name := range slices.Sorted(maps.Keys(f.Values)) {
		if name == "version" {
			continue
		}
		for _, value := range f.Values[name] {
			fields = append(fields, view.FieldValue{Name: name, Value: value})
			if said := valueWords(name, value, words); said != "" {
				typed = append(typed, TypedTerm(fieldLabel(name), said))
			}
		}
	}
	return typed, fields
}

func valueWords(name, value string, words map[string]string) string {
	if said, ok := words[name]; ok && strings.TrimSpace(value) != "" {
		return said
	}
	return strings.TrimSpace(value)
}

// fieldLabels are labels of fields whose names alone say too little.
var fieldLabels = map[string]string{
	"to": "Next stage", "place": "Where the watch is", "place_detail": "Bench or workshop",
	"bench": "Who has it in hand", "reason": "Why",
}

// fieldLabel makes a field's name readable: "place_detail" becomes "Place detail".
func fieldLabel(name string) string {
	if label, ok := fieldLabels[name]; ok {
		return label
	}
	if label, ok := estimateLineLabel(name); ok {
		return label
	}
	return nameInWords(name)
}

// nameInWords puts blanks between the words of a name and begins it with a capital.
func nameInWords(name string) string {
	words := strings.NewReplacer("_", " ", "-", " ", ".", " ").Replace(name)
	return cmp.Or(text.Capital(strings.TrimSpace(words)), "Unnamed")
}

// backFrom leads to the sheet from which the form came, as it is now.
func backFrom(r *http.Request, c store.Change) view.LinkView {
	number := c.Number.String()
	sheet := ""
	if rest, ok := strings.CutPrefix(r.URL.Path, view.DocketURL(number, "")+"/"); ok {
		slug, _, _ := strings.Cut(rest, "/")
		if sheetTitles[slug] != "" {
			sheet = slug
		}
	}
	return view.LinkView{Text: "Leave mine and see the docket", Href: view.DocketURL(number, sheet),
		TestID: "conflict-back"}
}

// estimateLineLabel names a field of the editor's lines.
func estimateLineLabel(name string) (string, bool) {
	rest, ok := strings.CutPrefix(name, "lines.")
	number, _, _ := strings.Cut(rest, ".")
	i, err := strconv.Atoi(number)
	if !ok || err != nil {
		return "", false
	}
	return "Line " + strconv.Itoa(i+1), true
}
