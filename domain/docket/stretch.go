package docket

import "fmt"

// VerifyStretch checks consecutive entries from anywhere in one docket's journal, oldest first: each one's
// contents against its hash, and its tie to the entry before it. What precedes the first is taken on trust,
// unless it is the journal's first. It returns a [*BrokenError] naming the first entry that fails; a whole
// journal is checked by [VerifyChain].
func VerifyStretch(entries []Entry) error {
	for i, e := range entries {
		broken := func(what string) error { return &BrokenError{e.DocketID, e.Seq, what} }
		switch {
		case i > 0 && e.DocketID != entries[0].DocketID:
			return broken("it belongs to another docket")
		case i > 0 && e.Seq != entries[i-1].Seq+1:
			return broken(fmt.Sprintf("it follows entry %d", entries[i-1].Seq))
		case i > 0 && e.PrevHash != entries[i-1].Hash:
			return broken("it does not follow the entry before it")
		case e.Seq == 1 && e.PrevHash != Hash{}:
			return broken("something stood before the first entry")
		case e.Hash != Chain(e.PrevHash, e):
			return broken("its contents don't match its hash")
		}
	}
	return nil
}

// VerifyEnd checks that a stretch of entries, oldest first, ends at the head that the docket keeps. It returns
// a [*BrokenError]. The stretch itself is checked by [VerifyStretch].
func VerifyEnd(docketID int64, entries []Entry, want Head) error {
	var got Head
	if len(entries) > 0 {
		got = entries[len(entries)-1].Head()
	}
	switch {
	case got.Seq < want.Seq:
		return &BrokenError{docketID, got.Seq + 1, "it and what follows it are missing"}
	case got.Seq > want.Seq:
		return &BrokenError{docketID, want.Seq + 1, "the docket knows of no such entry"}
	case got.Hash != want.Hash:
		return &BrokenError{docketID, got.Seq, "the docket keeps another hash for it"}
	}
	return nil
}
