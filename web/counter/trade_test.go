package counter_test

import (
	"net/http"
	"strings"
	"testing"

	"ledgerwheel/web/webtest"
)

// TestOrderNumberOfAFirm takes in a firm's watch under the firm's own order number, which is found and stands on the papers.
func TestOrderNumberOfAFirm(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	c := s.As(s.Clerk)
	number := s.TakeIn("firm", "yes", "order_number", "PO 2026/118")
	if got := c.Get("/dockets/" + number + "/intake").Text("said"); !strings.Contains(got, "PO 2026/118") {
		t.Errorf("said at the counter: %q", got)
	}
	papers := c.Get("/dockets/" + number + "/papers/ticket-and-label").Want(http.StatusOK)
	if got := webtest.TextOf(papers.Document); !strings.Contains(got, "Your order PO 2026/118") || !strings.Contains(got, "order PO 2026/118") {
		t.Errorf("ticket and label: %q", got)
	}
	found := c.Get("/find?q=po+2026%2F118")
	if found.Status != http.StatusSeeOther && !strings.Contains(found.Body, number) {
		t.Errorf("the order number finds %d %q", found.Status, webtest.TextOf(found.Document))
	}
	id := webtest.Itoa(s.Sheet(number).Head.Customer.ID)
	if got := c.Get("/intake?customer=" + id); !strings.Contains(got.Body, `data-testid="for-a-firm"`) || len(got.All("firm")) != 0 {
		t.Error("a firm of the record is asked whether it is one")
	}
	c.Post("/dockets/"+number+"/intake", map[string][]string{"version": {s.Version(number)}, "complaint": {"Stops"}, "service_wanted": {"full-service"},
		"order_number": {"PO 2026/119"}}).Want(http.StatusSeeOther)
	if got := webtest.TextOf(c.Get("/dockets/" + number + "/journal").Document); !strings.Contains(got, "Intake corrected") || !strings.Contains(got, "PO 2026/119") {
		t.Error("the journal does not say that the order number was corrected")
	}
	c.Post("/intake", webtest.CounterForm("order_number", strings.Repeat("9", 61), "customer_choice", "new", "serial", "z 9")).
		Want(http.StatusUnprocessableEntity)
}
