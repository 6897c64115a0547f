package told

import (
	"cmp"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"

	"ledgerwheel/domain/customer"
	"ledgerwheel/domain/message"
	"ledgerwheel/domain/text"
	"ledgerwheel/domain/tongue"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/sheet"
	"ledgerwheel/web/view"
)

// ratherWords say how the customer would rather be reached, and in which language.
func (s *Room) ratherWords(r *http.Request, record store.ToldSheet) string {
	viewer, _ := page.ViewerOf(r.Context())
	c := record.Reach.Customer
	said := ""
	if c.PreferredContact != customer.ContactAny {
		said = "Would rather be reached: " + c.PreferredContact.Words() + ". "
	}
	said += "Is written to in " +
		c.Tongue.Or(record.Head.Docket.Tongue).Or(tongue.Of(viewer.Shop.Locale)).Words() + "."
	if record.Reach.NoMail() != "" {
		said += " " + record.Reach.NoMail()
	}
	return said
}

// waits reports whether something must still be done about a message by a person. followed are those that another was
// written in place of.
func waits(m store.MessageRow, followed []int64) bool {
	return m.State == message.ToDo || m.State == message.Refused && !slices.Contains(followed, m.ID)
}

func followedBy(list []store.MessageRow) []int64 {
	var ids []int64
	for _, m := range list {
		ids = append(ids, m.InsteadOf)
	}
	return ids
}

// toDo are the messages that a person must tell, oldest first.
func (s *Room) toDo(r *http.Request, record store.ToldSheet, t typed) []toDoView {
	followed := followedBy(record.Messages)
	var list []toDoView
	for _, m := range slices.Backward(record.Messages) {
		if waits(m, followed) {
			list = append(list, s.toDoView(r, record, m, t))
		}
	}
	return list
}

func (s *Room) toDoView(r *http.Request, record store.ToldSheet, m store.MessageRow, t typed) toDoView {
	id := strconv.FormatInt(m.ID, 10)
	number := m.Number.String()
	v := toDoView{ID: id, Heading: text.Capital(m.Topic.Words()) + ", " + m.Way.Words(), Since: s.Moment(r, m.QueuedAt),
		Subject: m.Subject, Words: m.Text, Action: view.DocketURL(number, "told/"+id)}
	field, mine := fieldsOf(t, id)
	v.Said = field("said", "What was said").Maybe().WithAttr("dir", "auto")
	v.Why = field("why", "Why not").WithWidth(view.Half).WithAttr("dir", "auto")
	v.Way = field("way", "Tell them").WithWidth(view.Half)
	for _, w := range record.Reach.Ways() {
		if w != m.Way || m.State == message.Refused {
			v.Way.Options = append(v.Way.Options, view.Option{Value: string(w), Text: text.Capital(w.Words())})
		}
	}
	v.Open = mine && (v.Why.Error != "" || v.Way.Error != "")
	if m.State == message.Refused {
		v.Refused, v.Open = cmp.Or(m.Why, "The mail server gave no reason."), true
	}
	switch m.Way {
	case message.Telephone:
		v.Number = cmp.Or(record.Reach.Customer.PhoneIn(sheet.HomeOf(r)), m.To)
		v.Ways = append(v.Ways, view.LinkView{Text: "Ring " + v.Number, Href: "tel:" + m.To, TestID: "dial-" + id})
	case message.Text:
		v.Ways = append(v.Ways, view.LinkView{Text: "Open as a text message", Href: textLink(m.To, m.Text), TestID: "text-" + id})
	case message.Letter:
		v.Ways = append(v.Ways, view.LinkView{Text: "Print the letter", Href: view.DocketURL(number, "papers/letter/"+id), TestID: "letter-" + id})
	}
	return v
}

// textLink opens a telephone's own program with a text message ready to send (RFC 5724, whose body is percent-encoded).
func textLink(number, body string) string {
	return "sms:" + number + "?body=" + strings.ReplaceAll(url.QueryEscape(body), "+", "%20")
}

// fieldsOf gives the fields of one of the page's forms: only the one that was refused has what was typed, and the ids to
// which the summary of problems leads.
func fieldsOf(t typed, what string) (field func(name, label string) view.Field, mine bool) {
	if t.form != nil && t.what == what {
		return t.form.View().Field, true
	}
	blank := view.Form{Values: url.Values{}}
	return func(name, label string) view.Field {
		f := blank.Field(name, label)
		f.ID = name + "-" + what
		return f
	}, false
}

// logForm is the form of a call or a note.
func (s *Room) logForm(r *http.Request, record store.ToldSheet, t typed) *logView {
	field, _ := fieldsOf(t, "contact")
	v := &logView{Action: view.DocketURL(record.Head.Docket.Number.String(), "contacts"),
		Number:  cmp.Or(record.Reach.Customer.PhoneIn(sheet.HomeOf(r)), record.Reach.Customer.Phone),
		Words:   field("words", "What was said, or a note").WithRows(2).WithAttr("dir", "auto"),
		SpokeTo: field("spoke_to", "Spoke with").Maybe().WithWidth(view.Half).WithMaxLength(200).WithAttr("dir", "auto")}
	for _, k := range message.ContactKinds {
		v.Kinds = append(v.Kinds, view.ButtonView{Text: contactButtons[k], Name: "contact", Value: string(k),
			TestID: "contact-" + strings.ReplaceAll(string(k), " ", "-")})
	}
	return v
}

// contactButtons are what the buttons of the log say.
var contactButtons = map[message.ContactKind]string{message.NoAnswer: "Rang, no answer", message.LeftMessage: "Left a message",
	message.SpokeWith: "Spoke with them", message.TheyCalled: "They called", message.Note: "Keep as a note"}

// nowForm is the form that tells something by itself.
func (s *Room) nowForm(r *http.Request, record store.ToldSheet, t typed) *nowView {
	field, mine := fieldsOf(t, "now")
	form := view.Form{Values: url.Values{}}
	prefix := "now"
	if mine {
		form, prefix = t.form.View(), ""
	}
	topics := tellable(record)
	v := &nowView{Action: view.DocketURL(record.Head.Docket.Number.String(), "told"), Open: mine,
		Topic:    field("topic", "Tell of").WithOptions(topicOptions(topics)...).WithWidth(view.Half),
		Question: field("question", "The question").WithRows(3).WithHint("In the customer’s language; only where a question is asked.").WithAttr("dir", "auto"),
		Tell:     sheet.Telling(form, record.Reach, sheet.HomeOf(r), prefix, "")}
	v.Topic.Value = cmp.Or(v.Topic.Value, string(message.Question))
	v.Tell.Way.Options = slices.DeleteFunc(v.Tell.Way.Options, func(o view.Option) bool { return o.Value == "nobody" })
	return v
}

// story is everything told, said and noted, newest first.
func (s *Room) story(r *http.Request, record store.ToldSheet) []storyView {
	type line struct {
		at time.Time
		v  storyView
	}
	var lines []line
	for _, m := range record.Messages {
		lines = append(lines, line{cmpTime(m.SettledAt, m.QueuedAt), s.messageStory(r, record, m)})
	}
	for _, k := range record.Contacts {
		what := k.Kind.Words()
		if k.SpokeTo != "" {
			what += ": " + k.SpokeTo
		}
		if k.Number != "" {
			what += ", " + k.Number
		}
		lines = append(lines, line{k.At, storyView{At: s.Moment(r, k.At), Datetime: k.At.Format(time.RFC3339), Who: k.By, What: what,
			Plain: k.Words}})
	}
	slices.SortStableFunc(lines, func(a, b line) int { return b.at.Compare(a.at) })
	views := make([]storyView, len(lines))
	for i, l := range lines {
		views[i] = l.v
	}
	return views
}

// cmpTime is the first of the two that is not zero.
func cmpTime(a, b time.Time) time.Time {
	if a.IsZero() {
		return b
	}
	return a
}

// stateMarks draw what became of a message.
var stateMarks = map[message.State]view.MarkKind{message.Queued: view.NotMeasured, message.Sent: view.Pass, message.Refused: view.Fail,
	message.ToDo: view.Undecided, message.Told: view.Pass, message.Withdrawn: view.NotMeasured}

// stateWords say it.
var stateWords = map[message.State]string{message.Queued: "waits to be sent", message.Sent: "sent", message.Refused: "refused",
	message.ToDo: "still to be told", message.Told: "told", message.Withdrawn: "not told"}

func (s *Room) messageStory(r *http.Request, record store.ToldSheet, m store.MessageRow) storyView {
	at := cmpTime(m.SettledAt, m.QueuedAt)
	what := text.Capital(m.Topic.Words()) + ", " + m.Way.Words()
	switch m.Way {
	case message.Mail:
		what += " to " + m.To
	case message.Telephone, message.Text:
		what += " to " + cmp.Or(record.Reach.Customer.PhoneIn(sheet.HomeOf(r)), m.To)
	}
	if !m.SettledAt.IsZero() && m.SettledAt.Sub(m.QueuedAt) > time.Minute {
		what += ". Written " + s.Moment(r, m.QueuedAt)
	}
	why := m.Why
	if m.State == message.Queued && m.Tries > 0 {
		why = "Tried " + timesWords(m.Tries) + ": " + cmp.Or(m.Said, "no answer")
		if !m.NextAt.IsZero() {
			why += " Again at " + s.Moment(r, m.NextAt) + "."
		}
	}
	return storyView{At: s.Moment(r, at), Datetime: at.Format(time.RFC3339), Who: m.SettledBy, What: what + ".", Mark: stateMarks[m.State],
		State: stateWords[m.State], Why: why, Subject: m.Subject, Words: m.Text}
}

// letterOf is the letter of that id.
func letterOf(record store.ToldSheet, id int64) (store.MessageRow, bool) {
	for _, m := range record.Messages {
		if m.ID == id && m.Way == message.Letter {
			return m, true
		}
	}
	return store.MessageRow{}, false
}

// timesWords says how often a mail was tried.
func timesWords(n int) string {
	if n == 1 {
		return "once"
	}
	return strconv.Itoa(n) + " times"
}
