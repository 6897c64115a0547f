package page

import (
	"context"
	"errors"
	"io"
	"net/http"
	"net/url"

	"github.com/go-chi/chi/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/logo"
	"ledgerwheel/domain/photo"
	"ledgerwheel/domain/shop"
)

// ReceiveLogo reads a form with one picture in the field "logo" and makes it fit to print. What can't be taken is the problem
// of that field.
func ReceiveLogo(w http.ResponseWriter, r *http.Request) (*Form, logo.Picture, error) {
	r.Body = http.MaxBytesReader(w, r.Body, photo.MaxBytes+MaxPhotoFields)
	parts, err := r.MultipartReader()
	if err != nil {
		return nil, logo.Picture{}, BadRequest(err)
	}
	f, file := &Form{Values: url.Values{}, Problems: map[string]string{}}, []byte(nil)
	for {
		part, err := parts.NextPart()
		if errors.Is(err, io.EOF) {
			break
		}
		if err == nil && part.FormName() == "logo" && part.FileName() != "" {
			file, err = io.ReadAll(io.LimitReader(part, logo.MaxBytes+1))
		}
		if err != nil {
			return nil, logo.Picture{}, UploadError(err)
		}
	}
	if len(file) == 0 {
		f.Fail("logo", "Choose the file with the logo.")
		return f, logo.Picture{}, nil
	}
	p, err := printable(r.Context(), file)
	if r.Context().Err() != nil {
		return nil, logo.Picture{}, r.Context().Err()
	}
	if err != nil {
		f.Fail("logo", logo.Problem(err))
	}
	return f, p, nil
}

// printable makes a logo fit to print while no other picture is in work.
func printable(ctx context.Context, file []byte) (logo.Picture, error) {
	select {
	case developing <- struct{}{}:
		defer func() { <-developing }()
		return logo.Process(file)
	case <-ctx.Done():
		return logo.Picture{}, ctx.Err()
	}
}

// LogoURL is where a page finds the shop's logo; "" where there is none.
func LogoURL(sh shop.Shop) string {
	if sh.Logo == "" {
		return ""
	}
	return "/logo/" + string(sh.Logo)
}

// SendLogo sends a logo by its name. It hangs over the shop's door: whoever knows the name may see it, and keep it, as
// another picture has another name.
func (s *Host) SendLogo(w http.ResponseWriter, r *http.Request) error {
	name := logo.Name(chi.URLParam(r, "logo"))
	if !name.Valid() {
		return domain.ErrNotFound
	}
	png, err := s.Viewers.Logo(r.Context(), name)
	if err != nil {
		return err
	}
	h := w.Header()
	h.Set("Content-Type", "image/png")
	h.Set("Cache-Control", "public, max-age=31536000, immutable")
	_, _ = w.Write(png) // the reader went away; nothing is left to say to them
	return nil
}
