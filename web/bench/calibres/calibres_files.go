package calibres

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"time"

	"ledgerwheel/domain/watch"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
)

// exportCalibres sends the whole list as the file that importCalibres reads.
func (s *Room) exportCalibres(w http.ResponseWriter, r *http.Request) error {
	list, err := s.store.Calibres(r.Context())
	if err != nil {
		return err
	}
	var file bytes.Buffer
	if err := watch.WriteCalibres(&file, list); err != nil {
		return err
	}
	h := w.Header()
	h.Set("Content-Type", "text/csv; charset=utf-8; header=present") // RFC 7111 and RFC 4180
	h.Set("Content-Disposition", `attachment; filename="calibres.csv"`)
	h.Set("Cache-Control", "private, no-store")
	http.ServeContent(w, r, "", time.Time{}, bytes.NewReader(file.Bytes()))
	return nil
}

func (s *Room) askCalibreFile(w http.ResponseWriter, r *http.Request) error {
	return s.renderCalibreFile(w, r, http.StatusOK, page.EmptyForm(), nil)
}

func (s *Room) renderCalibreFile(w http.ResponseWriter, r *http.Request, status int, f *page.Form,
	bad []watch.LineProblem) error {
	v := calibreImportView{Form: f.View()}
	for _, field := range watch.CalibreFields() {
		name := field.Name
		if field.Unit != "" {
			name += " (" + field.Unit + ")"
		}
		v.Columns = append(v.Columns, name+": "+field.Group+", "+strings.ToLower(field.Label))
	}
	for _, p := range bad {
		v.Problems = append(v.Problems, calibreLineProblem{Line: strconv.Itoa(p.Line), Column: p.Column, Why: p.Why})
	}
	return page.Render(w, r, status, calibreImport(s.Page(r, "Read a CSV file"), v))
}

// fileProblems is a file that can't be taken, line by line.
type fileProblems []watch.LineProblem

func (p fileProblems) Error() string { return fmt.Sprintf("%d lines can't be taken", len(p)) }

// importCalibres takes the whole of a file or nothing of it.
func (s *Room) importCalibres(w http.ResponseWriter, r *http.Request) error {
	f := &page.Form{Values: url.Values{}, Problems: map[string]string{}}
	file, err := receiveCalibreFile(w, r)
	if err != nil {
		return err
	}
	if len(file) == 0 {
		f.Fail("file", "Choose the file to read.")
		return s.renderCalibreFile(w, r, http.StatusUnprocessableEntity, f, nil)
	}
	change := store.CalibreChange{By: page.Actor(r), At: s.Now(), Why: "read from a CSV file"}
	added, changed, err := s.store.ImportCalibres(r.Context(), change, func(known []watch.Calibre) ([]watch.Calibre,
		error) {
		list, bad := watch.ReadCalibres(file, known)
		if len(bad) > 0 {
			return nil, fileProblems(bad)
		}
		return list, nil
	})
	var bad fileProblems
	switch {
	case errors.As(err, &bad):
		f.Fail("file", "Nothing was taken: correct the lines named below and send the file again.")
		return s.renderCalibreFile(w, r, http.StatusUnprocessableEntity, f, bad)
	case err != nil:
		return err
	}
	s.Say(r.Context(), fmt.Sprintf("The file is read: %d added, %d corrected.", added, changed))
	return page.SeeOther(w, r, "/calibres")
}

// receiveCalibreFile reads the one file of the form; nothing when none was chosen. A file that is too large has its
// page.
func receiveCalibreFile(w http.ResponseWriter, r *http.Request) ([]byte, error) {
	r.Body = http.MaxBytesReader(w, r.Body, watch.MaxCalibreFileBytes+page.MaxPhotoFields)
	parts, err := r.MultipartReader()
	if err != nil {
		return nil, page.BadRequest(err)
	}
	var file []byte
	for {
		part, err := parts.NextPart()
		if errors.Is(err, io.EOF) {
			return file, nil
		}
		if err == nil && part.FormName() == "file" {
			file, err = io.ReadAll(part)
		}
		if err != nil {
			return nil, page.UploadError(err)
		}
	}
}

// addDrawings adds pictures to a calibre: all that were sent, or none.
func (s *Room) addDrawings(w http.ResponseWriter, r *http.Request) error {
	id, err := page.PathID(r, "id")
	if err != nil {
		return err
	}
	f, pictures, err := s.ReceivePhotos(w, r)
	if err != nil {
		return err
	}
	if f.OK() {
		err = s.KeepPictures(pictures, func() error {
			return s.store.AddCalibreDrawings(r.Context(), page.Actor(r), s.Now(), id, f.Text("caption"), pictures)
		})
	}
	if err != nil && !f.Takes(err) {
		return err
	}
	if !f.OK() {
		return s.renderCalibreRecord(w, r, http.StatusUnprocessableEntity, f)
	}
	return page.SeeOther(w, r, "/calibres/"+page.Itoa64(id)+"#drawings")
}

// removeDrawing takes a drawing off the page; the record keeps who did so.
func (s *Room) removeDrawing(w http.ResponseWriter, r *http.Request) error {
	id, err := page.PathID(r, "id")
	if err != nil {
		return err
	}
	drawing, err := page.PathID(r, "drawing")
	if err != nil {
		return err
	}
	if err := s.store.StrikeCalibreDrawing(r.Context(), page.Actor(r), s.Now(), id, drawing); err != nil {
		return err
	}
	s.Say(r.Context(), "The drawing is taken off.")
	return page.SeeOther(w, r, "/calibres/"+page.Itoa64(id)+"#drawings")
}

func (s *Room) showDrawing(w http.ResponseWriter, r *http.Request) error {
	id, err := page.PathID(r, "id")
	if err != nil {
		return err
	}
	size, err := page.PathSize(r)
	if err != nil {
		return err
	}
	d, err := s.store.CalibreDrawing(r.Context(), id)
	if err != nil {
		return err
	}
	return s.SendPicture(w, r, d.Sum, size)
}
