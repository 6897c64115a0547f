package store

import (
	"context"

	"github.com/jackc/pgx/v5"
)

// Proved returns every table that is evidence, with its trigger's arguments as the catalogue writes them, and every
// table that is exempt, with none.
func Proved() map[string]string {
	out := map[string]string{}
	for _, r := range evidence {
		out[r.name] = r.key + `\000` + r.without + `\000`
	}
	for name := range exempt {
		out[name] = ""
	}
	return out
}

// InTx runs do in a transaction as the store does.
func (s *Store) InTx(ctx context.Context, do func(pgx.Tx) error) error { return s.inTx(ctx, do) }
