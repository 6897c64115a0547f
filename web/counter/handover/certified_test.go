package handover_test

import (
	"net/http"
	"strings"
	"testing"

	"ledgerwheel/domain/till"
	"ledgerwheel/web/webtest"
)

// Where a certified till is asked for, the form says so beside the ways to pay, and the paper is a payment note that names
// the receipt which counts; on A6 and on a roll, which this device keeps to.
func TestPaymentIsWrittenDownBesideACertifiedTill(t *testing.T) {
	t.Parallel()
	l := webtest.NewLeaving(t)
	clerk := l.As(l.Clerk)
	if page := clerk.Get("/till").Want(http.StatusOK); strings.Contains(page.Body, "no certified till") {
		t.Error("a certified till is spoken of where none is asked for")
	}
	sh, err := l.Store.Shop(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	sh.CertifiedTill = till.Asked
	if err := l.Store.SaveShop(t.Context(), sh, l.Actor(l.Owner), l.Clock()); err != nil {
		t.Fatal(err)
	}
	l.Ready() // papers keep to the settings of the first bill
	for _, path := range []string{l.Path + "/hand-over", "/till"} {
		if page := clerk.Get(path).Want(http.StatusOK); !strings.Contains(webtest.TextOf(page.Document), "This is no certified till.") {
			t.Errorf("%s does not say that it is no certified till", path)
		}
	}
	clerk.Post(l.Path+"/hand-over", l.LeaveForm("pay", "cash", "given-cash", "120")).Want(http.StatusSeeOther)
	if link := clerk.Get(l.Path + "/hand-over").Want(http.StatusOK).Text("to-receipt"); link != "Print the payment note" {
		t.Errorf("the link says %q", link)
	}
	page := clerk.Get(l.Path + "/papers/receipt").Want(http.StatusOK)
	webtest.Contains(t, "payment note", page.Text("reading-a6"), "Payment note", "Written down only.", "certified till")
	if strings.Contains(page.Text("reading-a6"), "Receipt") {
		t.Error("the paper calls itself a receipt")
	}
	webtest.Contains(t, "on a roll", clerk.Get(l.Path+"/papers/receipt?size=roll").Want(http.StatusOK).Text("reading-ticket"), "Payment note")
	if again := clerk.Get(l.Path + "/papers/receipt").Want(http.StatusOK); len(again.All("reading-ticket")) != 1 {
		t.Error("the device forgot that it prints on a roll")
	}
	if pdf := clerk.Get(l.Path + "/papers/receipt.pdf?size=a6").Want(http.StatusOK); !strings.HasPrefix(pdf.Body, "%PDF-") {
		t.Error("no PDF")
	}
}
