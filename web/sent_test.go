package web_test

import (
	"net/http"
	"net/url"
	"strings"
	"sync"
	"testing"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/timing"
	"ledgerwheel/web/webtest"
)

// TestWhatIsSentTwiceIsDoneOnce sends every form that adds something twice at the same moment, and once more later. Each
// time the answer is that of the first, and one thing was made; the same typed into a page drawn anew makes another.
func TestWhatIsSentTwiceIsDoneOnce(t *testing.T) {
	t.Parallel()
	l := webtest.NewLeaving(t)
	l.Ready()
	reg := webtest.NewRegulation(t, docket.StageRegulation)
	s, d := reg.Site, "/dockets/"+reg.Number.String()
	fresh := s.TakeIn("name", "Cory Hale", "phone", "01632 960125", "email", "cory@example.org", "serial", "90-111")
	e := "/dockets/" + fresh
	with := func(pairs ...string) url.Values {
		f := url.Values{}
		for i := 0; i < len(pairs); i += 2 {
			f.Set(pairs[i], pairs[i+1])
		}
		return f
	}
	draft := webtest.DraftForm("", webtest.ThreeLines...)
	run := webtest.FullRun(timing.AsReceived, []string{"+4", "+5", "+3", "+2", "+6", "+4"})
	for _, tt := range []struct {
		name      string
		who       staff.Member
		page, to  string
		fields    url.Values
		multipart bool
		count     string // of what it adds
	}{
		{"intake", s.Clerk, "/intake", "/intake", webtest.CounterForm("name", "Brin Sollis", "phone", "01632 960124",
			"email", "brin@example.org", "serial", "88-231"), false, `docket`},
		{"finding", s.Watchmaker, d + "/diagnosis", d + "/diagnosis/findings",
			with("component", "mainspring", "usual", "broken", "severity", "require"), true, `finding`},
		{"part", s.Watchmaker, d + "/parts", d + "/parts", with("description", "Stem", "quantity", "1"), false, `part_line`},
		{"service step", s.Watchmaker, d + "/service", d + "/service", with("step", "clean"), false, `bench_work`},
		{"payment", l.Clerk, l.Path + "/hand-over", l.Path + "/hand-over/payment", with("version", "",
			"amount", "20", "method", "cash"), false, `payment`},
		{"estimate", s.Watchmaker, e + "/estimate", e + "/estimate", draft, false, `journal`},
		{"run", s.Watchmaker, e + "/regulation/new", e + "/regulation/new", run, false, `run`},
		{"watch list", s.Owner, "/watch-list", "/watch-list", with("serial", "TQ 40-O17", "maker", "Pellow", "reported",
			"2026-11-02", "source", "Saltby police, 118"), false, `watch_list`},
		{"recorder", s.Watchmaker, "/recorders/new", "/recorders/new", with("name", "Desk microphone", "usual_rate", "48000"),
			false, `recorder`},
	} {
		s, number := s, reg.Number.String()
		if strings.HasPrefix(tt.to, l.Path) {
			s, number = l.Site, l.N.String()
		} else if strings.HasPrefix(tt.to, e) {
			number = fresh
		}
		if tt.name == "run" {
			s.Put(fresh, "stage = 'diagnosis'") // where a watch is measured as received
		}
		person := s.As(tt.who)
		send := func() webtest.SentForm {
			page := person.Get(tt.page).Want(http.StatusOK)
			if !strings.Contains(page.Body, "form_key") {
				t.Fatalf("%s: no form on %s", tt.name, tt.page)
			}
			f := webtest.SentForm{Action: tt.to, Fields: url.Values{}, Multipart: tt.multipart}
			for name, values := range tt.fields {
				f.Fields[name] = values
			}
			if f.Fields.Has("version") {
				f.Fields.Set("version", s.Version(number))
			}
			f.Fields.Set("form_key", page.Hidden("form_key"))
			f.Fields.Set("form_page", page.Hidden("form_page"))
			return f
		}
		rows := func() (n int) {
			if err := s.Store.Pool().QueryRow(t.Context(), `SELECT count(*) FROM `+tt.count).Scan(&n); err != nil {
				t.Fatal(err)
			}
			return n
		}
		before, form := rows(), send()
		var at [3]string
		var both sync.WaitGroup
		for i := range 2 {
			both.Go(func() {
				if a := person.Send(form); a.Status == http.StatusSeeOther {
					at[i] = a.Location()
				} else {
					t.Errorf("%s: sent twice, one is answered %d: %.500s", tt.name, a.Status, webtest.TextOf(a.Document))
				}
			})
		}
		both.Wait()
		at[2] = person.Send(form).Location()
		if at[0] == "" || at[0] != at[1] || at[2] != at[0] {
			t.Errorf("%s: the answers to one thing sent thrice lead to %q", tt.name, at)
		}
		if made := rows() - before; made != 1 {
			t.Errorf("%s: sent thrice it made %d", tt.name, made)
		}
		if tt.name == "part" || tt.name == "payment" {
			before = rows()
			if person.Send(send()).Want(http.StatusSeeOther); rows() != before+1 {
				t.Errorf("%s: typed again into a page drawn anew it made %d", tt.name, rows()-before)
			}
		}
	}
}

// TestAFormShownToSomebodyElseIsNotSavedInMyName: two sign in at one browser, and the first one's window is still open.
func TestAFormShownToSomebodyElseIsNotSavedInMyName(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	number := s.Noted()
	path := "/dockets/" + number + "/parts"
	before := s.Version(number)
	fields := url.Values{"description": {"Crown, 5.5 mm"}, "quantity": {"1"},
		"form_key":  {s.As(s.Watchmaker).Get(path).Want(http.StatusOK).Hidden("form_key")},
		"form_page": {path}}
	owner := s.As(s.Owner)
	at := owner.Post(path, fields).Want(http.StatusSeeOther).Location()
	page := owner.Get(at).Want(http.StatusOK)
	if s.Version(number) != before {
		t.Error("it was saved")
	}
	webtest.Contains(t, at, page.Text("kept-form"), "opened by someone else", "under your name")
	if got := page.Value("description"); got != "Crown, 5.5 mm" {
		t.Errorf("the form holds %q", got)
	}
	fields.Set("form_key", page.Hidden("form_key"))
	fields.Set("form_page", at)
	owner.Post(path, fields).Want(http.StatusSeeOther)
	if s.Version(number) == before {
		t.Error("sent by the owner it was not saved")
	}
	if again := owner.Get(at); len(again.All("kept-form")) > 0 {
		t.Error("what was saved is still kept")
	}
}

// TestAKeptFormIsForItsPersonAlone: its address shows nobody else what was typed, and what nobody was shown is not kept.
func TestAKeptFormIsForItsPersonAlone(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	path := "/dockets/" + s.Noted() + "/parts"
	bench := s.As(s.Watchmaker)
	key := bench.Get(path).Want(http.StatusOK).Hidden("form_key")
	fields := url.Values{"description": {"Crown for the vicar"}, "form_key": {key}, "form_page": {path}}
	to := s.Stranger().Post(path, fields).Want(http.StatusSeeOther).Location()
	webtest.Contains(t, to, s.Stranger().Get(to).Want(http.StatusOK).Text("kept-typed"), "kept for a day")
	id, _ := url.Parse(to)
	for _, other := range []*webtest.Client{s.As(s.Owner), s.As(s.Clerk)} {
		page := other.Get(path + "?" + id.RawQuery).Want(http.StatusOK)
		if webtest.Contains(t, "another's page", page.Body); len(page.All("kept-form")) > 0 {
			t.Error("somebody else is shown what was typed")
		}
	}
	forged := url.Values{"description": {"x"}, "form_key": {key[:len(key)-2] + "AA"}, "form_page": {path}}
	if got := s.Stranger().Post(path, forged).Want(http.StatusSeeOther).Location(); got != "/sign-in" {
		t.Errorf("a forged stamp is kept: %s", got)
	}
	if got := bench.Get("/sign-in").Want(http.StatusSeeOther).Location(); got != path+"?"+id.RawQuery {
		t.Errorf("whoever signs in is led to %s", got)
	}
	s.Pass(25 * 3600e9)
	if got := bench.Get("/sign-in").Want(http.StatusSeeOther).Location(); got != "/" {
		t.Errorf("a day later it is still there: %s", got)
	}
}
