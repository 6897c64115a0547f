//go:build linux || darwin || freebsd || netbsd || openbsd

package pgserver

import (
	"encoding/json"
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"
)

// copied is a copy of a server folder, with owners, times and all, in another shop's folder.
func copied(t *testing.T, dir string) string {
	t.Helper()
	to := serverFolder(t)
	if err := os.MkdirAll(filepath.Dir(to), 0o711); err != nil {
		t.Fatal(err)
	}
	// A living server's files come and go while they are copied, so that cp may well complain.
	if out, err := exec.Command("cp", "-a", dir, to).CombinedOutput(); err != nil && !strings.Contains(string(out), "No such file") {
		t.Fatalf("%v %s", err, out)
	}
	return to
}

// powerCut runs a server in a program of its own and ends both at once, so that neither stops cleanly.
func powerCut(t *testing.T, dir string) {
	t.Helper()
	program := exec.Command(os.Args[0], "-test.run=^TestServeForParent$")
	program.Env = append(os.Environ(), "PGSERVER_TEST_SERVE="+dir)
	out, err := program.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := program.Start(); err != nil {
		t.Fatal(err)
	}
	line := make([]byte, 64)
	n, err := out.Read(line)
	if err != nil {
		t.Fatal(err)
	}
	postmaster, err := strconv.Atoi(strings.TrimSpace(string(line[:n])))
	if err != nil {
		t.Fatal(err)
	}
	// Stopped, it can't start the server again, nor can the server see its parent die.
	for _, end := range []struct {
		pid int
		sig syscall.Signal
	}{{program.Process.Pid, syscall.SIGSTOP}, {postmaster, syscall.SIGKILL}, {program.Process.Pid, syscall.SIGKILL}} {
		if err := syscall.Kill(end.pid, end.sig); err != nil {
			t.Fatal(err)
		}
	}
	program.Wait() // says that it was killed
}

// refused holds that a server does not start on dir, and that trying changes nothing of it.
func refused(t *testing.T, dir string) {
	t.Helper()
	before, err := os.ReadFile(filepath.Join(dir, homeName))
	if err != nil {
		t.Fatal(err)
	}
	_, err = Start(t.Context(), dir)
	if !errors.Is(err, ErrCopied) {
		t.Fatalf("error %v, want %v", err, ErrCopied)
	}
	oneLine(t, err, "was copied from")
	if after, err := os.ReadFile(filepath.Join(dir, homeName)); err != nil || string(after) != string(before) {
		t.Errorf("the note changed (%v)", err)
	}
}

// starts holds that a server starts on dir with the three rows that TestServeForParent writes.
func starts(t *testing.T, dir string) {
	t.Helper()
	s := start(t, dir)
	if n := rows(t, s); n != 3 {
		t.Errorf("%d rows, want 3", n)
	}
	if err := s.Stop(); err != nil {
		t.Fatal(err)
	}
}

func TestCopyOfAStoppedFolderStarts(t *testing.T) {
	t.Parallel()
	dir := serverFolder(t)
	s := start(t, dir)
	exec1(t, s, "CREATE TABLE kept AS SELECT generate_series(1, 3)")
	if err := s.Stop(); err != nil {
		t.Fatal(err)
	}
	once := copied(t, dir)
	starts(t, once)
	starts(t, copied(t, once)) // a copy of the copy
	moved := filepath.Join(filepath.Dir(dir), "moved")
	if err := os.Rename(dir, moved); err != nil {
		t.Fatal(err)
	}
	starts(t, moved)
}

func TestCopyOfARunningFolderIsRefused(t *testing.T) {
	t.Parallel()
	dir := serverFolder(t)
	s := start(t, dir)
	exec1(t, s, "CREATE TABLE kept AS SELECT generate_series(1, 3)")
	running := copied(t, dir)
	refused(t, running)
	if err := s.Stop(); err != nil {
		t.Fatal(err)
	}
	// A slow copy that began while the server ran and ended after it stopped.
	slow := copied(t, dir)
	note, err := os.ReadFile(filepath.Join(running, homeName))
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(slow, homeName), note, 0o600); err != nil {
		t.Fatal(err)
	}
	refused(t, slow)
	// Someone who has nothing but this copy deletes the note and looks for what is left.
	if err := os.Remove(filepath.Join(slow, homeName)); err != nil {
		t.Fatal(err)
	}
	starts(t, slow)
	starts(t, dir)
}

func TestPowerCut(t *testing.T) {
	t.Parallel()
	dir := serverFolder(t)
	powerCut(t, dir)
	refused(t, copied(t, dir)) // it can't be told from a copy of a running folder
	moved := filepath.Join(filepath.Dir(dir), "moved")
	if err := os.Rename(dir, moved); err != nil {
		t.Fatal(err)
	}
	if err := os.Mkdir(dir, 0o700); err != nil { // so that the old place can't be what is found
		t.Fatal(err)
	}
	starts(t, moved)

	same := serverFolder(t)
	powerCut(t, same)
	starts(t, same)
}

// TestIdentity holds the two ways in which the same files may seem to be others, and that a copy is neither.
func TestIdentity(t *testing.T) {
	t.Parallel()
	dir := serverFolder(t)
	s := start(t, dir, Durable(false))
	if err := s.Stop(); err != nil {
		t.Fatal(err)
	}
	here, err := identityOf(s.data)
	if err != nil {
		t.Fatal(err)
	}
	text, err := json.Marshal(here)
	var back identity
	if err != nil || json.Unmarshal(text, &back) != nil || !back.is(here) {
		t.Errorf("%s reads back as %+v (%v)", text, back, err)
	}
	renumbered := identity{Numbers: []uint64{1, 2, 3}, ChangedNs: here.ChangedNs}
	if here.ChangedNs != 0 && !renumbered.is(here) {
		t.Error("files that were numbered afresh are not known again")
	}
	if err := os.Chmod(filepath.Join(s.data, "PG_VERSION"), 0o600); err != nil {
		t.Fatal(err)
	}
	if touched, err := identityOf(s.data); err != nil || !here.is(touched) {
		t.Errorf("touched files are not known again (%v)", err)
	}
	if other, err := identityOf(filepath.Join(copied(t, dir), "data")); err != nil || here.is(other) || other.is(here) {
		t.Errorf("a copy passes for the files themselves (%v)", err)
	}
	if (identity{}).is(identity{}) {
		t.Error("nothing passes for something")
	}
}
