package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
)

// postgres is a private server that the program under test runs for its tests.
type postgres struct {
	url   string
	cmd   *exec.Cmd
	leash io.WriteCloser // the server ends when this is closed, so also when we die
}

// startPostgres builds the program and has it run a scratch server, which installs PostgreSQL where that is missing
// and possible.
func (r *run) startPostgres(ctx context.Context) (*postgres, error) {
	if url := os.Getenv(testDatabase); url != "" {
		fmt.Printf("%s is set: tests use that server\n", testDatabase)
		return &postgres{url: url}, nil
	}
	binary := filepath.Join(r.scratch, "ledgerwheel.exe") // the ending matters on Windows alone
	if _, err := r.output(ctx, "go", "build", "-o", binary, "./cmd/ledgerwheel"); err != nil {
		return nil, err
	}
	// Not bound to ctx: the tests end first.
	p := &postgres{cmd: exec.Command(binary, "postgres", "--scratch", "--stop-at-eof")}
	p.cmd.Stderr = os.Stderr
	stdout, err := p.cmd.StdoutPipe()
	if err != nil {
		return nil, err
	}
	if p.leash, err = p.cmd.StdinPipe(); err != nil {
		return nil, err
	}
	if err := p.cmd.Start(); err != nil {
		return nil, err
	}
	line, err := bufio.NewReader(stdout).ReadString('\n')
	if err != nil {
		return nil, errors.Join(errors.New("the private PostgreSQL did not start; its message stands above"), p.stop())
	}
	p.url = strings.TrimSpace(line)
	return p, nil
}

func (p *postgres) stop() error {
	if p.cmd == nil {
		return nil
	}
	p.leash.Close()
	if err := p.cmd.Wait(); err != nil {
		return fmt.Errorf("the private PostgreSQL: %w", err)
	}
	return nil
}
