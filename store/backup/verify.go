package backup

import (
	"bytes"
	"context"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"ledgerwheel/domain"
	"ledgerwheel/domain/record"
	"ledgerwheel/store"
	"ledgerwheel/store/pgserver"
)

// Proof is what trying to restore a backup has shown.
type Proof struct {
	Head
	Manifest
	Journals, Pictures, Sounds int
	// Findings say what is not whole in the record that was copied; a faithful copy of it has them too.
	Findings []string
	seals    seals
}

// seals are what the folder of seals in a backup holds.
type seals struct {
	notes [][]byte
	keys  []string
}

// longestSeal, in bytes, is far above what a seal or the list of its keys takes.
const longestSeal = 1 << 16

// take reads a member if it belongs to the seals.
func (s *seals) take(m Member, content io.Reader) error {
	if !strings.HasPrefix(m.Name, "seals/") || m.Bytes > longestSeal {
		return nil
	}
	text, err := io.ReadAll(content)
	switch {
	case m.Name == "seals/keys.txt":
		s.keys = strings.Fields(string(text))
	case strings.HasSuffix(m.Name, ".seal"):
		s.notes = append(s.notes, bytes.TrimSpace(text))
	}
	return err
}

// Whole reports whether nothing was found.
func (p Proof) Whole() bool { return len(p.Findings) == 0 }

// Words say in a sentence what was proven.
func (p Proof) Words() string {
	return fmt.Sprintf("Restored into a scratch database; %s checked; %s and %s are what the record says; all %d sums agree.",
		counted(p.Journals, "journal"), counted(p.Pictures, "photograph"), counted(p.Sounds, "sound"), len(p.Members))
}

// Verify restores a backup into a server of its own in a temporary folder, where it is thrown away again, and checks the
// record there. An error says that it can't be restored, or that trying was not possible; what the record itself is
// found to lack is in the Proof.
func Verify(ctx context.Context, path string, key Key, opts ...pgserver.Option) (p Proof, err error) {
	a, err := OpenArchive(ctx, path, key)
	if err != nil {
		return p, err
	}
	defer a.Close()
	p.Head = a.Head
	dir, err := os.MkdirTemp("", "lw-backup-")
	if err != nil {
		return p, err
	}
	defer func() { err = errors.Join(full(err, filepath.Dir(dir)), os.RemoveAll(dir)) }()
	if err := os.Chmod(dir, 0o711); err != nil { // the server may run as another user, who has to pass through
		return p, err
	}
	dump, err := os.CreateTemp(dir, "dump-*")
	if err != nil {
		return p, err
	}
	defer dump.Close()
	p.Manifest, err = a.Each(func(m Member, content io.Reader) error {
		if m.Name == dumpName {
			_, err := io.Copy(dump, content)
			return err
		}
		return p.seals.take(m, content) // of all else the sum is taken as it passes
	})
	if err != nil {
		return p, err
	}
	if _, err := dump.Seek(0, io.SeekStart); err != nil {
		return p, err
	}
	server, err := pgserver.Start(ctx, filepath.Join(dir, "postgres"), append(opts, pgserver.Durable(false))...)
	if err != nil {
		return p, err
	}
	defer func() { err = errors.Join(err, server.Stop()) }()
	db := Private(server)
	if err := db.restore(ctx, dump); err != nil {
		return p, say(ErrDamaged, err, "the database in %s can't be restored: %v", path, err)
	}
	return p, p.check(ctx, db)
}

// check checks the restored record.
func (p *Proof) check(ctx context.Context, db Database) error {
	st, err := store.Open(ctx, db.URL)
	if err != nil {
		return err
	}
	defer st.Close()
	if err := st.Migrate(ctx); err != nil {
		return err
	}
	checked, err := st.CheckRecord(ctx, store.RecordCheck{Files: heldBy(p.Manifest), Seals: p.seals.notes, SealKeys: p.seals.keys}, func(f record.Finding) {
		p.Findings = append(p.Findings, f.Sentence)
	})
	p.Journals, p.Pictures, p.Sounds = int(checked.Dockets), int(checked.Pictures), int(checked.Sounds)
	return err
}

func counted(n int, one string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %ss", n, one)
}

// Held are the photographs and sounds that a backup holds.
type Held map[string]bool // by name in the archive: is the content what the name says

// errAltered reports a file that is not what its name says.
var errAltered = errors.New("it was altered")

func heldBy(m Manifest) Held {
	held := Held{}
	for _, f := range m.Members {
		if named := uploadMember.FindStringSubmatch(f.Name); named != nil && named[2] != "-thumb.jpg" {
			held[f.Name] = named[1] == f.SHA256
		}
	}
	for _, name := range m.Removed { // the shop was right to do without them
		held[name] = true
	}
	return held
}

func (h Held) look(sum [32]byte, size string) error {
	digits := hex.EncodeToString(sum[:])
	right, there := h["uploads/"+digits[:2]+"/"+digits+size]
	switch {
	case !there:
		return fmt.Errorf("it was missing from the shop: %w", domain.ErrNotFound)
	case !right:
		return errAltered
	}
	return nil
}

// CheckPicture reports a photograph that is missing (the error wraps domain.ErrNotFound) or altered.
func (h Held) CheckPicture(sum [32]byte) error { return h.look(sum, "-full.jpg") }

// CheckSound reports a sound as CheckPicture does a photograph.
func (h Held) CheckSound(sum [32]byte) error { return h.look(sum, ".sound") }
