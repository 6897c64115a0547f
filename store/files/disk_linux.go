package files

import "syscall"

const readOnlyFlag = 1 // ST_RDONLY of statfs(2)

// room is how large the folder's disk is, how much of it the program may still use, and whether it only reads.
func room(dir string) (disk, free int64, readOnly bool) {
	var st syscall.Statfs_t
	if err := syscall.Statfs(dir, &st); err != nil {
		return 0, 0, false
	}
	return int64(st.Blocks) * int64(st.Bsize), int64(st.Bavail) * int64(st.Bsize), st.Flags&readOnlyFlag != 0
}
