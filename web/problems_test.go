package web_test

import (
	"net/http"
	"net/url"
	"slices"
	"strings"
	"testing"

	"golang.org/x/net/html"

	"ledgerwheel/domain/staff"
	"ledgerwheel/web/webtest"
)

// TestWordsOfEveryProblemLeadToItsField sends every form of every page as nobody would, every field filled with what it
// can't be, and follows each line at the head of the refused form to its field.
func TestWordsOfEveryProblemLeadToItsField(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	given := walkedDocket(s)
	refused, lines := 0, 0
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
			for _, f := range page.Forms(nonsense) {
				if len(f.Fields["form_key"]) == 0 || tried[f.Action+f.TestID] {
					continue
				}
				tried[f.Action+f.TestID] = true
				answer := person.Send(f)
				if answer.Status >= 500 {
					t.Errorf("%s: %s answers nonsense with %d", path, f.Action, answer.Status)
				}
				if answer.Status != http.StatusUnprocessableEntity || strings.Contains(f.Action, "/listen/") {
					// What is listened to has no fields to be wrong: its page says so in a sentence.
					continue
				}
				refused++
				n := followProblems(t, path+": "+f.Action+" "+f.TestID, answer)
				lines += n
			}
		}
	}
	t.Logf("%d forms were refused with %d problems", refused, lines)
	if refused < 20 {
		t.Errorf("only %d forms were refused", refused)
	}
}

// nonsense is what no field takes.
func nonsense(_, kind, holds string) string {
	switch kind {
	case "select", "radio", "checkbox":
		return holds
	case "date":
		return "never"
	}
	return ""
}

// followProblems finds the field of each line at the head of a refused form.
func followProblems(t *testing.T, what string, answer *webtest.Answer) (lines int) {
	t.Helper()
	ids := map[string]*html.Node{}
	for n := range answer.Document.Descendants() {
		if id := webtest.Attr(n, "id"); id != "" {
			ids[id] = n
		}
	}
	for _, head := range answer.All("form-errors") {
		for n := range head.Descendants() {
			if n.Data != "a" {
				continue
			}
			lines++
			to, err := url.PathUnescape(strings.TrimPrefix(webtest.Attr(n, "href"), "#"))
			if err != nil || ids[to] == nil {
				t.Errorf("%s: «%s» leads to %q, which is not there", what, webtest.TextOf(n), webtest.Attr(n, "href"))
			}
		}
	}
	if lines == 0 && !strings.Contains(answer.Body, `class="error"`) {
		t.Errorf("%s: refused, and no field says why", what)
	}
	return lines
}
