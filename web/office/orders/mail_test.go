package orders_test

import (
	"bytes"
	"encoding/base64"
	"encoding/csv"
	"io"
	"log/slog"
	"mime"
	"mime/multipart"
	"net/http"
	"net/mail"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"ledgerwheel/domain/message"
	"ledgerwheel/store/post"
	"ledgerwheel/store/post/letterbox"
	"ledgerwheel/store/storetest"
	"ledgerwheel/web/webtest"
)

// mailed is a carrier for a site's orders, with the mail server that takes them.
func mailed(t *testing.T, s *webtest.Site) (*post.Carrier, *letterbox.Box) {
	t.Helper()
	box, err := letterbox.Open(s.Clock, slog.New(slog.DiscardHandler))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { box.Close() })
	_, version, err := s.Store.MailSettings(t.Context())
	if err == nil {
		err = s.Store.SaveMailSettings(t.Context(), message.Settings{SenderName: "Tern Quay", SenderAddress: "counter@ternquay.example",
			Server: message.Server{Security: message.StartTLS}}, version, s.Actor(s.Owner), s.Clock())
	}
	if err != nil {
		t.Fatal(err)
	}
	return post.New(post.Config{Store: s.Store, Log: slog.New(slog.DiscardHandler), Now: s.Clock, Given: &post.Account{Server: box.Server()}}), box
}

// attached are a mail's files by their names, as whoever gets it reads them.
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
		if files[p.FileName()], err = io.ReadAll(base64.NewDecoder(base64.StdEncoding, p)); err != nil {
			t.Fatal(err)
		}
	}
}

// An order that goes by mail comes out of an SMTP server with a table that reads back as the order's lines and a PDF that names
// the order, both the same as its page gives later; the page tells how far the mail has come, and what was refused goes again.
func TestAnOrderGoesByMail(t *testing.T) {
	t.Parallel()
	s, number := shop(t)
	carrier, box := mailed(t, s)
	bench := s.As(s.Watchmaker)
	at := gathered(t, s)
	draft := fields("version", bench.Get(at).Hidden("version"), "line", "1", "line-1.description", `Crown "5,5"; gilt`, "line-1.number", "C 55", "line-1.pieces", "1",
		"line-1.cost", "11.5", "line", "2", "line-2.description", "OIL-1 Öl", "line-2.number", "=CH 9", "line-2.pieces", "3", "way", "mail", "do", "send")
	bench.Post(at, draft).Want(http.StatusSeeOther)
	went := func() string { return bench.Get(at).Want(http.StatusOK).Text("standing") }
	if got := went(); !strings.Contains(got, "is on its way") {
		t.Errorf("queued: %q", got)
	}
	// The server can't be reached at first, which the page says; nothing of the order is lost by that.
	_, row, err := s.Store.BeginOrderMail(t.Context(), 1, true, s.Clock())
	if err == nil {
		_, err = s.Store.EndOrderMail(t.Context(), row.Order, s.Clock(), message.Answer{Step: message.Connect, Said: "connection refused"}, s.Clock())
	}
	if got := went(); err != nil || !strings.Contains(got, "not taken yet") || !strings.Contains(got, "connection refused") {
		t.Errorf("not reached: %q, %v", got, err)
	}
	s.Pass(message.KeepTrying) // and is refused in the end
	if _, err := carrier.CarryOrder(t.Context(), 1); err != nil {
		t.Fatal(err)
	}
	page := bench.Get(at).Want(http.StatusOK)
	if got := page.Text("mail-refused"); !strings.Contains(got, "connection refused") || len(box.Letters()) != 0 {
		t.Errorf("refused: %q, %d letters", got, len(box.Letters()))
	}
	if got := bench.Get("/orders").Text("refused"); !strings.Contains(got, "1") {
		t.Errorf("the list says %q", got)
	}
	bench.Post(at+"/again", fields("version", page.Hidden("version"), "way", "mail")).Want(http.StatusSeeOther)
	for range 2 {
		if _, err := carrier.CarryOrder(t.Context(), 1); err != nil {
			t.Fatal(err)
		}
	}
	letters := box.Letters()
	if len(letters) != 1 || letters[0].To != "orders@coldharbour.example" || !strings.Contains(letters[0].Subject, "2026-001") || !strings.Contains(letters[0].Text, "TQ 118") {
		t.Fatalf("%d letters came: %+v", len(letters), letters)
	}
	if got := went(); !strings.Contains(got, "the mail server took it for orders@coldharbour.example") {
		t.Errorf("sent: %q", got)
	}
	files := attached(t, letters[0].Raw)
	table, pdf := files["order-2026-001.csv"], files["order-2026-001.pdf"]
	rows, err := csv.NewReader(bytes.NewReader(table)).ReadAll()
	want := [][]string{{"2026-001", "1", "C 55", `Crown "5,5"; gilt`, "1", "11.50", "EUR", number}, {"2026-001", "2", "=CH 9", "OIL-1 Öl", "3", "", "EUR", ""}}
	if err != nil || len(rows) != 3 || !slices.Equal(rows[1], want[0]) || !slices.Equal(rows[2], want[1]) {
		t.Errorf("the table says %q, %v", rows, err)
	}
	if !bytes.HasPrefix(pdf, []byte("%PDF-")) {
		t.Fatalf("the paper begins %.20q", pdf)
	}
	name := filepath.Join(t.TempDir(), "order.pdf")
	if err := os.WriteFile(name, pdf, 0o600); err != nil {
		t.Fatal(err)
	}
	words, err := exec.Command("pdftotext", "-layout", name, "-").Output() // of poppler-utils
	if err != nil || !strings.Contains(string(words), "2026-001") || !strings.Contains(string(words), "C 55") || strings.Contains(string(words), "Draft") {
		t.Errorf("the paper says %.400s, %v", words, err)
	}
	if bench.Get(at+"/order.csv").Body != string(table) || bench.Get(at+"/order.pdf").Body != string(pdf) {
		t.Error("the page gives other files than went out")
	}
	storetest.Whole(t, s.Store)
}
