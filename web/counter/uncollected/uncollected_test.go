package uncollected_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"ledgerwheel/domain/staff"
	"ledgerwheel/web/webtest"
)

// waited is a watch that has been ready for so many days, and the forms of its page.
func waited(t *testing.T, days int) *webtest.Leaving {
	t.Helper()
	l := webtest.NewLeaving(t)
	l.Ready()
	l.Pass(time.Duration(days) * 24 * time.Hour)
	return l
}

func form(l *webtest.Leaving, pairs ...string) url.Values {
	f := url.Values{"version": {l.Version(l.N.String())}}
	for i := 0; i+1 < len(pairs); i += 2 {
		f.Set(pairs[i], pairs[i+1])
	}
	return f
}

// due finds the watch on Today's list of those that nobody collects, with what is to be done, and on the owner's page.
func due(t *testing.T, l *webtest.Leaving, act string) {
	t.Helper()
	for _, m := range []staff.Member{l.Clerk, l.Owner} {
		today := l.As(m).Get("/").Want(http.StatusOK)
		webtest.Contains(t, m.Name+": the count", today.Text("tally-nobody"), "1 Nobody collects")
		if got := today.Text("today-list"); strings.Contains(got, act) {
			t.Errorf("%s: what nobody collects stands in another list too: %q", m.Name, got)
		}
		list := l.As(m).Get("/?show=nobody").Want(http.StatusOK)
		webtest.Contains(t, m.Name+": the list", list.Text("docket-row"), l.N.String(), act)
		if to := webtest.Attr(list.One("apart"), "href"); to != l.Path+"/uncollected" {
			t.Errorf("%s: it leads to %q", m.Name, to)
		}
	}
	webtest.Contains(t, "the owner's page", l.As(l.Owner).Get("/owner").Text("owner-asks"), "1 watch that nobody collects asks for a next step")
}

// nobodyDue finds nothing to be done there.
func nobodyDue(t *testing.T, l *webtest.Leaving) {
	t.Helper()
	if len(l.As(l.Clerk).Get("/").All("tally-nobody")) > 0 || len(l.As(l.Owner).Get("/owner").All("owner-asks")) > 0 {
		t.Error("something is said to be due")
	}
}

const address = "Ada Quillmarsh\n3 Gull Row\nSaltby"

// From ready through reminder and formal notice to the end of the wait, by the profile that the owner confirmed; before that
// days are counted and nothing is concluded.
func TestAWatchThatNobodyCollects(t *testing.T) {
	t.Parallel()
	l := waited(t, 20)
	clerk, owner := l.As(l.Clerk), l.As(l.Owner)
	path := l.Path + "/uncollected"
	page := clerk.Get(path).Want(http.StatusOK)
	webtest.Contains(t, "days", page.Text("waits-days"), "20 days")
	webtest.Contains(t, "unconfirmed", page.Text("waits"), "no legal advice", "No profile of the place is confirmed")
	if strings.Contains(page.Text("waits"), "collect notice") || len(page.All("waits-next")) > 0 {
		t.Errorf("something is concluded without a profile: %q", page.Text("waits"))
	}
	owner.Post(path+"/formal", form(l, "addressee", address, "until", "2027-03-01")).Want(http.StatusUnprocessableEntity)

	// The owner confirms, once the numbers were held against the law.
	refused := owner.Post("/place-profile", url.Values{"profile": {"uk"}}).Want(http.StatusUnprocessableEntity)
	if refused.Problem("checked") == "" {
		t.Error("a profile is confirmed unchecked")
	}
	clerk.Post("/place-profile", url.Values{"profile": {"uk"}, "checked": {"yes"}}).Want(http.StatusForbidden)
	nobodyDue(t, l)
	owner.Post("/place-profile", url.Values{"profile": {"uk"}, "checked": {"yes"}}).Want(http.StatusSeeOther)
	due(t, l, "Remind the customer: waits for 20 days")
	webtest.Contains(t, "profile", owner.Get("/place-profile").Text("profile-standing"), "United Kingdom", l.Owner.Name)
	webtest.Contains(t, "now due", clerk.Get(path).Text("waits-says"), "collect notice")

	// A reminder: refused without an address, written word for word, posted with its proof.
	short := clerk.Post(path+"/notice", form(l, "addressee", "Ada Quillmarsh")).Want(http.StatusUnprocessableEntity)
	if short.Problem("addressee") == "" || webtest.TextOf(short.One("addressee")) != "Ada Quillmarsh" {
		t.Errorf("without an address: %q", short.Text("form-errors"))
	}
	clerk.Post(path+"/notice", form(l, "addressee", address)).Want(http.StatusSeeOther)
	page = clerk.Get(path).Want(http.StatusOK)
	webtest.Contains(t, "to be posted", page.Text("waits-says"), "keep the proof")
	paper := clerk.Get(webtest.Attr(page.One("print-notice"), "href")).Want(http.StatusOK).Text("reading-a4")
	webtest.Contains(t, "letter", paper, "Your watch waits for you", "3 Gull Row", "Gannet Harbourmaster", "€120.00", l.N.String(), "7 Tern Quay")
	if pdf := clerk.Get(l.Path + "/papers/notice.pdf").Want(http.StatusOK); !strings.HasPrefix(pdf.Body, "%PDF-") {
		t.Error("no PDF")
	}
	notice := page.Hidden("notice")
	today := l.Clock().Format(time.DateOnly)
	for field, f := range map[string]url.Values{
		"posted_on":   form(l, "notice", notice, "post_number", "RX 1"),
		"post_number": form(l, "notice", notice, "posted_on", today),
	} {
		if refused := clerk.Post(path+"/posted", f).Want(http.StatusUnprocessableEntity); !strings.Contains(refused.Body, "f-"+field+"-error") {
			t.Errorf("%s: %q", field, refused.Text("form-errors"))
		}
	}
	clerk.Post(path+"/posted", form(l, "notice", notice, "posted_on", today, "post_number", "RX 4471 GB")).Want(http.StatusSeeOther)
	page = clerk.Get(path).Want(http.StatusOK)
	webtest.Contains(t, "posted", page.Text("letter-posted"), "RX 4471 GB", l.Clerk.Name)

	// The formal notice is the owner's, and runs three months.
	l.Pass(24 * time.Hour)
	due(t, l, "Formal notice is next: waits for 21 days")
	webtest.Contains(t, "formal is next", clerk.Get(path).Text("waits-says"), "formal notice next", "registered")
	clerk.Post(path+"/formal", form(l, "addressee", address, "until", "2027-03-30")).Want(http.StatusForbidden)
	owner.Post(path+"/formal", form(l, "addressee", address, "until", "2027-03-30", "own", "Words of our solicitor.")).Want(http.StatusSeeOther)
	paper = clerk.Get(l.Path + "/papers/notice").Want(http.StatusOK).Text("reading-a4")
	webtest.Contains(t, "formal letter", paper, "Formal notice", "30 Mar 2027", "Words of our solicitor.")
	for _, word := range []string{"sell", "sold", "sale"} {
		if strings.Contains(strings.ToLower(paper), word) {
			t.Errorf("the letter speaks of %q by itself", word)
		}
	}
	page = clerk.Get(path)
	today = l.Clock().Format(time.DateOnly)
	clerk.Post(path+"/posted", form(l, "notice", page.Hidden("notice"), "posted_on", today, "post_number", "RX 4472 GB")).Want(http.StatusSeeOther)
	webtest.Contains(t, "runs", clerk.Get(path).Text("waits"), "3 months", "owner to decide")
	l.Pass(95 * 24 * time.Hour)
	page = l.As(l.Clerk).Get(path).Want(http.StatusOK)
	due(t, l, "The owner decides")
	webtest.Contains(t, "over", page.Text("waits-says"), "are over", "the program decides nothing")
	webtest.Contains(t, "journal", l.As(l.Clerk).Get(l.Path+"/journal").Body, "Formal notice posted.", "RX 4472 GB", "Collect notice written.")
}

// A dispute or a doubt about the owner ends every conclusion and every letter until it is lifted with a reason.
func TestWhatStandsAgainstALetter(t *testing.T) {
	t.Parallel()
	l := waited(t, 40)
	clerk, owner := l.As(l.Clerk), l.As(l.Owner)
	path := l.Path + "/uncollected"
	owner.Post("/place-profile", url.Values{"profile": {"own"}, "checked": {"yes"}, "place": {"Saltby"}, "source": {"Our solicitor, 3 Nov"},
		"form": {"letter"}, "collect-days": {"10"}, "wait-months": {"two"}}).Want(http.StatusUnprocessableEntity)
	owner.Post("/place-profile", url.Values{"profile": {"own"}, "checked": {"yes"}, "place": {"Saltby"}, "source": {"Our solicitor, 3 Nov"},
		"form": {"letter"}, "collect-days": {"10"}, "wait-months": {"2"}, "notice-days": {"45"}}).Want(http.StatusSeeOther)
	if refused := clerk.Post(path+"/block", form(l, "kind", "bill")).Want(http.StatusUnprocessableEntity); refused.Problem("words") == "" {
		t.Error("noted without words")
	}
	clerk.Post(path+"/block", form(l, "kind", "bill", "words", "She wrote on 3 November that the price was agreed lower.")).Want(http.StatusSeeOther)
	page := clerk.Get(path).Want(http.StatusOK)
	webtest.Contains(t, "blocked", page.Text("waits-says"), "disputes the bill")
	webtest.Contains(t, "no letter", page.Text("letter-why"), "disputes the bill")
	nobodyDue(t, l)
	clerk.Post(path+"/notice", form(l, "addressee", address)).Want(http.StatusUnprocessableEntity)
	owner.Post(path+"/formal", form(l, "addressee", address, "until", "2027-05-01")).Want(http.StatusUnprocessableEntity)
	block := page.Hidden("block")
	clerk.Post(path+"/lift", form(l, "block", block)).Want(http.StatusUnprocessableEntity)
	clerk.Post(path+"/lift", form(l, "block", block, "why", "Settled on the telephone: she pays as agreed.")).Want(http.StatusSeeOther)
	due(t, l, "Remind the customer")
	webtest.Contains(t, "lifted", clerk.Get(path).Text("block-lifted"), "Settled on the telephone")
	clerk.Post(path+"/notice", form(l, "addressee", address)).Want(http.StatusSeeOther)
	l.As(l.Watchmaker).Get(path).Want(http.StatusOK)
	l.As(l.Watchmaker).Post(path+"/block", form(l, "kind", "bill", "words", "x")).Want(http.StatusForbidden)
}

// A serial on the watch list blocks by itself.
func TestAListedWatchIsBlocked(t *testing.T) {
	t.Parallel()
	l := waited(t, 40)
	l.As(l.Owner).Post("/watch-list", url.Values{"serial": {"HM-104477"}, "maker": {"Gannet"}, "reported": {"2026-11-02"},
		"source": {"Saltby police, 118"}}).Want(http.StatusSeeOther)
	l.As(l.Owner).Post("/place-profile", url.Values{"profile": {"uk"}, "checked": {"yes"}}).Want(http.StatusSeeOther)
	nobodyDue(t, l)
	page := l.As(l.Clerk).Get(l.Path + "/uncollected").Want(http.StatusOK)
	webtest.Contains(t, "blocked", page.Text("waits-says"), "on the shop’s list", "Nothing follows")
	l.As(l.Clerk).Post(l.Path+"/uncollected/notice", form(l, "addressee", address)).Want(http.StatusUnprocessableEntity)
}

func TestTrips(t *testing.T) {
	t.Parallel()
	l := waited(t, 1)
	for _, path := range []string{l.Path + "/uncollected", "/place-profile"} {
		if n := l.Trips(l.As(l.Owner), path); n > 4 {
			t.Errorf("%s takes %d round trips", path, n)
		}
	}
}
