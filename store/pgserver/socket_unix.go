//go:build linux || darwin || freebsd || netbsd || openbsd

package pgserver

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
)

// longestSocketPath is the longest socket path, in bytes, that every supported system takes: sun_path holds 104 bytes
// on the BSDs and macOS and 108 on Linux (unix(7)), the closing zero included.
const longestSocketPath = 103

// chooseSocketDir puts the socket into the server folder, or, where that path is too long or cannot be written in
// PostgreSQL's settings, into a short private folder of its own, which it notes beside the server folder so that the
// next start can clear it away.
func (s *Server) chooseSocketDir() error {
	note := s.dir + ".socket"
	s.forgetSocketDir()
	if socketFits(s.dir) {
		s.sock = s.dir
		return nil
	}
	for _, parent := range []string{os.TempDir(), "/run", "/var/run", "/var/tmp"} {
		if s.acct.firstClosed(parent) != "" {
			continue
		}
		dir, err := os.MkdirTemp(parent, "lw-pg-") // mode 0700
		if err != nil {
			continue
		}
		if real, err := filepath.EvalSymlinks(dir); err == nil {
			dir = real
		}
		if socketFits(dir) && (!s.acct.drop || os.Chown(dir, int(s.acct.uid), int(s.acct.gid)) == nil) {
			s.sock = dir
			return os.WriteFile(note, []byte(dir+"\n"), 0o600)
		}
		os.Remove(dir)
	}
	return fail(ErrFolder, nil, "the path of %s is too long for a unix socket and no short folder is free for it: "+
		"choose a shorter data folder", s.dir)
}

// forgetSocketDir removes the separate socket folder of an earlier run, if there was one.
func (s *Server) forgetSocketDir() {
	note := s.dir + ".socket"
	text, err := os.ReadFile(note)
	if errors.Is(err, fs.ErrNotExist) {
		return
	}
	dir := strings.TrimSpace(string(text))
	if strings.HasPrefix(filepath.Base(dir), "lw-pg-") {
		os.Remove(filepath.Join(dir, socketName))
		os.Remove(filepath.Join(dir, socketName+".lock"))
		os.Remove(dir) // leaves a folder that holds anything else
	}
	os.Remove(note)
}

func socketFits(dir string) bool {
	return len(filepath.Join(dir, socketName)) <= longestSocketPath && !strings.ContainsAny(dir, `,"`)
}
