package backup

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"net/url"
	"os"
	"os/exec"
	"regexp"
	"strconv"
	"strings"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/store/pgserver"
)

// Database is a database and PostgreSQL's own programs for it.
type Database struct {
	URL     string // for pgx
	command func(program string, args ...string) (*exec.Cmd, error)
	address string // for PostgreSQL's programs: without the password
}

// database is the name of the shop's in its private server.
const database = "ledgerwheel"

// Private is the shop's database in a private server.
func Private(s *pgserver.Server) Database {
	address := s.URL(database)
	return Database{URL: address, address: address, command: func(program string, args ...string) (*exec.Cmd, error) {
		return s.Command(program, args...), nil
	}}
}

// External is a database that somebody else runs, at an address of either kind that libpq takes. The programs are this
// machine's newest; they get the password by their environment, where other users of the machine don't see it.
func External(address string) (Database, error) {
	cfg, err := pgx.ParseConfig(address)
	if err != nil {
		return Database{}, fmt.Errorf("database address: %w", err)
	}
	d := Database{URL: address, address: forPrograms(address, cfg)}
	d.command = func(program string, args ...string) (*exec.Cmd, error) {
		path, err := ProgramPath(program)
		if err != nil {
			return nil, err
		}
		cmd := exec.Command(path, args...)
		cmd.Env = append(os.Environ(), "LC_ALL=C")
		if cfg.Password != "" {
			cmd.Env = append(cmd.Env, "PGPASSWORD="+cfg.Password)
		}
		return cmd, nil
	}
	return d, nil
}

// ProgramPath is the path of one of PostgreSQL's programs, of the server's installation or the client's.
func ProgramPath(program string) (string, error) {
	if b, err := pgserver.Find(""); err == nil {
		if _, err := os.Stat(b.Program(program)); err == nil {
			return b.Program(program), nil
		}
	}
	path, err := exec.LookPath(program)
	if err != nil {
		return "", fmt.Errorf("PostgreSQL's program %s is not on this machine: install it (on Debian and Ubuntu: apt-get install postgresql-client)",
			program)
	}
	return path, nil
}

var passwordSetting = regexp.MustCompile(`\bpassword\s*=\s*('(?:[^'\\]|\\.)*'|\S+)`)

// ours are the settings of an address that pgx alone knows.
var ours = regexp.MustCompile(`^(pool_|default_query_exec_mode$|statement_cache_capacity$|description_cache_capacity$)`)

// forPrograms is the address without the password and without what only pgx knows.
func forPrograms(address string, cfg *pgx.ConnConfig) string {
	u, err := url.Parse(address)
	if err != nil || u.Scheme != "postgres" && u.Scheme != "postgresql" {
		text := passwordSetting.ReplaceAllString(address, "")
		return regexp.MustCompile(`\b(pool_\w+|default_query_exec_mode|statement_cache_capacity|description_cache_capacity)\s*=\s*\S+`).
			ReplaceAllString(text, "")
	}
	if u.User != nil {
		u.User = url.User(u.User.Username())
	}
	q := u.Query()
	for name := range q {
		if ours.MatchString(name) || name == "password" {
			q.Del(name)
		}
	}
	u.RawQuery = strings.ReplaceAll(q.Encode(), "+", "%20")
	return u.String()
}

// run runs one of the programs and says what it complained of.
func (d Database) run(ctx context.Context, stdin io.Reader, stdout io.Writer, program string, args ...string) error {
	cmd, err := d.command(program, append(args, "-w", "-d", d.address)...)
	if err != nil {
		return err
	}
	complaint := &tail{}
	cmd.Stdin, cmd.Stdout, cmd.Stderr = stdin, stdout, complaint
	if err := cmd.Start(); err != nil {
		if errors.Is(err, os.ErrNotExist) {
			return fmt.Errorf("PostgreSQL's program %s is not on this machine (%s): install it", program, cmd.Path)
		}
		return fmt.Errorf("%s: %w", program, err)
	}
	// An error means that it has ended already.
	defer context.AfterFunc(ctx, func() { _ = cmd.Process.Kill() })()
	err = cmd.Wait()
	if ctx.Err() != nil {
		return ctx.Err()
	}
	if err != nil {
		return fmt.Errorf("%s failed (%w): %s", program, err, complaint.line())
	}
	return nil
}

// dump writes the database as a snapshot shows it. Who is signed in is left out: a stolen backup lets nobody in.
func (d Database) dump(ctx context.Context, snapshot string, to *os.File) error {
	return d.run(ctx, nil, to, "pg_dump", "-Fc", "-Z0", "--no-owner", "--no-privileges", "--snapshot="+snapshot,
		"--exclude-table-data=public.sessions", "--exclude-table-data=public.staff_session")
}

// restore fills the database, which must be empty, wholly or not at all.
func (d Database) restore(ctx context.Context, from *os.File) error {
	return d.run(ctx, from, io.Discard, "pg_restore", "--no-owner", "--no-privileges", "--single-transaction", "--exit-on-error")
}

// tail keeps the end of what is written to it.
type tail struct{ bytes []byte }

func (t *tail) Write(b []byte) (int, error) {
	t.bytes = append(t.bytes, b...)
	t.bytes = t.bytes[max(0, len(t.bytes)-4096):]
	return len(b), nil
}

// line is the first complaint of the last ones, since what follows explains it.
func (t *tail) line() string {
	for line := range bytes.Lines(t.bytes) {
		if text := strings.TrimSpace(string(line)); strings.Contains(text, "error:") || strings.Contains(text, "ERROR:") {
			return text
		}
	}
	if text := strings.Join(strings.Fields(string(t.bytes)), " "); text != "" {
		return text
	}
	return strconv.Quote("")
}
