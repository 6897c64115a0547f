package docket

import "slices"

// AllMoves returns the whole table, in its order.
func AllMoves() []Move { return slices.Clone(moves) }
