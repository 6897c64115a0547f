// Package migrations embeds the numbered SQL files that goose runs, oldest first.
package migrations

import "embed"

// Files holds every migration; names begin with the version number.
//
//go:embed *.sql
var Files embed.FS
