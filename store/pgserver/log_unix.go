//go:build linux || darwin || freebsd || netbsd || openbsd

package pgserver

import (
	"bufio"
	"io"
	"os"
	"strings"
)

// longestLog, in bytes, is when the server's messages begin a new file at the next start.
const longestLog = 8 << 20

// openLog opens the file beside the server folder that takes the server's messages.
func (s *Server) openLog() error {
	name := s.dir + ".log"
	if info, err := os.Stat(name); err == nil && info.Size() > longestLog {
		if err := os.Rename(name, name+".1"); err != nil {
			return folderError(s.dir, err)
		}
	}
	f, err := os.OpenFile(name, os.O_WRONLY|os.O_CREATE|os.O_APPEND, 0o600)
	if err != nil {
		return folderError(s.dir, err)
	}
	s.logs = f
	if info, err := f.Stat(); err == nil {
		s.logFrom = info.Size()
	}
	return nil
}

// startError is the one line that says why the server did not come up: its own last complaint if it had any.
func (s *Server) startError(cause error) error {
	why := cause.Error()
	if complaint := s.lastComplaint(); complaint != "" {
		why = complaint
	}
	return fail(ErrStart, cause, "PostgreSQL did not start on %s: %s (more in %s.log)", s.data, why, s.dir)
}

// lastComplaint is the last FATAL or PANIC message that this server left in its log, if any, but for those that only
// tell a client to come back later.
func (s *Server) lastComplaint() string {
	f, err := os.Open(s.dir + ".log")
	if err != nil {
		return ""
	}
	defer f.Close()
	if _, err := f.Seek(s.logFrom, io.SeekStart); err != nil {
		return ""
	}
	last := ""
	for lines := bufio.NewScanner(f); lines.Scan(); {
		for _, level := range []string{"FATAL:", "PANIC:"} {
			_, message, ok := strings.Cut(lines.Text(), level)
			if ok && !strings.Contains(message, "the database system is") {
				last = strings.TrimSpace(message)
			}
		}
	}
	return last
}
