//go:build linux || darwin || freebsd || netbsd || openbsd

package pgserver

import (
	"encoding/json"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"time"
)

// homeName is the note in the server folder that tells a folder from its copy: which very files the cluster consists
// of, and whether a server may be writing to them. A copy taken while it was is made of parts of different moments,
// which PostgreSQL can't see. The dot has tools that copy in order of name take the note first, before what changes.
const homeName = ".home"

// home is what the note holds.
type home struct {
	Running bool      `json:"running"` // false only after a clean stop
	Path    string    `json:"path"`    // where the server folder lay
	Since   time.Time `json:"since"`
	Files   identity  `json:"files"`
}

// identity tells files from copies of them, by what moving or renaming a folder, killing a program and cutting the
// power leave alone: the numbers of files that are made once, and when the first of them was last changed by anybody
// (its ctime, which no tool can set; zero where the system does not tell). Either alone suffices, as some file systems
// number files afresh when they are mounted, and changing the owner of a file touches its time. Device numbers and
// paths are no part of it: those change by themselves.
type identity struct {
	Numbers   []uint64 `json:"numbers"`
	ChangedNs int64    `json:"changed_ns"`
}

func identityOf(data string) (identity, error) {
	var id identity
	for _, name := range []string{"PG_VERSION", "base/1/PG_VERSION", "."} {
		info, err := os.Lstat(filepath.Join(data, name))
		if err != nil {
			return identity{}, err
		}
		st := info.Sys().(*syscall.Stat_t)
		if id.Numbers == nil {
			id.ChangedNs = changedNs(st)
		}
		id.Numbers = append(id.Numbers, uint64(st.Ino))
	}
	return id, nil
}

// is reports whether both are the same files.
func (a identity) is(b identity) bool {
	if a.ChangedNs != 0 && a.ChangedNs == b.ChangedNs {
		return true
	}
	for i, n := range a.Numbers {
		if i >= len(b.Numbers) || n != b.Numbers[i] {
			return false
		}
	}
	return len(a.Numbers) > 0
}

// checkHome refuses a cluster that was copied while a server was writing to it. It lets through the same files after
// whatever happened, since PostgreSQL recovers those, and a copy of a folder whose server had stopped. A note that is
// missing is that of a folder from before there were notes, or was deleted by someone who has nothing but this copy.
func (s *Server) checkHome() error {
	text, err := os.ReadFile(filepath.Join(s.dir, homeName))
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil {
		return folderError(s.dir, err)
	}
	was, here := home{Running: true}, identity{}
	if err := json.Unmarshal(text, &was); err != nil {
		return nil // cut short by a full disk: it says nothing
	}
	if here, err = identityOf(s.data); err != nil {
		return folderError(s.dir, err)
	}
	if was.Files.is(here) || !was.Running && s.shutDown() {
		return nil
	}
	return fail(ErrCopied, nil, "%s was copied from %s while the program ran there, or after it was killed: the copy's parts are of "+
		"different moments and can't be trusted; start and stop the program there and copy it again, or restore a backup into an "+
		"empty folder (ledgerwheel backup restore)", s.dir, was.Path)
}

// shutDown reports whether the cluster's last server ended cleanly.
func (s *Server) shutDown() bool {
	out, err := s.acct.command(s.dir, s.bin.Program("pg_controldata"), "-D", s.data).Output()
	if err != nil { // the program may be missing: then by the file that a server keeps while it runs
		return postmasterPID(s.data) == 0
	}
	for line := range strings.Lines(string(out)) {
		if state, ok := strings.CutPrefix(line, "Database cluster state:"); ok {
			return strings.TrimSpace(state) == "shut down"
		}
	}
	return false
}

// noteHome writes the note, so that a pulled plug leaves the old one or the new one.
func (s *Server) noteHome(running bool) error {
	id, err := identityOf(s.data)
	if err != nil {
		return folderError(s.dir, err)
	}
	text, err := json.Marshal(home{Running: running, Path: s.dir, Since: time.Now().UTC(), Files: id})
	if err != nil {
		return folderError(s.dir, err)
	}
	name := filepath.Join(s.dir, homeName)
	if err := s.writeSynced(name+".new", append(text, '\n')); err != nil {
		return folderError(s.dir, err)
	}
	if err := os.Rename(name+".new", name); err != nil {
		return folderError(s.dir, err)
	}
	return syncFolder(s.dir)
}

func (s *Server) writeSynced(name string, text []byte) error {
	f, err := os.OpenFile(name, os.O_WRONLY|os.O_CREATE|os.O_TRUNC|syscall.O_NOFOLLOW, 0o644)
	if err != nil {
		return err
	}
	defer f.Close()
	if _, err := f.Write(text); err != nil {
		return err
	}
	if s.cfg.durable {
		return f.Sync()
	}
	return nil
}
