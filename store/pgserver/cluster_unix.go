//go:build linux || darwin || freebsd || netbsd || openbsd

package pgserver

import (
	"context"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"
	"syscall"
	"time"

	"github.com/jackc/pgx/v5"
)

// makeCluster makes the cluster in dir/data unless there is one. It works in dir/data.new and renames at the end, so
// that a half-made cluster is never taken for a whole one.
func (s *Server) makeCluster() error {
	if _, err := os.Lstat(s.data); err == nil {
		return nil
	} else if !errors.Is(err, fs.ErrNotExist) {
		return folderError(s.dir, err)
	}
	fresh := s.data + ".new"
	if err := os.RemoveAll(fresh); err != nil {
		return folderError(s.dir, err)
	}
	args := []string{"-D", fresh, "-U", superuser, "-A", "peer", "--auth-local=trust", "-E", "UTF8",
		"--data-checksums", "--no-instructions"}
	if runtime.GOOS == "darwin" { // which has no C.UTF-8
		args = append(args, "--lc-collate=C", "--lc-ctype=en_US.UTF-8", "--lc-messages=C")
	} else {
		args = append(args, "--locale=C.UTF-8")
	}
	if !s.cfg.durable {
		args = append(args, "--no-sync")
	}
	out, err := s.acct.command(s.dir, s.bin.Program("initdb"), args...).CombinedOutput()
	if err != nil {
		return fail(ErrStart, err, "initdb could not make a cluster in %s (%v): %s", s.dir, err, complaint(string(out)))
	}
	if err := os.Rename(fresh, s.data); err != nil {
		return folderError(s.dir, err)
	}
	return syncFolder(s.dir)
}

func syncFolder(dir string) error {
	f, err := os.Open(dir)
	if err != nil {
		return folderError(dir, err)
	}
	defer f.Close()
	// Some file systems cannot sync a folder; then there is nothing more to do.
	if err := f.Sync(); err != nil && !errors.Is(err, syscall.EINVAL) {
		return folderError(dir, err)
	}
	return nil
}

// ensureDatabase makes the program's database unless there is one.
func (s *Server) ensureDatabase(ctx context.Context) error {
	conn, err := pgx.Connect(ctx, s.URL("postgres"))
	if err != nil {
		return s.startError(err)
	}
	defer conn.Close(context.WithoutCancel(ctx))
	var exists bool
	err = conn.QueryRow(ctx, "SELECT EXISTS (SELECT FROM pg_database WHERE datname = $1)", s.cfg.database).Scan(&exists)
	if err == nil && !exists {
		_, err = conn.Exec(ctx, "CREATE DATABASE "+pgx.Identifier{s.cfg.database}.Sanitize())
	}
	if err != nil {
		return s.startError(err)
	}
	return nil
}

// endPredecessor waits for a server that a killed program left behind on this cluster to end, and asks it to where
// the system has not done so already. The lock is held: no living copy of the program owns that server.
func (s *Server) endPredecessor() error {
	pid := postmasterPID(s.data)
	if pid == 0 || !isPostmaster(pid, s.data) {
		return s.disownStalePID(pid)
	}
	s.cfg.log.Info("ending the PostgreSQL that an earlier run left behind", "pid", pid)
	for _, sig := range []syscall.Signal{syscall.SIGINT, syscall.SIGQUIT} {
		if err := syscall.Kill(pid, sig); err != nil && !errors.Is(err, syscall.ESRCH) {
			return fail(ErrInUse, err, "a PostgreSQL server (process %d) still runs on %s and cannot be stopped: %v", pid,
				s.data, err)
		}
		for deadline := time.Now().Add(stopPatience); time.Now().Before(deadline); time.Sleep(10 * time.Millisecond) {
			if !isPostmaster(pid, s.data) {
				return nil
			}
		}
	}
	return fail(ErrInUse, nil, "a PostgreSQL server (process %d) still runs on %s and does not stop", pid, s.data)
}

// disownStalePID deals with a postmaster.pid whose number now belongs to some other program of the same user, as may
// happen after a power cut; PostgreSQL would take that program for a server and refuse to start. The number is
// replaced by ours: PostgreSQL knows that its parent is no server, and still checks the shared memory that the file
// names, so a true server can't be overlooked.
func (s *Server) disownStalePID(pid int) error {
	if pid == 0 || syscall.Kill(pid, 0) != nil {
		return nil // PostgreSQL sees for itself that the number is stale
	}
	file := filepath.Join(s.data, "postmaster.pid")
	text, err := os.ReadFile(file)
	if err != nil {
		return nil // gone meanwhile
	}
	_, rest, _ := strings.Cut(string(text), "\n")
	f, err := os.OpenFile(file, os.O_WRONLY|os.O_TRUNC|syscall.O_NOFOLLOW, 0)
	if err != nil {
		return folderError(s.dir, err)
	}
	defer f.Close()
	if _, err := f.WriteString(strconv.Itoa(os.Getpid()) + "\n" + rest); err != nil {
		return folderError(s.dir, err)
	}
	return nil
}

// postmasterPID is the process number in the cluster's postmaster.pid, or 0.
func postmasterPID(data string) int {
	text, err := os.ReadFile(filepath.Join(data, "postmaster.pid"))
	if err != nil {
		return 0
	}
	line, _, _ := strings.Cut(string(text), "\n")
	pid, err := strconv.Atoi(strings.TrimSpace(line))
	if err != nil || pid <= 0 {
		return 0
	}
	return pid
}

// complaint is the line of a program's messages that says what is wrong: what it says last may be how it cleared up.
func complaint(text string) string {
	for line := range strings.Lines(text) {
		for _, sign := range []string{"FATAL:", "PANIC:", "error:"} {
			if strings.Contains(line, sign) {
				return strings.TrimSpace(line)
			}
		}
	}
	return lastLine(text)
}

func lastLine(text string) string {
	text = strings.TrimSpace(text)
	return strings.TrimSpace(text[strings.LastIndexByte(text, '\n')+1:])
}
