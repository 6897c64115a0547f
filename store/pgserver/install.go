package pgserver

import (
	"bufio"
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
)

// Advice says, one line for each platform, which package brings PostgreSQL.
const Advice = `  Debian, Ubuntu:  apt-get install postgresql
  Fedora:          dnf install postgresql-server
  macOS:           brew install postgresql@17
  Windows:         winget install PostgreSQL.PostgreSQL.17, then give its address with --database
`

// clusterConf keeps Debian's package from making and starting a cluster that nobody asked for. It is read by
// pg_createcluster(8) when the package is configured, and removed again afterwards.
const clusterConf = "/etc/postgresql-common/createcluster.d/90-ledgerwheel.conf"

// Installer installs the distribution's PostgreSQL. The zero value does nothing; see [NewInstaller].
type Installer struct {
	Root      bool                                                         // started as root
	OSRelease func() ([]byte, error)                                       // the text of os-release(5)
	Run       func(ctx context.Context, name string, args ...string) error // runs a command
	Etc       string                                                       // put before /etc in tests
	Out       io.Writer                                                    // what it is doing
}

// NewInstaller returns the installer for this machine; it tells out what it does.
func NewInstaller(out io.Writer) *Installer {
	return &Installer{
		Root: os.Geteuid() == 0,
		OSRelease: func() ([]byte, error) {
			text, err := os.ReadFile("/etc/os-release")
			if errors.Is(err, os.ErrNotExist) {
				return os.ReadFile("/usr/lib/os-release")
			}
			return text, err
		},
		Run: func(ctx context.Context, name string, args ...string) error {
			cmd := exec.CommandContext(ctx, name, args...)
			cmd.Stdout, cmd.Stderr = out, out
			return cmd.Run()
		},
		Out: out,
	}
}

// Ensure returns the server programs for the folder dir, installing them if none are found, this is Debian or Ubuntu,
// the program was started as root and allowed is true. The error is that of [Find] with the advice added, or wraps
// ErrInstall.
func (i *Installer) Ensure(ctx context.Context, dir string, allowed bool) (Binaries, error) {
	return i.ensure(ctx, allowed, func() (Binaries, error) { return Find(dir) })
}

func (i *Installer) ensure(ctx context.Context, allowed bool, find func() (Binaries, error)) (Binaries, error) {
	b, err := find()
	if !errors.Is(err, ErrNoBinaries) {
		return b, err
	}
	if !allowed || !i.Root || !i.debian() {
		return b, fail(ErrNoBinaries, err, "%v; install it, or use an existing server with --database:\n%s",
			err, strings.TrimSuffix(Advice, "\n"))
	}
	fmt.Fprintln(i.Out, "No PostgreSQL found: installing the package postgresql by apt (--no-install forbids it).")
	if err := i.install(ctx); err != nil {
		return b, fail(ErrInstall, err, "installing postgresql by apt failed (%v): run apt-get install postgresql by hand",
			err)
	}
	return find()
}

func (i *Installer) install(ctx context.Context) error {
	undo, err := i.forbidCluster()
	if err != nil {
		return err
	}
	defer undo()
	apt := []string{"DEBIAN_FRONTEND=noninteractive", "apt-get", "-q", "-o", "DPkg::Lock::Timeout=120"}
	// A stale package list may still do: let the installation decide.
	if err := i.Run(ctx, "env", append(slices.Clone(apt), "update")...); err != nil {
		fmt.Fprintf(i.Out, "apt-get update failed (%v); trying with the package list at hand.\n", err)
	}
	return i.Run(ctx, "env", append(slices.Clone(apt), "install", "-y", "--no-install-recommends", "postgresql")...)
}

// forbidCluster leaves word that no cluster is wanted; undo takes it back.
func (i *Installer) forbidCluster() (undo func(), err error) {
	file := filepath.Join(i.Etc, clusterConf)
	if err := os.MkdirAll(filepath.Dir(file), 0o755); err != nil {
		return nil, err
	}
	text := "# Written while Ledgerwheel installs PostgreSQL, which it runs in a folder of its " +
		"own.\ncreate_main_cluster = false\n"
	if err := os.WriteFile(file, []byte(text), 0o644); err != nil {
		return nil, err
	}
	return func() {
		os.Remove(file)
		os.Remove(filepath.Dir(file)) // unless the machine keeps something else in it
	}, nil
}

// debian reports whether os-release names Debian, Ubuntu or a system derived from them.
func (i *Installer) debian() bool {
	text, err := i.OSRelease()
	if err != nil {
		return false
	}
	for lines := bufio.NewScanner(bytes.NewReader(text)); lines.Scan(); {
		key, value, _ := strings.Cut(lines.Text(), "=")
		if key != "ID" && key != "ID_LIKE" {
			continue
		}
		for name := range strings.FieldsSeq(strings.Trim(value, `"'`)) {
			if name == "debian" || name == "ubuntu" {
				return true
			}
		}
	}
	return false
}
