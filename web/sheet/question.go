package sheet

import (
	"errors"
	"net/http"

	"ledgerwheel/domain/link"
	"ledgerwheel/domain/staff"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/view"
)

func (s *Frame) questionRoutes() []page.Route {
	return []page.Route{
		page.Post("/dockets/{number}/questions/{id}", page.Needs(staff.AddNotes), s.answerQuestion),
	}
}

// answerQuestion keeps the answer to what a customer asked by the private link.
func (s *Frame) answerQuestion(w http.ResponseWriter, r *http.Request) error {
	f, c, err := s.ChangeForm(w, r)
	if err != nil {
		return err
	}
	id, err := page.PathID(r, "id")
	if err != nil {
		return err
	}
	err = s.store.AnswerQuestion(r.Context(), c, id, f.Text("answer"))
	if errors.Is(err, link.ErrAnswered) {
		f.Fail("answer", "Somebody answered this question already; their answer stands above. Yours is kept below and was not sent.")
		err = nil
	}
	typed := Refused{questionSlug(id), f}
	return s.Settle(w, r, Ending{Form: f, Change: c, Err: err, Said: "Answered. The customer reads it on their page.",
		To:    view.DocketURL(c.Number.String(), ""),
		Again: func(status int) error { return s.renderOverview(w, r, status, typed) }})
}

// questionSlug names the form of a question's answer among those of the overview.
func questionSlug(id int64) string { return "question-" + page.Itoa64(id) }

// questionViews are what the customer asked, those that wait first.
func (s *Frame) questionViews(r *http.Request, o store.Overview, typed Refused) (open, answered []questionView) {
	number := o.Head.Docket.Number.String()
	for _, q := range o.Questions {
		v := questionView{ID: page.Itoa64(q.ID), Words: q.Words, Asked: s.Moment(r, q.AskedAt), Answer: q.Answer}
		if !q.Open() {
			v.Answered = s.Moment(r, q.AnsweredAt) + ", " + q.AnsweredBy
			answered = append(answered, v)
			continue
		}
		if page.May(r, staff.AddNotes) {
			v.Action = view.DocketURL(number, "questions/"+v.ID)
		}
		if typed.What == questionSlug(q.ID) && typed.Form != nil {
			v.Form = typed.Form.View()
		}
		open = append(open, v)
	}
	return open, answered
}
