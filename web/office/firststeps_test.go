package office_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"ledgerwheel/web/webtest"
)

// TestFirstStepsAreTickedByTheRecord: nothing is clicked away; an answer to tax, a measured ruler and a watch tick their
// lines, one line is next, and the list can be put away and taken out again.
func TestFirstStepsAreTickedByTheRecord(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	owner := s.As(s.Owner)
	list := owner.Get("/first-steps").Want(http.StatusOK)
	if got := webtest.Attr(list.One("next-step"), "href"); got != "/settings" {
		t.Errorf("next is %q", got)
	}
	for step, want := range map[string]string{"prices": "to do", "place": "done", "address": "to do", "tax": "to do", "print": "to do", "mail": "to do", "people": "done", "watch": "to do"} {
		if got := list.Text("step-" + step); !strings.Contains(got, want) {
			t.Errorf("%s: %q, want %s", step, got, want)
		}
	}
	if got := owner.Get("/owner").Want(http.StatusOK).Text("owner-steps"); !strings.Contains(got, "First steps") {
		t.Errorf("the owner's page says %q", got)
	}
	for field, form := range map[string]url.Values{"tax": {}, "tax_rate": {"tax": {"yes"}, "tax_name": {"VAT"}, "tax_rate": {"0"}}} {
		if got := owner.Post("/first-steps/tax", form).Want(http.StatusUnprocessableEntity).Problem(field); got == "" {
			t.Errorf("%v is taken", form)
		}
	}
	owner.Post("/first-steps/tax", url.Values{"tax": {"no"}}).Want(http.StatusSeeOther)
	if got := owner.Get("/first-steps").Text("step-tax"); !strings.Contains(got, "done") {
		t.Errorf("no tax was said: %q", got)
	}
	owner.Post("/first-steps/tax", url.Values{"tax": {"yes"}, "tax_rate": {"8.1"}, "tax_name": {"VAT"}, "prices": {"without"}}).Want(http.StatusSeeOther)
	if sh, err := s.Store.Shop(t.Context()); err != nil || sh.TaxBasisPoints != 810 || sh.PricesIncludeTax || !sh.TaxSaid {
		t.Errorf("tax is kept as %+v, %v", sh, err)
	}
	for _, mm := range []string{"", "a foot", "300"} {
		if got := owner.Post("/first-steps/print", url.Values{"ruler_mm": {mm}}).Want(http.StatusUnprocessableEntity).Problem("ruler_mm"); got == "" {
			t.Errorf("%q mm is taken", mm)
		}
	}
	owner.Post("/first-steps/print", url.Values{"ruler_mm": {"97,0"}}).Want(http.StatusSeeOther)
	if got := owner.Get("/first-steps/print").Want(http.StatusOK).Text("scale"); !strings.Contains(got, "97 mm") || !strings.Contains(got, "103 %") {
		t.Errorf("a ruler of 97 mm: %q", got)
	}
	for _, name := range []string{"claim+ticket", "bag+label", "warranty+card", "estimate", "invoice"} {
		if pdf := owner.Get("/first-steps/print.pdf?paper=" + name).Want(http.StatusOK).Body; !strings.HasPrefix(pdf, "%PDF-") {
			t.Errorf("%s is no PDF", name)
		}
	}
	owner.Get("/first-steps/print.pdf?paper=x").Want(http.StatusNotFound)
	if pdf := owner.Get("/first-steps/print.pdf").Want(http.StatusOK).Body; !strings.HasPrefix(pdf, "%PDF-") {
		t.Error("the sheet is no PDF")
	}
	owner.Post("/prices/new", url.Values{"code": {"FS"}, "name": {"Full service"}, "kind": {"labour"}, "price": {"185"}, "from": {"2026-01-01"}}).Want(http.StatusSeeOther)
	if got := owner.Get("/first-steps").Text("step-prices"); !strings.Contains(got, "done") {
		t.Errorf("a job was added: %q", got)
	}
	s.TakeIn("name", "Ada Quillmarsh")
	if got := owner.Get("/first-steps").Text("step-watch"); !strings.Contains(got, "done") {
		t.Errorf("a watch was taken in: %q", got)
	}
	owner.Post("/first-steps/away", url.Values{}).Want(http.StatusSeeOther)
	if n := len(owner.Get("/owner").All("owner-steps")); n != 0 {
		t.Error("the list stands on the owner's page though it was put away")
	}
	owner.Get("/first-steps").Want(http.StatusOK).One("steps-back")
	owner.Post("/first-steps/away", url.Values{"away": {"no"}}).Want(http.StatusSeeOther)
	owner.Get("/owner").One("owner-steps")
	s.As(s.Clerk).Get("/first-steps").Want(http.StatusForbidden)
}
