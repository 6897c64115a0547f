//go:build !linux

package pgserver

import "os"

// ScratchParent is where a server whose data may be lost keeps them.
func ScratchParent() string { return os.TempDir() }
