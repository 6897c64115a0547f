package web_test

import (
	"bytes"
	"math/rand/v2"
	"net/http"
	"net/url"
	"strings"
	"sync"
	"testing"

	"ledgerwheel/domain/acoustic/simulate"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/oscillator"
	"ledgerwheel/domain/poising"
	"ledgerwheel/domain/recording"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/timing"
	"ledgerwheel/web/webtest"
)

// atOnce is how often a form is sent at the same moment.
const atOnce = 4

// TestWhatIsSentTwiceIsDoneOnce sends every form that adds something four times at the same moment, files and all, and once
// more later. Each time the answer is that of the first, and one thing was made; the same typed into a page drawn anew makes
// another. Every route that takes a post is tried here, or stands with its reason in addsNothing.
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
	tried := map[string]bool{}
	picture, sound := webtest.JPEGOf(t, 40, 30, 1), beating(t)
	worked := with("what", "mean rate", "unit", "s/d", "figure", "20", "size1", "3", "kind1", "standard", "size2", "4", "kind2", "standard",
		"kind3", "within", "kind4", "within", "lower", "-40", "upper", "40", "rule", "guarded")
	draft := webtest.DraftForm("", webtest.ThreeLines...)
	run := webtest.FullRun(timing.AsReceived, []string{"+4", "+5", "+3", "+2", "+6", "+4"})
	for _, tt := range []struct {
		name     string
		who      staff.Member
		page, to string
		fields   url.Values
		file     string // field of a file that is sent along; "" for a form without files
		count    string // of what it adds
		route    string
	}{
		{"intake", s.Clerk, "/intake", "/intake", webtest.CounterForm("name", "Brin Sollis", "phone", "01632 960124",
			"email", "brin@example.org", "serial", "88-231"), "", `docket`, "/intake"},
		{"finding", s.Watchmaker, d + "/diagnosis", d + "/diagnosis/findings",
			with("component", "mainspring", "usual", "broken", "severity", "require"), "photos", `finding`, "/dockets/{number}/diagnosis/findings"},
		{"photograph", s.Watchmaker, d + "/intake", d + "/photos", with("about", "condition", "caption", "Dial"), "photos", `photo`,
			"/dockets/{number}/photos"},
		{"poising round", s.Watchmaker, d + "/poising", d + "/poising", poised(), "", `poising_round`, "/dockets/{number}/poising"},
		{"bench tool", s.Watchmaker, d + "/bench/uncertainty?" + worked.Encode(), d + "/bench/uncertainty/keep", webtest.KeptForm("finding", worked, "finding.component", "balance-staff", "finding.severity", "observe"), "", `finding`,
			"/dockets/{number}/bench/{tool}/keep"},
		{"trial", s.Watchmaker, d + "/trial", d + "/trial", with("version", "", "category", "1", "method", "instrument", "first_day",
			"2026-11-24", "reading_time", "09:00", "instrument", "Bench 2", "clock_ppm", "0,5"), "", `trial`, "/dockets/{number}/trial"},
		{"recording", s.Watchmaker, "/listen/upload", "/listen/upload", with("recorder", "0", "hours", "0"), "sound", `recording`,
			"/listen/upload"},
		{"recording of a docket", s.Watchmaker, d + "/listen/upload", d + "/listen/upload", with("recorder", "0", "hours", "0"), "sound",
			`recording`, "/dockets/{number}/listen/upload"},
		{"calibre", s.Watchmaker, "/calibres/new", "/calibres/new", with("name", "Ebb 17", "beats_per_hour", "18000", "grade", "modern"),
			"", `calibre`, "/calibres/new"},
		{"drawing", s.Watchmaker, "/calibres/1", "/calibres/1/drawings", with("caption", "Train"), "photos", `calibre_drawing`,
			"/calibres/{id}/drawings"},
		{"access token", s.Owner, "/tokens", "/tokens", with("name", "Web site", "scopes", "prices"), "", `access_token`, "/tokens"},
		{"invitation", s.Owner, "/staff", "/staff", with("name", "Søren O’Dell", "email", "soren@ternquay.example", "role", "clerk"), "",
			`staff`, "/staff"},
		{"part", s.Watchmaker, d + "/parts", d + "/parts", with("description", "Stem", "quantity", "1"), "", `part_line`, "/dockets/{number}/parts"},
		{"service step", s.Watchmaker, d + "/service", d + "/service", with("step", "clean"), "", `bench_work`, "/dockets/{number}/service"},
		{"part of the catalogue", s.Owner, "/stock/new", "/stock/new", with("number", "MS-1", "name", "mainspring", "unit", "piece"), "", `part`, "/stock/new"},
		{"supplier", s.Owner, "/suppliers/new", "/suppliers/new", with("name", "Gannet Materials"), "", `supplier`, "/suppliers/new"},
		{"draft of an order", s.Owner, "/orders", "/orders/new", with("supplier", "1"), "", `purchase_order`, "/orders/new"},
		{"gathered needs", s.Owner, "/orders/needs", "/orders/needs", with("need", "line-1", "supplier.line-1", "1"), "", `order_line`, "/orders/needs"},
		{"order", s.Owner, "/orders/1", "/orders/1", with("line", "1", "line-1.description", "Stem", "line-1.pieces", "5", "do", "send", "way", "telephone"), "",
			`order_event`, "/orders/{id}"},
		{"delivery", s.Clerk, "/orders/1", "/orders/1/came", with("line", "1", "pieces.1", "1"), "", `order_event`, "/orders/{id}/came"},
		{"wrong part", s.Clerk, "/orders/1", "/orders/1/wrong", with("line", "1", "pieces", "1", "note", "a crown", "fate", "kept"), "",
			`order_event`, "/orders/{id}/wrong"},
		{"kept part", s.Clerk, "/orders/1", "/orders/1/kept", with("of", "3", "pieces", "1", "fate", "sent-back"), "", `order_event`, "/orders/{id}/kept"},
		{"miscount", s.Clerk, "/orders/1", "/orders/1/miscounted", with("line", "1", "pieces", "1", "note", "a bag too few"), "", `order_event`,
			"/orders/{id}/miscounted"},
		{"supplier's word", s.Clerk, "/orders/1", "/orders/1/heard", with("kind", "back-ordered", "line", "1"), "", `order_event`,
			"/orders/{id}/heard"},
		{"stock received", s.Owner, "/stock/1", "/stock/1/receive", with("pieces", "3"), "", `stock_move`, "/stock/{id}/receive"},
		{"stock taken out", s.Owner, "/stock/1", "/stock/1/take-out", with("kind", "written-off", "pieces", "1", "out_why", "bent"), "", `stock_move`,
			"/stock/{id}/take-out"},
		{"move of the till", s.Clerk, "/till/move", "/till/move", with("kind", "float", "amount", "50"), "", `till_move`, "/till/move"},
		{"move taken back", s.Clerk, "/till", "/till/moves/1/back", with(), "", `till_move`, "/till/moves/{id}/back"},
		{"till counted", s.Clerk, "/till/count", "/till/count", with("day", "2026-11-24", "by", "sum", "counted", "1", "seen", "0", "why", "nobody knows", "do", "close"), "", `till_close`, "/till/count"},
		{"job", s.Owner, "/prices/new", "/prices/new", with("code", "FS", "name", "Full service", "kind", "labour", "price", "185", "from",
			"2026-01-01"), "", `job`, "/prices/new"},
		{"series of invoices", s.Owner, "/series", "/series", with("id", "0", "version", "0", "name", "Repairs", "before", "R-", "digits", "4"), "", `invoice_series`, "/series"},
		{"loan watch", s.Clerk, "/loans", "/loans", with("maker", "Pellwarne", "value", "120", "state", "no marks"), "", `loan_watch`, "/loans"},
		{"parcel", s.Clerk, "/parcels/new", "/parcels/new", with("carrier", "Estuary Post", "sender", "Ada", "seal", "whole", "box", "whole",
			"things", "1", "contents", "watch"), "photos", `parcel_in`, "/parcels/new"},
		{"payment", l.Clerk, l.Path + "/hand-over", l.Path + "/hand-over/payment", with("version", "",
			"amount", "20", "method", "cash"), "", `payment`, "/dockets/{number}/hand-over/payment"},
		{"estimate", s.Watchmaker, e + "/estimate", e + "/estimate", draft, "", `journal`, "/dockets/{number}/estimate"},
		{"run", s.Watchmaker, e + "/regulation/new", e + "/regulation/new", run, "", `run`, "/dockets/{number}/regulation/new"},
		{"holiday", s.Owner, "/settings/holidays", "/settings/holidays", with("name", "Harbour fair", "from", "2027-05-03", "to", "2027-05-04"), "",
			`holiday`, "/settings/holidays"},
		{"watch list", s.Owner, "/watch-list", "/watch-list", with("serial", "TQ 40-O17", "maker", "Pellow", "reported",
			"2026-11-02", "source", "Saltby police, 118"), "", `watch_list`, "/watch-list"},
		{"recorder", s.Watchmaker, "/recorders/new", "/recorders/new", with("name", "Desk microphone", "usual_rate", "48000"),
			"", `recorder`, "/recorders/new"},
		{"profile of the place", s.Owner, "/place-profile", "/place-profile", with("profile", "uk", "checked", "yes"), "", `place_profile`,
			"/place-profile"},
		{"calibration", s.Watchmaker, "/recorders/1", "/recorders/1/typed", with("ppm", "-12.5", "uncertainty", "0.4", "made_on",
			"2026-11-20", "typed_redo_by", "", "typed_note", "certificate 26-118"), "", `recorder_calibration`, "/recorders/{id}/typed"},
		{"call", s.Clerk, d + "/told", d + "/contacts", with("contact", "no answer", "words", "Rings till it stops."), "", `contact`,
			"/dockets/{number}/contacts"},
		{"question", s.Clerk, d + "/told", d + "/told", with("topic", "question", "question", "May we polish the case?", "tell", "telephone"), "",
			`message`, "/dockets/{number}/told"},
		{"caution", s.Watchmaker, d + "/diagnosis", d + "/diagnosis/hazards", with("hazard", "radioactive-lume"), "", `hazard`,
			"/dockets/{number}/diagnosis/hazards"},
	} {
		tried[tt.route] = true
		s, number := s, reg.Number.String()
		if tt.name == "payment" { // the first docket of another shop, with the same number
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
				t.Fatalf("%s: no form on %s: %s", tt.name, tt.page, webtest.TextOf(page.Document))
			}
			f := webtest.SentForm{Action: tt.to, Fields: url.Values{}, Multipart: tt.file != ""}
			if tt.file != "" {
				f.Files, f.Content = []string{tt.file}, picture
			}
			if tt.file == "sound" {
				f.Content = sound
			}
			for name, values := range tt.fields {
				f.Fields[name] = values
			}
			if f.Fields.Has("version") {
				f.Fields.Set("version", s.Version(number))
			}
			if strings.HasPrefix(tt.to, "/orders/1") { // an order's own
				f.Fields.Set("version", page.Hidden("version"))
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
		var at [atOnce + 1]string
		var both sync.WaitGroup
		for i := range atOnce {
			both.Go(func() {
				switch a := person.Send(form); {
				case a.Status == http.StatusSeeOther:
					at[i] = a.Location()
				case a.Status == http.StatusOK && len(a.All("invite-link"))+len(a.All("made-token")) == 1: // a secret is shown once, to the first
					at[i] = tt.page
				default:
					t.Errorf("%s: sent at once, one is answered %d: %.500s", tt.name, a.Status, webtest.TextOf(a.Document))
				}
			})
		}
		both.Wait()
		at[atOnce] = person.Send(form).Location()
		for _, led := range at {
			if led == "" || led != at[0] {
				t.Errorf("%s: the answers to one thing sent %d times lead to %q", tt.name, len(at), at)
				break
			}
		}
		if made := rows() - before; made != 1 {
			t.Errorf("%s: sent %d times it made %d", tt.name, len(at), made)
		}
		if tt.name == "part" || tt.name == "payment" {
			before = rows()
			if person.Send(send()).Want(http.StatusSeeOther); rows() != before+1 {
				t.Errorf("%s: typed again into a page drawn anew it made %d", tt.name, rows()-before)
			}
		}
	}
	for _, rt := range s.Srv.Routes() {
		if why, known := addsNothing[rt.Pattern]; rt.Method == http.MethodPost && tried[rt.Pattern] == known {
			t.Errorf("%s is sent at once: %v; why it need not be: %q", rt.Pattern, tried[rt.Pattern], why)
		}
	}
}

// poised is a round of poising in four positions.
func poised() url.Values {
	f := url.Values{"last_round": {"0"}}
	for i, up := range oscillator.PoisingUps(false) {
		f.Set(poising.Field(timing.Rate, up), []string{"41", "5", "-31", "5"}[i])
		f.Set(poising.Field(timing.Amplitude, up), "165")
	}
	return f
}

// beating is a recording of a made-up watch of half a minute.
func beating(t *testing.T) []byte {
	t.Helper()
	samples, _ := simulate.Sound(simulate.RandomWatch(rand.New(rand.NewPCG(7, 7))), simulate.QuietRoom(), 48000, 30, 7)
	var b bytes.Buffer
	if err := recording.WriteWAV(&b, 48000, samples); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
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
	other := map[bool]string{true: "B", false: "A"}[key[8] == 'A'] // not the letter that is there
	forged := url.Values{"description": {"x"}, "form_key": {key[:8] + other + key[9:]}, "form_page": {path}}
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
