package outside

import (
	"errors"
	"net/http"
	"strconv"

	"ledgerwheel/domain"
	"ledgerwheel/domain/estimate"
	"ledgerwheel/domain/link"
	"ledgerwheel/domain/text"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
)

// answerByLink takes the customer's answer to the revision that was before them, or works out its total without taking
// anything.
func (s *Room) answerByLink(w http.ResponseWriter, r *http.Request) error {
	o, ok, err := s.open(w, r)
	if err != nil || !ok {
		return err
	}
	f, err := page.ReadForm(w, r)
	if err != nil {
		return err
	}
	if f.Text("do") == "total" {
		return s.renderLinkPage(w, r, o, http.StatusOK, f, "")
	}
	a := readAnswer(o, f)
	if f.OK() {
		c := store.Change{Number: o.found.Number, By: store.Actor{Customer: true, Name: a.Name}, At: s.Now()}
		sent := o.found.Row(a.Revision).Shop // the last day for an answer is over by the clock that stood then
		err = s.store.AnswerByLink(r.Context(), c, o.id, a, page.Civil(s.Now().In(sent.Location())))
	}
	return s.afterLinkAnswer(w, r, o, f, err)
}

// readAnswer reads an answer. What can be left out and was not ticked is left out of an approval.
func readAnswer(o opened, f *page.Form) estimate.Answer {
	a := estimate.Answer{Revision: f.Int("revision"), Name: text.Line(f.Text("name")), Note: text.Lines(f.Text("note")),
		By: estimate.ByLink}
	switch f.Text("decision") {
	case "approve":
		a.Approve = true
		rev, _ := o.found.Estimate.Find(a.Revision)
		a.DeclinedLines = append(leftOutOf(rev, f), notOffered(rev, f.Values["take"])...)
		if shown := f.ID("agreed"); f.Problems["agreed"] == "" && f.Text("agreed") != "" {
			a.ShownMinor = &shown
		}
		delete(f.Problems, "agreed") // no total is another total than ours: that is said
	case "decline":
	default:
		f.Fail("decision", o.say("page.problem.decision"))
	}
	if f.Problems["revision"] != "" {
		f.Problems["revision"] = o.say("page.refused.none")
	}
	bad := a.Problems()
	if bad["name"] != "" {
		key := "page.problem.name"
		if a.Name != "" {
			key = "page.problem.name.long"
		}
		f.Fail("name", o.say(key))
	}
	if bad["note"] != "" {
		f.Fail("note", o.say("page.problem.note.long"))
	}
	return a
}

// notOffered is −1 for each tick that no optional line of the revision has, which refuses the answer.
func notOffered(rev estimate.Revision, ticks []string) []int {
	offered := map[string]bool{}
	for i, l := range rev.Lines {
		offered[strconv.Itoa(i)] = l.Optional
	}
	var wrong []int
	for _, tick := range ticks {
		if !offered[tick] {
			wrong = append(wrong, -1)
		}
	}
	return wrong
}

// refusals are the ways an answer is not taken, with the words for each.
var refusals = []struct {
	err error
	key string
}{
	{estimate.ErrSuperseded, "page.refused.superseded"},
	{estimate.ErrNotWaiting, "page.refused.answered"},
	{estimate.ErrExpired, "page.refused.expired"},
	{estimate.ErrNotOptional, "page.refused.lines"},
	{estimate.ErrOtherTotal, "page.refused.total"},
	{estimate.ErrNoRevision, "page.refused.none"},
	{domain.ErrClosed, "page.refused.closed"},
}

// afterLinkAnswer says what became of the customer's answer. Whoever answers a revision that is no longer the one
// waiting, or agreed to another total than it comes to, is shown what stands, and nothing is taken for an answer to it.
func (s *Room) afterLinkAnswer(w http.ResponseWriter, r *http.Request, o opened, f *page.Form, err error) error {
	switch {
	case err != nil && f.Takes(err), err == nil && !f.OK():
		return s.renderLinkPage(w, r, o, http.StatusUnprocessableEntity, f, "")
	case err == nil:
		return page.SeeOther(w, r, o.at("")+"#estimate")
	case errors.Is(err, link.ErrEnded), errors.Is(err, link.ErrExpired):
		return s.linkFailed(w, r, o, err)
	}
	for _, refusal := range refusals {
		if !errors.Is(err, refusal.err) {
			continue
		}
		s.Log.Warn("answer by private link refused", "id", page.RequestIDOf(r.Context()), "error", err)
		// It may have changed since it was read, as when somebody answered meanwhile.
		fresh, ok, err := s.open(w, r)
		if err != nil || !ok {
			return err
		}
		return s.renderLinkPage(w, r, fresh, http.StatusConflict, f, o.say(refusal.key))
	}
	return err
}
