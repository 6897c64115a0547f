package outside

import (
	"errors"
	"net/http"

	"ledgerwheel/domain/link"
	"ledgerwheel/domain/text"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
)

// askOf is what was asked and answered, and the form for a question.
func askOf(o opened, f *page.Form) askView {
	v := askView{Action: o.at("/question"), Field: f.View().Field("question", o.say("page.ask.label")).
		WithHint(o.say("page.ask.hint")).Need().WithRows(3).WithMaxLength(link.MaxQuestion).WithAttr("dir", "auto")}
	v.Open = f.Problems["question"] != ""
	zone := o.shop.Location()
	for _, q := range o.found.Questions {
		asked := askedView{Words: q.Words, Asked: o.say("page.asked", "at", o.in.Moment(q.AskedAt.In(zone))), Answer: q.Answer,
			Answered: o.say("page.asked.waits")}
		if !q.Open() {
			asked.Answered = o.say("page.asked.answered", "at", o.in.Moment(q.AnsweredAt.In(zone)))
		}
		v.Asked = append(v.Asked, asked)
	}
	return v
}

// askByLink keeps what the customer asks. Sent again while it waits for its answer it is kept once.
func (s *Room) askByLink(w http.ResponseWriter, r *http.Request) error {
	o, ok, err := s.open(w, r)
	if err != nil || !ok {
		return err
	}
	f, err := page.ReadForm(w, r)
	if err != nil {
		return err
	}
	words := text.Lines(f.Text("question"))
	for _, q := range o.found.Questions {
		if q.Open() && q.Words == words {
			return page.SeeOther(w, r, o.at("")+"#ask")
		}
	}
	c := store.Change{Number: o.found.Number, By: store.Actor{Customer: true, Name: o.found.Customer}, At: s.Now()}
	err = s.store.AskByLink(r.Context(), c, o.id, words)
	for _, refusal := range []struct {
		err error
		key string
	}{{link.ErrNothingAsked, "page.ask.nothing"}, {link.ErrTooLongAsked, "page.ask.long"}, {link.ErrAskedEnough, "page.ask.enough"}} {
		if errors.Is(err, refusal.err) {
			f.Fail("question", o.say(refusal.key))
			return s.renderLinkPage(w, r, o, http.StatusUnprocessableEntity, f, "")
		}
	}
	if errors.Is(err, link.ErrEnded) || errors.Is(err, link.ErrExpired) {
		return s.linkFailed(w, r, o, err)
	}
	if err != nil {
		return err
	}
	return page.SeeOther(w, r, o.at("")+"#ask")
}
