package storetest

import (
	"context"
	"sync/atomic"

	"github.com/jackc/pgx/v5"
)

// Counter counts the round trips to the database made on behalf of one context, such as that of one page.
type Counter struct {
	trips, prepares atomic.Int64
}

// Trips is the number of round trips so far: each query, begin, commit, rollback, batch and copy is one.
func (c *Counter) Trips() int { return int(c.trips.Load()) }

// Prepares is the number of statements prepared so far. They are counted apart, since a connection prepares a
// statement once and then reuses it for its whole life.
func (c *Counter) Prepares() int { return int(c.prepares.Load()) }

type counterKey struct{}

// CountRoundTrips returns a context whose round trips are counted, by stores opened with [RoundTrips] as their tracer.
func CountRoundTrips(ctx context.Context) (context.Context, *Counter) {
	c := &Counter{}
	return context.WithValue(ctx, counterKey{}, c), c
}

// RoundTrips is a tracer that tells the [Counter] of the context, if there is one, of every round trip. It does not see
// the pool's own checks of idle connections.
type RoundTrips struct{}

func count(ctx context.Context) context.Context {
	if c, ok := ctx.Value(counterKey{}).(*Counter); ok {
		c.trips.Add(1)
	}
	return ctx
}

// TraceQueryStart counts a query, or a command such as begin and commit.
func (RoundTrips) TraceQueryStart(ctx context.Context, _ *pgx.Conn, _ pgx.TraceQueryStartData) context.Context {
	return count(ctx)
}

// TraceQueryEnd does nothing.
func (RoundTrips) TraceQueryEnd(context.Context, *pgx.Conn, pgx.TraceQueryEndData) {}

// TraceBatchStart counts a batch, however many queries it holds, as one.
func (RoundTrips) TraceBatchStart(ctx context.Context, _ *pgx.Conn, _ pgx.TraceBatchStartData) context.Context {
	return count(ctx)
}

// TraceBatchQuery does nothing.
func (RoundTrips) TraceBatchQuery(context.Context, *pgx.Conn, pgx.TraceBatchQueryData) {}

// TraceBatchEnd does nothing.
func (RoundTrips) TraceBatchEnd(context.Context, *pgx.Conn, pgx.TraceBatchEndData) {}

// TraceCopyFromStart counts a copy as one.
func (RoundTrips) TraceCopyFromStart(ctx context.Context, _ *pgx.Conn, _ pgx.TraceCopyFromStartData) context.Context {
	return count(ctx)
}

// TraceCopyFromEnd does nothing.
func (RoundTrips) TraceCopyFromEnd(context.Context, *pgx.Conn, pgx.TraceCopyFromEndData) {}

// TracePrepareStart counts a statement that is prepared before its first use on a connection.
func (RoundTrips) TracePrepareStart(ctx context.Context, _ *pgx.Conn, _ pgx.TracePrepareStartData) context.Context {
	if c, ok := ctx.Value(counterKey{}).(*Counter); ok {
		c.prepares.Add(1)
	}
	return ctx
}

// TracePrepareEnd does nothing.
func (RoundTrips) TracePrepareEnd(context.Context, *pgx.Conn, pgx.TracePrepareEndData) {}
