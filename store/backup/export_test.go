package backup

import "os/exec"

// BeforeDump has do happen between the reading of what the record names and the dump.
func (d Database) BeforeDump(do func()) Database {
	command := d.command
	d.command = func(program string, args ...string) (*exec.Cmd, error) {
		if program == "pg_dump" {
			do()
		}
		return command(program, args...)
	}
	return d
}
