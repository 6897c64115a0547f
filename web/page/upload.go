package page

import (
	"context"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"mime/multipart"
	"net/http"
	"net/url"
	"os"
	"runtime/debug"
	"time"

	"github.com/go-chi/chi/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/health"
	"ledgerwheel/domain/heard"
	"ledgerwheel/domain/photo"
	"ledgerwheel/domain/text"
	"ledgerwheel/store/files"
)

const MaxPhotoFiles = 24

const MaxPhotoFields = 64 << 10 // bytes of all fields that are no files

const maxPhotoMinutes = 15 // for a slow line from a telephone

// developing has uploads decoded one after another, whoever sends them: a picture of 50 megapixels takes up to 200 MB
// meanwhile.
var developing = make(chan struct{}, 1)

// bigUpload is from how many bytes on what a picture took is given back at once; else the next one would come on top of it.
const bigUpload = 1 << 20

// ReceivePhotos reads a form with photographs file by file, each bounded, and makes every picture fit to keep. A file
// that can't be taken becomes part of the problem of the field "photos" and the others are still looked at, so
// that all are named at once. Nothing is stored yet.
func (s *Host) ReceivePhotos(w http.ResponseWriter, r *http.Request) (*Form, []photo.Picture, error) {
	u, err := ReceiveUpload(w, r, MaxPhotoFiles)
	if err != nil {
		return nil, nil, err
	}
	u.finish()
	return u.Form, u.Pictures, nil
}

// ReceiveUpload reads a form of at most so many photographs and makes every picture fit to keep.
func ReceiveUpload(w http.ResponseWriter, r *http.Request, files int64) (*upload, error) {
	// A server's usual deadline is set for forms, not for photographs; one that knows none keeps none.
	_ = http.NewResponseController(w).SetReadDeadline(time.Now().Add(maxPhotoMinutes * time.Minute))
	r.Body = http.MaxBytesReader(w, r.Body, files*photo.MaxBytes+MaxPhotoFields)
	parts, err := r.MultipartReader()
	if err != nil {
		return nil, BadRequest(err)
	}
	u := &upload{Form: &Form{Values: url.Values{}, Problems: map[string]string{}}}
	for {
		part, err := parts.NextPart()
		if errors.Is(err, io.EOF) {
			return u, Sent(r, u.Form.Values, u.sums()...)
		}
		if err == nil {
			err = u.take(r.Context(), part)
		}
		if err != nil {
			return nil, UploadError(err)
		}
	}
}

// sums are those of the pictures, by which two uploads are told to be the same.
func (u *upload) sums() []string {
	sums := make([]string, len(u.Pictures))
	for i, p := range u.Pictures {
		sums[i] = p.SHA256
	}
	return sums
}

// UploadError keeps the limit's own error and what stands in the way of keeping anything, which have a page; anything else
// is a damaged request.
func UploadError(err error) error {
	var tooLarge *http.MaxBytesError
	if errors.As(err, &tooLarge) || errors.Is(err, context.Canceled) || health.Of(err) != "" {
		return err
	}
	return BadRequest(err)
}

// upload is a form with photographs being read.
type upload struct {
	Form     *Form
	Files    int
	fields   int // bytes
	Pictures []photo.Picture
	Refused  string
}

func (u *upload) take(ctx context.Context, part *multipart.Part) error {
	switch {
	case part.FileName() != "":
		return u.takeFile(ctx, part)
	case part.FormName() == "photos": // a browser sends an empty file when none was chosen
		return nil
	}
	value, err := io.ReadAll(io.LimitReader(part, int64(MaxPhotoFields-u.fields)+1))
	if err != nil {
		return err
	}
	if u.fields += len(value); u.fields > MaxPhotoFields {
		return errors.New("the fields beside the photographs are too long")
	}
	u.Form.Values.Add(part.FormName(), string(value))
	return nil
}

func (u *upload) takeFile(ctx context.Context, part *multipart.Part) error {
	if u.Files++; u.Files > MaxPhotoFiles {
		return nil
	}
	data, err := io.ReadAll(io.LimitReader(part, photo.MaxBytes+1))
	if err != nil {
		return err
	}
	picture, err := develop(ctx, data)
	if ctx.Err() != nil {
		return ctx.Err()
	}
	if err != nil {
		u.Refused += fmt.Sprintf("%s: %s ", Shortened(text.Line(part.FileName()), 60), photo.Problem(err))
		return nil
	}
	u.Pictures = append(u.Pictures, picture)
	return nil
}

func develop(ctx context.Context, data []byte) (photo.Picture, error) {
	select {
	case developing <- struct{}{}:
		defer func() {
			if len(data) >= bigUpload {
				debug.FreeOSMemory()
			}
			<-developing
		}()
		return photo.Process(data)
	case <-ctx.Done():
		return photo.Picture{}, ctx.Err()
	}
}

func (u *upload) finish() {
	switch {
	case u.Files > MaxPhotoFiles:
		u.Form.Fail("photos", fmt.Sprintf("These are %d photographs; send at most %d at a time.", u.Files, MaxPhotoFiles))
	case u.Refused != "":
		u.Form.Fail("photos", u.Refused+"None of the photographs was saved; choose again without these.")
	case u.Files == 0:
		u.Form.Fail("photos", "Choose one or more photographs.")
	}
}

// KeepPictures puts the pictures on the disk, and then has their rows written by name, which may be left out where
// there are none. A picture whose row is never written is of no harm: no address leads to it.
func (s *Host) KeepPictures(pictures []photo.Picture, name func() error) error {
	s.filing.RLock()
	defer s.filing.RUnlock()
	for _, p := range pictures {
		sum, err := hex.DecodeString(p.SHA256)
		if err != nil {
			return err
		}
		for size, data := range map[files.Size][]byte{files.Full: p.Full, files.Thumb: p.Thumb} {
			if err := s.Uploads.Put([32]byte(sum), size, data); err != nil {
				return err
			}
		}
	}
	return name()
}

// ClearPictures deletes the files of removed photographs while no picture is being filed, as the same picture may come
// in again at that moment.
func (s *Host) ClearPictures(ctx context.Context, of interface {
	ClearPictures(ctx context.Context, remove func(sum [32]byte) error) error
}) error {
	s.filing.Lock()
	defer s.filing.Unlock()
	return of.ClearPictures(ctx, s.Uploads.Remove)
}

// SendPicture sends a picture that the asker has been found to be entitled to. A browser may keep it but must ask
// again each time, so that who signs out, or whose link has ended, sees it no more.
func (s *Host) SendPicture(w http.ResponseWriter, r *http.Request, sum [32]byte, size files.Size) error {
	file, err := s.Uploads.Open(sum, size)
	if errors.Is(err, files.ErrAltered) || errors.Is(err, domain.ErrNotFound) {
		return s.sendPlaceholder(w, r, err)
	}
	if err != nil {
		return err
	}
	defer file.Close()
	h := w.Header()
	h.Set("Content-Type", photo.ContentType)
	h.Set("Cache-Control", "private, no-cache")
	h.Set("ETag", `"`+hex.EncodeToString(sum[:])+"-"+string(size)+`"`)
	h.Set("Content-Disposition", `inline; filename="photograph-`+hex.EncodeToString(sum[:4])+`.jpg"`)
	http.ServeContent(w, r, "", time.Time{}, file)
	return nil
}

// sendPlaceholder stands in a page for a picture that can't be shown, with the words why; asked for by itself it is an error
// page.
func (s *Host) sendPlaceholder(w http.ResponseWriter, r *http.Request, err error) error {
	if r.Header.Get("Sec-Fetch-Dest") != "image" {
		return err
	}
	status, words := http.StatusInternalServerError, "This photograph was altered on the disk."
	if errors.Is(err, domain.ErrNotFound) {
		status, words = http.StatusNotFound, "This photograph is missing on the disk."
	}
	s.Log.Error("a photograph is not shown", "id", RequestIDOf(r.Context()), "error", err)
	h := w.Header()
	h.Set("Content-Type", "image/svg+xml")
	h.Set("Cache-Control", "no-store")
	w.WriteHeader(status)
	fmt.Fprintf(w, `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 480 360" width="480" height="360" role="img" aria-label="%[1]s">`+
		`<rect width="480" height="360" fill="#e8e4da"/><rect x="8" y="8" width="464" height="344" fill="none" stroke="#5a5346" stroke-dasharray="8 6"/>`+
		`<g font-family="sans-serif" font-size="20" fill="#2b2620" text-anchor="middle"><text x="240" y="165">%[1]s</text>`+
		`<text x="240" y="200">Send the same picture in again.</text></g></svg>`, words)
	return nil
}

// PathSize reads a picture's size from the address.
func PathSize(r *http.Request) (files.Size, error) {
	switch size := files.Size(chi.URLParam(r, "size")); size {
	case files.Full, files.Thumb:
		return size, nil
	}
	return "", domain.ErrNotFound
}

// ThumbSize is the size of the thumbnail of a picture, in pixels.
func ThumbSize(w, h int) (int, int) {
	longer := max(w, h)
	if longer <= photo.ThumbSidePx {
		return w, h
	}
	return max(1, w*photo.ThumbSidePx/longer), max(1, h*photo.ThumbSidePx/longer)
}

// Uploads keeps photographs and sounds, named by the sum of the full size.
type Uploads interface {
	Put(sum [32]byte, size files.Size, data []byte) error
	Open(sum [32]byte, size files.Size) (*os.File, error)
	Remove(sum [32]byte) error
	PutSound(data []byte) (*heard.Sound, error)
	ReceiveSound(from io.Reader, maxBytes int64) (*heard.Sound, error)
	OpenSound(sum [32]byte) (*os.File, error)
	RemoveSound(sum [32]byte) error
}
