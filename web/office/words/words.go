package words

import (
	"cmp"
	"errors"
	"net/http"
	"strconv"
	"strings"

	"github.com/go-chi/chi/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/message"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/text"
	"ledgerwheel/domain/tongue"
	"ledgerwheel/web/page"
	"ledgerwheel/web/view"
)

func (s *Room) wordsRoutes() []page.Route {
	return []page.Route{
		page.Get("/messages", page.Needs(staff.ManageSettings), s.showMessages),
		page.Post("/messages/reminders", page.Needs(staff.ManageSettings), s.saveReminders),
		page.Get("/messages/{topic}/{tongue}", page.Needs(staff.ManageSettings), s.showWords),
		page.Post("/messages/{topic}/{tongue}", page.Needs(staff.ManageSettings), s.saveWords),
	}
}

// slugOf is a topic in an address.
func slugOf(t message.Topic) string { return strings.ReplaceAll(string(t), " ", "-") }

func wordsURL(t message.Topic, in tongue.Tongue) string {
	return "/messages/" + slugOf(t) + "/" + string(in)
}

// asked reads which words the address names. The error wraps domain.ErrNotFound.
func asked(r *http.Request) (message.Topic, tongue.Tongue, error) {
	in := tongue.Tongue(chi.URLParam(r, "tongue"))
	for _, t := range message.Topics {
		if slugOf(t) == chi.URLParam(r, "topic") && in.Known() {
			return t, in, nil
		}
	}
	return "", "", domain.ErrNotFound
}

func (s *Room) showMessages(w http.ResponseWriter, r *http.Request) error {
	return s.renderMessages(w, r, http.StatusOK, nil)
}

// renderMessages lists the messages; f is the form of the reminders as typed, nil for as they stand.
func (s *Room) renderMessages(w http.ResponseWriter, r *http.Request, status int, f *page.Form) error {
	set, err := s.store.MessageSettings(r.Context())
	if err != nil {
		return err
	}
	if f == nil {
		f = page.EmptyForm()
		for name, n := range map[string]int{"not_collected_days": set.Reminders.NotCollectedDays, "warranty_days": set.Reminders.WarrantyDays,
			"service_years": set.Reminders.ServiceYears} {
			f.Values.Set(name, strconv.Itoa(n))
		}
	}
	v := messagesView{Form: f.View()}
	for _, t := range message.Topics {
		row := topicRow{Name: text.Capital(t.Words()), When: whenTold[t]}
		for _, in := range tongue.All {
			_, by := set.Template(t, in)
			row.Words = append(row.Words, wordsLink{Language: in.Words(), Href: wordsURL(t, in), Own: by.MadeBy != ""})
		}
		v.Rows = append(v.Rows, row)
	}
	return page.Render(w, r, status, messagesPage(s.Page(r, "Messages to customers"), v))
}

// whenTold says what a message is told with.
var whenTold = map[message.Topic]string{
	message.EstimateReady:  "With the sending of an estimate.",
	message.Approved:       "With the answer; by e-mail alone where it came by the private link.",
	message.Question:       "When somebody of the shop asks.",
	message.Delayed:        "With a later promised day.",
	message.Ready:          "With the move to ready.",
	message.SentByPost:     "When the carrier has the parcel.",
	message.NotCollected:   "By itself, on its day.",
	message.WarrantyEnding: "By itself, on its day.",
	message.ServiceDue:     "By itself, on its day.",
}

func (s *Room) saveReminders(w http.ResponseWriter, r *http.Request) error {
	f, err := page.ReadForm(w, r)
	if err != nil {
		return err
	}
	m := message.Reminders{NotCollectedDays: whole(f, "not_collected_days"), WarrantyDays: whole(f, "warranty_days"), ServiceYears: whole(f, "service_years")}
	f.FailAll(m.Problems())
	if !f.OK() {
		return s.renderMessages(w, r, http.StatusUnprocessableEntity, f)
	}
	if err := s.store.SaveReminders(r.Context(), page.Actor(r), s.Now(), m); err != nil {
		return err
	}
	s.Say(r.Context(), "What is told by itself is saved.")
	return page.SeeOther(w, r, "/messages")
}

// whole reads a whole number; blank is never.
func whole(f *page.Form, name string) int {
	if f.Text(name) == "" {
		return 0
	}
	return f.Int(name)
}

func (s *Room) showWords(w http.ResponseWriter, r *http.Request) error {
	return s.renderWords(w, r, http.StatusOK, nil)
}

// renderWords shows the editor of a topic's words in a language, with a preview where the words can stand; f is what was
// typed, nil for what stands.
func (s *Room) renderWords(w http.ResponseWriter, r *http.Request, status int, f *page.Form) error {
	topic, in, err := asked(r)
	if err != nil {
		return err
	}
	set, err := s.store.MessageSettings(r.Context())
	if err != nil {
		return err
	}
	stands, by := set.Template(topic, in)
	if f == nil {
		f = page.EmptyForm()
		f.Values.Set("subject", stands.Subject)
		f.Values.Set("text", stands.Text)
		f.Values.Set("short", stands.Short)
	}
	typed := templateOf(f)
	v := wordsView{Action: wordsURL(topic, in), Topic: text.Capital(topic.Words()), When: whenTold[topic], Language: in.Words(), Stands: "The program’s own words stand."}
	if by.MadeBy != "" {
		v.Stands, v.Own = "Your words stand, saved by "+by.MadeBy+" on "+s.Moment(r, by.MadeAt)+".", true
	}
	for _, other := range tongue.All {
		v.Languages = append(v.Languages, view.TabView{Text: other.Words(), Href: wordsURL(topic, other), Current: other == in, TestID: "in-" + string(other)})
	}
	for _, p := range topic.Placeholders() {
		v.Placeholders = append(v.Placeholders, placeholderView{Written: p.Written(), Words: p.Words()})
	}
	for _, row := range set.Recent {
		v.Dockets = append(v.Dockets, view.Option{Value: row.Docket.Number.String(), Text: row.Docket.Number.String() + ", " + row.Watch + ", " + row.Customer})
	}
	v.MayTest = s.tester != nil
	if r.Method == http.MethodPost {
		filled, err := s.preview(r, &v, f, topic, in, typed)
		if err == nil && f.Text("do") == "test" && f.OK() {
			err = s.test(r, &v, f, filled, in)
		}
		if err != nil {
			return err
		}
	}
	v.Form = f.View()
	if !f.OK() {
		status = http.StatusUnprocessableEntity
	}
	p := s.Page(r, v.Topic+" in "+in.Words())
	p.Scripts = []string{"js/insert.js"}
	return page.Render(w, r, status, wordsPage(p, v))
}

// templateOf is what was typed.
func templateOf(f *page.Form) message.Template {
	return message.Template{Subject: f.Raw("subject"), Text: f.Raw("text"), Short: f.Raw("short")}.Tidied()
}

// test sends the message as it is shown to an address of the owner's.
func (s *Room) test(r *http.Request, v *wordsView, f *page.Form, filled message.Filled, in tongue.Tongue) error {
	to := f.Text("to")
	switch {
	case s.tester == nil || v.Preview == nil:
		return domain.ErrNotFound
	case !message.IsAddress(to):
		f.Fail("to", "Give an e-mail address such as name@example.org.")
		return nil
	}
	tested, err := s.tester.TestWords(r.Context(), to, filled, in)
	if err != nil {
		tested.Answer = message.Answer{Step: message.SignIn, Said: err.Error()}
	}
	v.Tested, v.TestTaken = "The mail server has taken it.", tested.Answer.Taken
	if !v.TestTaken {
		v.Tested = tested.Answer.Words()
	}
	return nil
}

// preview fills what was typed with what the docket asked for says.
func (s *Room) preview(r *http.Request, v *wordsView, f *page.Form, topic message.Topic, in tongue.Tongue, t message.Template) (filled message.Filled, err error) {
	if len(v.Dockets) == 0 || len(t.Problems(topic)) > 0 {
		return filled, nil
	}
	number, err := docket.ParseNumber(cmp.Or(f.Text("docket"), v.Dockets[0].Value))
	if err != nil {
		f.Fail("docket", "Give a docket's number such as "+v.Dockets[0].Value+".")
		return filled, nil
	}
	filled, err = s.store.PreviewMessage(r.Context(), number, topic, in, t, s.Now())
	if errors.Is(err, domain.ErrNotFound) {
		f.Fail("docket", "There is no such docket.")
		return filled, nil
	}
	if err != nil {
		return filled, err
	}
	f.Values.Set("docket", number.String())
	v.Preview = &previewView{Subject: filled.Subject, Text: filled.Text, Short: filled.Short, Lang: string(in)}
	return filled, nil
}

func (s *Room) saveWords(w http.ResponseWriter, r *http.Request) error {
	f, err := page.ReadForm(w, r)
	if err != nil {
		return err
	}
	topic, in, err := asked(r)
	if err != nil {
		return err
	}
	t, said := templateOf(f), "The words are saved: messages written from now on have them."
	if f.Text("do") == "reset" {
		t, said = message.Template{}, "The program’s own words stand again."
	} else {
		f.FailAll(t.Problems(topic))
	}
	switch {
	case !f.OK():
		return s.renderWords(w, r, http.StatusUnprocessableEntity, f)
	case f.Text("do") == "show", f.Text("do") == "test":
		return s.renderWords(w, r, http.StatusOK, f)
	}
	if err := s.store.SaveTemplate(r.Context(), page.Actor(r), s.Now(), topic, in, t); err != nil {
		return err
	}
	s.Say(r.Context(), said)
	return page.SeeOther(w, r, wordsURL(topic, in))
}
