package invoices_test

import (
	"net/http"
	"strings"
	"testing"

	"ledgerwheel/domain/invoice"
	"ledgerwheel/web/webtest"
)

// refusedAt holds a refusal beside its field to what was typed, which stays, and to nothing being issued.
func refusedAt(t *testing.T, l *webtest.Leaving, a *webtest.Answer, form, field, typed string) {
	t.Helper()
	a.Want(http.StatusUnprocessableEntity)
	if a.Problem(field) == "" {
		t.Errorf("%s %q is refused without a reason beside it", field, typed)
	}
	if kept := formOf(a, form).Get(field); kept != typed {
		t.Errorf("%s: %q was typed, %q is left", field, typed, kept)
	}
}

// The rooms of invoices, with bad and good input: a deposit, the bill that takes it off, and a credit note. The work comes to €120.00
// with 20 % in it, €20.00 by the VAT fraction of one sixth.
func TestRoomsOfInvoices(t *testing.T) {
	t.Parallel()
	l := webtest.NewLeaving(t)
	owner, clerk := l.As(l.Owner), l.As(l.Clerk)
	rooms := l.Path + "/invoices"
	deposit := rooms + "/deposit"
	for _, typed := range []string{"", "0", "-5", "120.01", "many"} {
		refusedAt(t, l, clerk.Post(deposit, billForm(l, "amount", typed)), "deposit-form", "amount", typed)
	}
	exempt := clerk.Post(deposit, billForm(l, "amount", "30", "deposit_treatment", "exempt"))
	refusedAt(t, l, exempt, "deposit-form", "deposit_sentence", "")
	if f := formOf(exempt, "deposit-form"); f.Get("deposit_treatment") != "exempt" || f.Get("amount") != "30" {
		t.Errorf("of the refused deposit %v is left", f)
	}
	clerk.Post(deposit, billForm(l, "amount", "30")).Want(http.StatusSeeOther)

	for field, typed := range map[string]string{"off_percent": "101", "off": "lots", "line_off-0": "-1", "supplied_on": "2027-01-01"} {
		refusedAt(t, l, clerk.Post(rooms, billForm(l, field, typed)), "bill-form", field, typed)
	}
	refusedAt(t, l, clerk.Post(rooms, billForm(l, "treatment", "exempt")), "bill-form", "sentence", "")
	refusedAt(t, l, clerk.Post(rooms, billForm(l, "off_percent", "10")), "bill-form", "reason", "")
	if looked := clerk.Post(rooms, billForm(l, "do", "check", "off_percent", "10")).Want(http.StatusOK); !strings.Contains(looked.Text("comes-to"), "108.00") {
		t.Errorf("with 10 %% off it comes to %q", looked.Text("comes-to"))
	}
	if list := documents(l); len(list) != 1 || list[0].Kind != invoice.Deposit || list[0].Totals.GrossMinor != 3000 || list[0].Totals.TaxMinor != 500 {
		t.Fatalf("beside the deposit invoice: %+v", list)
	}
	clerk.Post(rooms, billForm(l, "reference", "PO 7")).Want(http.StatusSeeOther)
	list := documents(l)
	if len(list) != 2 || list[1].Totals.GrossMinor != 9000 || list[1].Totals.TaxMinor != 1500 || list[1].Reference != "PO 7" {
		t.Fatalf("the bill: %+v", list[len(list)-1])
	}

	credit := rooms + "/" + webtest.Itoa(list[1].ID) + "/credit"
	clerk.Post(credit, billForm(l, "why", "goodwill")).Want(http.StatusForbidden)
	refusedAt(t, l, owner.Post(credit, billForm(l, "amount", "5")), "credit-form", "why", "")
	for _, typed := range []string{"90.01", "-5", "0", "all"} {
		refusedAt(t, l, owner.Post(credit, billForm(l, "amount", typed, "why", "goodwill")), "credit-form", "amount", typed)
	}
	owner.Post(credit, billForm(l, "amount", "6", "why", "goodwill")).Want(http.StatusSeeOther)
	if list := documents(l); len(list) != 3 || list[2].Totals.GrossMinor != 600 || list[2].Totals.TaxMinor != 100 || list[2].Answers != list[1].Number {
		t.Fatalf("the credit note: %+v", list[len(list)-1])
	}
	paper := webtest.TextOf(clerk.Get(l.Path + "/papers/invoices/" + webtest.Itoa(list[1].ID)).Want(http.StatusOK).Document)
	webtest.Contains(t, "the paper", paper, "Gannet Harbourmaster", "HM-104477", list[0].Number, "PO 7")

	series := func(name string) *webtest.Answer {
		f := billForm(l, "id", "0", "name", name, "before", "{year}-", "digits", "3", "yearly", "yes")
		return owner.Post("/series", f)
	}
	if a := series("").Want(http.StatusUnprocessableEntity); a.Problem("name") == "" {
		t.Error("a series without a name is refused without a reason")
	}
	if list, err := l.Store.SeriesList(t.Context()); err != nil || len(list) != 1 {
		t.Errorf("series: %+v, %v", list, err)
	}
	series("Repairs").Want(http.StatusUnprocessableEntity) // its numbers would be those of the usual series
	owner.Post("/series", billForm(l, "id", "0", "name", "Repairs", "before", "R{year}-", "digits", "3", "yearly", "yes")).Want(http.StatusSeeOther)
	if list, err := l.Store.SeriesList(t.Context()); err != nil || len(list) != 2 || list[1].Before != "R{year}-" {
		t.Errorf("series: %+v, %v", list, err)
	}
}

// Documents in currencies without and with three decimals (ISO 4217: JPY 0, KWD 3), from the form to the paper's text: the work comes
// to 12000 minor units with 20 % in it.
func TestCurrenciesOfNoneAndThreeDecimals(t *testing.T) {
	t.Parallel()
	for code, c := range map[string]struct{ deposit, tooFine, total, tax, left string }{
		"JPY": {"3000", "3000.5", "12,000", "2,000", "9,000"},
		"KWD": {"3.000", "3.0005", "12.000", "2.000", "9.000"},
	} {
		t.Run(code, func(t *testing.T) {
			t.Parallel()
			l := webtest.NewLeaving(t)
			l.Put(l.N.String(), `currency = $2`, code)
			clerk := l.As(l.Clerk)
			refusedAt(t, l, clerk.Post(l.Path+"/invoices/deposit", billForm(l, "amount", c.tooFine)), "deposit-form", "amount", c.tooFine)
			clerk.Post(l.Path+"/invoices/deposit", billForm(l, "amount", c.deposit)).Want(http.StatusSeeOther)
			if page := clerk.Get(l.Path + "/invoices").Want(http.StatusOK); !strings.Contains(page.Text("comes-to"), c.total) {
				t.Errorf("the page says %q", page.Text("comes-to"))
			}
			clerk.Post(l.Path+"/invoices", billForm(l)).Want(http.StatusSeeOther)
			list := documents(l)
			if len(list) != 2 || list[0].Totals.GrossMinor != 3000 || list[1].Totals.GrossMinor != 9000 || list[1].Currency != code {
				t.Fatalf("%+v", list)
			}
			paper := webtest.TextOf(clerk.Get(l.Path + "/papers/invoices/" + webtest.Itoa(list[1].ID)).Want(http.StatusOK).Document)
			webtest.Contains(t, "the paper", paper, c.total, c.left)
			clerk.Get(l.Path + "/papers/invoices/" + webtest.Itoa(list[1].ID) + "/pdf").Want(http.StatusOK)
		})
	}
}

// While the work is still to be done the deposit comes first, and the bill is folded; later the bill does.
func TestTheDepositComesFirstWhileTheWorkIsToBeDone(t *testing.T) {
	t.Parallel()
	l := webtest.NewLeaving(t)
	clerk := l.As(l.Clerk)
	if page := clerk.Get(l.Path + "/invoices").Want(http.StatusOK); len(page.All("fold-bill")) != 0 {
		t.Error("in the final test the bill is folded")
	}
	l.Put(l.N.String(), `stage = 'service'`)
	page := clerk.Get(l.Path + "/invoices").Want(http.StatusOK)
	if len(page.All("fold-bill")) != 1 || webtest.HasAttr(page.One("fold-bill").Attr, "open") || !webtest.HasAttr(page.One("fold-deposit").Attr, "open") {
		t.Error("while the work is done the bill is not folded, or the deposit is")
	}
	clerk.Post(l.Path+"/invoices", billForm(l)).Want(http.StatusSeeOther)
}
