package counter_test

import (
	"encoding/hex"
	"errors"
	"fmt"
	"image/jpeg"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"ledgerwheel/domain"
	"ledgerwheel/domain/photo"
	"ledgerwheel/store/files"
	"ledgerwheel/web/page"
	"ledgerwheel/web/webtest"
)

func TestPhotographsFromATelephone(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	number := s.TakeIn()
	bench := s.As(s.Watchmaker)
	files := []webtest.SentFile{{Name: "IMG_1.jpg", Data: webtest.JPEGOf(t, 800, 600, 6)},
		{Name: "IMG_2.jpg", Data: webtest.JPEGOf(t, 64, 48, 1)}}
	at := bench.SendPhotos(number, files, "about", "condition", "caption",
		"Zifferblatt").Want(http.StatusSeeOther).Location()
	if at != "/dockets/"+number+"/intake#photographs" {
		t.Errorf("leads to %q", at)
	}
	photos := s.Sheet(number).Photos
	if len(photos) != 2 || photos[0].Caption != "Zifferblatt" || photos[0].WidthPx != 600 || photos[0].HeightPx != 800 {
		t.Fatalf("kept %+v", photos)
	}
	path := "/photos/" + webtest.Itoa(photos[0].ID) + "/"
	full := bench.Get(path + "full").Want(http.StatusOK)
	for name, want := range map[string]string{"Content-Type": "image/jpeg", "X-Content-Type-Options": "nosniff",
		"Cache-Control": "private, no-cache", "Content-Disposition": `inline; filename="photograph-` +
			strings.Trim(full.Header.Get("ETag"), `"`)[:8] + `.jpg"`} {
		if got := full.Header.Get(name); got != want {
			t.Errorf("%s: %q, want %q", name, got, want)
		}
	}
	img, err := jpeg.Decode(strings.NewReader(full.Body))
	if err != nil || img.Bounds().Dx() != 600 || img.Bounds().Dy() != 800 {
		t.Fatalf("full size %v, %v", img.Bounds(), err)
	}
	// Turned upright by a quarter clockwise, the dark left half is at the top.
	if top, _, _, _ := img.At(300, 100).RGBA(); top > 0x4000 {
		t.Errorf("the picture lies on its side: top is %x", top)
	}
	if strings.Contains(full.Body, "GPS") || strings.Contains(full.Body, "Exif") {
		t.Error("metadata of the upload is sent on")
	}
	thumb, err := jpeg.DecodeConfig(strings.NewReader(bench.Get(path + "thumb").Want(http.StatusOK).Body))
	if err != nil || thumb.Height != photo.ThumbSidePx || thumb.Width != 360 {
		t.Errorf("thumbnail %+v, %v", thumb, err)
	}
	again, _ := http.NewRequest(http.MethodGet, bench.URL+path+"full", nil)
	again.Header.Set("If-None-Match", full.Header.Get("ETag"))
	if a := bench.Do(again).Want(http.StatusNotModified); a.Body != "" {
		t.Error("a picture that did not change is sent again")
	}
	grid := bench.Get("/dockets/" + number + "/intake").Text("photographs")
	if !strings.Contains(grid, "Zifferblatt") {
		t.Errorf("grid %q", grid)
	}
	bench.Get(path + "huge").Want(http.StatusNotFound)
}

func TestPhotographsArePrivate(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	number := s.TakeIn()
	clerk := s.As(s.Clerk)
	clerk.SendPhotos(number, []webtest.SentFile{
		{Name: "a.jpg", Data: webtest.JPEGOf(t, 40, 30, 1)}}).Want(http.StatusSeeOther)
	path := "/photos/" + webtest.Itoa(s.Sheet(number).Photos[0].ID) + "/thumb"
	etag := clerk.Get(path).Want(http.StatusOK).Header.Get("ETag")
	stranger := s.Stranger()
	if a := stranger.Get(path).Want(http.StatusSeeOther); strings.Contains(a.Body, "JFIF") || a.Header.Get("ETag") != "" {
		t.Error("a stranger gets a picture")
	}
	req, _ := http.NewRequest(http.MethodGet, s.URL+path, nil)
	req.Header.Set("If-None-Match", etag)
	stranger.Do(req).Want(http.StatusSeeOther) // not even that it is unchanged
	stranger.SendPhotos(number, []webtest.SentFile{
		{Name: "a.jpg", Data: webtest.JPEGOf(t, 40, 30, 1)}}).Want(http.StatusSeeOther)
	if n := len(s.Sheet(number).Photos); n != 1 {
		t.Errorf("%d photographs: a stranger added one", n)
	}
}

func TestRefusedPhotographsSaveNothing(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	number := s.TakeIn()
	c := s.As(s.Clerk)
	good := webtest.SentFile{Name: "good.jpg", Data: webtest.JPEGOf(t, 40, 30, 1)}
	var many []webtest.SentFile
	for i := range page.MaxPhotoFiles + 1 {
		many = append(many, webtest.SentFile{Name: fmt.Sprintf("p%d.jpg", i), Data: good.Data})
	}
	for _, tt := range []struct {
		name  string
		files []webtest.SentFile
		says  []string
	}{
		{"none chosen", nil, []string{"Choose one or more"}},
		{"no picture", []webtest.SentFile{good, {Name: "notes <1>.txt", Data: []byte("dear customer")}},
			[]string{"notes <1>.txt: This is not a picture", "None of the photographs was saved"}},
		{"two of three", []webtest.SentFile{{Name: "a.pdf", Data: []byte("%PDF-1.7")}, good,
			{Name: "b.heic", Data: []byte("\x00\x00\x00\x18ftypheic\x00\x00")}},
			[]string{"a.pdf: This is not", "b.heic: This picture is in HEIC"}},
		{"empty", []webtest.SentFile{{Name: "empty.jpg", Data: nil}}, []string{"empty.jpg: This is not"}},
		{"cut short", []webtest.SentFile{{Name: "cut.jpg", Data: good.Data[:len(good.Data)/2]}},
			[]string{"cut.jpg: This is not"}},
		{"too large", []webtest.SentFile{good, {Name: "huge.jpg", Data: make([]byte, photo.MaxBytes+1)}},
			[]string{"huge.jpg: This picture is too large"}},
		{"too many", many, []string{"These are 25 photographs; send at most 24"}},
	} {
		page := c.SendPhotos(number, tt.files, "caption", "as it came").Want(http.StatusUnprocessableEntity)
		for _, says := range tt.says {
			if got := page.Problem("photos"); !strings.Contains(got, says) {
				t.Errorf("%s: says %q, want %q", tt.name, got, says)
			}
		}
		if page.Text("photo-form") == "" || !strings.Contains(page.Body, "as it came") {
			t.Errorf("%s: the caption typed is lost", tt.name)
		}
	}
	if n := len(s.Sheet(number).Photos); n != 0 {
		t.Errorf("%d photographs were half saved", n)
	}
	c.Post("/dockets/"+number+"/photos", nil).Want(http.StatusBadRequest)
}

func TestPhotographsOfNoDocketAndOfAClosedOne(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	number := s.TakeIn()
	c := s.As(s.Clerk)
	good := []webtest.SentFile{{Name: "good.jpg", Data: webtest.JPEGOf(t, 40, 30, 1)}}
	c.SendPhotos("26-99999-"+string(check(t, "2699999")), good).Want(http.StatusNotFound)
	s.HandOver(number)
	if got := c.SendPhotos(number, good).Want(http.StatusUnprocessableEntity).Text("form-errors"); !strings.Contains(got,
		"closed") {
		t.Errorf("says %q", got)
	}
}

func TestCaptions(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	number := s.TakeIn()
	c := s.As(s.Clerk)
	c.SendPhotos(number, []webtest.SentFile{{Name: "a.jpg", Data: webtest.JPEGOf(t, 40, 30, 1)}}).Want(http.StatusSeeOther)
	id := webtest.Itoa(s.Sheet(number).Photos[0].ID)
	c.Post("/dockets/"+number+"/photos/"+id, map[string][]string{"caption": {"שריטה ליד 3"}}).Want(http.StatusSeeOther)
	if got := s.Sheet(number).Photos[0].Caption; got != "שריטה ליד 3" {
		t.Errorf("caption %q", got)
	}
	c.Post("/dockets/"+number+"/photos/4711", map[string][]string{"caption": {"x"}}).Want(http.StatusNotFound)
	long := map[string][]string{"caption": {strings.Repeat("x", 201)}}
	if got := c.Post("/dockets/"+number+"/photos/"+id,
		long).Want(http.StatusUnprocessableEntity).Text("form-errors"); !strings.Contains(got, "200 characters") {
		t.Errorf("says %q", got)
	}
}

// A picture that is gone from the disk, as after a restore of the database alone, is a clear page and no broken server.
func TestPictureGoneFromTheDisk(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	number := s.TakeIn()
	c := s.As(s.Clerk)
	c.SendPhotos(number, []webtest.SentFile{{Name: "a.jpg", Data: webtest.JPEGOf(t, 40, 30, 1)}}).Want(http.StatusSeeOther)
	p := s.Sheet(number).Photos[0]
	file, err := s.Srv.Uploads.Open(p.Sum, "full")
	if err != nil {
		t.Fatal(err)
	}
	name := file.Name()
	file.Close()
	if err := os.RemoveAll(filepath.Dir(name)); err != nil {
		t.Fatal(err)
	}
	c.Get("/photos/" + webtest.Itoa(p.ID) + "/full").Want(http.StatusNotFound)
}

// Only the owner removes a photograph, and says why; then nobody gets it any more, its files are gone, and the page says
// when, by whom and why.
func TestRemovingAPhotograph(t *testing.T) {
	t.Parallel()
	s := webtest.NewSite(t)
	number := s.TakeIn()
	clerk, owner := s.As(s.Clerk), s.As(s.Owner)
	clerk.SendPhotos(number, []webtest.SentFile{{Name: "a.jpg", Data: webtest.JPEGOf(t, 40, 30, 1)}}, "caption", "Her handbag",
		"customer_sees", "yes").Want(http.StatusSeeOther)
	p := s.Sheet(number).Photos[0]
	at := "/dockets/" + number + "/photos/" + webtest.Itoa(p.ID)
	if got := clerk.Get("/dockets/" + number + "/intake"); !strings.Contains(got.Text("photographs"), "The customer sees it") ||
		len(got.All("remove-photo-"+webtest.Itoa(p.ID))) != 0 {
		t.Errorf("the clerk sees %q", got.Text("photographs"))
	}
	clerk.Post(at+"/remove", url.Values{"reason": {"It shows her papers."}}).Want(http.StatusForbidden)
	refused := owner.PostSure(at+"/remove", url.Values{"reason": {" "}}).Want(http.StatusUnprocessableEntity)
	if !strings.Contains(refused.Text("form-errors"), "why the photograph is removed") {
		t.Errorf("says %q", refused.Text("form-errors"))
	}
	owner.Get("/photos/" + webtest.Itoa(p.ID) + "/full").Want(http.StatusOK)
	for range 2 { // pressed twice
		owner.PostSure(at+"/remove", url.Values{"reason": {"It shows her papers."}}).Want(http.StatusSeeOther)
	}
	for _, size := range []files.Size{files.Full, files.Thumb} {
		owner.Get("/photos/" + webtest.Itoa(p.ID) + "/" + string(size)).Want(http.StatusNotFound)
		if _, err := s.Srv.Uploads.Open(p.Sum, size); !errors.Is(err, domain.ErrNotFound) {
			t.Errorf("the %s file: %v", size, err)
		}
	}
	page := clerk.Get("/dockets/" + number + "/intake")
	for _, says := range []string{"Her handbag", "removed on", s.Owner.Name, "It shows her papers."} {
		if got := page.Text("removed-photo"); !strings.Contains(got, says) {
			t.Errorf("%q does not say %q", got, says)
		}
	}
	if got := clerk.Get("/dockets/" + number + "/journal").Body; !strings.Contains(got, hex.EncodeToString(p.Sum[:])) ||
		!strings.Contains(got, "It shows her papers.") {
		t.Error("the journal has lost the sum or the reason")
	}
}
