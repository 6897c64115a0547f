package post_test

import (
	"bytes"
	"log/slog"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/emersion/go-smtp"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/message"
	"ledgerwheel/domain/record"
	"ledgerwheel/store"
	"ledgerwheel/store/post"
)

// sealsTo has the day's seal mailed to an address; "" to none.
func (b *bench) sealsTo(address string) {
	b.t.Helper()
	m, _, err := b.MailSettings(b.t.Context())
	if err != nil {
		b.t.Fatal(err)
	}
	m.SealsTo = address
	b.saveSettings(m)
}

// seal makes a seal.
func (b *bench) seal(at time.Time) record.Seal {
	b.t.Helper()
	s, err := b.Store.Seal(b.t.Context(), make([]byte, 32), at, nil, true)
	if err != nil {
		b.t.Fatal(err)
	}
	return s
}

// sealMails are the entries of the shop's journal about mailed seals, newest first.
func (b *bench) sealMails() (summaries []string) {
	b.t.Helper()
	j, err := b.ShopJournal(b.t.Context(), 0)
	if err != nil {
		b.t.Fatal(err)
	}
	for _, e := range j.Entries {
		if e.Kind == docket.SealMailed {
			summaries = append(summaries, e.Summary+" "+e.Why)
		}
	}
	return summaries
}

// sealIn are the lines that the mail says to save.
func sealIn(mail string) []byte {
	mail = strings.ReplaceAll(mail, "\r\n", "\n")
	from := strings.Index(mail, "\nledgerwheel/") + 1
	signature := from + strings.Index(mail[from:], "\n— ") + 1
	return []byte(mail[from : signature+strings.IndexByte(mail[signature:], '\n')+1])
}

// TestTheDaysSealIsMailedOnce: two copies of the program bring the seals of a day, each its own; one is mailed, once, by a real
// server's account; what it says, saved as the mail asks, is the seal as it was signed, by the shop's key and by no other.
func TestTheDaysSealIsMailedOnce(t *testing.T) {
	t.Parallel()
	b := newBench(t, message.Open)
	other, err := store.Open(t.Context(), b.url)
	if err != nil {
		t.Fatal(err)
	}
	defer other.Close()
	other.UseKeys(b.Keys())
	if err := other.MarkEntries(); err != nil {
		t.Fatal(err)
	}
	now := time.Now()
	first := b.seal(now)
	if queued, err := b.QueueSealMail(t.Context(), first, now); err != nil || queued {
		t.Fatalf("without an address one is mailed: %v", err)
	}
	b.sealsTo("keeper@elsewhere.example")
	account := b.server.account()
	for _, s := range []*store.Store{b.Store, other} {
		c := post.New(post.Config{Store: s, Log: slog.New(slog.DiscardHandler), Now: time.Now, Given: &account})
		if err := c.Start(t.Context()); err != nil {
			t.Fatal(err)
		}
		defer c.Stop()
	}
	var wg sync.WaitGroup
	queued := make(chan bool, 8)
	for i := range 8 {
		wg.Go(func() {
			ok, err := []*store.Store{b.Store, other}[i%2].QueueSealMail(t.Context(), first, now.Add(time.Duration(i)*time.Millisecond))
			if err != nil {
				t.Error(err)
			}
			queued <- ok
		})
	}
	wg.Wait()
	close(queued)
	times := 0
	for ok := range queued {
		if ok {
			times++
		}
	}
	if times != 1 && now.UTC().Day() == now.Add(8*time.Millisecond).UTC().Day() {
		t.Errorf("queued %d times", times)
	}
	for deadline := time.Now().Add(60 * time.Second); len(b.sealMails()) == 0; time.Sleep(50 * time.Millisecond) {
		if time.Now().After(deadline) {
			t.Fatal("it was not mailed within a minute")
		}
	}
	time.Sleep(2 * time.Second) // for what would come twice
	got := b.server.got()
	if len(got) != times || got[0].to != "keeper@elsewhere.example" {
		t.Fatalf("%d mails came", len(got))
	}
	keys, err := b.SealKeys(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	text := sealIn(got[0].Text)
	if !bytes.Equal(text, first.Text) {
		t.Errorf("the mail has\n%s\nof\n%s", text, first.Text)
	}
	if read, err := record.OpenSeal(text, record.SealKeys(keys...)); err != nil || read.Root != first.Root || read.Size != first.Size {
		t.Errorf("the mailed seal: %+v, %v", read, err)
	}
	_, strange, err := record.SealKey(first.Origin, bytes.Repeat([]byte{7}, 32))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := record.OpenSeal(text, record.SealKeys(strange)); err == nil {
		t.Error("it holds under another key")
	}
	if _, err := record.OpenSeal(bytes.Replace(text, []byte("\ntime 2"), []byte("\ntime 3"), 1), record.SealKeys(keys...)); err == nil {
		t.Error("it holds altered")
	}
	if !strings.Contains(got[0].HTML, "record check --seal") || !strings.Contains(got[0].Subject, "Seal of ") || got[0].Header.Get("Auto-Submitted") == "" {
		t.Errorf("the mail's other form says %.300q", got[0].HTML)
	}
	if said := b.sealMails(); len(said) != times || !strings.Contains(said[0], "was mailed out of the shop") {
		t.Errorf("the journal says %q", said)
	}
}

// TestASealThatIsNotTaken: it is tried again with pauses and given up after five days, which the journal says; a refusal for
// good is no other. The next day has a mail of its own, and none goes where no address is set.
func TestASealThatIsNotTaken(t *testing.T) {
	t.Parallel()
	b := newBench(t, message.Open)
	b.sealsTo("keeper@elsewhere.example")
	ctx := t.Context()
	begun := b.now
	day := func() string { return b.now.UTC().Format(time.DateOnly) }
	queue := func() bool {
		t.Helper()
		ok, err := b.QueueSealMail(ctx, b.seal(b.now), b.now)
		if err != nil {
			t.Fatal(err)
		}
		return ok
	}
	if !queue() || queue() {
		t.Fatal("one seal a day is mailed")
	}
	b.server.set(func() {
		b.server.rcpt = func(string) error {
			return &smtp.SMTPError{Code: 451, EnhancedCode: smtp.EnhancedCode{4, 7, 1}, Message: "come again later"}
		}
	})
	first, tries := day(), 0
	for b.now.Sub(begun) < 6*24*time.Hour {
		pause, err := b.carrier.CarrySeal(ctx, first)
		if err != nil {
			t.Fatal(err)
		}
		if pause == 0 {
			break
		}
		tries++
		b.now = b.now.Add(pause)
	}
	if kept := b.now.Sub(begun); kept < 4*24*time.Hour || kept > message.KeepTrying+time.Hour || tries < 20 {
		t.Errorf("%d tries in %v", tries, kept)
	}
	if said := b.sealMails(); len(said) != 1 || !strings.Contains(said[0], "was given up") || !strings.Contains(said[0], "come again later") {
		t.Errorf("the journal says %q", said)
	}
	if !queue() {
		t.Fatal("the next day has no mail")
	}
	b.server.set(func() {
		b.server.rcpt = func(string) error {
			return &smtp.SMTPError{Code: 550, EnhancedCode: smtp.EnhancedCode{5, 1, 1}, Message: "no such box"}
		}
	})
	if pause, err := b.carrier.CarrySeal(ctx, day()); err != nil || pause != 0 {
		t.Errorf("refused for good: %v, %v", pause, err)
	}
	if said := b.sealMails(); len(said) != 2 || !strings.Contains(said[0], "no such box") {
		t.Errorf("the journal says %q", said)
	}
	b.now = b.now.Add(24 * time.Hour)
	b.server.set(func() { b.server.rcpt = nil })
	if !queue() {
		t.Fatal("a later day has no mail")
	}
	if pause, err := b.carrier.CarrySeal(ctx, day()); err != nil || pause != 0 || len(b.server.got()) != 1 {
		t.Errorf("taken: %v, %v, %d mails", pause, err, len(b.server.got()))
	}
	if pause, err := b.carrier.CarrySeal(ctx, day()); err != nil || pause != 0 || len(b.server.got()) != 1 {
		t.Errorf("carried again: %v, %v, %d mails", pause, err, len(b.server.got()))
	}
	b.sealsTo("")
	b.now = b.now.Add(24 * time.Hour)
	if queue() {
		t.Error("one is mailed to no address")
	}
}
