package store

import (
	"context"
	"fmt"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain"
)

// mayKeep holds a list of the shop's against other writers to the end of the transaction, and says what stands against
// writing the line of that id (0 to add one) under a name of its own: a *domain.InvalidError with taken beside the form
// field where another line that is still offered has the name, domain.ErrNotFound, or domain.ErrChanged where the line is
// no longer of the version that the form was made of. same is SQL that compares a line's name with $1.
func mayKeep(ctx context.Context, tx pgx.Tx, table, same, name string, id, version int64, field, taken string) error {
	if _, err := tx.Exec(ctx, `LOCK TABLE `+table+` IN SHARE ROW EXCLUSIVE MODE`); err != nil {
		return err
	}
	var another bool
	var stands int64
	err := tx.QueryRow(ctx, fmt.Sprintf(`SELECT EXISTS (SELECT FROM %[1]s WHERE %[2]s AND ended_at IS NULL AND id <> $2),
		coalesce((SELECT version FROM %[1]s WHERE id = $2), 0)`, table, same), name, id).Scan(&another, &stands)
	switch {
	case err != nil:
		return err
	case another:
		return domain.Invalid(map[string]string{field: taken})
	case id != 0 && stands == 0:
		return domain.ErrNotFound
	case id != 0 && stands != version:
		return domain.ErrChanged
	}
	return nil
}
