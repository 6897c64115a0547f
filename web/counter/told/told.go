package told

import (
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strconv"

	"github.com/go-chi/chi/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/message"
	"ledgerwheel/domain/staff"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/sheet"
	"ledgerwheel/web/view"
)

func (s *Room) toldRoutes() []page.Route {
	return []page.Route{
		page.Get("/dockets/{number}/told", page.Needs(staff.ViewDockets), s.showTold),
		page.Post("/dockets/{number}/told", page.Needs(staff.TellCustomers), s.tellNow),
		page.Post("/dockets/{number}/told/{id}", page.Needs(staff.TellCustomers), s.settle),
		page.Post("/dockets/{number}/contacts", page.Needs(staff.AddNotes), s.writeContact),
	}
}

// typed is the form of the sheet that was refused: which one, and what was typed. The zero value is a sheet on which nobody
// has typed.
type typed struct {
	what string // "now", "contact" or the id of a message
	form *page.Form
}

func (s *Room) showTold(w http.ResponseWriter, r *http.Request) error {
	return s.renderTold(w, r, http.StatusOK, typed{})
}

func (s *Room) renderTold(w http.ResponseWriter, r *http.Request, status int, t typed) error {
	n, err := page.PathNumber(r)
	if err != nil {
		return err
	}
	record, err := s.store.ToldSheet(r.Context(), n)
	if err != nil {
		return err
	}
	p, d := s.DocketPage(r, record.Head, "told")
	v := toldView{Who: record.Reach.Customer.Named().Name, Rather: s.ratherWords(r, record), Log: s.logForm(r, record, t),
		Story: s.story(r, record)}
	if t.form != nil {
		v.Problems = t.form.Problems
	}
	if !page.May(r, staff.AddNotes) {
		v.Log = nil
	}
	if page.May(r, staff.TellCustomers) {
		v.ToDo = s.toDo(r, record, t)
		v.Now = s.nowForm(r, record, t)
	}
	return page.Render(w, r, status, toldPage(p, d, v))
}

// tellNow tells the customer something by itself.
func (s *Room) tellNow(w http.ResponseWriter, r *http.Request) error {
	f, c, err := s.ChangeForm(w, r)
	if err != nil {
		return err
	}
	c.Tell = sheet.ReadTell(f)
	topic := message.Topic(f.Text("topic"))
	if !slices.Contains(message.Topics, topic) {
		return page.BadRequest(fmt.Errorf("topic: %q", topic))
	}
	err = s.store.TellNow(r.Context(), c, topic, f.Text("question"))
	return s.settled(w, r, typed{"now", f}, c, err, "Written down what the customer is told.")
}

// settle writes down what became of a message that waits for a person, or that was refused.
func (s *Room) settle(w http.ResponseWriter, r *http.Request) error {
	f, c, err := s.ChangeForm(w, r)
	if err != nil {
		return err
	}
	id, err := strconv.ParseInt(chi.URLParam(r, "id"), 10, 64)
	if err != nil {
		return domain.ErrNotFound
	}
	said := ""
	switch do := f.Text("do"); do {
	case "told":
		said, err = "Written down that the customer knows.", s.store.MessageTold(r.Context(), c, id, f.Text("said"))
	case "otherwise", "otherwise-done":
		way := message.Way(f.Text("way"))
		if !slices.Contains(message.Ways, way) {
			f.Fail("way", "Choose a way in which the customer can be reached.")
			break
		}
		said, err = "Told another way.", s.store.TellOtherwise(r.Context(), c, id, way, do == "otherwise-done")
	case "withdraw":
		said, err = "Written down that the customer need not be told.", s.store.WithdrawMessage(r.Context(), c, id, f.Text("why"))
		var invalid *domain.InvalidError
		if errors.As(err, &invalid) {
			f.Fail("why", invalid.Problems["said"])
			err = nil
		}
	case string(message.NoAnswer), string(message.LeftMessage):
		said, err = "Written down. It is still to be told.", s.store.WriteContact(r.Context(), c, message.Contact{Kind: message.ContactKind(do),
			Number: f.Text("number"), Words: f.Text("said")})
	default:
		return page.BadRequest(fmt.Errorf("do: %q", do))
	}
	if errors.Is(err, store.ErrMessageSettled) {
		f.Fail("", "Somebody has dealt with this message already: look at what was told below.")
		err = nil
	}
	return s.settled(w, r, typed{strconv.FormatInt(id, 10), f}, c, err, said)
}

// writeContact adds a call or a note to the log.
func (s *Room) writeContact(w http.ResponseWriter, r *http.Request) error {
	f, c, err := s.ChangeForm(w, r)
	if err != nil {
		return err
	}
	k := message.Contact{Kind: message.ContactKind(f.Text("contact")), SpokeTo: f.Text("spoke_to"), Number: f.Text("number"), Words: f.Text("words")}
	return s.settled(w, r, typed{"contact", f}, c, s.store.WriteContact(r.Context(), c, k), "Written into the log.")
}

// settled ends a save of this sheet.
func (s *Room) settled(w http.ResponseWriter, r *http.Request, t typed, c store.Change, err error, said string) error {
	return s.Settle(w, r, sheet.Ending{Form: t.form, Change: c, Err: err, Said: said, To: view.DocketURL(c.Number.String(), "told"),
		Again: func(status int) error { return s.renderTold(w, r, status, t) }})
}

// tellable are the topics that the docket has something to tell of now.
func tellable(record store.ToldSheet) []message.Topic {
	list := []message.Topic{message.Question}
	d := record.Head.Docket
	if record.Waits && !d.Closed() {
		list = append(list, message.EstimateReady)
	}
	if d.Stage == docket.StageReady && !d.Closed() {
		list = append(list, message.Ready)
	}
	return list
}

func topicOptions(topics []message.Topic) []view.Option {
	return page.Options(topics, message.Topic.Words)
}
