package web

import (
	"cmp"
	"errors"
	"net/http"
	"strconv"

	"ledgerwheel/domain"
	"ledgerwheel/store"
)

// closedSentence is what a form says whose docket was closed meanwhile.
const closedSentence = "The watch has left the shop, so this docket is closed."

// changeForm reads a posted form and which docket it changes.
func (s *Server) changeForm(w http.ResponseWriter, r *http.Request) (*form, store.Change, error) {
	f, err := readForm(w, r)
	if err != nil {
		return nil, store.Change{}, err
	}
	c, err := s.changeOf(r, f)
	return f, c, err
}

// ending is how a handler ends that saves what was typed.
type ending struct {
	form *form
	err  error // of the save; nil too when the form was not fit to be saved

	change  store.Change             // whose version says whether somebody was quicker; 0 for none
	words   func() map[string]string // plain words for fields whose values are none; nil for none, see conflict
	changed func() error             // answers in place of the usual page of a conflict

	closed  string                 // the field that says that the docket is closed; "" is the head of the form
	refused int                    // the status of a form shown again; 0 is 422
	again   func(status int) error // shows the form again, with what was typed and what is wrong with it

	said string // to the next page; may be empty
	to   string // the page that shows what was saved
}

// settle is the one ending of a save: it leads on when all was saved; otherwise it shows who was quicker, or the form
// again with what stands against it. Any other error is for the caller to return.
func (s *Server) settle(w http.ResponseWriter, r *http.Request, e ending) error {
	switch {
	case errors.Is(e.err, domain.ErrChanged) && e.changed != nil:
		return e.changed()
	case errors.Is(e.err, domain.ErrChanged) && e.change.Version != 0:
		var words map[string]string
		if e.words != nil {
			words = e.words()
		}
		return s.conflict(w, r, e.form, e.change, words)
	case errors.Is(e.err, domain.ErrClosed):
		e.form.Fail(e.closed, closedSentence)
	case e.err != nil && !e.form.takes(e.err):
		return e.err
	}
	if !e.form.OK() {
		return e.again(cmp.Or(e.refused, http.StatusUnprocessableEntity))
	}
	if e.said != "" {
		s.say(r.Context(), e.said)
	}
	return seeOther(w, r, e.to)
}

// changeOf says which docket a form changes, as it stood when the person saw it. Forms that only add
// carry no version.
func (s *Server) changeOf(r *http.Request, f *form) (store.Change, error) {
	n, err := pathNumber(r)
	if err != nil {
		return store.Change{}, err
	}
	c := store.Change{Number: n, By: actor(r), At: s.now()}
	if typed := f.Text("version"); typed != "" {
		if c.Version, err = strconv.ParseInt(typed, 10, 64); err != nil {
			return store.Change{}, badRequest(err)
		}
	}
	return c, nil
}
