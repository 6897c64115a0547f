package page_test

import (
	"bufio"
	"fmt"
	"image"
	"image/jpeg"
	"io"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"

	"ledgerwheel/web/page"
)

// mostMB is what a whole post of photographs may take of memory, the program's own included.
const mostMB = 250

const sendThis = "LEDGERWHEEL_TEST_SEND_PICTURE" // names the picture that a program of its own receives six times

// TestSixBigPicturesInBoundedMemory receives six photographs of 49 megapixels in one post, in a program of its own, and asks
// the system for the most memory that it ever held.
func TestSixBigPicturesInBoundedMemory(t *testing.T) {
	if path := os.Getenv(sendThis); path != "" {
		receiveSix(t, path)
		return
	}
	if runtime.GOOS != "linux" {
		t.Skip("the system's word on memory is read from /proc")
	}
	path := filepath.Join(t.TempDir(), "big.jpg")
	writeBig(t, path)
	cmd := exec.Command(os.Args[0], "-test.run=^TestSixBigPicturesInBoundedMemory$", "-test.v")
	cmd.Env = append(os.Environ(), sendThis+"="+path)
	begun := time.Now()
	out, err := cmd.CombinedOutput()
	var peakKB int
	_, rest, found := strings.Cut(string(out), "VmHWM:")
	if n, _ := fmt.Sscanf(rest, "%d kB", &peakKB); err != nil || !found || n != 1 {
		t.Fatalf("%v: %s", err, out)
	}
	t.Logf("six of 49 megapixels: %d MB at most, %.1f s", peakKB/1000, time.Since(begun).Seconds())
	if peakKB > mostMB*1000 {
		t.Errorf("%d MB, at most %d are allowed", peakKB/1000, mostMB)
	}
}

// writeBig writes a colour photograph of 7000 by 7000 pixels, as telephones make them (4:2:0).
func writeBig(t *testing.T, path string) {
	t.Helper()
	img := image.NewYCbCr(image.Rect(0, 0, 7000, 7000), image.YCbCrSubsampleRatio420)
	for i := range img.Y {
		img.Y[i] = uint8(i/7000/8 + i%7000/5)
	}
	for i := range img.Cb {
		img.Cb[i], img.Cr[i] = uint8(i/9000), uint8(255-i/9000)
	}
	f, err := os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	w := bufio.NewWriter(f)
	if err := jpeg.Encode(w, img, &jpeg.Options{Quality: 92}); err != nil {
		t.Fatal(err)
	}
	if err := w.Flush(); err != nil {
		t.Fatal(err)
	}
	if at, err := f.Seek(0, io.SeekCurrent); err != nil || at > 20<<20 || at < 1<<20 {
		t.Fatalf("%d bytes, %v", at, err)
	}
}

func receiveSix(t *testing.T, path string) {
	body, to := io.Pipe()
	form := multipart.NewWriter(to)
	go func() {
		for range 6 {
			f, err := os.Open(path)
			if err == nil {
				var part io.Writer
				if part, err = form.CreateFormFile("photos", "big.jpg"); err == nil {
					_, err = io.Copy(part, f)
				}
				f.Close()
			}
			if err != nil {
				to.CloseWithError(err)
				return
			}
		}
		to.CloseWithError(form.Close())
	}()
	r := httptest.NewRequest(http.MethodPost, "/photos", body)
	r.Header.Set("Content-Type", form.FormDataContentType())
	got, err := page.ReceiveUpload(httptest.NewRecorder(), r, 6)
	if err != nil || len(got.Pictures) != 6 || got.Pictures[5].WidthPx != 2560 {
		t.Fatalf("%+v, %v", got, err)
	}
	status, err := os.ReadFile("/proc/self/status")
	if err != nil {
		t.Fatal(err)
	}
	for line := range strings.Lines(string(status)) {
		if strings.HasPrefix(line, "VmHWM:") {
			fmt.Print(line)
		}
	}
}
