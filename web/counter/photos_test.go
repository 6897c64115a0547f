package web

import (
	"fmt"
	"image/jpeg"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"ledgerwheel/domain/photo"
)

func TestPhotographsFromATelephone(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	number := s.takeIn()
	bench := s.as(s.watchmaker)
	files := []sentFile{{"IMG_1.jpg", jpegOf(t, 800, 600, 6)}, {"IMG_2.jpg", jpegOf(t, 64, 48, 1)}}
	at := bench.sendPhotos(number, files, "about", "condition", "caption", "Zifferblatt").want(http.StatusSeeOther).location()
	if at != "/dockets/"+number+"/intake#photographs" {
		t.Errorf("leads to %q", at)
	}
	photos := s.sheet(number).Photos
	if len(photos) != 2 || photos[0].Caption != "Zifferblatt" || photos[0].WidthPx != 600 || photos[0].HeightPx != 800 {
		t.Fatalf("kept %+v", photos)
	}
	path := "/photos/" + itoa(photos[0].ID) + "/"
	full := bench.get(path + "full").want(http.StatusOK)
	for name, want := range map[string]string{"Content-Type": "image/jpeg", "X-Content-Type-Options": "nosniff", "Cache-Control": "private, no-cache"} {
		if got := full.header.Get(name); got != want {
			t.Errorf("%s: %q, want %q", name, got, want)
		}
	}
	img, err := jpeg.Decode(strings.NewReader(full.body))
	if err != nil || img.Bounds().Dx() != 600 || img.Bounds().Dy() != 800 {
		t.Fatalf("full size %v, %v", img.Bounds(), err)
	}
	// Turned upright by a quarter clockwise, the dark left half is at the top.
	if top, _, _, _ := img.At(300, 100).RGBA(); top > 0x4000 {
		t.Errorf("the picture lies on its side: top is %x", top)
	}
	if strings.Contains(full.body, "GPS") || strings.Contains(full.body, "Exif") {
		t.Error("metadata of the upload is sent on")
	}
	thumb, err := jpeg.DecodeConfig(strings.NewReader(bench.get(path + "thumb").want(http.StatusOK).body))
	if err != nil || thumb.Height != photo.ThumbSidePx || thumb.Width != 360 {
		t.Errorf("thumbnail %+v, %v", thumb, err)
	}
	again, _ := http.NewRequest(http.MethodGet, bench.url+path+"full", nil)
	again.Header.Set("If-None-Match", full.header.Get("ETag"))
	if a := bench.do(again).want(http.StatusNotModified); a.body != "" {
		t.Error("a picture that did not change is sent again")
	}
	grid := bench.get("/dockets/" + number + "/intake").text("photographs")
	if !strings.Contains(grid, "Zifferblatt") {
		t.Errorf("grid %q", grid)
	}
	bench.get(path + "huge").want(http.StatusNotFound)
}

func TestPhotographsArePrivate(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	number := s.takeIn()
	clerk := s.as(s.clerk)
	clerk.sendPhotos(number, []sentFile{{"a.jpg", jpegOf(t, 40, 30, 1)}}).want(http.StatusSeeOther)
	path := "/photos/" + itoa(s.sheet(number).Photos[0].ID) + "/thumb"
	etag := clerk.get(path).want(http.StatusOK).header.Get("ETag")
	stranger := s.stranger()
	if a := stranger.get(path).want(http.StatusSeeOther); strings.Contains(a.body, "JFIF") || a.header.Get("ETag") != "" {
		t.Error("a stranger gets a picture")
	}
	req, _ := http.NewRequest(http.MethodGet, s.url+path, nil)
	req.Header.Set("If-None-Match", etag)
	stranger.do(req).want(http.StatusSeeOther) // not even that it is unchanged
	stranger.sendPhotos(number, []sentFile{{"a.jpg", jpegOf(t, 40, 30, 1)}}).want(http.StatusSeeOther)
	if n := len(s.sheet(number).Photos); n != 1 {
		t.Errorf("%d photographs: a stranger added one", n)
	}
}

func TestRefusedPhotographsSaveNothing(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	number := s.takeIn()
	c := s.as(s.clerk)
	good := sentFile{"good.jpg", jpegOf(t, 40, 30, 1)}
	var many []sentFile
	for i := range maxPhotoFiles + 1 {
		many = append(many, sentFile{fmt.Sprintf("p%d.jpg", i), good.data})
	}
	for _, tt := range []struct {
		name  string
		files []sentFile
		says  []string
	}{
		{"none chosen", nil, []string{"Choose one or more"}},
		{"no picture", []sentFile{good, {"notes <1>.txt", []byte("dear customer")}}, []string{"notes <1>.txt: This is not a picture", "None of the photographs was saved"}},
		{"two of three", []sentFile{{"a.pdf", []byte("%PDF-1.7")}, good, {"b.heic", []byte("\x00\x00\x00\x18ftypheic\x00\x00")}},
			[]string{"a.pdf: This is not", "b.heic: This picture is in HEIC"}},
		{"empty", []sentFile{{"empty.jpg", nil}}, []string{"empty.jpg: This is not"}},
		{"cut short", []sentFile{{"cut.jpg", good.data[:len(good.data)/2]}}, []string{"cut.jpg: This is not"}},
		{"too large", []sentFile{good, {"huge.jpg", make([]byte, photo.MaxBytes+1)}}, []string{"huge.jpg: This picture is too large"}},
		{"too many", many, []string{"These are 25 photographs; send at most 24"}},
	} {
		page := c.sendPhotos(number, tt.files, "caption", "as it came").want(http.StatusUnprocessableEntity)
		for _, says := range tt.says {
			if got := page.problem("photos"); !strings.Contains(got, says) {
				t.Errorf("%s: says %q, want %q", tt.name, got, says)
			}
		}
		if page.text("photo-form") == "" || !strings.Contains(page.body, "as it came") {
			t.Errorf("%s: the caption typed is lost", tt.name)
		}
	}
	if n := len(s.sheet(number).Photos); n != 0 {
		t.Errorf("%d photographs were half saved", n)
	}
	c.post("/dockets/"+number+"/photos", nil).want(http.StatusBadRequest)
}

func TestPhotographsOfNoDocketAndOfAClosedOne(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	number := s.takeIn()
	c := s.as(s.clerk)
	good := []sentFile{{"good.jpg", jpegOf(t, 40, 30, 1)}}
	c.sendPhotos("26-99999-"+string(check(t, "2699999")), good).want(http.StatusNotFound)
	s.handOver(number)
	if got := c.sendPhotos(number, good).want(http.StatusUnprocessableEntity).text("form-errors"); !strings.Contains(got, "closed") {
		t.Errorf("says %q", got)
	}
}

func TestCaptions(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	number := s.takeIn()
	c := s.as(s.clerk)
	c.sendPhotos(number, []sentFile{{"a.jpg", jpegOf(t, 40, 30, 1)}}).want(http.StatusSeeOther)
	id := itoa(s.sheet(number).Photos[0].ID)
	c.post("/dockets/"+number+"/photos/"+id, map[string][]string{"caption": {"שריטה ליד 3"}}).want(http.StatusSeeOther)
	if got := s.sheet(number).Photos[0].Caption; got != "שריטה ליד 3" {
		t.Errorf("caption %q", got)
	}
	c.post("/dockets/"+number+"/photos/4711", map[string][]string{"caption": {"x"}}).want(http.StatusNotFound)
	long := map[string][]string{"caption": {strings.Repeat("x", 201)}}
	if got := c.post("/dockets/"+number+"/photos/"+id, long).want(http.StatusUnprocessableEntity).text("form-errors"); !strings.Contains(got, "200 characters") {
		t.Errorf("says %q", got)
	}
}

// A picture that is gone from the disk, as after a restore of the database alone, is a clear page and no broken server.
func TestPictureGoneFromTheDisk(t *testing.T) {
	t.Parallel()
	s := newTestSite(t)
	number := s.takeIn()
	c := s.as(s.clerk)
	c.sendPhotos(number, []sentFile{{"a.jpg", jpegOf(t, 40, 30, 1)}}).want(http.StatusSeeOther)
	p := s.sheet(number).Photos[0]
	file, err := s.srv.uploads.Open(p.Sum, "full")
	if err != nil {
		t.Fatal(err)
	}
	name := file.Name()
	file.Close()
	if err := os.RemoveAll(filepath.Dir(name)); err != nil {
		t.Fatal(err)
	}
	c.get("/photos/" + itoa(p.ID) + "/full").want(http.StatusNotFound)
}
