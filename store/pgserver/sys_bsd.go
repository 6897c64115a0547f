//go:build darwin || freebsd || netbsd || openbsd

package pgserver

import (
	"os/exec"
	"strconv"
	"strings"
	"syscall"
)

// childAttr keeps Ctrl-C at the terminal from reaching the server. These systems cannot tie a child's life to its
// parent's: the next start ends a server left behind.
func childAttr(attr *syscall.SysProcAttr) { attr.Setpgid = true }

// isPostmaster reports whether process pid is a server of the cluster in data, by its command line.
func isPostmaster(pid int, data string) bool {
	out, err := exec.Command("ps", "-o", "command=", "-p", strconv.Itoa(pid)).Output()
	return err == nil && strings.Contains(string(out), "postgres") && strings.Contains(string(out), data)
}

// changedNs is zero: these systems name the field differently, and their file systems keep the numbers of files.
func changedNs(*syscall.Stat_t) int64 { return 0 }
