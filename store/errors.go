package store

import (
	"context"
	"errors"
	"fmt"
	"net"
	"strings"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"

	"ledgerwheel/domain"
)

// Translate turns what the driver reports into the errors of the domain, so that nobody above the store
// knows the driver. Other errors, those of the domain among them, pass through.
func Translate(err error) error {
	var pg *pgconn.PgError
	var dial *pgconn.ConnectError
	var network net.Error
	switch {
	case err == nil:
		return nil
	case errors.Is(err, context.Canceled):
		return err
	case errors.Is(err, pgx.ErrNoRows):
		return domain.ErrNotFound
	case errors.As(err, &dial): // first, since it may wrap the server's own words for letting nobody in
		return fmt.Errorf("%w: %w", domain.ErrUnavailable, err)
	case errors.As(err, &pg):
		return translateServer(err, pg)
	case errors.As(err, &network), pgconn.SafeToRetry(err), closedPool(err):
		return fmt.Errorf("%w: %w", domain.ErrUnavailable, err)
	}
	return err
}

// translateServer sorts the server's own refusals by PostgreSQL's appendix A: 53100 is a full disk; 58P01 a file of its own
// that is gone; 58030 any other fault of input or output, in the system's words; 25006 a server that only reads. Classes
// 08 (connection), 53 (out of resources), 57P (shutting down) and 58 (the system) mean that it can't be reached.
func translateServer(err error, pg *pgconn.PgError) error {
	switch {
	case pg.Code == "53100", strings.HasPrefix(pg.Code, "58") && strings.Contains(pg.Message, "No space left on device"):
		return fmt.Errorf("%w: %w", domain.ErrDiskFull, err)
	case pg.Code == "25006", strings.Contains(pg.Message, "Read-only file system"):
		return fmt.Errorf("%w: %w", domain.ErrReadOnly, err)
	case pg.Code == "58P01":
		return fmt.Errorf("%w: %w", domain.ErrFolderGone, err)
	case strings.HasPrefix(pg.Code, "58"):
		return fmt.Errorf("%w: %w", domain.ErrUnavailable, err)
	case strings.HasPrefix(pg.Code, "08"), strings.HasPrefix(pg.Code, "53"), strings.HasPrefix(pg.Code, "57P"):
		return fmt.Errorf("%w: %w", domain.ErrUnavailable, err)
	case pg.Code == "40001", pg.Code == "40P01": // serialisation failure, deadlock
		return fmt.Errorf("%w: %w", domain.ErrChanged, err)
	}
	return err
}

// closedPool reports a connection that broke under way, which the driver gives no type of its own.
func closedPool(err error) bool {
	text := err.Error()
	return strings.Contains(text, "conn closed") || strings.Contains(text, "closed pool") ||
		strings.Contains(text, "unexpected EOF")
}

// isUnique reports whether err says that the named unique constraint was broken.
func isUnique(err error, constraint string) bool {
	var pg *pgconn.PgError
	return errors.As(err, &pg) && pg.Code == "23505" && pg.ConstraintName == constraint
}
