package e2e

import (
	"bytes"
	"context"
	"flag"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	"io"
	"math/rand/v2"
	"mime/multipart"
	"net/http"
	"net/http/cookiejar"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"ledgerwheel/domain/staff"
)

// rounds is how often the drill kills the program: go test ./e2e -run TestKillDrill -rounds 200 -timeout 2h
var rounds = flag.Int("rounds", 3, "how often the kill drill kills the program")

// TestKillDrill kills the program, or its database, or both, without warning while three people save as fast as they can.
// After each kill the record is whole, what was acknowledged is there once, and what was sent without an answer, sent again,
// is there once too.
func TestKillDrill(t *testing.T) {
	t.Parallel()
	data := filepath.Join(openFolder(t), "demo")
	args := []string{"demo", "--listen", "127.0.0.1:0", "--data", data}
	shop := launch(t, args...)
	var numbers []string // one after the other, as a docket takes a bounded number of photographs
	if err := database(t, data).QueryRow(t.Context(), `SELECT array_agg(number ORDER BY id) FROM docket
		WHERE stage IN ('diagnosis', 'estimate', 'parts', 'service', 'regulation')`).Scan(&numbers); err != nil || len(numbers) < 4 {
		t.Fatal(numbers, err)
	}
	var people []*saver
	for i := range 3 {
		people = append(people, newSaver(t, shop, i, numbers[0]))
	}
	acknowledged := 0
	for round := range *rounds {
		ctx, stop := context.WithCancel(t.Context())
		var all sync.WaitGroup
		for _, p := range people {
			p.number = numbers[round%len(numbers)]
			all.Go(func() { p.saves(ctx, shop.address, round) })
		}
		time.Sleep(time.Duration(300+rand.IntN(1500)) * time.Millisecond)
		if round%3 > 0 {
			killPostmaster(t, data)
		}
		if round%3 < 2 {
			if err := shop.cmd.Process.Kill(); err != nil {
				t.Fatal(err)
			}
			<-shop.done
		}
		stop()
		all.Wait()
		if round%3 < 2 {
			shop = launch(t, args...)
		}
		awaitHealth(t, shop, "200", "ok")
		for _, p := range people {
			p.sendsAgain(t, shop.address)
			acknowledged += p.found(t, data)
		}
		wholeRecord(t, data)
		if t.Failed() {
			t.Fatalf("in round %d", round+1)
		}
	}
	t.Logf("%d kills, %d writes acknowledged, none lost", *rounds, acknowledged)
	if acknowledged < *rounds {
		t.Errorf("only %d writes were acknowledged: the drill tries nothing", acknowledged)
	}
}

// killPostmaster kills the private server's first process, which takes the others with it.
func killPostmaster(t *testing.T, data string) {
	t.Helper()
	text, err := os.ReadFile(filepath.Join(data, "postgres", "data", "postmaster.pid"))
	if err != nil {
		t.Fatal(err)
	}
	pid, err := strconv.Atoi(strings.TrimSpace(strings.SplitN(string(text), "\n", 2)[0]))
	if err != nil {
		t.Fatal(err)
	}
	if err := syscall.Kill(pid, syscall.SIGKILL); err != nil {
		t.Fatal(err)
	}
}

// saver is somebody who saves parts, and photographs, without a pause.
type saver struct {
	name, number, key string
	http              *http.Client
	kept              []string // acknowledged in this round, by description or caption
	open              string   // sent without an answer; "" for nothing
}

var formKeyIn = regexp.MustCompile(`name="form_key" value="([^"]+)"`)

func newSaver(t *testing.T, shop *program, i int, number string) *saver {
	t.Helper()
	who, err := signInOf(staff.Watchmaker)
	if err != nil {
		t.Fatal(err)
	}
	jar, _ := cookiejar.New(nil)
	p := &saver{name: fmt.Sprintf("drill %d", i), number: number, http: &http.Client{Jar: jar, Timeout: 20 * time.Second,
		CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}}
	res, err := p.http.PostForm(shop.address+"/sign-in", url.Values{"email": {who.Email}, "password": {who.Password}})
	if err != nil || res.StatusCode != http.StatusSeeOther {
		t.Fatalf("%v, %v", res, err)
	}
	res.Body.Close()
	if res, err = p.http.Get(shop.address + "/dockets/" + number + "/parts"); err != nil {
		t.Fatal(err)
	}
	defer res.Body.Close()
	body, _ := io.ReadAll(res.Body)
	found := formKeyIn.FindSubmatch(body)
	if found == nil {
		t.Fatalf("no form: %s", body)
	}
	p.key = string(found[1])
	return p
}

// saves goes on until the program is gone. The fifth thing of a round is a photograph.
func (p *saver) saves(ctx context.Context, at string, round int) {
	for n := 0; ctx.Err() == nil; n++ {
		p.open = fmt.Sprintf("%s, round %d, %d", p.name, round, n)
		if n == 4 {
			p.open += " photograph"
		}
		if !p.send(at) {
			return
		}
	}
}

// send sends what is open and reports whether it was acknowledged.
func (p *saver) send(at string) bool {
	var body bytes.Buffer
	var kind, path string
	if strings.HasSuffix(p.open, "photograph") {
		w := multipart.NewWriter(&body)
		for name, value := range map[string]string{"form_key": p.key, "form_page": "/", "about": "work", "caption": p.open} {
			_ = w.WriteField(name, value)
		}
		part, _ := w.CreateFormFile("photos", "work.jpg")
		_, _ = part.Write(shaded(p.open))
		_ = w.Close()
		kind, path = w.FormDataContentType(), "/photos"
	} else {
		body.WriteString(url.Values{"form_key": {p.key}, "form_page": {"/"}, "description": {p.open}, "quantity": {"1"}}.Encode())
		kind, path = "application/x-www-form-urlencoded", "/parts"
	}
	res, err := p.http.Post(at+"/dockets/"+p.number+path, kind, &body)
	if err != nil {
		return false
	}
	res.Body.Close()
	if res.StatusCode != http.StatusSeeOther || strings.HasPrefix(res.Header.Get("Location"), "/sign-in") {
		return false
	}
	p.kept, p.open = append(p.kept, p.open), ""
	return true
}

// sendsAgain sends what had no answer as it was.
func (p *saver) sendsAgain(t *testing.T, at string) {
	t.Helper()
	if open := p.open; open != "" && !p.send(at) {
		t.Errorf("%s: sent again it is not taken", open)
	}
}

// found counts what was acknowledged in this round, each of which must be there once.
func (p *saver) found(t *testing.T, data string) int {
	t.Helper()
	conn := database(t, data)
	for _, what := range p.kept {
		var n int
		if err := conn.QueryRow(t.Context(), `SELECT (SELECT count(*) FROM part_line WHERE description = $1) + (SELECT count(*) FROM photo
			WHERE caption = $1)`, what).Scan(&n); err != nil {
			t.Fatal(err)
		}
		if n != 1 {
			t.Errorf("%s: acknowledged, and there %d times", what, n)
		}
	}
	n := len(p.kept)
	p.kept = nil
	return n
}

// shaded is a picture that is as no other.
func shaded(of string) []byte {
	img := image.NewRGBA(image.Rect(0, 0, 64, 64))
	for i, b := range []byte(of) {
		for y := range 64 {
			img.Set(i%64, y, color.RGBA{b, 255 - b, uint8(4 * y), 255})
		}
	}
	var b bytes.Buffer
	_ = jpeg.Encode(&b, img, nil)
	return b.Bytes()
}
