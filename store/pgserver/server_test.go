//go:build linux || darwin || freebsd || netbsd || openbsd

package pgserver

import (
	"context"
	"errors"
	"net"
	"os"
	"os/exec"
	"os/user"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
)

// serverFolder is a short path of a server folder under a parent that any user may pass through, unlike t.TempDir's.
func serverFolder(t *testing.T) string {
	t.Helper()
	parent, err := os.MkdirTemp("", "lw-")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { os.RemoveAll(parent) })
	if err := os.Chmod(parent, 0o711); err != nil {
		t.Fatal(err)
	}
	if parent, err = filepath.EvalSymlinks(parent); err != nil {
		t.Fatal(err)
	}
	return filepath.Join(parent, "shop", "postgres")
}

// start starts a server whose writes are durable, as these tests kill it.
func start(t *testing.T, dir string, opts ...Option) *Server {
	t.Helper()
	s, err := Start(t.Context(), dir, opts...)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := s.Stop(); err != nil {
			t.Error(err)
		}
	})
	return s
}

func connect(t *testing.T, s *Server) *pgx.Conn {
	t.Helper()
	conn, err := pgx.Connect(t.Context(), s.URL("ledgerwheel"))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { conn.Close(context.Background()) })
	return conn
}

func exec1(t *testing.T, s *Server, sql string) {
	t.Helper()
	if _, err := connect(t, s).Exec(t.Context(), sql); err != nil {
		t.Fatalf("%s: %v", sql, err)
	}
}

// rows counts the rows of the table kept, waiting up to ten seconds for the server to be back.
func rows(t *testing.T, s *Server) (n int) {
	t.Helper()
	var err error
	for deadline := time.Now().Add(10 * time.Second); time.Now().Before(deadline); time.Sleep(20 * time.Millisecond) {
		var conn *pgx.Conn
		if conn, err = pgx.Connect(t.Context(), s.URL("ledgerwheel")); err != nil {
			continue
		}
		err = conn.QueryRow(t.Context(), "SELECT count(*) FROM kept").Scan(&n)
		conn.Close(t.Context())
		if err == nil {
			return n
		}
	}
	t.Fatalf("the server did not come back: %v", err)
	return 0
}

func (s *Server) childPID() int {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.child == nil {
		return 0
	}
	return s.child.Pid
}

// gone waits for a process to end.
func gone(pid int) bool {
	for range 500 {
		if syscall.Kill(pid, 0) != nil {
			return true
		}
		time.Sleep(10 * time.Millisecond)
	}
	return false
}

func TestStartKeepsDataAndStops(t *testing.T) {
	t.Parallel()
	dir := serverFolder(t)
	s := start(t, dir)
	exec1(t, s, "CREATE TABLE kept (what text); INSERT INTO kept VALUES ('balance staff'), ('mainspring')")
	pid := s.childPID()
	if err := s.Stop(); err != nil {
		t.Fatal(err)
	}
	if !gone(pid) {
		t.Errorf("process %d runs on after Stop", pid)
	}
	if _, err := os.Stat(filepath.Join(dir, "data", "postmaster.pid")); !os.IsNotExist(err) {
		t.Errorf("postmaster.pid is left behind (%v): not a clean stop", err)
	}
	if n := rows(t, start(t, dir)); n != 2 {
		t.Errorf("%d rows after a new start, want 2", n)
	}
}

func TestServerSettings(t *testing.T) {
	t.Parallel()
	s := start(t, serverFolder(t), MaxConnections(17))
	conn, err := pgx.Connect(t.Context(), s.URL("ledgerwheel"))
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close(t.Context())
	for name, want := range map[string]string{
		"listen_addresses": "", "max_connections": "17", "server_encoding": "UTF8", "fsync": "on",
		"synchronous_commit": "on", "data_checksums": "on", "TimeZone": "UTC", "unix_socket_permissions": "0700",
	} {
		var got string
		if err := conn.QueryRow(t.Context(), "SELECT current_setting($1)", name).Scan(&got); err != nil || got != want {
			t.Errorf("%s is %q (%v), want %q", name, got, err, want)
		}
	}
	// Names in any script are folded for search.
	var folded string
	if err := conn.QueryRow(t.Context(), "SELECT lower('ŽĎÁR ΩΡΟΛΟΓΑΣ ЧАСЫ')").Scan(&folded); err != nil ||
		folded != "žďár ωρολογασ часы" {
		t.Errorf("lower gives %q (%v)", folded, err)
	}
	if listening := tcpSockets(t, s.childPID()); len(listening) > 0 {
		t.Errorf("the server listens on TCP: %v", listening)
	}
}

// tcpSockets asks the operating system which TCP sockets the process listens on.
func tcpSockets(t *testing.T, pid int) []string {
	t.Helper()
	inodes := map[string]bool{}
	fds, err := os.ReadDir("/proc/" + strconv.Itoa(pid) + "/fd")
	if err != nil {
		// Without /proc the fixed port is tried.
		if conn, err := net.DialTimeout("tcp", "127.0.0.1:"+socketPort, time.Second); err == nil {
			conn.Close()
			return []string{conn.RemoteAddr().String()}
		}
		return nil
	}
	for _, fd := range fds {
		link, _ := os.Readlink("/proc/" + strconv.Itoa(pid) + "/fd/" + fd.Name())
		if inode, ok := strings.CutPrefix(link, "socket:["); ok {
			inodes[strings.TrimSuffix(inode, "]")] = true
		}
	}
	if len(inodes) == 0 {
		t.Error("no socket of the server seen at all: this check sees nothing")
	}
	var found []string
	for _, table := range []string{"/proc/net/tcp", "/proc/net/tcp6"} {
		text, _ := os.ReadFile(table) // a machine without IPv6 has only the first
		for line := range strings.Lines(string(text)) {
			if f := strings.Fields(line); len(f) > 9 && inodes[f[9]] {
				found = append(found, f[1])
			}
		}
	}
	return found
}

func TestRecoversWhenKilled(t *testing.T) {
	t.Parallel()
	s := start(t, serverFolder(t))
	exec1(t, s, "CREATE TABLE kept AS SELECT generate_series(1, 1000)")
	pid := s.childPID()
	if err := syscall.Kill(pid, syscall.SIGKILL); err != nil {
		t.Fatal(err)
	}
	if !gone(pid) {
		t.Fatalf("process %d survives SIGKILL", pid)
	}
	if n := rows(t, s); n != 1000 {
		t.Errorf("%d rows after the kill, want 1000", n)
	}
	if again := s.childPID(); again == 0 || again == pid {
		t.Errorf("process %d serves, want a new one", again)
	}
}

func TestSecondStartIsRefused(t *testing.T) {
	t.Parallel()
	dir := serverFolder(t)
	s := start(t, dir)
	_, err := Start(t.Context(), dir)
	if !errors.Is(err, ErrInUse) {
		t.Fatalf("error %v, want %v", err, ErrInUse)
	}
	oneLine(t, err, "in use by another copy of the program (process "+strconv.Itoa(os.Getpid())+")")
	if err := Remove(dir); !errors.Is(err, ErrInUse) {
		t.Errorf("Remove says %v, want %v", err, ErrInUse)
	}
	exec1(t, s, "SELECT 1")
}

func TestHalfMadeClusterIsMadeAnew(t *testing.T) {
	t.Parallel()
	dir := serverFolder(t)
	if err := os.MkdirAll(filepath.Join(dir, "data.new", "base"), 0o755); err != nil {
		t.Fatal(err)
	}
	exec1(t, start(t, dir), "SELECT 1")
	if _, err := os.Stat(filepath.Join(dir, "data.new")); !os.IsNotExist(err) {
		t.Errorf("data.new is left behind: %v", err)
	}
}

func TestRemove(t *testing.T) {
	t.Parallel()
	dir := serverFolder(t)
	if err := Remove(dir); err != nil {
		t.Errorf("nothing to remove: %v", err)
	}
	s := start(t, dir, Durable(false))
	exec1(t, s, "CREATE TABLE kept AS SELECT 1")
	if err := s.Stop(); err != nil {
		t.Fatal(err)
	}
	if err := Remove(dir); err != nil {
		t.Fatal(err)
	}
	if _, err := os.Stat(dir); !os.IsNotExist(err) {
		t.Errorf("%s is still there: %v", dir, err)
	}
	var table *string
	if err := connect(t, start(t, dir, Durable(false))).QueryRow(t.Context(),
		"SELECT to_regclass('kept')::text").Scan(&table); err != nil || table != nil {
		t.Errorf("table %v (%v), want none in a new cluster", table, err)
	}
}

func TestLongPathGetsAShortSocket(t *testing.T) {
	t.Parallel()
	for _, name := range []string{strings.Repeat("long-", 20), "with,comma"} {
		dir := filepath.Join(filepath.Dir(serverFolder(t)), name, "postgres")
		s := start(t, dir, Durable(false))
		if s.sock == dir {
			t.Errorf("the socket lies in %s", dir)
		}
		info, err := os.Stat(s.sock)
		if err != nil || info.Mode().Perm() != 0o700 {
			t.Errorf("socket folder: %v (%v), want mode 0700", info, err)
		}
		exec1(t, s, "SELECT 1")
		if err := s.Stop(); err != nil {
			t.Fatal(err)
		}
		if _, err := os.Stat(s.sock); !os.IsNotExist(err) {
			t.Errorf("%s is left behind: %v", s.sock, err)
		}
	}
}

func TestStalePIDOfAnotherProgram(t *testing.T) {
	t.Parallel()
	dir := serverFolder(t)
	s := start(t, dir)
	exec1(t, s, "CREATE TABLE kept AS SELECT 1")
	file := filepath.Join(dir, "data", "postmaster.pid")
	text, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	acct := s.acct
	if err := s.Stop(); err != nil {
		t.Fatal(err)
	}
	// After a power cut the number in the file may belong to any program of the server's user.
	other := acct.command(dir, "/bin/sleep", "60")
	if err := other.Start(); err != nil {
		t.Fatal(err)
	}
	defer func() { other.Process.Kill(); other.Wait() }()
	_, rest, _ := strings.Cut(string(text), "\n")
	if err := os.WriteFile(file, []byte(strconv.Itoa(other.Process.Pid)+"\n"+rest), 0o600); err != nil {
		t.Fatal(err)
	}
	if acct.drop {
		if err := os.Chown(file, int(acct.uid), int(acct.gid)); err != nil {
			t.Fatal(err)
		}
	}
	if n := rows(t, start(t, dir)); n != 1 {
		t.Errorf("%d rows, want 1", n)
	}
	if other.Process.Signal(syscall.Signal(0)) != nil {
		t.Error("the other program was killed")
	}
}

// TestProgramKilled kills a program that runs a server, by way of this test binary started anew.
func TestProgramKilled(t *testing.T) {
	t.Parallel()
	dir := serverFolder(t)
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
	if err := program.Process.Kill(); err != nil {
		t.Fatal(err)
	}
	program.Wait() // says that it was killed
	s := start(t, dir)
	if n := rows(t, s); n != 3 {
		t.Errorf("%d rows, want 3", n)
	}
	if isPostmaster(postmaster, filepath.Join(dir, "data")) {
		t.Errorf("the killed program's server %d runs on", postmaster)
	}
}

// TestServeForParent is the program that TestProgramKilled kills; by itself it has nothing to check.
func TestServeForParent(t *testing.T) {
	dir := os.Getenv("PGSERVER_TEST_SERVE")
	if dir == "" {
		return
	}
	s, err := Start(context.Background(), dir)
	if err != nil {
		t.Fatal(err)
	}
	exec1(t, s, "CREATE TABLE kept AS SELECT generate_series(1, 3)")
	os.Stdout.WriteString(strconv.Itoa(s.childPID()) + "\n")
	time.Sleep(time.Minute) // killed long before
}

func TestServerThatCannotStartSaysWhy(t *testing.T) {
	t.Parallel()
	dir := serverFolder(t)
	s := start(t, dir, Durable(false))
	if err := s.Stop(); err != nil {
		t.Fatal(err)
	}
	conf := filepath.Join(dir, "data", "postgresql.conf")
	if err := os.WriteFile(conf, []byte("shared_preload_libraries = 'no_such_library'\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	_, err := Start(t.Context(), dir)
	if !errors.Is(err, ErrStart) {
		t.Fatalf("error %v, want %v", err, ErrStart)
	}
	oneLine(t, err, "no_such_library")
	// The failed start has let go of the folder.
	if err := Remove(dir); err != nil {
		t.Error(err)
	}
}

func TestUnusableFolder(t *testing.T) {
	t.Parallel()
	dir := serverFolder(t)
	if err := os.WriteFile(filepath.Dir(dir), []byte("a file"), 0o600); err != nil {
		t.Fatal(err)
	}
	_, err := Start(t.Context(), dir)
	if !errors.Is(err, ErrFolder) {
		t.Fatalf("error %v, want %v", err, ErrFolder)
	}
	oneLine(t, err, "cannot be used")
}

func TestRoot(t *testing.T) {
	t.Parallel()
	if os.Geteuid() != 0 {
		t.Log("not root: the server runs as the program's own user, which the other tests show")
		return
	}
	t.Run("runs as another user", func(t *testing.T) {
		t.Parallel()
		dir := serverFolder(t)
		nobody, err := user.Lookup("nobody")
		if err != nil {
			t.Fatal(err)
		}
		asNobody := func(c *config) { c.user = "nobody" }
		s := start(t, dir, Durable(false), asNobody)
		if got := owner(t, "/proc/"+strconv.Itoa(s.childPID())); got != nobody.Uid {
			t.Errorf("the server runs as user %s, want %s", got, nobody.Uid)
		}
		if err := s.Stop(); err != nil {
			t.Fatal(err)
		}
		// The folder keeps its user when a postgres user appears later.
		again := start(t, dir, Durable(false))
		if got := owner(t, "/proc/"+strconv.Itoa(again.childPID())); got != nobody.Uid {
			t.Errorf("the second start runs as user %s, want the folder's owner %s", got, nobody.Uid)
		}
	})
	t.Run("closed parent", func(t *testing.T) {
		t.Parallel()
		dir := serverFolder(t)
		closed := filepath.Dir(filepath.Dir(dir))
		if err := os.Chmod(closed, 0o700); err != nil {
			t.Fatal(err)
		}
		_, err := Start(t.Context(), dir)
		if !errors.Is(err, ErrNotTraversable) {
			t.Fatalf("error %v, want %v", err, ErrNotTraversable)
		}
		oneLine(t, err, "may not enter "+closed+" ")
	})
	t.Run("no such user", func(t *testing.T) {
		t.Parallel()
		_, err := Start(t.Context(), serverFolder(t), func(c *config) { c.user = "no-such-user" })
		if !errors.Is(err, ErrNoUser) {
			t.Fatalf("error %v, want %v", err, ErrNoUser)
		}
		oneLine(t, err, "no user no-such-user")
	})
}

func owner(t *testing.T, path string) string {
	t.Helper()
	info, err := os.Stat(path)
	if err != nil {
		t.Fatal(err)
	}
	return strconv.Itoa(int(info.Sys().(*syscall.Stat_t).Uid))
}
