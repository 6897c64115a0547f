package page

import (
	"context"
	"crypto/rand"
	"errors"
	"io"
	"mime"
	"net/http"
	"net/url"
	"time"

	"github.com/go-chi/chi/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/shop"
	"ledgerwheel/domain/text"
	"ledgerwheel/store"
	"ledgerwheel/web/page/refill"
)

// KeptForms keeps what somebody typed whose session was over.
type KeptForms interface {
	Shop(ctx context.Context) (shop.Shop, error)
	KeepForm(ctx context.Context, k store.KeptForm) error
	KeptForm(ctx context.Context, staffID int64, id string, now time.Time) (store.KeptForm, error)
	DropForm(ctx context.Context, staffID int64, id string) error
}

// secretFields are kept for nobody.
var secretFields = append([]string{"password", "again", "secret"}, proofFields...)

// keepTyped keeps a form that was sent by nobody who is signed in, for the person to whom it was shown, and returns the
// page on which it will stand again. A form with no stamp of ours is not kept: id is "".
func (s *Host) keepTyped(w http.ResponseWriter, r *http.Request) (id string, err error) {
	fields, files, err := readTyped(w, r)
	if err != nil || fields.Get(formKeyField) == "" {
		return "", err
	}
	sh, err := s.Viewers.Shop(r.Context())
	if err != nil {
		return "", err
	}
	whose, ok := personOfKey(sh.LinkSecret, fields.Get(formKeyField))
	if !ok {
		return "", nil
	}
	return s.keep(r, store.KeptForm{StaffID: whose, Why: store.KeptSignedOut, Page: fields.Get(formPageField),
		Fields: fields, Files: files})
}

func (s *Host) keep(r *http.Request, k store.KeptForm) (string, error) {
	k.ID, k.At, k.Action, k.Page = rand.Text(), s.Now(), r.URL.RequestURI(), withKept(k.Page, "")
	if k.Fields.Has("password") {
		k.Fields.Del("current") // the password that is to be changed
	}
	for _, name := range append([]string{formKeyField, formPageField, sureField}, secretFields...) {
		k.Fields.Del(name)
	}
	return k.ID, s.Viewers.KeepForm(r.Context(), k)
}

// keepForViewer shows a form again that was drawn for somebody else, so that nothing is saved under a name that its
// writer did not see.
func (s *Host) keepForViewer(w http.ResponseWriter, r *http.Request, st *stamp, fields url.Values) error {
	v, _ := ViewerOf(r.Context())
	id, err := s.keep(r, store.KeptForm{StaffID: v.Member.ID, Why: store.KeptOtherPerson, Page: st.page, Fields: fields})
	if err != nil {
		return err
	}
	return SeeOther(w, r, withKept(st.page, id))
}

// readTyped reads the fields of any form and the names of its files. The files themselves are passed over, and for
// nobody: a form that does not begin with a stamp is not read further.
func readTyped(w http.ResponseWriter, r *http.Request) (fields url.Values, files []string, err error) {
	kind, _, _ := mime.ParseMediaType(r.Header.Get("Content-Type"))
	if kind != "multipart/form-data" {
		r.Body = http.MaxBytesReader(w, r.Body, maxFormBytes)
		err := r.ParseForm()
		return r.PostForm, nil, err
	}
	_ = http.NewResponseController(w).SetReadDeadline(time.Now().Add(maxPhotoMinutes * time.Minute))
	r.Body = http.MaxBytesReader(w, r.Body, maxPassedOver)
	parts, err := r.MultipartReader()
	if err != nil {
		return nil, nil, err
	}
	fields = url.Values{}
	read := 0 // bytes
	for {
		part, err := parts.NextPart()
		if errors.Is(err, io.EOF) || err == nil && fields.Get(formKeyField) == "" && part.FormName() != formKeyField {
			return fields, files, nil
		}
		if err != nil {
			return fields, files, nil // what came is kept, even if the line broke in a photograph
		}
		if name := part.FileName(); name != "" && len(files) < MaxPhotoFiles {
			files = append(files, Shortened(text.Line(name), 60))
		}
		if part.FileName() != "" {
			continue
		}
		value, err := io.ReadAll(io.LimitReader(part, int64(maxFormBytes-read)+1))
		if read += len(value); err != nil || read > maxFormBytes {
			return fields, files, err
		}
		fields.Add(part.FormName(), string(value))
	}
}

// maxPassedOver bounds what is read of a form whose files are not kept, in bytes.
const maxPassedOver = 512 << 20

type keptKey struct{}

// withKeptForm reads the kept form that the address of a page names.
func (s *Host) withKeptForm(r *http.Request) (*http.Request, error) {
	v, ok := ViewerOf(r.Context())
	id := r.URL.Query().Get(keptQuery)
	if !ok || id == "" {
		return r, nil
	}
	k, err := s.Viewers.KeptForm(r.Context(), v.Member.ID, id, s.Now())
	if errors.Is(err, domain.ErrNotFound) {
		return r, nil // saved meanwhile, cleared, or too old: the page as it is
	}
	if err != nil {
		return r, err
	}
	r = r.Clone(context.WithValue(r.Context(), keptKey{}, k))
	q := r.URL.Query()
	q.Del(keptQuery) // is nothing to the page itself
	r.URL.RawQuery = q.Encode()
	return r, nil
}

// fillKept writes what was typed into the page on which it stood.
func fillKept(r *http.Request, body []byte) ([]byte, error) {
	k, ok := r.Context().Value(keptKey{}).(store.KeptForm)
	if !ok {
		return body, nil
	}
	why := "Your session had ended, so this was not saved."
	if k.Why == store.KeptOtherPerson {
		why = "This form was opened by someone else, so it was not saved. It would now be saved under your name."
	}
	return refill.Page(body, refill.Typed{Action: k.Action, Fields: k.Fields, Files: k.Files, Why: why,
		Clear: "/kept/" + k.ID + "/clear", Unshown: []string{formKeyField, formPageField}})
}

// KeptRoutes are those by which a person lets a kept form go.
func (s *Host) KeptRoutes() []Route {
	return []Route{Post("/kept/{id}/clear", SignedIn, s.clearKept)}
}

func (s *Host) clearKept(w http.ResponseWriter, r *http.Request) error {
	v, _ := ViewerOf(r.Context())
	id := chi.URLParam(r, "id")
	k, err := s.Viewers.KeptForm(r.Context(), v.Member.ID, id, s.Now())
	if errors.Is(err, domain.ErrNotFound) {
		return SeeOther(w, r, "/")
	}
	if err != nil {
		return err
	}
	if err := s.Viewers.DropForm(r.Context(), v.Member.ID, id); err != nil {
		return err
	}
	return SeeOther(w, r, k.Page)
}

// AfterSignIn is where a person goes who has just signed in: to the form that waits for them, else where they wanted to.
func (s *Host) AfterSignIn(ctx context.Context, staffID int64, next, kept string) (string, error) {
	next = LocalPath(next)
	if kept == "" && next != "/" {
		return next, nil
	}
	k, err := s.Viewers.KeptForm(ctx, staffID, kept, s.Now())
	if errors.Is(err, domain.ErrNotFound) {
		return next, nil // none, or another person's
	}
	if err != nil {
		return "", err
	}
	return withKept(k.Page, k.ID), nil
}
