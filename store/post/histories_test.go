package post_test

import (
	"context"
	"errors"
	"log/slog"
	"math/rand/v2"
	"sync"
	"testing"
	"time"

	"github.com/emersion/go-smtp"

	"ledgerwheel/domain/message"
	"ledgerwheel/store"
	"ledgerwheel/store/post"
	"ledgerwheel/store/storetest"
)

// failing is a record behind which a copy of the program ends at random: before or after what it asked for was committed.
type failing struct {
	*store.Store
	*rand.Rand
	ends func() // called as the copy ends
	lost map[int64]int
}

var errEnded = errors.New("the copy ended")

func (f *failing) end() error {
	f.ends()
	return errEnded
}

func (f *failing) BeginDelivery(ctx context.Context, id int64, setUp bool, now time.Time) (message.Decision, store.MessageRow, error) {
	if f.IntN(100) < 5 {
		return message.Decision{}, store.MessageRow{}, f.end()
	}
	d, row, err := f.Store.BeginDelivery(ctx, id, setUp, now)
	if err == nil && f.IntN(100) < 5 {
		return message.Decision{}, store.MessageRow{}, f.end()
	}
	return d, row, err
}

func (f *failing) EndDelivery(ctx context.Context, row store.MessageRow, begun time.Time, a message.Answer, now time.Time) (time.Duration, error) {
	if f.IntN(100) < 8 {
		if a.Taken {
			f.lost[row.ID]++
		}
		return 0, f.end()
	}
	pause, err := f.Store.EndDelivery(ctx, row, begun, a, now)
	if err == nil && f.IntN(100) < 5 {
		return 0, f.end() // it is written all the same
	}
	return pause, err
}

// TestHistoriesAgainstServerAndDatabase is TestNoMailIsLostOrSentTwice of domain/message in little, with PostgreSQL, the store
// and an SMTP server in their own persons.
func TestHistoriesAgainstServerAndDatabase(t *testing.T) {
	t.Parallel()
	b := newBench(t, message.Open)
	const histories = 100
	var all struct{ twice, lost, refused, withdrawn, rolledBack int }
	for seed := range uint64(histories) {
		f := &failing{Store: b.Store, Rand: rand.New(rand.NewPCG(seed, 15)), lost: map[int64]int{}}
		// Who ends is silent for as long as no other copy may try.
		f.ends = func() { b.now = b.now.Add(message.Lease + time.Minute) }
		carrier := func() *post.Carrier {
			account := b.server.account()
			return post.New(post.Config{Store: f, Log: slog.New(slog.DiscardHandler), Now: func() time.Time { return b.now }, Given: &account})
		}
		copies := []*post.Carrier{carrier(), carrier()}
		before := len(b.server.got())
		b.server.set(func() {
			b.server.rcpt = func(string) error {
				switch n := f.IntN(100); {
				case n < 25:
					return &smtp.SMTPError{Code: 451, EnhancedCode: smtp.EnhancedCode{4, 7, 1}, Message: "greylisted"}
				case n < 30:
					return &smtp.SMTPError{Code: 550, EnhancedCode: smtp.EnhancedCode{5, 7, 1}, Message: "not today"}
				}
				return nil
			}
			b.server.drop = 0
		})
		if f.IntN(10) == 0 { // a change that is not committed leaves nothing to carry
			ctx, cancel := context.WithCancel(t.Context())
			cancel()
			if _, err := b.WriteMessage(ctx, store.Change{Number: b.number, By: b.owner, At: b.now}, message.Message{Topic: message.Ready,
				Way: message.Mail, To: "ana@brook.example", Subject: "S", Text: "T", State: message.Queued}); err == nil {
				t.Fatal("committed all the same")
			}
			all.rolledBack++
		}
		id := b.write()
		for range 200 {
			if f.IntN(100) < 10 {
				b.server.set(func() { b.server.drop = 1 })
			}
			if f.IntN(100) < 2 && b.WithdrawMessage(t.Context(), store.Change{Number: b.number, By: b.owner, At: b.now}, id, "Told.") == nil {
				all.withdrawn++
			}
			_, _ = copies[f.IntN(2)].Carry(t.Context(), id)
			if !b.message(id).State.Open() {
				break
			}
			b.now = b.now.Add(time.Duration(f.ExpFloat64() * float64(20*time.Minute)))
		}
		m := b.message(id)
		taken := b.server.got()[before:]
		for _, l := range taken {
			if l.Header.Get("Message-Id") != "<"+m.MailID+">" {
				t.Fatalf("history %d: another mail was sent", seed)
			}
		}
		dropped := b.server.droppedOf(m.MailID)
		switch {
		case m.State.Open():
			t.Fatalf("history %d: it still waits", seed)
		case m.State == message.Sent && len(taken) == 0:
			t.Fatalf("history %d: called sent, and nobody took it", seed)
		case len(taken) > 1+f.lost[id]+dropped:
			t.Fatalf("history %d: taken %d times, and %d answers were lost", seed, len(taken), f.lost[id]+dropped)
		case m.State == message.Refused:
			all.refused++
		}
		if len(taken) > 1 {
			all.twice++
		}
		all.lost += f.lost[id] + dropped
	}
	t.Logf("%d histories: %+v", histories, all)
	if all.twice == 0 || all.lost == 0 || all.refused == 0 || all.withdrawn == 0 {
		t.Errorf("the histories try too little: %+v", all)
	}
	storetest.Whole(t, b.Store)
}

// TestTwoCopiesAtWork has River work the jobs in two copies of the program over one database.
func TestTwoCopiesAtWork(t *testing.T) {
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
	account := b.server.account()
	var copies []*post.Carrier
	for _, s := range []*store.Store{b.Store, other} {
		c := post.New(post.Config{Store: s, Log: slog.New(slog.DiscardHandler), Now: time.Now, Given: &account})
		if err := c.Start(t.Context()); err != nil {
			t.Fatal(err)
		}
		copies = append(copies, c)
	}
	b.now = time.Now()
	var ids []int64
	for range 30 {
		ids = append(ids, b.write())
	}
	// A change whose job is gone is found at the next start.
	for deadline := time.Now().Add(60 * time.Second); ; time.Sleep(50 * time.Millisecond) {
		w, err := b.MailWaiting(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		if w.Waiting == 0 {
			break
		}
		if time.Now().After(deadline) {
			t.Fatalf("%d still wait: %s", w.Waiting, w.Said)
		}
	}
	seen := map[string]int{}
	for _, l := range b.server.got() {
		seen[l.Header.Get("Message-Id")]++
	}
	for _, id := range ids {
		if n := seen["<"+b.message(id).MailID+">"]; n != 1 {
			t.Errorf("message %d was sent %d times", id, n)
		}
	}
	var wg sync.WaitGroup
	for _, c := range copies {
		wg.Go(func() {
			began := time.Now()
			if err := c.Stop(); err != nil || time.Since(began) > 10*time.Second {
				t.Errorf("stopped in %v: %v", time.Since(began), err)
			}
		})
	}
	wg.Wait()
	storetest.Whole(t, b.Store)
}

// A job that somebody threw away does not lose its message.
func TestJobThatIsGone(t *testing.T) {
	t.Parallel()
	b := newBench(t, message.Open)
	b.now = time.Now()
	id := b.write()
	if _, err := b.Pool().Exec(t.Context(), `DELETE FROM river_job`); err != nil {
		t.Fatal(err)
	}
	account := b.server.account()
	c := post.New(post.Config{Store: b.Store, Log: slog.New(slog.DiscardHandler), Now: time.Now, Given: &account})
	if err := c.Start(t.Context()); err != nil {
		t.Fatal(err)
	}
	defer c.Stop()
	for deadline := time.Now().Add(30 * time.Second); b.message(id).State == message.Queued; time.Sleep(50 * time.Millisecond) {
		if time.Now().After(deadline) {
			t.Fatal("it still waits")
		}
	}
	b.want(id, message.Sent, "")
}
