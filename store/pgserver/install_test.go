package pgserver

import (
	"bytes"
	"context"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// os-release texts as os-release(5) describes them; the derived system is invented.
const (
	debianRelease  = "PRETTY_NAME=\"Debian GNU/Linux 12 (bookworm)\"\nNAME=\"Debian GNU/Linux\"\nID=debian\n"
	ubuntuRelease  = "NAME=\"Ubuntu\"\nID=ubuntu\nID_LIKE=debian\n"
	derivedRelease = "NAME=\"Harbour Linux\"\nID=harbour\nID_LIKE=\"ubuntu debian\"\n"
	fedoraRelease  = "NAME=\"Fedora Linux\"\nID=fedora\nVARIANT=\"not debian\"\n"
)

func TestEnsure(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		name      string
		release   string
		ordinary  bool // not started as root
		forbidden bool
		updateErr error
		aptErr    error
		kind      error
		says      string
		runs      int // commands expected
	}{
		{name: "Debian", release: debianRelease, runs: 2},
		{name: "Ubuntu", release: ubuntuRelease, runs: 2},
		{name: "derived from Debian", release: derivedRelease, runs: 2},
		{name: "package list out of reach", release: debianRelease, updateErr: errors.New("exit status 100"), runs: 2},
		{name: "package out of reach", release: debianRelease, aptErr: errors.New("exit status 100"), kind: ErrInstall,
			says: "exit status 100", runs: 2},
		{name: "forbidden", release: debianRelease, forbidden: true, kind: ErrNoBinaries, says: "Fedora"},
		{name: "not root", release: debianRelease, ordinary: true, kind: ErrNoBinaries, says: "apt-get install postgresql"},
		{name: "Fedora", release: fedoraRelease, kind: ErrNoBinaries, says: "dnf install"},
		{name: "unknown system", kind: ErrNoBinaries, says: "winget install"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			var ran []string
			installed := false
			etc := t.TempDir()
			conf := filepath.Join(etc, clusterConf)
			i := &Installer{Root: !tt.ordinary, Etc: etc, Out: &bytes.Buffer{},
				OSRelease: func() ([]byte, error) {
					if tt.release == "" {
						return nil, os.ErrNotExist
					}
					return []byte(tt.release), nil
				},
				Run: func(_ context.Context, name string, args ...string) error {
					line := strings.Join(append([]string{name}, args...), " ")
					ran = append(ran, line)
					if strings.HasSuffix(line, " update") {
						return tt.updateErr
					}
					if text, err := os.ReadFile(conf); err != nil || !strings.Contains(string(text), "create_main_cluster = false") {
						t.Errorf("while apt runs, %s holds %q (%v), want word that no cluster is made", clusterConf, text, err)
					}
					installed = tt.aptErr == nil
					return tt.aptErr
				}}
			find := func() (Binaries, error) {
				if !installed {
					return Binaries{}, fail(ErrNoBinaries, nil, "no PostgreSQL server programs found")
				}
				return Binaries{Dir: "/usr/lib/postgresql/17/bin", Major: 17}, nil
			}
			b, err := i.ensure(t.Context(), !tt.forbidden, find)
			if !errors.Is(err, tt.kind) {
				t.Fatalf("error %v, want kind %v", err, tt.kind)
			}
			if err != nil && !strings.Contains(err.Error(), tt.says) {
				t.Errorf("error %q does not say %q", err, tt.says)
			}
			if err == nil && b.Major != 17 {
				t.Errorf("found %+v, want the installed release", b)
			}
			if len(ran) != tt.runs {
				t.Errorf("ran %q, want %d commands", ran, tt.runs)
			}
			if tt.runs > 0 && !strings.Contains(ran[len(ran)-1], "apt-get -q -o DPkg::Lock::Timeout=120 install -y "+
				"--no-install-recommends postgresql") {
				t.Errorf("ran %q, want the package postgresql installed", ran)
			}
			if _, err := os.Stat(conf); !os.IsNotExist(err) {
				t.Errorf("%s is left behind (%v)", clusterConf, err)
			}
		})
	}
}

func TestEnsureLeavesAnInstalledPostgresAlone(t *testing.T) {
	t.Parallel()
	i := &Installer{Root: true, OSRelease: func() ([]byte, error) { return []byte(debianRelease), nil },
		Run: func(context.Context, string, ...string) error { t.Error("ran a command"); return nil }}
	for _, kind := range []error{nil, ErrVersion, ErrBadPGBIN} {
		_, err := i.ensure(t.Context(), true, func() (Binaries, error) { return Binaries{}, kind })
		if !errors.Is(err, kind) {
			t.Errorf("error %v, want %v", err, kind)
		}
	}
}
