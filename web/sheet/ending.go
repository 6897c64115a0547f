package sheet

import (
	"cmp"
	"errors"
	"net/http"
	"strconv"

	"ledgerwheel/domain"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
)

// ClosedSentence is what a form says whose docket was closed meanwhile.
const ClosedSentence = "The watch has left the shop, so this docket is closed."

// ChangeForm reads a posted form and which docket it changes.
func (s *Frame) ChangeForm(w http.ResponseWriter, r *http.Request) (*page.Form, store.Change, error) {
	f, err := page.ReadForm(w, r)
	if err != nil {
		return nil, store.Change{}, err
	}
	c, err := s.ChangeOf(r, f)
	return f, c, err
}

// Ending is how a handler ends that saves what was typed.
type Ending struct {
	Form *page.Form
	Err  error // of the save; nil too when the form was not fit to be saved

	Change  store.Change             // whose version says whether somebody was quicker; 0 for none
	Words   func() map[string]string // plain words for fields whose values are none; nil for none, see conflict
	Changed func() error             // answers in place of the usual page of a conflict

	Closed  string                 // the field that says that the docket is closed; "" is the head of the form
	refused int                    // the status of a form shown again; 0 is 422
	Again   func(status int) error // shows the form again, with what was typed and what is wrong with it

	Said string // to the next page; may be empty
	To   string // the page that shows what was saved
}

// Settle is the one ending of a save: it leads on when all was saved; otherwise it shows who was quicker, or the form
// again with what stands against it. Any other error is for the caller to return.
func (s *Frame) Settle(w http.ResponseWriter, r *http.Request, e Ending) error {
	switch {
	case errors.Is(e.Err, domain.ErrChanged) && e.Changed != nil:
		return e.Changed()
	case errors.Is(e.Err, domain.ErrChanged) && e.Change.Version != 0:
		var words map[string]string
		if e.Words != nil {
			words = e.Words()
		}
		return s.conflict(w, r, e.Form, e.Change, words)
	case errors.Is(e.Err, domain.ErrClosed):
		e.Form.Fail(e.Closed, ClosedSentence)
	case e.Err != nil && !e.Form.Takes(e.Err):
		return e.Err
	}
	if !e.Form.OK() {
		return e.Again(cmp.Or(e.refused, http.StatusUnprocessableEntity))
	}
	if e.Said != "" {
		s.Say(r.Context(), e.Said)
	}
	return page.SeeOther(w, r, e.To)
}

// ChangeOf says which docket a form changes, as it stood when the person saw it. Forms that only add
// carry no version.
func (s *Frame) ChangeOf(r *http.Request, f *page.Form) (store.Change, error) {
	n, err := page.PathNumber(r)
	if err != nil {
		return store.Change{}, err
	}
	c := store.Change{Number: n, By: page.Actor(r), At: s.Now()}
	if typed := f.Text("version"); typed != "" {
		if c.Version, err = strconv.ParseInt(typed, 10, 64); err != nil {
			return store.Change{}, page.BadRequest(err)
		}
	}
	return c, nil
}

// TheirsWords says beside a field what somebody else put there since the form was opened; "" is nothing.
func (s *Frame) TheirsWords(r *http.Request, by store.Author, words string) string {
	return by.Name + ", " + s.Moment(r, by.At) + ": " + cmp.Or(words, "nothing") +
		". Leave what you typed, or put theirs in its place. Then save again."
}
