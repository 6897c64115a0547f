package store_test

import (
	"context"
	"errors"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"ledgerwheel/domain/customer"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/estimate"
	"ledgerwheel/domain/message"
	"ledgerwheel/domain/tongue"
	"ledgerwheel/store"
	"ledgerwheel/store/storetest"
)

// newTeller is a bench whose customer speaks the language and would rather be reached so; private pages lie at shop.example.
func newTeller(t *testing.T, in tongue.Tongue, by customer.Contact) *bench {
	t.Helper()
	b := newBench(t)
	b.UsePublicAddress("https://shop.example")
	h := b.head(t)
	h.Customer.Tongue, h.Customer.PreferredContact, h.Customer.Address = in, by, "1 Quay\nSaltby"
	if err := b.SaveCustomer(t.Context(), b.clerk, b.at, h.Customer, 1); err != nil {
		t.Fatal(err)
	}
	return b
}

func (b *bench) told(t *testing.T) store.ToldSheet {
	t.Helper()
	sheet, err := b.ToldSheet(t.Context(), b.n)
	if err != nil {
		t.Fatal(err)
	}
	return sheet
}

// telling is a change by the newest version of which the customer is told.
func (b *bench) telling(t *testing.T, by store.Actor, tell store.Tell) store.Change {
	t.Helper()
	c := b.seen(t, by)
	c.Tell = tell
	return c
}

// What is told is written with the change that causes it, in the customer's language, and both are there or neither.
func TestTheCustomerIsToldWithTheChange(t *testing.T) {
	t.Parallel()
	b := newTeller(t, tongue.German, customer.ContactEmail)
	n := b.mustDraft(t, priced())
	mail := store.Tell{Way: message.Mail, Own: "Das Glas bleibt."}
	if err := b.SendEstimate(t.Context(), b.telling(t, b.clerk, store.Tell{Way: "pigeon"}), n, estimateDay); problemsOf(t, err)["tell"] == "" {
		t.Errorf("by a way that there is not: %v", err)
	}
	if sheet := b.told(t); len(sheet.Messages) != 0 || sheet.Waits {
		t.Fatalf("a refused sending left %+v", sheet.Messages)
	}
	if err := b.SendEstimate(t.Context(), b.telling(t, b.clerk, mail), n, estimateDay); err != nil {
		t.Fatal(err)
	}
	m := b.told(t).Messages[0]
	if m.Topic != message.EstimateReady || m.State != message.Queued || m.To != "ada@example.org" || m.Tongue != tongue.German || m.MailID == "" {
		t.Errorf("queued as %+v", m)
	}
	for _, want := range []string{"Guten Tag Ada Quillmarsh,", "299,40", "24. Dezember 2026", "https://shop.example/c/", "Das Glas bleibt.", "Gannet Harbourmaster"} {
		if !strings.Contains(m.Text, want) || !strings.Contains(m.HTML, strings.Fields(want)[0]) {
			t.Errorf("lacks %q:\n%s", want, m.Text)
		}
	}
	a := estimate.Answer{Revision: n, Approve: true, Name: "Ada Quillmarsh", DeclinedLines: []int{2}}
	if err := b.AnswerEstimate(t.Context(), b.telling(t, b.clerk, store.Tell{Way: message.Text}), a, estimateDay); err != nil {
		t.Fatal(err)
	}
	m = b.told(t).Messages[0]
	if m.Topic != message.Approved || m.State != message.ToDo || m.To != "+441632960123" || !strings.Contains(m.Text, "227,40") || strings.Contains(m.Text, "\n") {
		t.Errorf("by text message: %+v", m)
	}
	if kinds := b.kinds(t, b.n); kinds[len(kinds)-1] != docket.MessageWritten {
		t.Errorf("the journal ends with %v", kinds)
	}
	storetest.Whole(t, b.Store)
}

// A later day is told, an earlier one and a first one are not.
func TestDelayIsTold(t *testing.T) {
	t.Parallel()
	b := newTeller(t, tongue.French, customer.ContactAny)
	promise := func(day string) []store.MessageRow {
		t.Helper()
		said := b.head(t).Docket.Intake
		said.PromisedOn, _ = time.Parse(time.DateOnly, day)
		if err := b.CorrectIntake(t.Context(), b.telling(t, b.clerk, store.Tell{Way: message.Mail}), said); err != nil {
			t.Fatal(err)
		}
		return b.told(t).Messages
	}
	for _, day := range []string{"2026-12-20", "2026-12-18"} {
		if got := promise(day); len(got) != 0 {
			t.Fatalf("promised for %s: told %+v", day, got)
		}
	}
	got := promise("2027-01-08")
	if len(got) != 1 || got[0].Topic != message.Delayed || !strings.Contains(got[0].Text, "8 janvier 2027") || !strings.Contains(got[0].Text, "18 décembre 2026") {
		t.Fatalf("told %+v", got)
	}
}

// What waits for a person is told once, withdrawn with a reason, or told by another way in the words that go with it.
func TestWhatWaitsForAPerson(t *testing.T) {
	t.Parallel()
	b := newTeller(t, tongue.English, customer.ContactPhone)
	ask := func(way message.Way) store.MessageRow {
		t.Helper()
		if err := b.TellNow(t.Context(), b.telling(t, b.watchmaker, store.Tell{Way: way}), message.Question, "Keep the <old> glass?"); err != nil {
			t.Fatal(err)
		}
		return b.told(t).Messages[0]
	}
	m := ask(message.Telephone)
	if m.State != message.ToDo || !strings.Contains(m.Text, "Keep the <old> glass?") {
		t.Fatalf("asked as %+v", m)
	}
	add := store.Change{Number: b.n, By: b.clerk, At: b.at.Add(time.Minute)}
	if err := b.MessageTold(t.Context(), add, m.ID, "She wants it kept."); err != nil {
		t.Fatal(err)
	}
	if err := b.MessageTold(t.Context(), add, m.ID, ""); !errors.Is(err, store.ErrMessageSettled) {
		t.Errorf("told twice: %v", err)
	}
	if m = b.told(t).Messages[0]; m.State != message.Told || m.SettledBy != "Nuala Reed" || m.Why != "She wants it kept." {
		t.Errorf("told as %+v", m)
	}
	m = ask(message.Text)
	if err := b.WithdrawMessage(t.Context(), add, m.ID, " "); problemsOf(t, err)["said"] == "" {
		t.Errorf("withdrawn without a reason: %v", err)
	}
	if err := b.TellOtherwise(t.Context(), add, m.ID, message.Text, false); problemsOf(t, err)["way"] == "" {
		t.Errorf("the same way: %v", err)
	}
	if err := b.TellOtherwise(t.Context(), add, m.ID, message.Mail, false); err != nil {
		t.Fatal(err)
	}
	list := b.told(t).Messages
	if by := list[0]; by.State != message.Queued || by.InsteadOf != m.ID || !strings.Contains(by.Text, "Dear Ada Quillmarsh,") ||
		!strings.Contains(by.HTML, "&lt;old&gt;") || list[1].State != message.Withdrawn {
		t.Errorf("told otherwise: %+v, and before %+v", list[0], list[1])
	}
	// What was refused may be told otherwise, once.
	b.record(t, `UPDATE message SET state = 'refused', settled_at = now(), why = 'no such box' WHERE id = `+strconv.FormatInt(list[0].ID, 10))
	if err := b.TellOtherwise(t.Context(), add, list[0].ID, message.Telephone, true); err != nil {
		t.Fatal(err)
	}
	if err := b.TellOtherwise(t.Context(), add, list[0].ID, message.Letter, false); !errors.Is(err, store.ErrMessageSettled) {
		t.Errorf("twice: %v", err)
	}
	if by := b.told(t).Messages[0]; by.State != message.Told || by.Way != message.Telephone || strings.Contains(by.Text, "Dear") {
		t.Errorf("told at once: %+v", by)
	}
}

func TestContactsAreKeptAsTheyWere(t *testing.T) {
	t.Parallel()
	b := newTeller(t, tongue.English, customer.ContactPhone)
	add := store.Change{Number: b.n, By: b.watchmaker, At: b.at}
	for _, k := range []message.Contact{{Kind: message.NoAnswer, Number: "01632 960123"},
		{Kind: message.SpokeWith, SpokeTo: "Ada", Number: "01632 960123", Words: "Wants it by Friday."}, {Kind: message.Note, Words: "Crown is loose.\nLook again."}} {
		if err := b.WriteContact(t.Context(), add, k); err != nil {
			t.Fatal(err)
		}
	}
	if bad := problemsOf(t, b.WriteContact(t.Context(), add, message.Contact{Kind: message.Note})); bad["words"] == "" {
		t.Errorf("an empty note: %v", bad)
	}
	got := b.told(t).Contacts
	if len(got) != 3 || got[0].Words != "Crown is loose.\nLook again." || got[0].By != "Emrys Vale" || got[2].Kind != message.NoAnswer {
		t.Errorf("kept %+v", got)
	}
	kinds := b.kinds(t, b.n)
	if want := []docket.Kind{docket.CallWritten, docket.CallWritten, docket.NoteAdded}; !slices.Equal(kinds[len(kinds)-3:], want) {
		t.Errorf("journalled as %v", kinds)
	}
	if _, err := b.Pool().Exec(t.Context(), `UPDATE contact SET words = 'other'`); err == nil {
		t.Error("a call can be rewritten")
	}
	oneRoundTrip(t, func(ctx context.Context) error { return second(b.ToldSheet(ctx, b.n)) })
	oneRoundTrip(t, func(ctx context.Context) error { return second(b.MessageSettings(ctx)) })
}

func TestAnswerByTelephoneIsKeptWhole(t *testing.T) {
	t.Parallel()
	b := newTeller(t, tongue.English, customer.ContactPhone)
	n := b.mustSend(t, priced())
	call := estimate.Consent{At: b.at.Add(-10 * time.Minute), Number: "01632 960123", CalledBy: "Emrys Vale", Added: "Service, mainspring", TotalMinor: 29940}
	a := estimate.Answer{Revision: n, Approve: true, Name: "Ada", DeclinedLines: []int{2}, Consent: &call}
	var wrong *estimate.TotalError
	if err := b.AnswerEstimate(t.Context(), b.seen(t, b.clerk), a, estimateDay); !errors.As(err, &wrong) {
		t.Errorf("another total than was agreed: %v", err)
	}
	call.TotalMinor = 22740
	if err := b.AnswerEstimate(t.Context(), b.seen(t, b.clerk), a, estimateDay); err != nil {
		t.Fatal(err)
	}
	r, _ := b.estimate(t).Estimate.Find(n)
	if r.Answer.By != estimate.ByTelephone || r.Answer.Consent == nil || *r.Answer.Consent != call {
		t.Errorf("kept as %+v", r.Answer)
	}
	entries, err := b.Journal(t.Context(), b.head(t).Docket.ID, 0)
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{`"agreed_at":"2026-11-24T`, `"number_called":"01632 960123"`, `"called_by":"Emrys Vale"`, `"added":"Service, mainspring"`, `"agreed_minor":22740`} {
		if !strings.Contains(string(entries[0].Facts), want) {
			t.Errorf("the journal lacks %s: %s", want, entries[0].Facts)
		}
	}
}

// The owner's words stand from their saving on, for what is written after it; set back, the program's own do.
func TestOwnWords(t *testing.T) {
	t.Parallel()
	b := newTeller(t, tongue.English, customer.ContactEmail)
	own := message.Template{Subject: "Come, {customer}", Text: "It is done.", Short: "Done."}
	if err := b.SaveTemplate(t.Context(), b.owner, b.at, message.Question, "en", own); problemsOf(t, err)["text"] == "" {
		t.Errorf("a question without the question: %v", err)
	}
	own.Text, own.Short = "We ask: {question}", "We ask: {question}"
	for range 2 { // the second leaves no trace
		if err := b.SaveTemplate(t.Context(), b.owner, b.at, message.Question, "en", own); err != nil {
			t.Fatal(err)
		}
	}
	ask := func() string {
		t.Helper()
		if err := b.TellNow(t.Context(), b.telling(t, b.clerk, store.Tell{Way: message.Mail}), message.Question, "Old glass?"); err != nil {
			t.Fatal(err)
		}
		return b.told(t).Messages[0].Subject
	}
	if got := ask(); got != "Come, Ada Quillmarsh" {
		t.Errorf("told %q", got)
	}
	set, err := b.MessageSettings(t.Context())
	if err != nil || len(set.Templates) != 1 || set.Templates[0].MadeBy != "Nuala Reed" {
		t.Fatalf("settings %+v, %v", set, err)
	}
	if words, by := set.Template(message.Question, "en"); words != own || by.MadeBy == "" {
		t.Errorf("stands %+v", words)
	}
	if err := b.SaveTemplate(t.Context(), b.owner, b.at, message.Question, "en", message.Template{}); err != nil {
		t.Fatal(err)
	}
	if got := ask(); !strings.HasPrefix(got, "A question about your watch") {
		t.Errorf("set back: told %q", got)
	}
	if err := b.SaveReminders(t.Context(), b.owner, b.at, message.Reminders{NotCollectedDays: 400}); problemsOf(t, err)["not_collected_days"] == "" {
		t.Errorf("400 days: %v", err)
	}
}

// Reminders are told once, from their day on, by the shop's clock, however often they are looked for.
func TestReminders(t *testing.T) {
	t.Parallel()
	b := ready(t)
	b.UsePublicAddress("https://shop.example")
	since := b.at
	remind := func(at time.Time, want int, about message.Topic) {
		t.Helper()
		for i, want := range []int{want, 0} {
			if told, err := b.Remind(t.Context(), at); err != nil || told != want {
				t.Fatalf("%s, time %d: told %d, %v; want %d", at, i, told, err, want)
			}
		}
		if list := b.told(t).Messages; want > 0 && (len(list) == 0 || list[0].Topic != about) {
			t.Fatalf("%s: told %+v", at, list)
		}
	}
	// Ready on 24 November, or a day later by the shop's clock where it was past midnight in Zurich.
	zone := b.shop.Location()
	y, m, d := since.In(zone).Date()
	due := time.Date(y, m, d+14, 0, 0, 0, 0, zone)
	remind(due.Add(-time.Minute), 0, "")
	remind(due.Add(time.Minute), 1, message.NotCollected)
	if text := b.told(t).Messages[0].Text; !strings.Contains(text, "90.00") || !strings.Contains(text, "24 November 2026") {
		t.Errorf("says:\n%s", text)
	}
	b.at = due.Add(48 * time.Hour)
	b.mustHandOver(t)
	left := b.at.In(zone)
	until := time.Date(left.Year()+1, left.Month(), left.Day(), 12, 0, 0, 0, zone)
	remind(until.AddDate(0, 0, -31), 0, "")
	remind(until.AddDate(0, 0, -29), 1, message.WarrantyEnding)
	remind(until.AddDate(0, 0, 2), 0, "")
	service := time.Date(left.Year()+5, left.Month(), left.Day(), 12, 0, 0, 0, zone)
	remind(service.AddDate(0, 0, -1), 0, "")
	if err := b.SaveReminders(t.Context(), b.owner, b.at, message.Reminders{}); err != nil {
		t.Fatal(err)
	}
	remind(service, 0, "") // turned off
	if err := b.SaveReminders(t.Context(), b.owner, b.at, message.Reminders{ServiceYears: 5}); err != nil {
		t.Fatal(err)
	}
	remind(service, 1, message.ServiceDue)
	if text := b.told(t).Messages[0].Text; !strings.Contains(text, "5 years") {
		t.Errorf("says:\n%s", text)
	}
}
