package web_test

import (
	"fmt"
	"maps"
	"net/http"
	"net/url"
	"reflect"
	"slices"
	"strings"
	"testing"

	"ledgerwheel/domain/staff"
	"ledgerwheel/web/webtest"
)

// typedAnew is something else in every field than what it holds.
func typedAnew(name, kind, holds string) string {
	switch kind {
	case "select", "radio":
		return "*"
	case "checkbox":
		if holds != "" {
			return ""
		}
		return "yes"
	case "date":
		return "2031-05-17"
	case "time":
		return "07:08"
	case "password":
		return "a password nobody keeps"
	case "textarea":
		return "\nGetippt: „" + name + "“ <b>&amp; O'Malley\r\nzweite Zeile  "
	}
	return name + ` 1,5 "é" <&>`
}

// passwords are kept for nobody.
var passwords = []string{"password", "again", "current"}

// TestNothingTypedIsLostWhenTheSessionEnds goes to every page of the table as every role, types into every field of every
// form, sends each after the session has ended, signs in again and compares every field.
func TestNothingTypedIsLostWhenTheSessionEnds(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	given := walkedDocket(s)
	var forms, fields, lost int
	tried := map[string]bool{}
	for _, rt := range s.Srv.Routes() {
		path := addressOf(rt.Pattern, given)
		if rt.Method != http.MethodGet || slices.Contains(pagesElsewhere, rt.Pattern) || strings.HasSuffix(path, ".pdf") {
			continue
		}
		for _, m := range s.Everyone() {
			if rt.Who.Public || !rt.Who.Any && !staff.Can(m.Role, rt.Who.Perm) {
				continue
			}
			person := s.As(m)
			page := person.Get(path)
			if page.Status != http.StatusOK {
				continue
			}
			for i, f := range page.Forms(typedAnew) {
				if len(f.Fields["form_key"]) == 0 || tried[f.Action+f.TestID+string(m.Role)] {
					continue
				}
				tried[f.Action+f.TestID+string(m.Role)] = true
				forms++
				n, l := lostOf(t, s, person, path, f, i)
				fields, lost = fields+n, lost+l
			}
		}
	}
	t.Logf("%d forms with %d fields were sent after the session had ended; %d fields were lost", forms, fields, lost)
	if forms < 100 || lost > 0 {
		t.Errorf("%d forms were tried and %d fields lost", forms, lost)
	}
}

func lostOf(t *testing.T, s *webtest.Site, person *webtest.Client, path string, f webtest.SentForm, i int) (fields, lost int) {
	t.Helper()
	name := fmt.Sprintf("%s: form %d %s to %s", path, i, f.TestID, f.Action)
	to, err := url.Parse(s.Stranger().Send(f).Want(http.StatusSeeOther).Location())
	if err != nil || to.Path != "/sign-in" || to.Query().Get("kept") == "" {
		t.Errorf("%s: sent by nobody it leads to %v", name, to)
		return len(f.Fields), len(f.Fields)
	}
	at := person.Get(to.RequestURI()).Want(http.StatusSeeOther).Location() // signed in again meanwhile
	page := person.Get(at).Want(http.StatusOK)
	page.Text("kept-form")
	var again *webtest.SentForm
	for _, g := range page.Forms(nil) {
		if g.Action == f.Action && g.TestID == f.TestID && (again == nil || len(differing(f, g)) < len(differing(f, *again))) {
			again = &g
		}
	}
	if again == nil {
		t.Errorf("%s: it stands not on %s", name, at)
		return len(f.Fields), len(f.Fields)
	}
	if len(f.Files) > 0 && !strings.Contains(page.Text("choose-again"), "dial.jpg") {
		t.Errorf("%s: the file is not named", name)
	}
	if bad := differing(f, *again); len(bad) > 0 {
		t.Errorf("%s: %s", name, strings.Join(bad, "; "))
		lost = len(bad)
	}
	if strings.Contains(page.Body, "a password nobody keeps") {
		t.Errorf("%s: a password was kept", name)
	}
	person.Post(page.Forms(nil)[clearing(page)].Action, nil).Want(http.StatusSeeOther)
	return len(f.Fields), lost
}

func clearing(page *webtest.Answer) int {
	return slices.IndexFunc(page.Forms(nil), func(f webtest.SentForm) bool { return strings.HasPrefix(f.Action, "/kept/") })
}

// differing says of each field what was typed and what is there.
func differing(sent, again webtest.SentForm) []string {
	var bad []string
	for _, name := range slices.Sorted(maps.Keys(sent.Fields)) {
		if slices.Contains(webtest.Stamp, name) || slices.Contains(passwords, name) && sent.Fields.Has("password") {
			continue
		}
		want := slices.Clone(sent.Fields[name])
		for i := range want {
			want[i] = strings.ReplaceAll(want[i], "\r\n", "\n")
		}
		got := slices.Clone(again.Fields[name])
		for i := range got {
			got[i] = strings.ReplaceAll(got[i], "\r\n", "\n")
		}
		if !reflect.DeepEqual(want, got) {
			bad = append(bad, fmt.Sprintf("%s was %q and is %q", name, want, got))
		}
	}
	for name := range again.Fields {
		if !sent.Fields.Has(name) {
			bad = append(bad, name+" is sent too")
		}
	}
	return bad
}
