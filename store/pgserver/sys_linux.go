package pgserver

import (
	"os"
	"strconv"
	"syscall"
)

// childAttr has the kernel stop the server when the program dies, and keeps Ctrl-C at the terminal from reaching the
// server, which is the supervisor's to stop.
func childAttr(attr *syscall.SysProcAttr) {
	attr.Setpgid = true
	attr.Pdeathsig = syscall.SIGINT
}

// isPostmaster reports whether process pid is a server of the cluster in data: a postmaster stands in its data
// folder. Process numbers are used again, so that a living process proves nothing.
func isPostmaster(pid int, data string) bool {
	cwd, err := os.Readlink("/proc/" + strconv.Itoa(pid) + "/cwd")
	return err == nil && cwd == data
}

// changedNs is when anything about the file was last changed, in nanoseconds since 1970.
func changedNs(st *syscall.Stat_t) int64 { return st.Ctim.Nano() }
