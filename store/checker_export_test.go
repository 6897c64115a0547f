package store

import (
	"context"

	"ledgerwheel/domain/backup"
)

// IsDue is whether the night's check is to be made.
func (c *Checker) IsDue(ctx context.Context, at backup.Clock) (bool, error) { return c.due(ctx, at) }

// DocketSealSQL finds the seal that a docket's papers bear.
const DocketSealSQL = docketSealSQL
