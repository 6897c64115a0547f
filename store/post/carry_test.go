package post_test

import (
	"context"
	"errors"
	"log/slog"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/emersion/go-smtp"

	"ledgerwheel/domain/customer"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/message"
	"ledgerwheel/domain/shop"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/watch"
	"ledgerwheel/store"
	"ledgerwheel/store/post"
	"ledgerwheel/store/storetest"
)

func TestMain(m *testing.M) { storetest.Main(m) }

// bench is a shop with one docket, and a carrier that is told by hand what to carry.
type bench struct {
	*store.Store
	t       *testing.T
	url     string
	carrier *post.Carrier
	server  *mailServer
	number  docket.Number
	owner   store.Actor
	now     time.Time
}

func newBench(t *testing.T, kind message.Security) *bench {
	t.Helper()
	h := storetest.NewHandle(t)
	b := &bench{Store: h.Store, url: h.URL, t: t, now: time.Date(2026, 11, 30, 9, 0, 0, 0, time.UTC), server: serveMail(t, kind)}
	sh := shop.Defaults()
	sh.Name, sh.TimeZone, sh.LinkSecret = "Tern Quay Watch Works", "Europe/London", make([]byte, 32)
	id, err := b.Found(t.Context(), sh, staff.Member{Name: "Una Sedge", Email: "owner@ternquay.example", Role: staff.Owner}, "", b.now)
	if err != nil {
		t.Fatal(err)
	}
	b.owner = store.Actor{StaffID: id, Name: "Una Sedge", Role: staff.Owner}
	b.number, err = b.TakeIn(t.Context(), store.TakingIn{Shop: sh, Customer: customer.Customer{Name: "Ana Brook", Email: "ana@brook.example",
		Phone: "01632 960123"}.Tidied("GB"), Watch: watch.Watch{Maker: "Gannet", Model: "Harbourmaster", Lume: watch.LumeNone, Winding: watch.WindingHand}.Tidied(),
		Place: docket.PlaceAt(docket.PlaceSafe, ""), Intake: docket.Intake{Complaint: "Stops", Wanted: docket.WantedService}, By: b.owner, At: b.now})
	if err != nil {
		t.Fatal(err)
	}
	b.saveSettings(message.Settings{SenderName: "Tern Quay", SenderAddress: "counter@ternquay.example", ReplyTo: "hello@ternquay.example",
		Server: message.Server{Security: message.StartTLS}})
	account := b.server.account()
	b.carrier = post.New(post.Config{Store: b.Store, Log: slog.New(slog.DiscardHandler), Now: func() time.Time { return b.now },
		PublicURL: "https://ternquay.example", Given: &account, TLS: b.server.trust})
	return b
}

func (b *bench) saveSettings(m message.Settings) {
	b.t.Helper()
	_, version, err := b.MailSettings(b.t.Context())
	if err == nil {
		err = b.SaveMailSettings(b.t.Context(), m, version, b.owner, b.now)
	}
	if err != nil {
		b.t.Fatal(err)
	}
}

// write keeps a mail to Ana Brook.
func (b *bench) write() int64 {
	b.t.Helper()
	id, err := b.WriteMessage(b.t.Context(), store.Change{Number: b.number, By: b.owner, At: b.now}, message.Message{Topic: message.Ready,
		Tongue: "de", Way: message.Mail, To: "ana@brook.example", Subject: "Ihre Uhr ist fertig", Text: "Grüß Gott,\n\nIhre Uhr ist fertig.", State: message.Queued})
	if err != nil {
		b.t.Fatal(err)
	}
	return id
}

// carry has the message carried, and returns how long it then waits.
func (b *bench) carry(id int64) time.Duration {
	b.t.Helper()
	pause, err := b.carrier.Carry(b.t.Context(), id)
	if err != nil {
		b.t.Fatal(err)
	}
	return pause
}

func (b *bench) message(id int64) store.MessageRow {
	b.t.Helper()
	list, err := b.Messages(b.t.Context(), b.number)
	if err != nil {
		b.t.Fatal(err)
	}
	for _, m := range list {
		if m.ID == id {
			return m
		}
	}
	b.t.Fatalf("there is no message %d", id)
	return store.MessageRow{}
}

// want holds a message's state.
func (b *bench) want(id int64, state message.State, why string) {
	b.t.Helper()
	m := b.message(id)
	if m.State != state || !strings.Contains(m.Why+m.Said, why) {
		b.t.Errorf("the message is %s (%q, %q), want %s (%q)", m.State, m.Why, m.Said, state, why)
	}
}

func (b *bench) customer() customer.Customer {
	b.t.Helper()
	c, _, err := b.Customer(b.t.Context(), b.message(b.newest()).CustomerID)
	if err != nil {
		b.t.Fatal(err)
	}
	return c
}

func (b *bench) newest() int64 {
	list, err := b.Messages(b.t.Context(), b.number)
	if err != nil || len(list) == 0 {
		b.t.Fatal("no message", err)
	}
	return list[0].ID
}

func TestSentOverEachSecurity(t *testing.T) {
	t.Parallel()
	for _, kind := range message.Securities {
		t.Run(string(kind), func(t *testing.T) {
			t.Parallel()
			b := newBench(t, kind)
			id := b.write()
			if pause := b.carry(id); pause != 0 {
				t.Errorf("it waits %v", pause)
			}
			b.want(id, message.Sent, "")
			got := b.server.got()
			if len(got) != 1 || got[0].from != "counter@ternquay.example" || got[0].to != "ana@brook.example" {
				t.Fatalf("the server got %+v", got)
			}
			if again := b.carry(id); again != 0 || len(b.server.got()) != 1 {
				t.Errorf("carried again: %v, %d mails", again, len(b.server.got()))
			}
			storetest.Whole(t, b.Store)
		})
	}
}

func TestRefusedForGood(t *testing.T) {
	t.Parallel()
	b := newBench(t, message.StartTLS)
	b.server.set(func() {
		b.server.rcpt = func(string) error {
			return &smtp.SMTPError{Code: 550, EnhancedCode: smtp.EnhancedCode{5, 1, 1}, Message: "no such user here"}
		}
	})
	id := b.write()
	if pause := b.carry(id); pause != 0 {
		t.Errorf("it waits %v", pause)
	}
	b.want(id, message.Refused, "550 5.1.1 no such user here")
	c := b.customer()
	if c.Mail.BackAt.IsZero() || !strings.Contains(c.Mail.BackWhy, "no such user") || c.Mail.Allowed() {
		t.Errorf("the customer shows %+v", c.Mail)
	}
	// The next word is told by another way, until the address is corrected.
	next := b.write()
	if m := b.message(next); m.Way != message.Text || m.State != message.ToDo || m.To != "+441632960123" || m.MailID != "" {
		t.Errorf("the next is %+v", m.Message)
	}
	_, version, err := b.Customer(t.Context(), c.ID)
	c.Email = "ana@brooks.example"
	if err == nil {
		err = b.SaveCustomer(t.Context(), b.owner, b.now, c, version)
	}
	if err != nil {
		t.Fatal(err)
	}
	if c := b.customer(); !c.Mail.Allowed() {
		t.Errorf("with another address it still stands %+v", c.Mail)
	}
	storetest.Whole(t, b.Store)
}

// A refusal of this message says nothing against the address.
func TestRefusedForItsContent(t *testing.T) {
	t.Parallel()
	b := newBench(t, message.StartTLS)
	b.server.set(func() {
		b.server.data = &smtp.SMTPError{Code: 554, EnhancedCode: smtp.EnhancedCode{5, 7, 1}, Message: "looks like spam"}
	})
	id := b.write()
	b.carry(id)
	b.want(id, message.Refused, "554 5.7.1 looks like spam")
	if c := b.customer(); !c.Mail.Allowed() {
		t.Errorf("the address is blamed: %+v", c.Mail)
	}
}

func TestGreylistedThenTaken(t *testing.T) {
	t.Parallel()
	b := newBench(t, message.StartTLS)
	asked := 0
	b.server.set(func() {
		b.server.rcpt = func(string) error {
			if asked++; asked < 3 {
				return &smtp.SMTPError{Code: 451, EnhancedCode: smtp.EnhancedCode{4, 7, 1}, Message: "greylisted, come back later"}
			}
			return nil
		}
	})
	id := b.write()
	var pauses []time.Duration
	for range 3 {
		pause := b.carry(id)
		pauses = append(pauses, pause)
		if pause > 0 {
			b.want(id, message.Queued, "greylisted")
			if again := b.carry(id); again <= 0 || asked != len(pauses) {
				t.Errorf("asked before its time: %v", again)
			}
		}
		b.now = b.now.Add(pause)
	}
	if pauses[0] != time.Minute || pauses[1] != 5*time.Minute || pauses[2] != 0 {
		t.Errorf("it waited %v", pauses)
	}
	b.want(id, message.Sent, "")
	if m := b.message(id); m.Tries != 3 {
		t.Errorf("%d tries", m.Tries)
	}
}

// TestAnswerLost cuts the line after the server took the mail and before it said so: it is sent again, and is the same mail.
func TestAnswerLost(t *testing.T) {
	t.Parallel()
	b := newBench(t, message.StartTLS)
	b.server.set(func() { b.server.drop = 1 })
	id := b.write()
	b.now = b.now.Add(b.carry(id))
	b.want(id, message.Queued, "its answer was lost")
	b.carry(id)
	b.want(id, message.Sent, "")
	got := b.server.got()
	if len(got) != 2 || got[0].Header.Get("Message-Id") != got[1].Header.Get("Message-Id") || got[0].Header.Get("Message-Id") != "<"+b.message(id).MailID+">" {
		t.Fatalf("%d mails, of %q", len(got), got[0].Header.Get("Message-Id"))
	}
	if a, b := orderless(string(got[0].raw)), orderless(string(got[1].raw)); a != b {
		t.Errorf("the second is another mail:\n%s\nthan\n%s", b, a)
	}
}

// orderless is a mail with the lines of its header in order: RFC 5322 section 3.6 gives their order no meaning, and the library
// writes the two of RFC 8058 now one way round and now the other.
func orderless(raw string) string {
	raw = strings.ReplaceAll(raw, "\r\n", "\n")
	head, body, _ := strings.Cut(raw, "\n\n")
	lines := strings.Split(head, "\n")
	slices.Sort(lines)
	return strings.Join(lines, "\n") + "\n\n" + body
}

func TestServerAway(t *testing.T) {
	t.Parallel()
	b := newBench(t, message.StartTLS)
	port := b.server.port
	b.server.server.Close()
	id := b.write()
	pause := b.carry(id)
	if pause != time.Minute {
		t.Errorf("it waits %v", pause)
	}
	b.want(id, message.Queued, "was not reached")
	for range 60 { // at growing pauses for five days, and then a person must know
		if pause = b.carry(id); pause == 0 {
			break
		}
		b.now = b.now.Add(pause)
	}
	b.want(id, message.Refused, "Tried for five days.")
	if over := b.now.Sub(b.message(id).QueuedAt); over != message.KeepTrying {
		t.Errorf("given up after %v", over)
	}
	if b.server.port != port {
		t.Fatal("another server")
	}
}

// What is wrong with the shop's own settings is not held against a message.
func TestStranded(t *testing.T) {
	t.Parallel()
	for name, tt := range map[string]struct {
		spoil func(*bench)
		said  string
	}{
		"password": {func(b *bench) {
			account := b.server.account()
			account.Password = "wrong"
			b.carrier.Given = &account
		}, "535"},
		"certificate": {func(b *bench) { b.carrier.TLS = nil }, "could not be secured"},
		"no STARTTLS": {func(b *bench) {
			b.server = serveMail(b.t, message.Open)
			account := b.server.account()
			account.Security = message.StartTLS
			b.carrier.Given = &account
		}, "does not offer STARTTLS"},
		"not signed in": {func(b *bench) {
			account := b.server.account()
			account.User = ""
			b.carrier.Given = &account
		}, "502"},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			b := newBench(t, message.StartTLS)
			tt.spoil(b)
			id := b.write()
			if pause := b.carry(id); pause != time.Minute {
				t.Errorf("it waits %v", pause)
			}
			b.want(id, message.Queued, tt.said)
			w, err := b.MailWaiting(t.Context())
			if err != nil || w.Waiting != 1 || w.Stranded != 1 || !strings.Contains(w.Said, tt.said) {
				t.Errorf("%+v, %v", w, err)
			}
		})
	}
}

func TestWaitsForSettings(t *testing.T) {
	t.Parallel()
	b := newBench(t, message.StartTLS)
	account := *b.carrier.Given
	b.carrier.Given = nil
	id := b.write()
	if pause := b.carry(id); pause != message.LookAgain || b.message(id).Tries != 0 {
		t.Errorf("it waits %v after %d tries", pause, b.message(id).Tries)
	}
	b.carrier.Given = &account
	b.carry(id)
	b.want(id, message.Sent, "")
}

func TestWithdrawn(t *testing.T) {
	t.Parallel()
	b := newBench(t, message.StartTLS)
	id := b.write()
	change := store.Change{Number: b.number, By: b.owner, At: b.now}
	if err := b.WithdrawMessage(t.Context(), change, id, "Told at the counter."); err != nil {
		t.Fatal(err)
	}
	if pause := b.carry(id); pause != 0 || len(b.server.got()) != 0 {
		t.Errorf("it waits %v, and the server got %d", pause, len(b.server.got()))
	}
	b.want(id, message.Withdrawn, "Told at the counter.")
	if err := b.WithdrawMessage(t.Context(), change, id, "Twice."); !errors.Is(err, store.ErrMessageSettled) {
		t.Errorf("twice: %v", err)
	}
	// One that is on its way can't be called back.
	other := b.write()
	b.server.set(func() {
		b.server.before = func() {
			if err := b.WithdrawMessage(context.Background(), change, other, "Too late."); !errors.Is(err, message.ErrUnderWay) {
				t.Errorf("under way: %v", err)
			}
		}
	})
	b.carry(other)
	b.want(other, message.Sent, "")
	storetest.Whole(t, b.Store)
}

// What the program enters by itself makes no person's open form old.
func TestSendingLeavesOpenFormsAlone(t *testing.T) {
	t.Parallel()
	b := newBench(t, message.StartTLS)
	id := b.write()
	sheet, err := b.IntakeSheet(t.Context(), b.number)
	if err != nil {
		t.Fatal(err)
	}
	b.carry(id)
	if err := b.MakeLink(t.Context(), store.Change{Number: b.number, Version: sheet.Head.Docket.Version, By: b.owner, At: b.now}); err != nil {
		t.Errorf("the form is refused: %v", err)
	}
}
