//go:build linux || darwin || freebsd || netbsd || openbsd

package pgserver

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"os/exec"
	"os/user"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
)

// account is the user the server runs as.
type account struct {
	name     string
	uid, gid uint32
	drop     bool // the program is root and must become this user
}

// serverAccount chooses the user for the server folder dir: the program's own unless it was started as root; else the
// folder's owner, so that data made under one user stays with it; else the named user, postgres or nobody.
func serverAccount(dir, name string) (account, error) {
	if uid := os.Geteuid(); uid != 0 {
		return account{name: userName(uint32(uid)), uid: uint32(uid), gid: uint32(os.Getegid())}, nil
	}
	if info, err := os.Lstat(dir); err == nil {
		if st := info.Sys().(*syscall.Stat_t); st.Uid != 0 {
			return account{name: userName(st.Uid), uid: st.Uid, gid: st.Gid, drop: true}, nil
		}
	}
	names := []string{"postgres", "nobody"}
	if name != "" {
		names = []string{name}
	}
	for _, n := range names {
		if u, err := user.Lookup(n); err == nil {
			uid, uerr := strconv.ParseUint(u.Uid, 10, 32)
			gid, gerr := strconv.ParseUint(u.Gid, 10, 32)
			if uerr == nil && gerr == nil && uid != 0 {
				return account{name: n, uid: uint32(uid), gid: uint32(gid), drop: true}, nil
			}
		}
	}
	return account{}, fail(ErrNoUser, nil,
		"PostgreSQL refuses to run as root and there is no user %s: start the program as an ordinary user",
		strings.Join(names, " or "))
}

func userName(uid uint32) string {
	id := strconv.FormatUint(uint64(uid), 10)
	if u, err := user.LookupId(id); err == nil {
		return u.Username
	}
	return "user " + id
}

// command prepares a program that runs as the account, in the folder dir, with an environment of its own: the
// person's PGDATA, PGOPTIONS and the like are not for this server.
func (a account) command(dir, program string, args ...string) *exec.Cmd {
	cmd := exec.Command(program, args...)
	cmd.Dir = dir
	cmd.Env = []string{"PATH=" + os.Getenv("PATH"), "LC_ALL=C", "TZ=UTC"}
	cmd.SysProcAttr = &syscall.SysProcAttr{}
	if a.drop {
		cmd.SysProcAttr.Credential = &syscall.Credential{Uid: a.uid, Gid: a.gid, Groups: []uint32{}}
	}
	return cmd
}

// probe makes sure that the account can run the programs and stand in dir.
func (a account) probe(b Binaries, dir string) error {
	err := a.command(dir, b.Program("postgres"), "--version").Run()
	if err == nil {
		return nil
	}
	if errors.Is(err, syscall.EACCES) {
		for _, path := range []string{dir, b.Dir} {
			if closed := a.firstClosed(path); closed != "" {
				return fail(ErrNotTraversable, err,
					"the server runs as %s, which may not enter %s on the way to %s: choose another folder, or chmod a+x %s",
					a.name, closed, path, closed)
			}
		}
	}
	return fail(ErrNotTraversable, err, "the server's user %s cannot run %s in %s: %v", a.name, b.Program("postgres"), dir,
		err)
}

// firstClosed is the topmost folder of path, itself included, that the account may not pass through by its mode bits,
// or "" if there is none.
func (a account) firstClosed(path string) string {
	var walk []string
	for p := path; ; p = filepath.Dir(p) {
		walk = append(walk, p)
		if p == filepath.Dir(p) {
			break
		}
	}
	for i := len(walk) - 1; i >= 0; i-- {
		info, err := os.Stat(walk[i])
		if err != nil {
			return walk[i]
		}
		st := info.Sys().(*syscall.Stat_t)
		var bit fs.FileMode = 0o001
		switch {
		case st.Uid == a.uid:
			bit = 0o100
		case st.Gid == a.gid:
			bit = 0o010
		}
		if info.Mode()&bit == 0 {
			return walk[i]
		}
	}
	return ""
}

// prepareFolder makes dir, owned by the account and closed to everyone else, and any missing parent. When the server
// runs as another user than the program, new parents let it pass but not look.
func (a account) prepareFolder(dir string) error {
	mode := fs.FileMode(0o700)
	if a.drop {
		mode = 0o711
	}
	if err := makeParents(filepath.Dir(dir), mode); err != nil {
		return folderError(dir, err)
	}
	err := os.Mkdir(dir, 0o700)
	if errors.Is(err, fs.ErrExist) {
		info, serr := os.Lstat(dir)
		if serr == nil && !info.IsDir() {
			return fail(ErrFolder, nil, "%s is not a folder: move it away", dir)
		}
		err = serr
	}
	if err != nil {
		return folderError(dir, err)
	}
	if a.drop {
		if err := os.Lchown(dir, int(a.uid), int(a.gid)); err != nil {
			return folderError(dir, err)
		}
	}
	if err := os.Chmod(dir, 0o700); err != nil {
		return folderError(dir, err)
	}
	return nil
}

// makeParents is os.MkdirAll whatever the umask.
func makeParents(dir string, mode fs.FileMode) error {
	if info, err := os.Stat(dir); err == nil {
		if !info.IsDir() {
			return &fs.PathError{Op: "mkdir", Path: dir, Err: syscall.ENOTDIR}
		}
		return nil
	}
	if err := makeParents(filepath.Dir(dir), mode); err != nil {
		return err
	}
	if err := os.Mkdir(dir, mode); err != nil && !errors.Is(err, fs.ErrExist) {
		return err
	}
	return os.Chmod(dir, mode)
}

func folderError(dir string, err error) error {
	reason := err
	var path *fs.PathError
	if errors.As(err, &path) {
		reason = fmt.Errorf("%s: %w", path.Path, path.Err)
	}
	return fail(ErrFolder, err, "the data folder %s cannot be used (%v): choose another, or correct its rights", dir, reason)
}

// MakeFolder makes the folder dir, which will hold a server folder, and its missing parents, so that the server's user
// may pass through them where it is not the program's own. The error wraps [ErrFolder].
func MakeFolder(dir string) error {
	mode := fs.FileMode(0o700)
	if os.Geteuid() == 0 {
		mode = 0o711
	}
	abs, err := filepath.Abs(dir)
	if err == nil {
		err = makeParents(abs, mode)
	}
	if err != nil {
		return folderError(dir, err)
	}
	return nil
}
