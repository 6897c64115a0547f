package counter

import (
	"fmt"
	"net/http"

	"ledgerwheel/domain/customer"
	"ledgerwheel/web/page"
	"ledgerwheel/web/sheet"
)

// mailOf is what stands against writing to a customer.
func (s *Room) mailOf(r *http.Request, c customer.Customer, f *page.Form) mailView {
	v := mailView{Form: f.View(), Action: sheet.CustomerURL(c.ID) + "/mail", Address: c.Email != "", BackWhy: c.Mail.BackWhy}
	if !c.Mail.StoppedAt.IsZero() {
		v.Stopped = s.Moment(r, c.Mail.StoppedAt)
	}
	if !c.Mail.BackAt.IsZero() {
		v.Back = s.Moment(r, c.Mail.BackAt)
	}
	return v
}

// changeMail takes what somebody says of writing to a customer.
func (s *Room) changeMail(w http.ResponseWriter, r *http.Request) error {
	f, err := page.ReadForm(w, r)
	if err != nil {
		return err
	}
	id, err := page.PathID(r, "id")
	if err != nil {
		return err
	}
	ctx, by, now := r.Context(), page.Actor(r), s.Now()
	said := ""
	switch f.Text("mail") {
	case "back":
		said, err = "It is noted that mail came back.", s.store.MailCameBack(ctx, id, f.Text("why"), by, now)
	case "good":
		said, err = "The address is tried again with the next message.", s.store.MailAddressGood(ctx, id, by, now)
	case "stop":
		said, err = "No more mail goes to this customer.", s.store.StopMail(ctx, id, true, by, now)
	case "again":
		said, err = "The customer is written to again.", s.store.StopMail(ctx, id, false, by, now)
	default:
		return page.BadRequest(fmt.Errorf("mail: %q", f.Text("mail")))
	}
	if err != nil && f.Takes(err) {
		return s.renderCustomer(w, r, http.StatusUnprocessableEntity, f)
	}
	if err != nil {
		return err
	}
	s.Say(ctx, said)
	return page.SeeOther(w, r, sheet.CustomerURL(id))
}
