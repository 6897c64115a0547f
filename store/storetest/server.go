package storetest

import (
	"context"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"ledgerwheel/store/pgserver"
)

// private is the server this process started, if it did.
var private struct {
	once   sync.Once
	server *pgserver.Server
	parent string         // its temporary folder
	leash  io.WriteCloser // held open while the process lives
	err    error
}

// serverURL is the address of the server's own database, "postgres".
func serverURL(t testing.TB) string {
	t.Helper()
	if address := os.Getenv(Env); address != "" {
		return address
	}
	private.once.Do(func() { private.err = startServer() })
	if private.err != nil {
		t.Fatalf("test database: %v", private.err)
	}
	return private.server.URL("postgres")
}

func startServer() error {
	if err := pgserver.Supported(); err != nil {
		return fmt.Errorf("%w (for tests, in %s)", err, Env)
	}
	parent, err := os.MkdirTemp(pgserver.ScratchParent(), "lw-test-")
	if err != nil {
		return err
	}
	// The server may run as another user, who has to pass through.
	if err := os.Chmod(parent, 0o711); err != nil {
		return err
	}
	private.parent = parent
	if err := putOnLeash(parent); err != nil {
		return err
	}
	ctx, cancel := context.WithTimeout(context.Background(), time.Minute)
	defer cancel()
	private.server, err = pgserver.Start(ctx, filepath.Join(parent, "postgres"),
		pgserver.Durable(false), pgserver.MaxConnections(300))
	return err
}

// putOnLeash has the temporary folder removed when this process ends, however it ends: a small shell waits for the end
// of its input, which only we hold open, and then for the server, which the kernel stops with us.
func putOnLeash(parent string) error {
	const script = `cat; n=0
while [ -e "$1/postgres/data/postmaster.pid" ] && [ $n -lt 30 ]; do sleep 0.5; n=$((n+1)); done
rm -rf "$1"`
	cmd := exec.Command("sh", "-c", script, "sh", parent)
	cmd.Dir = os.TempDir()
	leash, err := cmd.StdinPipe()
	if err != nil {
		return err
	}
	if err := cmd.Start(); err != nil {
		return fmt.Errorf("clearing up after the test server: %w", err)
	}
	private.leash = leash
	return nil
}

// stopServer stops the private server, if there is one, and lets the folder go.
func stopServer() error {
	if private.server == nil {
		return nil
	}
	err := private.server.Stop()
	private.leash.Close()
	return err
}
