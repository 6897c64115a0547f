//go:build linux || darwin || freebsd || netbsd || openbsd

package pgserver

import (
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
	"syscall"
)

// lockFolder takes the lock beside dir without waiting. The system releases it when the program ends, however it
// ends; the file stays, because removing it would let two copies lock two different files.
func lockFolder(dir string) (*os.File, error) {
	f, err := os.OpenFile(dir+".lock", os.O_RDWR|os.O_CREATE, 0o600)
	if err != nil {
		return nil, folderError(dir, err)
	}
	err = syscall.Flock(int(f.Fd()), syscall.LOCK_EX|syscall.LOCK_NB)
	if err != nil {
		defer f.Close()
		if errors.Is(err, syscall.EWOULDBLOCK) {
			return nil, fail(ErrInUse, err, "the data folder %s is in use by another copy of the program%s: stop that one, "+
				"or choose another folder",
				dir, holder(f))
		}
		return nil, folderError(dir, err)
	}
	// The process number helps the person who meets the lock; the lock holds without it.
	if f.Truncate(0) == nil {
		fmt.Fprintln(f, os.Getpid())
	}
	return f, nil
}

func holder(f *os.File) string {
	text, err := io.ReadAll(io.LimitReader(f, 32))
	if pid := strings.TrimSpace(string(text)); err == nil && pid != "" {
		return " (process " + pid + ")"
	}
	return ""
}
