package loans_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"ledgerwheel/web/webtest"
)

func fields(pairs ...string) url.Values {
	f := url.Values{}
	for i := 0; i < len(pairs); i += 2 {
		f.Set(pairs[i], pairs[i+1])
	}
	return f
}

// TestLoanWatch hands out a watch of the shop: the customer's own does not leave before it is back, or before it is noted why
// it stays out.
func TestLoanWatch(t *testing.T) {
	t.Parallel()
	l := webtest.NewLeaving(t)
	l.Ready()
	s, c, at := l.Site, l.As(l.Clerk), l.Path+"/loan"
	if got := c.Get(at).Want(http.StatusOK).Text("hand-out"); !strings.Contains(got, "None is in the shop") {
		t.Errorf("nothing to lend: %q", got)
	}
	if got := c.Post("/loans", fields("maker", "Pellwarne", "value", "")).Want(http.StatusUnprocessableEntity); got.Value("maker") != "Pellwarne" ||
		got.Problem("value") == "" || got.Problem("state") == "" {
		t.Errorf("without value and state: %q", got.Text("form-errors"))
	}
	c.Post("/loans", fields("maker", "Pellwarne", "model", "Warden", "serial", "L 1", "value", "120", "state", "no marks")).Want(http.StatusSeeOther)
	c.Get(l.Path + "/papers/loan-slip.pdf").Want(http.StatusNotFound)
	out := func(changes ...string) url.Values {
		return fields(append([]string{"version", s.Version(l.N.String()), "watch", "1", "out_state", "no marks", "deposit", "20", "deposit_how", "cash"},
			changes...)...)
	}
	for _, tt := range [][2]string{{"watch", ""}, {"out_state", ""}, {"due_on", "2026-11-01"}, {"deposit_how", ""}, {"deposit", "lots"}} {
		if got := c.Post(at, out(tt[0], tt[1])).Want(http.StatusUnprocessableEntity); got.Text("form-errors") == "" {
			t.Errorf("%s %q is taken", tt[0], tt[1])
		}
	}
	c.Post(at, out()).Want(http.StatusSeeOther)
	if got := c.Post(at, out()).Want(http.StatusUnprocessableEntity).Text("form-errors"); !strings.Contains(got, "out with a customer already") {
		t.Errorf("handed out twice: %q", got)
	}
	if got := c.Get(l.Path + "/papers/loan-slip").Want(http.StatusOK); !strings.Contains(webtest.TextOf(got.Document), "Pellwarne Warden, serial L 1") {
		t.Error("the slip does not name the watch")
	}
	c.Get(l.Path + "/papers/loan-slip.pdf").Want(http.StatusOK)
	if got := c.Get(l.Path).Text("head-loan"); got != "loan watch out" {
		t.Errorf("the head says %q", got)
	}
	if got := c.Get("/loans").Text("loans"); !strings.Contains(got, l.N.String()) || !strings.Contains(got, "Ada Quillmarsh") {
		t.Errorf("the list: %q", got)
	}
	if got := c.Post("/loans/1/end", fields()).Want(http.StatusUnprocessableEntity).Text("form-errors"); !strings.Contains(got, "take it back first") {
		t.Errorf("ended while it is out: %q", got)
	}

	c.Post(l.Path+"/hand-over/payment", l.PayForm("120", "cash")).Want(http.StatusSeeOther)
	if got := c.Post(l.Path+"/hand-over", l.LeaveForm()); got.Status < 400 || !strings.Contains(webtest.TextOf(got.Document), "loan watch is still out") {
		t.Fatalf("the watch leaves with the loan watch out: %d", got.Status)
	}
	keep := func(why string) url.Values { return fields("version", s.Version(l.N.String()), "kept_out_why", why) }
	c.Post(at+"/keep-out", keep("")).Want(http.StatusUnprocessableEntity)
	c.Post(at+"/keep-out", keep("His own goes on to the maker.")).Want(http.StatusSeeOther)
	if len(c.Get("/").All("tally-lent")) > 0 || len(l.As(l.Owner).Get("/owner").All("owner-asks")) > 0 {
		t.Error("it is said to be due while their own is here")
	}
	c.Post(l.Path+"/hand-over", l.LeaveForm()).Want(http.StatusSeeOther)
	if got := c.Get("/?show=lent").Want(http.StatusOK); !strings.Contains(got.Text("docket-row"), "Ask for the loan watch Pellwarne Warden") ||
		!strings.Contains(got.Text("tally-lent"), "1 ") || webtest.Attr(got.One("apart"), "href") != at {
		t.Errorf("Today does not ask for it: %q", got.Text("docket-row"))
	}
	if got := l.As(l.Owner).Get("/owner").Text("owner-asks"); !strings.Contains(got, "1 loan watch should be back") {
		t.Errorf("the owner's page: %q", got)
	}
	if got := c.Get("/loans").Text("loans"); !strings.Contains(got, "overdue") {
		t.Errorf("out after the hand-over, and not overdue: %q", got)
	}

	back := func(changes ...string) url.Values {
		return fields(append([]string{"version", "", "back_state", "crystal scratched", "deposit_back", "kept for the crystal", "deposit_returned", "12.50"}, changes...)...)
	}
	for _, tt := range [][2]string{{"deposit_back", ""}, {"deposit_returned", ""}, {"deposit_returned", "20.01"}, {"deposit_returned", "some"}} {
		if got := c.Post(at+"/back", back(tt[0], tt[1])).Want(http.StatusUnprocessableEntity); got.Problem(tt[0]) == "" || !strings.Contains(got.Body, "crystal scratched") {
			t.Errorf("%s %q is taken", tt[0], tt[1])
		}
	}
	if got := c.Get("/till").Want(http.StatusOK); !strings.Contains(got.Text("moves"), "Deposit for something lent Loan watch of docket "+l.N.String()) ||
		len(got.All("take-back")) > 0 {
		t.Errorf("the till: %q", got.Text("moves"))
	}
	if got := c.Post("/till/moves/1/back", fields()).Want(http.StatusSeeOther); len(c.Get("/till").All("move")) != 1 {
		t.Errorf("a deposit is taken back at the till, without the watch: %d", got.Status)
	}
	c.Post(at+"/back", back()).Want(http.StatusSeeOther)
	if got := c.Get("/till").Want(http.StatusOK).Text("moves"); !strings.Contains(got, "Kept of a deposit") || !strings.Contains(got, "7.50") {
		t.Errorf("what was kept: %q", got)
	}
	if len(c.Get("/").All("tally-lent")) > 0 {
		t.Error("Today asks for what is back")
	}
	if got := c.Get("/loans").Text("loans"); !strings.Contains(got, "in the shop") || !strings.Contains(got, "crystal scratched") {
		t.Errorf("back: %q", got)
	}
	c.Post(at+"/back", back()).Want(http.StatusUnprocessableEntity)
}
