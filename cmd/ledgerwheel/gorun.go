package main

import (
	"context"
	"os"
	"strings"
	"time"
)

// endWithGoRun returns a context that also ends when `go run` dies, if that is what started the program. The go
// command passes no SIGTERM on; without this the program would run on, unseen, with its PostgreSQL and its port.
func endWithGoRun(ctx context.Context) context.Context {
	exe, err := os.Executable()
	if err != nil || !strings.Contains(exe, "go-build") {
		return ctx
	}
	ctx, cancel := context.WithCancel(ctx)
	parent := os.Getppid()
	go func() {
		defer cancel()
		for tick := time.NewTicker(300 * time.Millisecond); ; {
			select {
			case <-ctx.Done():
				return
			case <-tick.C:
				if os.Getppid() != parent {
					return
				}
			}
		}
	}()
	return ctx
}
