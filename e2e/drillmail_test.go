package e2e

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"log"
	"math/rand/v2"
	"net"
	"net/http"
	"net/http/cookiejar"
	"net/mail"
	"net/url"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/emersion/go-smtp"
)

// TestMailKillDrill kills the program without warning while it hands mails to a mail server. Afterwards every mail whose writing was
// acknowledged, and every other that the record has, was taken; one was taken twice only where the program was killed with it in
// hand, and then under the same Message-ID. Set -rounds for more kills.
func TestMailKillDrill(t *testing.T) {
	t.Parallel()
	office := openOffice(t)
	data := filepath.Join(openFolder(t), "shop")
	args := []string{"serve", "--listen", "127.0.0.1:0", "--data", data, "--setup-key", "tide-table", "--smtp", office.address()}
	shop := launch(t, args...)
	shop.healthy(t)
	w := newWriter(t, shop)

	inHand := map[string]int{} // by Message-ID, at how many kills the program had it in hand
	launched := time.Time{}
	for round := range *rounds {
		ctx, stop := context.WithCancel(t.Context())
		var writing sync.WaitGroup
		writing.Go(func() { w.writes(ctx, shop.address, round) })
		office.await(t, 3)
		time.Sleep(time.Duration(rand.IntN(1200)) * time.Millisecond)
		if err := shop.cmd.Process.Kill(); err != nil {
			t.Fatal(err)
		}
		<-shop.done
		killed := time.Now()
		stop()
		writing.Wait()
		shop = launch(t, args...)
		awaitHealth(t, shop, "200", "ok")
		lapse(t, data, launched, killed, inHand)
		launched = killed
		w.sendsAgain(t, shop.address)
	}
	awaitMails(t, data)

	taken := office.taken()
	var all, twice int
	rows, _ := database(t, data).Query(t.Context(), `SELECT mail_id, body, state FROM message WHERE way = 'mail'`)
	for rows.Next() {
		var id, body, state string
		if err := rows.Scan(&id, &body, &state); err != nil {
			t.Fatal(err)
		}
		all++
		n := len(taken[id])
		switch {
		case state != "sent":
			t.Errorf("mail %s is %s", id, state)
		case n == 0:
			t.Errorf("mail %s is lost: called sent, and nobody took it", id)
		case n > 1+inHand[id]:
			t.Errorf("mail %s was taken %d times, and was in hand at %d kills", id, n, inHand[id])
		case n > 1:
			twice++
		}
		for _, said := range taken[id] {
			if q := drillQuestion.FindString(body); q == "" || !strings.Contains(said, q) {
				t.Errorf("mail %s was taken with other words than %q", id, q)
			}
		}
		delete(taken, id)
	}
	if err := rows.Err(); err != nil {
		t.Fatal(err)
	}
	if len(taken) > 0 {
		t.Errorf("mails were taken that the record does not have: %v", taken)
	}
	w.found(t, data)
	wholeRecord(t, data)
	t.Logf("%d kills with %d mails in hand, %d mails, none lost; %d taken twice, each under one Message-ID", *rounds, total(inHand), all, twice)
	if total(inHand) == 0 {
		t.Error("no kill found a mail in hand: the drill tries nothing")
	}
}

func total(counts map[string]int) (n int) {
	for _, c := range counts {
		n += c
	}
	return n
}

// lapse notes which mails the program had in hand that was killed after it was launched, and has the quarter of an hour pass in which nobody else may try them.
func lapse(t *testing.T, data string, launched, killed time.Time, inHand map[string]int) {
	t.Helper()
	conn := database(t, data)
	rows, _ := conn.Query(t.Context(), `UPDATE message_delivery d SET begun_at = begun_at - interval '16 minutes' FROM message m
		WHERE m.id = d.message_id AND begun_at < $1 RETURNING m.mail_id, m.state = 'queued' AND begun_at + interval '16 minutes' > $2`, killed, launched)
	for rows.Next() {
		var id string
		var held bool
		if err := rows.Scan(&id, &held); err != nil {
			t.Fatal(err)
		}
		if held {
			inHand[id]++
		}
	}
	if err := rows.Err(); err != nil {
		t.Fatal(err)
	}
	if _, err := conn.Exec(t.Context(), `UPDATE river_job SET attempted_at = attempted_at - interval '17 minutes' WHERE state = 'running' AND attempted_at < $1`, killed); err != nil {
		t.Fatal(err)
	}
}

// awaitMails waits until no mail waits any more.
func awaitMails(t *testing.T, data string) {
	t.Helper()
	conn := database(t, data)
	for deadline := time.Now().Add(2 * patience); ; time.Sleep(200 * time.Millisecond) {
		var waiting int
		if err := conn.QueryRow(t.Context(), `SELECT count(*) FROM message WHERE state = 'queued'`).Scan(&waiting); err != nil {
			t.Fatal(err)
		}
		if waiting == 0 {
			return
		}
		if time.Now().After(deadline) {
			t.Fatalf("%d mails still wait", waiting)
		}
	}
}

// mailOffice is a mail server that takes its time with the answer, so that a kill finds mails in hand.
type mailOffice struct {
	at      net.Addr
	mu      sync.Mutex
	letters map[string][]string // by Message-ID
	count   int
}

func openOffice(t *testing.T) *mailOffice {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	o := &mailOffice{at: l.Addr(), letters: map[string][]string{}}
	server := smtp.NewServer(smtp.BackendFunc(func(*smtp.Conn) (smtp.Session, error) { return &officeSession{o}, nil }))
	server.Domain, server.ErrorLog = "office.example", log.New(io.Discard, "", 0)
	go func() { _ = server.Serve(l) }()
	t.Cleanup(func() { _ = server.Close() })
	return o
}

func (o *mailOffice) address() string { return "smtp://" + o.at.String() + "?security=none" }

// await waits until so many more mails were taken.
func (o *mailOffice) await(t *testing.T, more int) {
	t.Helper()
	number := func() int {
		o.mu.Lock()
		defer o.mu.Unlock()
		return o.count
	}
	want := number() + more
	for deadline := time.Now().Add(patience); number() < want; time.Sleep(20 * time.Millisecond) {
		if time.Now().After(deadline) {
			t.Fatalf("%d mails were taken, want %d", number(), want)
		}
	}
}

func (o *mailOffice) taken() map[string][]string {
	o.mu.Lock()
	defer o.mu.Unlock()
	return o.letters
}

type officeSession struct{ office *mailOffice }

func (s *officeSession) Reset()                               {}
func (s *officeSession) Logout() error                        { return nil }
func (s *officeSession) Mail(string, *smtp.MailOptions) error { return nil }
func (s *officeSession) Rcpt(string, *smtp.RcptOptions) error { return nil }

// Data takes the letter, and answers a little later.
func (s *officeSession) Data(r io.Reader) error {
	raw, err := io.ReadAll(r)
	if err != nil {
		return err
	}
	m, err := mail.ReadMessage(bytes.NewReader(raw))
	if err != nil {
		return err
	}
	id := strings.Trim(m.Header.Get("Message-Id"), "<>")
	s.office.mu.Lock()
	s.office.letters[id] = append(s.office.letters[id], string(raw))
	s.office.count++
	s.office.mu.Unlock()
	time.Sleep(time.Duration(rand.IntN(400)) * time.Millisecond)
	return nil
}

// writer asks a customer one question after the other, each by a mail.
type writer struct {
	http    *http.Client
	number  string // of the docket
	key     string
	written []string // acknowledged
	open    string   // sent without an answer; "" for none
}

var drillQuestion = regexp.MustCompile(`Drill \d+-\d+`)

// newWriter founds the shop and takes in the watch of a customer who is written to.
func newWriter(t *testing.T, shop *program) *writer {
	t.Helper()
	jar, _ := cookiejar.New(nil)
	w := &writer{http: &http.Client{Jar: jar, Timeout: 20 * time.Second,
		CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}}
	post := func(path string, f url.Values) string {
		t.Helper()
		f.Set("form_key", w.key)
		f.Set("form_page", "/")
		res, err := w.http.PostForm(shop.address+path, f)
		if err != nil {
			t.Fatal(err)
		}
		defer res.Body.Close()
		if res.StatusCode != http.StatusSeeOther {
			body, _ := io.ReadAll(res.Body)
			t.Fatalf("%s: %s\n%s", path, res.Status, body)
		}
		return res.Header.Get("Location")
	}
	post("/setup?key=tide-table", url.Values{"key": {"tide-table"}, "shop_name": {"Curlew Steps Watch Repairs"}, "time_zone": {"Europe/London"},
		"currency": {"GBP"}, "phone_region": {"GB"}, "name": {"Ishbel Marrow"}, "email": {"ishbel@curlew.example"},
		"password": {"heron kettle stairwell"}, "again": {"heron kettle stairwell"}})
	w.readKey(t, shop.address+"/mail")
	post("/mail", url.Values{"version": {"0"}, "sender_name": {"Curlew Steps"}, "sender_address": {"counter@curlew.example"}})
	at := post("/intake", url.Values{"do": {"take-in"}, "name": {"Bram Tolliver"}, "email": {"bram@tolliver.example"}, "preferred_contact": {"email"},
		"maker": {"Turnstone"}, "model": {"Eddy"}, "serial": {"TE 7"}, "lume": {"none"}, "winding": {"hand"}, "complaint": {"Loses."},
		"service_wanted": {"full-service"}, "place": {"safe"}})
	w.number = strings.Split(strings.TrimPrefix(at, "/dockets/"), "/")[0]
	return w
}

func (w *writer) readKey(t *testing.T, page string) {
	t.Helper()
	res, err := w.http.Get(page)
	if err != nil {
		t.Fatal(err)
	}
	defer res.Body.Close()
	body, _ := io.ReadAll(res.Body)
	found := formKeyIn.FindSubmatch(body)
	if found == nil {
		t.Fatalf("no form on %s: %s", page, body)
	}
	w.key = string(found[1])
}

// writes goes on until the program is gone.
func (w *writer) writes(ctx context.Context, at string, round int) {
	for n := 0; ctx.Err() == nil && n < 200; n++ {
		w.open = fmt.Sprintf("Drill %d-%d", round, n)
		if !w.send(at) {
			return
		}
	}
}

// send asks what is open and reports whether it was acknowledged.
func (w *writer) send(at string) bool {
	res, err := w.http.PostForm(at+"/dockets/"+w.number+"/told", url.Values{"form_key": {w.key}, "form_page": {"/"}, "topic": {"question"},
		"question": {w.open + ": may we polish the case?"}, "tell": {"mail"}})
	if err != nil {
		return false
	}
	res.Body.Close()
	if res.StatusCode != http.StatusSeeOther || strings.HasPrefix(res.Header.Get("Location"), "/sign-in") {
		return false
	}
	w.written, w.open = append(w.written, w.open), ""
	return true
}

// sendsAgain asks what had no answer as it was.
func (w *writer) sendsAgain(t *testing.T, at string) {
	t.Helper()
	if open := w.open; open != "" && !w.send(at) {
		t.Errorf("%s: sent again it is not taken", open)
	}
}

// found holds what was acknowledged against the record: each is one mail.
func (w *writer) found(t *testing.T, data string) {
	t.Helper()
	if len(w.written) < *rounds {
		t.Errorf("only %d mails were acknowledged: the drill tries nothing", len(w.written))
	}
	conn := database(t, data)
	for _, q := range w.written {
		var n int
		if err := conn.QueryRow(t.Context(), `SELECT count(*) FROM message WHERE body LIKE '%' || $1 || ':%'`, q).Scan(&n); err != nil {
			t.Fatal(err)
		}
		if n != 1 {
			t.Errorf("%s: acknowledged, and there as %d mails", q, n)
		}
	}
}
