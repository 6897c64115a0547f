package pgserver

import (
	"bytes"
	"os"
	"strconv"
	"syscall"
)

// What scratch servers of a whole run of tests may come to, in bytes, with room for the machine's own work.
const (
	scratchRoom   = 6 << 30
	scratchMemory = 10 << 30
)

// ScratchParent is where a server whose data may be lost keeps them: in memory, where this machine has much of it free, since
// a database of its own for each test makes and removes a thousand small files; otherwise where temporary files go.
func ScratchParent() string {
	const inMemory = "/dev/shm"
	var st syscall.Statfs_t
	if syscall.Statfs(inMemory, &st) != nil || int64(st.Bavail)*int64(st.Bsize) < scratchRoom || memoryFree() < scratchMemory {
		return os.TempDir()
	}
	dir, err := os.MkdirTemp(inMemory, "lw-try-")
	if err != nil {
		return os.TempDir()
	}
	os.Remove(dir)
	return inMemory
}

// memoryFree is how much memory the machine can give without swapping, in bytes; 0 where it does not say. See proc_meminfo(5).
func memoryFree() int64 {
	text, _ := os.ReadFile("/proc/meminfo")
	for line := range bytes.Lines(text) {
		if f := bytes.Fields(line); len(f) == 3 && string(f[0]) == "MemAvailable:" {
			kib, _ := strconv.ParseInt(string(f[1]), 10, 64)
			return kib << 10
		}
	}
	return 0
}
