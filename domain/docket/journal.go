package docket

import (
	"bytes"
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"strconv"
	"strings"
	"time"
)

// Hash is the SHA-256 of a journal entry and, through it, of all entries before it.
type Hash [sha256.Size]byte

// String is h as 64 lower-case hexadecimal digits.
func (h Hash) String() string { return hex.EncodeToString(h[:]) }

// Short is h's first twelve hexadecimal digits in groups of four, for papers: a printed seal that a
// journal rewritten later no longer matches.
func (h Hash) Short() string {
	s := h.String()
	return s[0:4] + " " + s[4:8] + " " + s[8:12]
}

// AuthorKind says what sort of author wrote a journal entry.
type AuthorKind string

// The kinds of author.
const (
	ByStaff    AuthorKind = "staff"
	ByCustomer AuthorKind = "customer" // through the private link
	BySystem   AuthorKind = "system"
)

// Author is who made a journal entry.
type Author struct {
	Kind    AuthorKind
	StaffID int64  // 0 unless Kind is ByStaff
	Name    string // as it was at the time; for a customer, the name given
}

// String is the author as lists show it.
func (a Author) String() string {
	switch a.Kind {
	case BySystem:
		return "the program"
	case ByCustomer:
		if a.Name == "" {
			return "the customer"
		}
		return a.Name + " (customer)"
	}
	return a.Name
}

// Entry is one thing that happened to a docket. Entries are only ever added.
type Entry struct {
	DocketID int64
	Seq      int64     // 1 for a docket's first entry, then by one
	At       time.Time // UTC, whole microseconds
	By       Author
	Kind     Kind
	Summary  string // one sentence in plain words
	Why      string // the written reason; empty if none was wanted
	// Facts are the details as canonical JSON (see [CanonicalJSON]). They are hashed byte for byte, so
	// they must be kept as text or bytes: a database's binary JSON would reorder them.
	Facts []byte
	// Declares is whether the entry says which rows of evidence its change wrote, as all do but those from before rows
	// were declared; Rows are these, as record.Format writes them.
	Declares bool
	Rows     []byte
	PrevHash Hash // zero for the first entry
	Hash     Hash
}

// ShopJournal is the docket id of entries that belong to no docket: the shop's own journal.
const ShopJournal = 0

// Head is a journal's newest entry: what a docket's row keeps of it. The zero Head is an empty journal.
type Head struct {
	Seq  int64
	Hash Hash
}

// Head returns the head that e makes.
func (e Entry) Head() Head { return Head{e.Seq, e.Hash} }

// Moment is t in UTC, cut to the whole microsecond, as PostgreSQL keeps times. Whatever is hashed or signed
// is cut first, so that it reads back the same.
func Moment(t time.Time) time.Time { return t.UTC().Truncate(time.Microsecond) }

// Append makes the journal's next entry from e, which may have Rows: it sets sequence, time, facts and hashes. Facts may
// be any value that encoding/json can write, nil for none. Text loses what PostgreSQL can't keep, NUL and broken
// UTF-8. It returns an error for an entry without time, author, known kind or summary, and for one of the shop's journal
// that speaks of a docket or the other way round.
func Append(head Head, e Entry, facts any) (Entry, error) {
	raw, err := CanonicalJSON(facts)
	if err != nil {
		return Entry{}, fmt.Errorf("journal entry %q: %w", e.Kind, err)
	}
	e.Seq, e.PrevHash, e.Declares = head.Seq+1, head.Hash, true
	e.At, e.Facts = Moment(e.At), raw
	e.Summary, e.Why, e.By.Name = keepable(e.Summary), keepable(e.Why), keepable(e.By.Name)
	switch {
	case e.DocketID < 0, (e.DocketID == ShopJournal) != e.Kind.OfShop():
		return Entry{}, fmt.Errorf("journal entry %q: docket %d", e.Kind, e.DocketID)
	case e.At.IsZero():
		return Entry{}, errors.New("journal entry: no time")
	case !e.Kind.Known():
		return Entry{}, fmt.Errorf("journal entry: unknown kind %q", e.Kind)
	case e.Summary == "":
		return Entry{}, fmt.Errorf("journal entry %q: no summary", e.Kind)
	case e.By.Kind == ByStaff && (e.By.StaffID <= 0 || e.By.Name == ""),
		e.By.Kind != ByStaff && e.By.Kind != ByCustomer && e.By.Kind != BySystem:
		return Entry{}, fmt.Errorf("journal entry %q: no author", e.Kind)
	}
	e.Hash = Chain(head.Hash, e)
	return e, nil
}

func keepable(s string) string {
	s = strings.ToValidUTF8(s, "\uFFFD")
	return strings.TrimSpace(strings.ReplaceAll(s, "\x00", ""))
}

// A tag starts every hashed entry, so that the hash can't be mistaken for one of another purpose and a later encoding
// can carry another number.
const (
	tagOfOld       = "ledgerwheel/journal/1" // entries that declare no rows
	tagOfDeclaring = "ledgerwheel/journal/2"
)

// timeLayout writes a UTC time with exactly six decimals.
const timeLayout = "2006-01-02T15:04:05.000000Z"

// Chain returns the hash of entry e after an entry with the hash prev: the SHA-256 of these fields,
// each preceded by its length in bytes as a 32-bit big-endian number:
//
//	 1  the text "ledgerwheel/journal/2"
//	 2  prev, 32 bytes, all zero for the first entry
//	 3  docket id, decimal, 0 for the shop's own journal
//	 4  sequence, decimal
//	 5  time, UTC, as 2006-01-02T15:04:05.000000Z
//	 6  author's kind: staff, customer or system
//	 7  author's staff id, decimal, 0 for none
//	 8  author's name
//	 9  kind of event
//	10  summary
//	11  why
//	12  facts, as kept
//	13  the rows written, as record.Format writes them
//
// Entries from before rows were declared have the text "ledgerwheel/journal/1" and no field 13. Text is UTF-8. Lengths make the encoding unambiguous: no two different entries have the same bytes.
// e.PrevHash and e.Hash are not read.
func Chain(prev Hash, e Entry) Hash {
	tag := tagOfOld
	if e.Declares {
		tag = tagOfDeclaring
	}
	fields := [][]byte{
		[]byte(tag),
		prev[:],
		strconv.AppendInt(nil, e.DocketID, 10),
		strconv.AppendInt(nil, e.Seq, 10),
		[]byte(Moment(e.At).Format(timeLayout)),
		[]byte(e.By.Kind),
		strconv.AppendInt(nil, e.By.StaffID, 10),
		[]byte(e.By.Name),
		[]byte(e.Kind),
		[]byte(e.Summary),
		[]byte(e.Why),
		e.Facts,
	}
	if e.Declares {
		fields = append(fields, e.Rows)
	}
	var buf bytes.Buffer
	for _, field := range fields {
		buf.Write(binary.BigEndian.AppendUint32(nil, uint32(len(field))))
		buf.Write(field)
	}
	return sha256.Sum256(buf.Bytes())
}

// BrokenError reports the first entry at which a journal no longer holds together.
type BrokenError struct {
	DocketID, Seq int64
	What          string
}

// Error names the docket, the entry and what is wrong.
func (e *BrokenError) Error() string {
	return fmt.Sprintf("journal of docket %d broken at entry %d: %s", e.DocketID, e.Seq, e.What)
}

// VerifyChain checks one docket's whole journal, in order from its first entry. It returns a [*BrokenError]
// naming the first entry that was changed, moved or left out. Entries cut off the end leave no trace in
// what remains; [VerifyHead] finds them.
func VerifyChain(entries []Entry) error {
	var head Head
	for i, e := range entries {
		broken := func(what string) error { return &BrokenError{entries[0].DocketID, int64(i + 1), what} }
		switch {
		case e.DocketID != entries[0].DocketID:
			return broken("it belongs to another docket")
		case e.Seq != head.Seq+1:
			return broken(fmt.Sprintf("its sequence is %d", e.Seq))
		case e.PrevHash != head.Hash:
			return broken("it does not follow the entry before it")
		case !e.At.Equal(Moment(e.At)):
			return broken("its time is finer than a microsecond")
		case e.Hash != Chain(head.Hash, e):
			return broken("its contents don't match its hash")
		}
		head = e.Head()
	}
	return nil
}

// VerifyHead is [VerifyChain], and checks besides that the journal ends at the head kept elsewhere.
func VerifyHead(docketID int64, entries []Entry, want Head) error {
	if err := VerifyChain(entries); err != nil {
		return err
	}
	var got Head
	if len(entries) > 0 {
		got = entries[len(entries)-1].Head()
		if entries[0].DocketID != docketID {
			return &BrokenError{docketID, 1, "it belongs to another docket"}
		}
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

// CanonicalJSON writes v as JSON with object keys in byte order, no white space, and <, > and & unescaped;
// numbers stay as encoding/json writes them. A nil v, or a nil json.RawMessage, gives no bytes.
func CanonicalJSON(v any) ([]byte, error) {
	if raw, ok := v.(json.RawMessage); v == nil || ok && len(raw) == 0 {
		return nil, nil
	}
	first, err := json.Marshal(v)
	if err != nil {
		return nil, err
	}
	dec := json.NewDecoder(bytes.NewReader(first))
	dec.UseNumber()
	var tree any
	if err := dec.Decode(&tree); err != nil {
		return nil, err
	}
	var out bytes.Buffer
	enc := json.NewEncoder(&out)
	enc.SetEscapeHTML(false)
	if err := enc.Encode(tree); err != nil {
		return nil, err
	}
	return bytes.TrimSuffix(out.Bytes(), []byte("\n")), nil
}
