//go:build linux || darwin || freebsd || netbsd || openbsd

package pgserver

import (
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

func TestReachRunningAndStopped(t *testing.T) {
	t.Parallel()
	for _, name := range []string{"shop", strings.Repeat("long-", 20)} {
		dir := filepath.Join(filepath.Dir(serverFolder(t)), name, "postgres")
		if _, err := Reach(t.Context(), dir); !errors.Is(err, ErrNoCluster) {
			t.Fatalf("without a shop: %v", err)
		}
		if _, err := os.Stat(filepath.Dir(dir)); !os.IsNotExist(err) {
			t.Errorf("Reach made %s (%v)", filepath.Dir(dir), err)
		}
		owner := start(t, dir)
		exec1(t, owner, "CREATE TABLE kept AS SELECT generate_series(1, 5)")
		beside, err := Reach(t.Context(), dir)
		if err != nil {
			t.Fatal(err)
		}
		if n := rows(t, beside); n != 5 || !beside.Attached() {
			t.Errorf("%d rows, attached %t", n, beside.Attached())
		}
		out, err := beside.Command("pg_dump", "--schema-only", "-d", beside.URL("ledgerwheel")).Output()
		if err != nil || !strings.Contains(string(out), "CREATE TABLE public.kept") {
			var exit *exec.ExitError
			errors.As(err, &exit)
			t.Errorf("pg_dump: %v %v %.200s", err, exit, out)
		}
		if err := beside.Stop(); err != nil {
			t.Fatal(err)
		}
		if n := rows(t, owner); n != 5 { // it runs on
			t.Errorf("%d rows", n)
		}
		if err := owner.Stop(); err != nil {
			t.Fatal(err)
		}
		alone, err := Reach(t.Context(), dir)
		if err != nil {
			t.Fatal(err)
		}
		if n := rows(t, alone); n != 5 || alone.Attached() {
			t.Errorf("%d rows, attached %t", n, alone.Attached())
		}
		if err := alone.Stop(); err != nil {
			t.Fatal(err)
		}
	}
}
