package invoices_test

import (
	"net/http"
	"strings"
	"testing"

	"ledgerwheel/web/webtest"
)

// What was tested stands with figure, way and day on draft and bill, bulletin, card and the customer's page, never before it was, and
// on no paper that is not about the work.
func TestTestedAtSoManyBar(t *testing.T) {
	t.Parallel()
	const said = "Tested at 5\u00a0bar, in air, on 24 November 2026"
	l := webtest.NewLeaving(t)
	owner := l.As(l.Owner)
	owner.Post(l.Path+"/invoices/deposit", billForm(l, "amount", "20")).Want(http.StatusSeeOther)
	link := l.LinkPath(l.N.String())
	if page := l.Stranger().Get(link).Want(http.StatusOK); strings.Contains(page.Body, "Tested at") {
		t.Error("the customer's page speaks of a test that was not made")
	}
	l.Ready()
	owner.Post(l.Path+"/invoices", billForm(l)).Want(http.StatusSeeOther)
	list := documents(l)
	if notes := list[1].Notes; len(notes) != 1 || notes[0] != said+"." || len(list[0].Notes) != 0 {
		t.Errorf("the bill notes %q, the deposit invoice %q", notes, list[0].Notes)
	}
	holds := func(what, path string, c *webtest.Client) {
		t.Helper()
		if page := c.Get(path).Want(http.StatusOK); !strings.Contains(page.Body, said) && !strings.Contains(webtest.TextOf(page.Document), strings.ReplaceAll(said, "\u00a0", " ")) {
			t.Errorf("%s does not say %q", what, said)
		}
	}
	holds("the invoice", l.Path+"/papers/invoices/"+webtest.Itoa(list[1].ID), owner)
	holds("the bulletin", l.Path+"/papers/bulletin", owner)
	holds("the customer's page", link, l.Stranger())
	holds("the card's form", l.Path+"/card", owner)
	// It stays on the bill whatever is tested later, and a failure is said too.
	owner.Post(l.Path+"/invoices/"+webtest.Itoa(list[1].ID)+"/credit", billForm(l, "why", "goodwill", "amount", "5")).Want(http.StatusSeeOther)
	if list := documents(l); len(list[2].Notes) != 0 {
		t.Errorf("the credit note notes %q", list[2].Notes)
	}
}
