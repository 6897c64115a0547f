package post_test

import (
	"bytes"
	"encoding/base64"
	"io"
	"log/slog"
	"mime"
	"mime/multipart"
	"net/mail"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/emersion/go-smtp"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/message"
	"ledgerwheel/domain/purchase"
	"ledgerwheel/store"
	"ledgerwheel/store/post"
	"ledgerwheel/store/storetest"
)

// orderFiles are what goes with the orders of these tests: bytes that a mail must not touch.
var orderFiles = store.OrderLetter{Subject: "Order 2026-001 of Tern Quay", Body: "Please supply what the order lists.", Name: "order-2026-001",
	PDF: append([]byte("%PDF-1.4\n"), bytes.Repeat([]byte{0, 13, 10, 255, '.', '\n'}, 900)...), CSV: []byte("order,line\r\n2026-001,1\r\n")}

// order sends the draft of an order to a supplier by mail.
func (b *bench) order() int64 {
	b.t.Helper()
	ctx := b.t.Context()
	supplier, err := b.SaveSupplier(ctx, purchase.Supplier{Name: "Coldharbour Materials", Email: "orders@coldharbour.example"}, 0, b.owner, b.now)
	if err != nil {
		b.t.Fatal(err)
	}
	id, err := b.StartOrder(ctx, supplier, b.now, b.owner, b.now)
	if err != nil {
		b.t.Fatal(err)
	}
	err = b.SaveOrder(ctx, b.seenOrder(id), []purchase.Line{{Number: "CH 9", Description: "Fine oil", Pieces: 2}}, "")
	if err == nil {
		err = b.SendOrder(ctx, b.seenOrder(id), purchase.ByMail, orderFiles)
	}
	if err != nil {
		b.t.Fatal(err)
	}
	return id
}

func (b *bench) orderNow(id int64) store.Order {
	b.t.Helper()
	o, err := b.Order(b.t.Context(), id)
	if err != nil {
		b.t.Fatal(err)
	}
	return o
}

func (b *bench) seenOrder(id int64) store.OrderChange {
	b.t.Helper()
	return store.OrderChange{ID: id, Version: b.orderNow(id).Version, Today: b.now.Truncate(24 * time.Hour), By: b.owner, At: b.now}
}

// carryOrder has an order's mail carried, holds what its page tells then, and returns how long it waits.
func (b *bench) carryOrder(id int64, state message.State, said string) time.Duration {
	b.t.Helper()
	pause, err := b.carrier.CarryOrder(b.t.Context(), id)
	if err != nil {
		b.t.Fatal(err)
	}
	if m := b.orderNow(id).Mail; m == nil || m.State != state || !strings.Contains(m.Said, said) {
		b.t.Errorf("the mail with the order stands %+v, want %s (%q)", m, state, said)
	}
	return pause
}

// orderMails are the entries of the shop's journal about mailed orders, newest first.
func (b *bench) orderMails() (told []string) {
	b.t.Helper()
	j, err := b.ShopJournal(b.t.Context(), 0)
	if err != nil {
		b.t.Fatal(err)
	}
	for _, e := range j.Entries {
		if e.Kind == docket.OrderMailed {
			told = append(told, e.Summary+" "+e.Why)
		}
	}
	return told
}

// attached are a mail's files by their names, read by the standard library alone.
func attached(t *testing.T, raw []byte) map[string][]byte {
	t.Helper()
	m, err := mail.ReadMessage(bytes.NewReader(raw))
	if err != nil {
		t.Fatal(err)
	}
	_, params, err := mime.ParseMediaType(m.Header.Get("Content-Type"))
	if err != nil {
		t.Fatal(err)
	}
	files := map[string][]byte{}
	for parts := multipart.NewReader(m.Body, params["boundary"]); ; {
		p, err := parts.NextPart()
		if err == io.EOF {
			return files
		}
		if err != nil {
			t.Fatal(err)
		}
		if p.FileName() == "" {
			continue
		}
		if files[p.FileName()] != nil || p.Header.Get("Content-Transfer-Encoding") != "base64" {
			t.Errorf("%q comes twice, or as %q", p.FileName(), p.Header.Get("Content-Transfer-Encoding"))
		}
		if files[p.FileName()], err = io.ReadAll(base64.NewDecoder(base64.StdEncoding, p)); err != nil {
			t.Fatal(err)
		}
	}
}

// TestAnOrderIsMailedOnce: it goes with its two files to the byte, once; the record keeps the outcome and not the files.
func TestAnOrderIsMailedOnce(t *testing.T) {
	t.Parallel()
	b := newBench(t, message.StartTLS)
	id := b.order()
	if m := b.orderNow(id).Mail; m == nil || m.State != message.Queued {
		t.Fatalf("before it is carried: %+v", m)
	}
	for range 2 {
		if pause := b.carryOrder(id, message.Sent, ""); pause != 0 {
			t.Errorf("it waits %v", pause)
		}
	}
	got := b.server.got()
	if len(got) != 1 || got[0].to != "orders@coldharbour.example" || got[0].Subject != orderFiles.Subject || !strings.Contains(got[0].Text, orderFiles.Body) {
		t.Fatalf("the server got %+v", got)
	}
	files := attached(t, got[0].raw)
	if len(files) != 2 || !bytes.Equal(files["order-2026-001.pdf"], orderFiles.PDF) || !bytes.Equal(files["order-2026-001.csv"], orderFiles.CSV) {
		t.Errorf("%d files, not as they were sent", len(files))
	}
	var kept int
	if err := b.Pool().QueryRow(t.Context(), `SELECT count(*) FROM order_mail WHERE pdf IS NOT NULL OR csv IS NOT NULL`).Scan(&kept); err != nil || kept != 0 {
		t.Errorf("files of %d mails are kept, %v", kept, err)
	}
	if told := b.orderMails(); len(told) != 1 || !strings.Contains(told[0], "was taken for orders@coldharbour.example") {
		t.Errorf("the journal says %q", told)
	}
	storetest.Whole(t, b.Store)
}

// TestARefusedOrderGoesAgain: a refusal says why, and the order goes to the address that the supplier has by then, as a mail of
// its own; what was not refused does not go again.
func TestARefusedOrderGoesAgain(t *testing.T) {
	t.Parallel()
	b := newBench(t, message.StartTLS)
	b.server.set(func() {
		b.server.rcpt = func(to string) error {
			if to == "orders@coldharbour.example" {
				return &smtp.SMTPError{Code: 550, EnhancedCode: smtp.EnhancedCode{5, 1, 1}, Message: "no such box"}
			}
			return nil
		}
	})
	id := b.order()
	if err := b.SendOrderAgain(t.Context(), b.seenOrder(id), purchase.ByMail, orderFiles); err == nil {
		t.Error("what is on its way goes again")
	}
	b.carryOrder(id, message.Refused, "no such box")
	if told := b.orderMails(); len(told) != 1 || !strings.Contains(told[0], "was given up") || !strings.Contains(told[0], "no such box") {
		t.Errorf("the journal says %q", told)
	}
	list, err := b.Orders(t.Context(), store.OrdersFilter{Stages: purchase.Stages}, b.now)
	if err != nil || list.Refused != 1 || len(list.Orders) != 1 || list.Orders[0].MailState != message.Refused {
		t.Errorf("the list says %+v, %v", list, err)
	}
	first := b.orderNow(id)
	to := first.Supplier
	to.Email = "desk@coldharbour.example"
	if _, err := b.SaveSupplier(t.Context(), to.Supplier, to.Version, b.owner, b.now); err != nil {
		t.Fatal(err)
	}
	if err := b.SendOrderAgain(t.Context(), b.seenOrder(id), purchase.ByMail, orderFiles); err != nil {
		t.Fatal(err)
	}
	b.carryOrder(id, message.Sent, "")
	got := b.server.got()
	if len(got) != 1 || got[0].to != "desk@coldharbour.example" || got[0].Header.Get("Message-Id") == "<"+first.Mail.MailID+">" || len(attached(t, got[0].raw)) != 2 {
		t.Errorf("the server got %d, %+v", len(got), got)
	}
	if err := b.SendOrderAgain(t.Context(), b.seenOrder(id), purchase.ByTelephone, store.OrderLetter{}); err == nil {
		t.Error("what was taken goes again")
	}
	storetest.Whole(t, b.Store)
}

// TestTheServerDiesOverAnOrder: with half of the mail read nothing was taken, and it is tried again; where only the answer is
// lost, the second is the same mail to the byte, so that a server which knows its number drops it.
func TestTheServerDiesOverAnOrder(t *testing.T) {
	t.Parallel()
	b := newBench(t, message.StartTLS)
	b.server.set(func() { b.server.die, b.server.drop = 1, 1 })
	id := b.order()
	pause := b.carryOrder(id, message.Queued, "answer was lost")
	if pause <= 0 || len(b.server.got()) != 0 {
		t.Fatalf("cut half-way: it waits %v, and the server has %d", pause, len(b.server.got()))
	}
	if again := b.carryOrder(id, message.Queued, ""); again <= 0 || len(b.server.got()) != 0 {
		t.Errorf("asked before its time: %v", again)
	}
	b.now = b.now.Add(pause)
	b.now = b.now.Add(b.carryOrder(id, message.Queued, "answer was lost"))
	b.carryOrder(id, message.Sent, "")
	got := b.server.got()
	if len(got) != 2 || got[0].Header.Get("Message-Id") != got[1].Header.Get("Message-Id") || got[0].Header.Get("Message-Id") == "" {
		t.Fatalf("%d mails came", len(got))
	}
	for name, file := range attached(t, got[0].raw) {
		if !bytes.Equal(file, attached(t, got[1].raw)[name]) {
			t.Errorf("%s differs in the second", name)
		}
	}
	if m := b.orderNow(id).Mail; m.Tries != 3 {
		t.Errorf("%d tries", m.Tries)
	}
	storetest.Whole(t, b.Store)
}

// TestTwoCopiesMailAnOrderOnce has River work in two copies of the program over one database, which also ask by hand at once.
func TestTwoCopiesMailAnOrderOnce(t *testing.T) {
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
	b.now = time.Now()
	id := b.order()
	account := b.server.account()
	var wg sync.WaitGroup
	for _, s := range []*store.Store{b.Store, other} {
		c := post.New(post.Config{Store: s, Log: slog.New(slog.DiscardHandler), Now: time.Now, Given: &account})
		if err := c.Start(t.Context()); err != nil {
			t.Fatal(err)
		}
		defer c.Stop()
		for range 4 {
			wg.Go(func() {
				if _, err := c.CarryOrder(t.Context(), id); err != nil {
					t.Error(err)
				}
			})
		}
	}
	wg.Wait()
	for deadline := time.Now().Add(60 * time.Second); b.orderNow(id).Mail.State == message.Queued; time.Sleep(50 * time.Millisecond) {
		if time.Now().After(deadline) {
			t.Fatal("it was not mailed within a minute")
		}
	}
	time.Sleep(2 * time.Second) // for what would come twice
	if got := b.server.got(); len(got) != 1 || len(attached(t, got[0].raw)) != 2 {
		t.Errorf("%d mails came", len(got))
	}
	if told := b.orderMails(); len(told) != 1 || slices.ContainsFunc(told, func(s string) bool { return strings.Contains(s, "given up") }) {
		t.Errorf("the journal says %q", told)
	}
	storetest.Whole(t, b.Store)
}
