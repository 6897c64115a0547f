// Ledgerwheel keeps the service record of a mechanical-watch repair shop. This command holds the whole program; each
// of its subcommands has a file of its own.
package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"os"
	"os/signal"
	"syscall"
	_ "time/tzdata" // the shop's time zone is known on machines without the database too

	"github.com/alecthomas/kong"

	"ledgerwheel/store/backup"
)

type commands struct {
	LogLevel slog.Level `help:"Least level to log: debug, info, warn or error." default:"info" env:"LEDGERWHEEL_LOG" placeholder:"LEVEL"`

	Demo        demoCmd        `cmd:"" help:"Run the demo shop, Tern Quay Watch Works, with data to try everything on."`
	Serve       serveCmd       `cmd:"" help:"Run the shop. The first visit creates the owner."`
	Certificate certificateCmd `cmd:"" help:"Say where the local authority's certificate is and how devices are told to trust it."`
	Postgres    postgresCmd    `cmd:"" help:"Run the private PostgreSQL alone and print its address, for psql or pg_dump."`
	Backup      backupCmd      `cmd:"" help:"Back the shop up, prove a backup, restore one."`
	Card        cardCmd        `cmd:"" help:"Check a warranty card by its code alone."`
	Owner       ownerCmd       `cmd:"" help:"Let an owner in again who lost the password."`
	Record      recordCmd      `cmd:"" help:"Check and seal the record."`
	Trial       trialCmd       `cmd:"" help:"Judge the fifteen rates of a chronometer trial by ISO 3159."`
	Advise      adviseCmd      `cmd:"" help:"Say what the readings of a watch call for, and what not to touch."`
	Listen      listenCmd      `cmd:"" help:"Find the rate, amplitude and beat error of a watch from recordings of its sound."`
	Train       trainCmd       `cmd:"" help:"Work out the beat, the arbors and the hands of a wheel train from its counts."`
	Seed        seedCmd        `cmd:"" help:"Fill an empty shop with invented dockets in bulk, to try the program at the size of yours."`
	Health      healthCmd      `cmd:"" help:"Ask a running Ledgerwheel whether it is well."`
	Licences    licencesCmd    `cmd:"" help:"Print what the program is made of, and under which licences."`
	Version     versionCmd     `cmd:"" help:"Print the version."`
}

// env is what every subcommand is given.
type env struct {
	ctx    context.Context // ends at SIGINT and SIGTERM
	stdin  io.Reader
	stdout io.Writer
	stderr io.Writer
	log    *slog.Logger
}

func main() { os.Exit(run(os.Args[1:], os.Stdin, os.Stdout, os.Stderr)) }

// run is main for tests: it returns the exit code, 0 if all went well, 1 if not, 2 for a wrong command line, a file
// that can't be read as what it should be or counts that no watch has, and 3 for a recording without a watch.
func run(args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	var c commands
	parser, err := newParser(&c, stdout, stderr)
	if err != nil {
		fmt.Fprintln(stderr, "ledgerwheel:", err)
		return 2
	}
	cmd, err := parser.Parse(args)
	if err != nil {
		fmt.Fprintf(stderr, "ledgerwheel: %v (ledgerwheel --help lists the commands)\n", err)
		return 2
	}
	// A second signal ends the program at once.
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	context.AfterFunc(ctx, stop)
	ctx = endWithGoRun(ctx)
	e := &env{ctx: ctx, stdin: stdin, stdout: stdout, stderr: stderr,
		log: slog.New(slog.NewTextHandler(stderr, &slog.HandlerOptions{Level: c.LogLevel}))}
	if err := cmd.Run(e); err != nil {
		if errors.Is(err, context.Canceled) && ctx.Err() != nil {
			return 0 // stopped by signal while starting
		}
		fmt.Fprintln(stderr, "ledgerwheel:", err)
		return exitCode(err)
	}
	return 0
}

// newParser reads command lines into c.
func newParser(c *commands, stdout, stderr io.Writer) (*kong.Kong, error) {
	return kong.New(c, kong.Name("ledgerwheel"), kong.Writers(stdout, stderr),
		kong.Description("The service record of a mechanical-watch repair shop, and the watchmaker's arithmetic."))
}

// exitCode is that of an error that a subcommand ended with; where several came together, of the worst.
func exitCode(err error) int {
	var unable couldNot
	switch {
	case errors.Is(err, errUnusableFile), errors.Is(err, backup.ErrNotBackup), errors.Is(err, backup.ErrDamaged),
		errors.Is(err, backup.ErrNewer), errors.Is(err, backup.ErrLocked), errors.As(err, &unable):
		return 2
	case errors.Is(err, errNothingHeard):
		return 3
	}
	return 1
}
