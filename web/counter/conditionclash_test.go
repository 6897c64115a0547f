package counter_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"ledgerwheel/web/webtest"
)

// conditionTyped is a condition without marks but those given, each as part, kind and note.
func conditionTyped(version string, marks ...[3]string) url.Values {
	f := url.Values{"version": {version}}
	marked := map[string]bool{}
	for _, m := range marks {
		marked[m[0]] = true
		f["mark_part"], f["mark_kind"] = append(f["mark_part"], m[0]), append(f["mark_kind"], m[1])
		f["mark_note"] = append(f["mark_note"], m[2])
		f["mark_x"], f["mark_y"] = append(f["mark_x"], "0.380"), append(f["mark_y"], "0.345")
	}
	for _, part := range []string{"dial", "crystal", "case", "crown", "bracelet"} {
		if !marked[part] {
			f.Add("clear", part)
		}
	}
	return f
}

func TestConditionOfTwoOnOneSheet(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	number := s.Noted()
	path := "/dockets/" + number + "/intake"
	clerk, bench := s.As(s.Clerk), s.As(s.Watchmaker)
	version := bench.Get(path).Hidden("version")
	clerk.Post(path+"/condition", conditionTyped(version, [3]string{"crown", "scratch", "deep"})).Want(http.StatusSeeOther)

	// The watchmaker saw no scratch on the crown and found a dent in the case: both are kept.
	bench.Post(path+"/condition", conditionTyped(version, [3]string{"case", "dent", ""})).Want(http.StatusSeeOther)
	page := bench.Get(path)
	webtest.Contains(t, "condition", page.Text("condition"), "Scratch: deep", "Dent")
	webtest.Contains(t, "what is told", webtest.TextOf(page.Document), "What someone else noted meanwhile is kept: crown")

	// Another dent on the crown clashes: theirs stands beside the part in words, and the typed one is kept.
	mine := conditionTyped(version, [3]string{"crown", "dent", "at the edge"}, [3]string{"case", "dent", ""})
	clash := bench.Post(path+"/condition", mine).Want(http.StatusConflict)
	webtest.Contains(t, "clash", clash.Text("clash-crown"), "Nuala Reed", "scratch, deep, at 11 o'clock", "Theirs", "Mine",
		"The marks of both")
	if all := webtest.TextOf(clash.Document); strings.Contains(all, "0.380") {
		t.Error("a place is shown as a figure")
	}
	webtest.Contains(t, "errors", clash.Text("form-errors"), "Crown", "Say which is right")
	mine["version"], mine["asked"] = []string{clash.Hidden("version")}, []string{"crown"}
	mine["asked_by"] = []string{"Nuala Reed, today"}
	again := bench.Post(path+"/condition", mine).Want(http.StatusUnprocessableEntity)
	webtest.Contains(t, "asked again", again.Text("clash-crown"), "scratch, deep")
	mine.Set("keep-crown", "both")
	bench.Post(path+"/condition", mine).Want(http.StatusSeeOther)
	webtest.Contains(t, "condition", bench.Get(path).Text("condition"), "Scratch: deep", "Dent: at the edge")
}

// A form that was refused for something else goes out again as seen, not with what others changed meanwhile.
func TestRefusedConditionKeepsWhatWasSeen(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	number := s.Noted()
	path := "/dockets/" + number + "/intake"
	clerk, bench := s.As(s.Clerk), s.As(s.Watchmaker)
	version := bench.Get(path).Hidden("version")
	clerk.Post(path+"/condition", conditionTyped(version, [3]string{"crown", "scratch", "deep"})).Want(http.StatusSeeOther)
	wrong := conditionTyped(version, [3]string{"case", "other", ""})
	refused := bench.Post(path+"/condition", wrong).Want(http.StatusUnprocessableEntity)
	right := conditionTyped(refused.Hidden("version"), [3]string{"case", "other", "engraved"})
	bench.Post(path+"/condition", right).Want(http.StatusSeeOther)
	webtest.Contains(t, "condition", bench.Get(path).Text("condition"), "Scratch: deep", "engraved")
}
