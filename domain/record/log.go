package record

import (
	"crypto/sha256"
	"encoding/base64"
	"fmt"

	"golang.org/x/mod/sumdb/tlog"
)

// Leaf is one journal entry as the log has it.
type Leaf struct {
	DocketID int64 // 0 for the shop's own journal
	Seq      int64
	Hash     [sha256.Size]byte // the entry's
}

// Bytes is what is hashed into the log: docket's id, sequence and hash in standard base64, as "17/3 hash".
func (l Leaf) Bytes() []byte {
	return fmt.Appendf(nil, "%d/%d %s", l.DocketID, l.Seq, base64.StdEncoding.EncodeToString(l.Hash[:]))
}

// RecordHash is the leaf's hash in the tree, as in RFC 6962, section 2.1.
func (l Leaf) RecordHash() tlog.Hash { return tlog.RecordHash(l.Bytes()) }

// Tree works out the root of a growing log from its leaves alone; it keeps one hash for each power of two.
type Tree struct {
	size  int64
	whole []tlog.Hash // roots of the complete subtrees, the largest first
}

// Size is how many leaves were added.
func (t *Tree) Size() int64 { return t.size }

// Add adds the next leaf's hash and returns those of the subtrees that became whole with it, the smallest first.
func (t *Tree) Add(h tlog.Hash) (completed []tlog.Hash) {
	for n := t.size; n&1 == 1; n >>= 1 {
		last := len(t.whole) - 1
		h = tlog.NodeHash(t.whole[last], h)
		t.whole, completed = t.whole[:last], append(completed, h)
	}
	t.whole = append(t.whole, h)
	t.size++
	return completed
}

// Root is the Merkle tree hash of the leaves so far (RFC 6962, section 2.1); of none it is the SHA-256 of nothing.
func (t *Tree) Root() tlog.Hash {
	if t.size == 0 {
		return sha256.Sum256(nil)
	}
	h := t.whole[len(t.whole)-1]
	for i := len(t.whole) - 2; i >= 0; i-- {
		h = tlog.NodeHash(t.whole[i], h)
	}
	return h
}
