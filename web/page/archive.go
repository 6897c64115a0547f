package page

import (
	"archive/zip"
	"errors"
	"fmt"
	"io"
	"strings"
	"time"

	"ledgerwheel/domain"
	"ledgerwheel/store/files"
)

// Archive is a ZIP file that is sent while it is written. What ought to be in it and could not be had is named in it.
type Archive struct {
	zip    *zip.Writer
	at     time.Time
	absent []string
}

// NewArchive begins an archive, whose files bear a moment.
func NewArchive(w io.Writer, at time.Time) *Archive { return &Archive{zip: zip.NewWriter(w), at: at} }

// Create begins a file, which ends where the next begins.
func (a *Archive) Create(name string) (io.Writer, error) { return a.create(name, zip.Deflate) }

func (a *Archive) create(name string, method uint16) (io.Writer, error) {
	to, err := a.zip.CreateHeader(&zip.FileHeader{Name: name, Method: method, Modified: a.at})
	if err != nil {
		return nil, fmt.Errorf("archive: %w", err)
	}
	return to, nil
}

// Bytes adds a file.
func (a *Archive) Bytes(name string, data []byte) error {
	to, err := a.Create(name)
	if err != nil {
		return err
	}
	_, err = to.Write(data)
	return err
}

// Kept copies a kept file, packed already, or notes that it is not there; f and err are as opening it gave them.
func (a *Archive) Kept(name string, f io.ReadCloser, err error) error {
	if errors.Is(err, domain.ErrNotFound) || errors.Is(err, files.ErrAltered) {
		a.Absent(name, "the file is missing or not as it was kept")
		return nil
	}
	if err != nil {
		return err
	}
	defer f.Close()
	to, err := a.create(name, zip.Store)
	if err != nil {
		return err
	}
	_, err = io.Copy(to, f)
	return err
}

// Absent notes what could not be had, and why.
func (a *Archive) Absent(name, why string) { a.absent = append(a.absent, name+": "+why) }

// Close names what is absent, and ends the archive.
func (a *Archive) Close() error {
	if len(a.absent) > 0 {
		if err := a.Bytes("NOT-INCLUDED.txt", []byte(strings.Join(a.absent, "\n")+"\n")); err != nil {
			return err
		}
	}
	return a.zip.Close()
}
