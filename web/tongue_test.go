package web_test

import (
	"maps"
	"net/http"
	"strings"
	"testing"

	"ledgerwheel/domain/tongue"
	"ledgerwheel/web/webtest"
)

// TestPapersSpeakTheCustomersLanguage takes in a watch of somebody who reads German: the papers do, from then on, whatever
// is changed on the customer. What was said wrongly can be corrected on the docket, until it is billed.
func TestPapersSpeakTheCustomersLanguage(t *testing.T) {
	t.Parallel()
	l := webtest.NewLeaving(t)
	number := l.TakeIn(append([]string{"tongue", "de"}, brin...)...)
	l.Send(number)
	path := "/dockets/" + number
	clerk := l.As(l.Clerk)
	says := func(slug string, words ...string) {
		t.Helper()
		webtest.Contains(t, slug, webtest.TextOf(clerk.Get(path+"/papers/"+slug).Want(http.StatusOK).Document), words...)
	}
	says("claim-ticket", "Abholschein", "Zugesagt für", "Ihre Angaben", "Dezember 2026")
	says("estimate/1", "Kostenvoranschlag", "Fassung 1", "Gültig bis", "Gesamtbetrag")
	says("bag-label", number) // stays in the shop, in English
	if page := clerk.Get(path + "/intake").Want(http.StatusOK); page.Text("head-speaks") != "German" {
		t.Errorf("the head says %q", page.Text("head-speaks"))
	}
	papers := func() webtest.Documents { // the page behind the link is read today, in today's language
		found := l.Documents(l.Number(number))
		maps.DeleteFunc(found, func(address, _ string) bool { return strings.HasPrefix(address, "/c/") })
		return found
	}
	kept := papers()
	c := l.Sheet(number).Head.Customer
	_, version, err := l.Store.Customer(t.Context(), c.ID)
	if err != nil {
		t.Fatal(err)
	}
	c.Tongue = tongue.French
	if err := l.Store.SaveCustomer(t.Context(), l.Actor(l.Clerk), l.Clock(), c, version); err != nil {
		t.Fatal(err)
	}
	kept.Kept(t, papers())

	work := func() map[string][]string {
		return map[string][]string{"version": {l.Version(number)}, "complaint": {"Stops."}, "service_wanted": {"full-service"}, "tongue": {"fr"}}
	}
	clerk.Post(path+"/intake", work()).Want(http.StatusSeeOther)
	says("claim-ticket", "Bon de dépôt")
	says("estimate/1", "Kostenvoranschlag") // was sent in German
	clerk.Post(path+"/hand-over/payment", map[string][]string{"version": {l.Version(number)}, "amount": {"20"},
		"method": {"cash"}, "beyond": {"yes"}}).Want(http.StatusSeeOther)
	says("invoice", "Facture", "Espèces")
	form := work()
	form["tongue"] = []string{"de"}
	refused := clerk.Post(path+"/intake", form).Want(http.StatusUnprocessableEntity)
	if !strings.Contains(refused.Problem("tongue"), "French") {
		t.Errorf("the refusal says %q", refused.Problem("tongue"))
	}
}
