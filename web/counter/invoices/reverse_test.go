package invoices_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"ledgerwheel/store"
	"ledgerwheel/web/webtest"
)

// billForm is the form that issues the bill, as it is filled in.
func billForm(l *webtest.Leaving, changes ...string) url.Values {
	f := url.Values{"version": {l.Version(l.N.String())}, "do": {"issue"}, "treatment": {"standard"}}
	for i := 0; i < len(changes); i += 2 {
		f.Set(changes[i], changes[i+1])
	}
	return f
}

// formOf is a form of a page as it is sent when nothing is typed.
func formOf(page *webtest.Answer, testID string) url.Values {
	for _, form := range page.Forms(nil) {
		if form.TestID == testID {
			for _, name := range webtest.Stamp {
				form.Fields.Del(name)
			}
			return form.Fields
		}
	}
	return url.Values{}
}

// documents are what was issued on the docket.
func documents(l *webtest.Leaving) []store.InvoiceRow {
	l.T.Helper()
	sheet, err := l.Store.InvoiceSheet(l.T.Context(), l.N)
	if err != nil {
		l.T.Fatal(err)
	}
	return sheet.Invoices
}

// A bill by reverse charge from the numbers' entering to its paper: what is missing is named with where to enter it, a wrong number is
// refused beside its field and stays typed, and the paper bears both numbers, the sentence and no tax.
func TestReverseChargeIssued(t *testing.T) {
	t.Parallel()
	l := webtest.NewLeaving(t)
	l.Ready()
	owner := l.As(l.Owner)
	reverse := func() *webtest.Answer {
		return owner.Post(l.Path+"/invoices", billForm(l, "treatment", "reverse-charge"))
	}
	refused := reverse().Want(http.StatusUnprocessableEntity)
	webtest.Contains(t, "without any number", refused.Problem("treatment"), "settings", "customer's page")
	if formOf(refused, "bill-form").Get("treatment") != "reverse-charge" || len(documents(l)) > 0 {
		t.Error("what was chosen is lost, or something was issued")
	}

	settings := formOf(owner.Get("/settings").Want(http.StatusOK), "settings-form")
	settings.Set("tax_number", "GB 980 7806 85")
	bad := owner.Post("/settings", settings).Want(http.StatusUnprocessableEntity)
	if !strings.Contains(bad.Problem("tax_number"), "check digits") || !strings.Contains(bad.Body, "GB 980 7806 85") {
		t.Errorf("a wrong number of the shop: %q", bad.Problem("tax_number"))
	}
	settings.Set("tax_number", "gb 980 7806 84")
	settings.Set("other_tax_number", "Trader 12")
	owner.Post("/settings", settings).Want(http.StatusSeeOther)
	webtest.Contains(t, "without the customer's", reverse().Want(http.StatusUnprocessableEntity).Problem("treatment"), "customer's page")

	id := l.Sheet(l.N.String()).Head.Customer.ID
	edit := "/customers/" + webtest.Itoa(id) + "/edit"
	clerk := l.As(l.Clerk)
	private := clerk.Get(edit).Want(http.StatusOK)
	if webtest.HasAttr(private.One("for-a-firm").Attr, "open") {
		t.Error("the form of a private person asks for a tax number")
	}
	person := formOf(private, "customer-form")
	person.Set("firm", "yes")
	person.Set("tax_number", "136 695 976")
	bad = clerk.Post(edit, person).Want(http.StatusUnprocessableEntity)
	if !strings.Contains(bad.Problem("tax_number"), "two letters") || !strings.Contains(bad.Body, `value="136 695 976"`) {
		t.Errorf("a number without its country: %q", bad.Problem("tax_number"))
	}
	person.Set("tax_number", "de 136 695 976")
	clerk.Post(edit, person).Want(http.StatusSeeOther)
	webtest.Contains(t, "the customer's page", clerk.Get("/customers/"+webtest.Itoa(id)).Want(http.StatusOK).Text("particulars"), "VAT number", "DE136695976")

	reverse().Want(http.StatusSeeOther)
	list := documents(l)
	if len(list) != 1 || list[0].Totals.GrossMinor != 10000 || list[0].Totals.TaxMinor != 0 {
		t.Fatalf("issued: %+v", list)
	}
	paper := clerk.Get(l.Path + "/papers/invoices/" + webtest.Itoa(list[0].ID)).Want(http.StatusOK)
	webtest.Contains(t, "the paper", webtest.TextOf(paper.Document), "GB980780684", "Trader 12", "DE136695976", "Reverse charge.", "not charged", "€100.00")
	webtest.Contains(t, "the page", clerk.Get(l.Path+"/invoices").Want(http.StatusOK).Text("issued"), "€100.00")
}
