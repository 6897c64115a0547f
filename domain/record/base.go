package record

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"hash"
)

// BaseSum is the sum over the rows that were brought in when the record check began.
type BaseSum struct{ h hash.Hash }

// NewBaseSum begins a sum.
func NewBaseSum() BaseSum { return BaseSum{sha256.New()} }

// Add adds the lines of one docket, 0 for the shop's own; dockets come in the order of their ids.
func (b BaseSum) Add(docketID int64, lines string) {
	fmt.Fprintf(b.h, "%d %d\n%s", docketID, len(lines), lines)
}

// String is the sum so far as 64 hexadecimal digits.
func (b BaseSum) String() string { return hex.EncodeToString(b.h.Sum(nil)) }
