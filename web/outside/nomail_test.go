package outside_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"ledgerwheel/domain/link"
	"ledgerwheel/domain/tongue"
	"ledgerwheel/web/webtest"
)

// TestCustomerStopsMail opens the link of a mail, stops mail by the page and by a mail program's one click (RFC 8058), and begins
// it again.
func TestCustomerStopsMail(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	number := s.Sent()
	c, version, err := s.Store.Customer(t.Context(), s.Sheet(number).Head.Customer.ID)
	if err != nil {
		t.Fatal(err)
	}
	c.Tongue = tongue.German
	if err := s.Store.SaveCustomer(t.Context(), s.Actor(s.Owner), s.Clock(), c, version); err != nil {
		t.Fatal(err)
	}
	sh, err := s.Store.Shop(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	path := "/no-mail/" + link.Sign(sh.LinkSecret, link.NoMail, c.ID)
	stopped := func() bool {
		now, _, err := s.Store.Customer(t.Context(), c.ID)
		if err != nil {
			t.Fatal(err)
		}
		return !now.Mail.StoppedAt.IsZero()
	}
	ada := s.Stranger()
	page := ada.Get(path).Want(http.StatusOK)
	if text := page.Text("mail-stop"); text != "Keine E-Mails mehr" || stopped() {
		t.Errorf("the button says %q; looking alone stopped it: %t", text, stopped())
	}
	ada.Post(path, url.Values{"mail": {"stop"}}).Want(http.StatusSeeOther)
	if page = ada.Get(path); !stopped() || page.Text("mail-again") == "" {
		t.Error("mail goes on")
	}
	if shown := s.As(s.Owner).Get("/customers/" + webtest.Itoa(c.ID)).Text("mail-stopped"); !strings.Contains(shown, "wants no mail") {
		t.Errorf("the customer's page says %q", shown)
	}
	ada.Post(path, url.Values{"mail": {"again"}}).Want(http.StatusSeeOther)
	if stopped() {
		t.Error("mail does not begin again")
	}
	ada.Post(path, url.Values{"List-Unsubscribe": {"One-Click"}}).Want(http.StatusOK)
	if !stopped() {
		t.Error("one click is not enough")
	}
	for _, wrong := range []string{"/no-mail/" + link.Token(sh.LinkSecret, c.ID), "/no-mail/" + link.Sign(sh.LinkSecret, link.NoMail, c.ID+999), "/no-mail/x"} {
		ada.Get(wrong).Want(http.StatusNotFound)
		ada.Post(wrong, url.Values{}).Want(http.StatusNotFound)
	}
}

// TestMailThatCameBackIsNotedByHand: by staff, for what the mail server said later in a mail of its own.
func TestMailThatCameBackIsNotedByHand(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	id := webtest.Itoa(s.Sheet(s.Noted()).Head.Customer.ID)
	owner := s.As(s.Owner)
	owner.Post("/customers/"+id+"/mail", url.Values{"mail": {"back"}, "why": {"mailbox unavailable"}}).Want(http.StatusSeeOther)
	if shown := owner.Get("/customers/" + id).Text("mail-back"); !strings.Contains(shown, "mailbox unavailable") {
		t.Errorf("the page says %q", shown)
	}
	owner.Post("/customers/"+id+"/mail", url.Values{"mail": {"back"}, "why": {strings.Repeat("x", 301)}}).Want(http.StatusUnprocessableEntity)
	owner.Post("/customers/"+id+"/mail", url.Values{"mail": {"good"}}).Want(http.StatusSeeOther)
	if len(owner.Get("/customers/"+id).All("mail-back")) > 0 {
		t.Error("it still stands")
	}
}
