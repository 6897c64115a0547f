//go:build linux || darwin || freebsd || netbsd || openbsd

package backup

import "syscall"

// syncAll has everything that was written go to the disk: one call for thousands of files.
func syncAll() { syscall.Sync() }
