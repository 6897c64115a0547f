package web

import (
	"context"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"ledgerwheel/domain"
	"ledgerwheel/domain/heard"
	"ledgerwheel/domain/photo"
	"ledgerwheel/domain/text"
	"ledgerwheel/store/files"
	"mime/multipart"
	"net/http"
	"net/url"
	"os"
	"time"

	"github.com/go-chi/chi/v5"
)

const maxPhotoFiles = 24

const maxPhotoFields = 64 << 10 // bytes of all fields that are no files

const maxPhotoMinutes = 15 // for a slow line from a telephone

// developing bounds how many uploads are decoded at once: a picture of 50 megapixels takes 200 MB meanwhile.
var developing = make(chan struct{}, 2)

// receivePhotos reads a form with photographs file by file, each bounded, and makes every picture fit to keep. A file
// that can't be taken becomes part of the problem of the field "photos" and the others are still looked at, so
// that all are named at once. Nothing is stored yet.
func (s *Server) receivePhotos(w http.ResponseWriter, r *http.Request) (*form, []photo.Picture, error) {
	u, err := receiveUpload(w, r, maxPhotoFiles)
	if err != nil {
		return nil, nil, err
	}
	u.finish()
	return u.form, u.pictures, nil
}

// receiveUpload reads a form of at most so many photographs and makes every picture fit to keep.
func receiveUpload(w http.ResponseWriter, r *http.Request, files int64) (*upload, error) {
	// A server's usual deadline is set for forms, not for photographs; one that knows none keeps none.
	_ = http.NewResponseController(w).SetReadDeadline(time.Now().Add(maxPhotoMinutes * time.Minute))
	r.Body = http.MaxBytesReader(w, r.Body, files*photo.MaxBytes+maxPhotoFields)
	parts, err := r.MultipartReader()
	if err != nil {
		return nil, badRequest(err)
	}
	u := &upload{form: &form{Values: url.Values{}, Problems: map[string]string{}}}
	for {
		part, err := parts.NextPart()
		if errors.Is(err, io.EOF) {
			return u, nil
		}
		if err == nil {
			err = u.take(r.Context(), part)
		}
		if err != nil {
			return nil, uploadError(err)
		}
	}
}

// uploadError keeps the limit's own error, which has a page; anything else is a damaged request.
func uploadError(err error) error {
	var tooLarge *http.MaxBytesError
	if errors.As(err, &tooLarge) || errors.Is(err, context.Canceled) {
		return err
	}
	return badRequest(err)
}

// upload is a form with photographs being read.
type upload struct {
	form     *form
	files    int
	fields   int // bytes
	pictures []photo.Picture
	refused  string
}

func (u *upload) take(ctx context.Context, part *multipart.Part) error {
	switch {
	case part.FileName() != "":
		return u.takeFile(ctx, part)
	case part.FormName() == "photos": // a browser sends an empty file when none was chosen
		return nil
	}
	value, err := io.ReadAll(io.LimitReader(part, int64(maxPhotoFields-u.fields)+1))
	if err != nil {
		return err
	}
	if u.fields += len(value); u.fields > maxPhotoFields {
		return errors.New("the fields beside the photographs are too long")
	}
	u.form.Values.Add(part.FormName(), string(value))
	return nil
}

func (u *upload) takeFile(ctx context.Context, part *multipart.Part) error {
	if u.files++; u.files > maxPhotoFiles {
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
		u.refused += fmt.Sprintf("%s: %s ", shortened(text.Line(part.FileName()), 60), photo.Problem(err))
		return nil
	}
	u.pictures = append(u.pictures, picture)
	return nil
}

func develop(ctx context.Context, data []byte) (photo.Picture, error) {
	select {
	case developing <- struct{}{}:
		defer func() { <-developing }()
		return photo.Process(data)
	case <-ctx.Done():
		return photo.Picture{}, ctx.Err()
	}
}

func (u *upload) finish() {
	switch {
	case u.files > maxPhotoFiles:
		u.form.Fail("photos", fmt.Sprintf("These are %d photographs; send at most %d at a time.", u.files, maxPhotoFiles))
	case u.refused != "":
		u.form.Fail("photos", u.refused+"None of the photographs was saved; choose again without these.")
	case u.files == 0:
		u.form.Fail("photos", "Choose one or more photographs.")
	}
}

// keepPictures puts the pictures on the disk, before any row names them. A picture whose row is never written is
// of no harm: no address leads to it.
func (s *Server) keepPictures(pictures []photo.Picture) error {
	for _, p := range pictures {
		sum, err := hex.DecodeString(p.SHA256)
		if err != nil {
			return err
		}
		for size, data := range map[files.Size][]byte{files.Full: p.Full, files.Thumb: p.Thumb} {
			if err := s.uploads.Put([32]byte(sum), size, data); err != nil {
				return err
			}
		}
	}
	return nil
}

// sendPicture sends a picture that the asker has been found to be entitled to. A browser may keep it but must ask
// again each time, so that who signs out, or whose link has ended, sees it no more.
func (s *Server) sendPicture(w http.ResponseWriter, r *http.Request, sum [32]byte, size files.Size) error {
	file, err := s.uploads.Open(sum, size)
	if err != nil {
		return err
	}
	defer file.Close()
	h := w.Header()
	h.Set("Content-Type", photo.ContentType)
	h.Set("Cache-Control", "private, no-cache")
	h.Set("ETag", `"`+hex.EncodeToString(sum[:])+"-"+string(size)+`"`)
	h.Set("Content-Disposition", "inline")
	http.ServeContent(w, r, "", time.Time{}, file)
	return nil
}

// pathSize reads a picture's size from the address.
func pathSize(r *http.Request) (files.Size, error) {
	switch size := files.Size(chi.URLParam(r, "size")); size {
	case files.Full, files.Thumb:
		return size, nil
	}
	return "", domain.ErrNotFound
}

// thumbSize is the size of the thumbnail of a picture, in pixels.
func thumbSize(w, h int) (int, int) {
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
	PutSound(data []byte) (*heard.Sound, error)
	ReceiveSound(from io.Reader, maxBytes int64) (*heard.Sound, error)
	OpenSound(sum [32]byte) (*os.File, error)
	RemoveSound(sum [32]byte) error
}
