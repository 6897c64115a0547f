package web_test

import (
	"net/http"
	"os"
	"strings"
	"testing"
	"time"

	"ledgerwheel/store/files"
	"ledgerwheel/web/webtest"
)

// TestAlteredPhotographIsNotShown: with one bit flipped on the disk a photograph is not sent as good, but a placeholder with words
// in a page and an error page by itself; the same picture sent in again puts it right.
func TestAlteredPhotographIsNotShown(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	number := s.Noted()
	clerk := s.As(s.Clerk)
	picture := webtest.SentFile{Name: "dial.jpg", Data: webtest.JPEGOf(t, 600, 400, 1)}
	clerk.SendPhotos(number, []webtest.SentFile{picture}, "about", "condition").Want(http.StatusSeeOther)
	var id int64
	var sum []byte
	if err := s.Store.Pool().QueryRow(t.Context(), `SELECT id, sha256 FROM photo`).Scan(&id, &sum); err != nil {
		t.Fatal(err)
	}
	get := func(dest string) *webtest.Answer {
		t.Helper()
		req, err := http.NewRequest(http.MethodGet, s.URL+"/photos/"+webtest.Itoa(id)+"/full", nil)
		if err != nil {
			t.Fatal(err)
		}
		req.Header.Set("Sec-Fetch-Dest", dest)
		return clerk.Do(req)
	}
	if got := get("image").Want(http.StatusOK); got.Header.Get("Content-Type") != "image/jpeg" {
		t.Fatalf("it is sent as %s", got.Header.Get("Content-Type"))
	}
	f, err := s.Srv.Uploads.Open([32]byte(sum), files.Full)
	if err != nil {
		t.Fatal(err)
	}
	f.Close()
	good, err := os.ReadFile(f.Name())
	if err != nil {
		t.Fatal(err)
	}
	bad := []byte(string(good))
	bad[len(bad)/2] ^= 1
	if err := os.WriteFile(f.Name(), bad, 0o600); err != nil {
		t.Fatal(err)
	}
	if err := os.Chtimes(f.Name(), time.Now(), time.Now().Add(time.Second)); err != nil {
		t.Fatal(err)
	}
	placeholder := get("image").Want(http.StatusInternalServerError)
	if placeholder.Header.Get("Content-Type") != "image/svg+xml" || placeholder.Header.Get("Cache-Control") != "no-store" ||
		!strings.Contains(placeholder.Body, "altered on the disk") {
		t.Errorf("in a page: %v %.300s", placeholder.Header, placeholder.Body)
	}
	webtest.Contains(t, "by itself", webtest.TextOf(get("document").Want(http.StatusInternalServerError).Document), "The file was altered",
		"Send the same picture")
	clerk.SendPhotos(number, []webtest.SentFile{picture}, "about", "condition").Want(http.StatusSeeOther)
	if got := get("image").Want(http.StatusOK); got.Body != string(good) {
		t.Error("sent in again it is another picture")
	}
	if err := os.Remove(f.Name()); err != nil {
		t.Fatal(err)
	}
	webtest.Contains(t, "missing", get("image").Want(http.StatusNotFound).Body, "missing on the disk")
}
