package docket_test

import (
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"ledgerwheel/domain/docket"
)

// The hashes were computed outside this package, by a short script in another language written from the
// encoding that Chain's comment describes.
func TestChainKnownAnswers(t *testing.T) {
	t.Parallel()
	first := docket.Entry{DocketID: 7, Seq: 1,
		At:   time.Date(2026, 3, 2, 10, 15, 4, 123456999, time.FixedZone("east", 3600)),
		By:   docket.Author{Kind: docket.ByStaff, StaffID: 3, Name: "Zoë O’Dunne"},
		Kind: docket.Received, Summary: "Taken in at the counter.", Facts: []byte(`{"place":"safe"}`)}
	got := docket.Chain(docket.Hash{}, first)
	if want := "ed50a684b9cd1b6c04c075f848dc945f795535bec85605f8cce2969224ecc365"; got.String() != want {
		t.Errorf("first entry: %s, want %s", got, want)
	}
	second := docket.Entry{DocketID: 7, Seq: 2, At: time.Date(2026, 3, 2, 9, 16, 0, 0, time.UTC),
		By: docket.Author{Kind: docket.ByCustomer}, Kind: docket.EstimateRefused,
		Summary: "Declined revision 1.", Why: "too dear"}
	if got, want := docket.Chain(got, second).String(),
		"3900322de0ca9bdb3dd78da122c941aac1e4679bc5b40777e2a57612fa0765b3"; got != want {
		t.Errorf("second entry: %s, want %s", got, want)
	}
}

// journal is a whole journal of n entries.
func journal(t testing.TB, n int) []docket.Entry {
	t.Helper()
	var head docket.Head
	var out []docket.Entry
	for i := range n {
		e, err := docket.Append(head, docket.Entry{
			DocketID: 7, At: time.Date(2026, 3, 2, 9, i, 0, 999, time.UTC),
			By:   docket.Author{Kind: docket.ByStaff, StaffID: 3, Name: "Una Sandler"},
			Kind: docket.Kinds()[i%len(docket.Kinds())], Summary: fmt.Sprintf("Thing %d.", i), Why: "why",
		}, map[string]any{"n": i})
		if err != nil {
			t.Fatal(err)
		}
		out, head = append(out, e), e.Head()
	}
	return out
}

// A chain made again as a whole holds with the newest hash made again beside it; only a seal written down elsewhere,
// as on a printed bulletin, tells the two apart. The README says so.
func TestAChainMadeAgainShowsOnlyAgainstItsSeal(t *testing.T) {
	t.Parallel()
	kept := journal(t, 5)
	var head docket.Head
	var again []docket.Entry
	for i, e := range kept {
		if i == 2 {
			e.Summary = "Another thing."
		}
		e, err := docket.Append(head, e, map[string]any{"n": i})
		if err != nil {
			t.Fatal(err)
		}
		again, head = append(again, e), e.Head()
	}
	if err := docket.VerifyHead(7, again, head); err != nil {
		t.Errorf("a chain made again does not hold: %v", err)
	}
	wantBroken(t, "against the newest hash as it was", docket.VerifyHead(7, again, kept[4].Head()), 5)
	if again[4].Hash.Short() == kept[4].Hash.Short() {
		t.Error("both have one seal")
	}
}

func TestWholeJournalHolds(t *testing.T) {
	t.Parallel()
	entries := journal(t, 60)
	if err := docket.VerifyHead(7, entries, entries[59].Head()); err != nil {
		t.Error(err)
	}
	if err := docket.VerifyHead(7, nil, docket.Head{}); err != nil {
		t.Error(err)
	}
	if err := docket.VerifyChain(nil); err != nil {
		t.Error(err)
	}
}

// tampers change one thing in one entry.
var tampers = map[string]func(*docket.Entry){
	"docket":      func(e *docket.Entry) { e.DocketID++ },
	"sequence":    func(e *docket.Entry) { e.Seq++ },
	"time":        func(e *docket.Entry) { e.At = e.At.Add(time.Microsecond) },
	"fine time":   func(e *docket.Entry) { e.At = e.At.Add(time.Nanosecond) },
	"author kind": func(e *docket.Entry) { e.By.Kind = docket.BySystem },
	"author id":   func(e *docket.Entry) { e.By.StaffID++ },
	"author name": func(e *docket.Entry) { e.By.Name = flip(e.By.Name) },
	"kind":        func(e *docket.Entry) { e.Kind = docket.Kind(flip(string(e.Kind))) },
	"summary":     func(e *docket.Entry) { e.Summary = flip(e.Summary) },
	"why":         func(e *docket.Entry) { e.Why = flip(e.Why) },
	"why emptied": func(e *docket.Entry) { e.Why = "" },
	"facts":       func(e *docket.Entry) { e.Facts = []byte(flip(string(e.Facts))) },
	"facts gone":  func(e *docket.Entry) { e.Facts = nil },
	"previous":    func(e *docket.Entry) { e.PrevHash[31] ^= 1 },
	"hash":        func(e *docket.Entry) { e.Hash[0] ^= 0x80 },
	"border moved": func(e *docket.Entry) {
		e.Summary, e.Why = e.Summary+e.Why[:1], e.Why[1:]
	},
}

func flip(s string) string { return string(s[0]^1) + s[1:] }

func TestTamperedEntryIsNamed(t *testing.T) {
	t.Parallel()
	for name, tamper := range tampers {
		for i := range 5 {
			entries := journal(t, 5)
			tamper(&entries[i])
			want := int64(i + 1)
			if name == "docket" && i == 0 {
				want = 1 // the first entry says which docket it is; its own hash gives it away
			}
			wantBroken(t, fmt.Sprintf("%s of entry %d", name, i+1), docket.VerifyChain(entries), want)
		}
	}
}

func wantBroken(t testing.TB, what string, err error, seq int64) {
	t.Helper()
	var broken *docket.BrokenError
	if !errors.As(err, &broken) || broken.Seq != seq {
		t.Errorf("%s: got %v, want broken at %d", what, err, seq)
	}
}

func TestDroppedMovedAndAddedEntries(t *testing.T) {
	t.Parallel()
	drop := journal(t, 5)
	wantBroken(t, "third dropped", docket.VerifyChain(append(drop[:2:2], drop[3:]...)), 3)
	wantBroken(t, "first dropped", docket.VerifyChain(drop[1:]), 1)

	swap := journal(t, 5)
	swap[1], swap[2] = swap[2], swap[1]
	wantBroken(t, "swapped", docket.VerifyChain(swap), 2)

	twice := journal(t, 3)
	wantBroken(t, "repeated", docket.VerifyChain(append(twice, twice[2])), 4)

	// Cutting the end leaves a sound chain; only the head kept elsewhere tells.
	whole := journal(t, 5)
	if err := docket.VerifyChain(whole[:3]); err != nil {
		t.Error(err)
	}
	wantBroken(t, "cut", docket.VerifyHead(7, whole[:3], whole[4].Head()), 4)
	wantBroken(t, "all cut", docket.VerifyHead(7, nil, whole[4].Head()), 1)
	wantBroken(t, "longer", docket.VerifyHead(7, whole, whole[3].Head()), 5)
	wantBroken(t, "other docket", docket.VerifyHead(8, whole, whole[4].Head()), 1)

	// A journal rewritten throughout, hashes and all, is sound in itself but ends in another head.
	rewritten := journal(t, 5)
	var head docket.Head
	for i := range rewritten {
		e := rewritten[i]
		if i == 1 {
			e.Summary = "Something else."
		}
		again, err := docket.Append(head, e, json.RawMessage(e.Facts))
		if err != nil {
			t.Fatal(err)
		}
		rewritten[i], head = again, again.Head()
	}
	if err := docket.VerifyChain(rewritten); err != nil {
		t.Error(err)
	}
	wantBroken(t, "rewritten", docket.VerifyHead(7, rewritten, whole[4].Head()), 5)
}

// However text is split between neighbouring fields, the hashes differ.
func TestChainIsUnambiguous(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.String().Draw(t, "text")
		i, j := rapid.IntRange(0, len(text)).Draw(t, "i"), rapid.IntRange(0, len(text)).Draw(t, "j")
		a := docket.Chain(docket.Hash{}, docket.Entry{Summary: text[:i], Why: text[i:]})
		b := docket.Chain(docket.Hash{}, docket.Entry{Summary: text[:j], Why: text[j:]})
		if (a == b) != (i == j) {
			t.Fatalf("%q split at %d and %d", text, i, j)
		}
	})
}

func TestAppend(t *testing.T) {
	t.Parallel()
	good := docket.Entry{DocketID: 7, At: time.Date(2026, 3, 2, 9, 0, 0, 1999, time.UTC),
		By: docket.Author{Kind: docket.BySystem}, Kind: docket.Moved, Summary: " a\x00b\xff ", Why: "\x00"}
	e, err := docket.Append(docket.Head{Seq: 4, Hash: docket.Hash{1}}, good, struct {
		B string `json:"b"`
		A int    `json:"a"`
	}{"<&>", 1})
	if err != nil {
		t.Fatal(err)
	}
	if e.Seq != 5 || e.PrevHash != (docket.Hash{1}) || e.Summary != "ab\uFFFD" || e.Why != "" ||
		string(e.Facts) != `{"a":1,"b":"<&>"}` || e.At.Nanosecond() != 1000 || e.Hash != docket.Chain(e.PrevHash, e) {
		t.Errorf("got %+v", e)
	}
	for name, spoil := range map[string]func(*docket.Entry){
		"docket":  func(e *docket.Entry) { e.DocketID = 0 },
		"time":    func(e *docket.Entry) { e.At = time.Time{} },
		"kind":    func(e *docket.Entry) { e.Kind = "gossip" },
		"summary": func(e *docket.Entry) { e.Summary = " \x00" },
		"author":  func(e *docket.Entry) { e.By = docket.Author{} },
		"staff":   func(e *docket.Entry) { e.By = docket.Author{Kind: docket.ByStaff, Name: "Una"} },
		"unnamed": func(e *docket.Entry) { e.By = docket.Author{Kind: docket.ByStaff, StaffID: 1} },
	} {
		bad := good
		spoil(&bad)
		if _, err := docket.Append(docket.Head{}, bad, nil); err == nil {
			t.Errorf("an entry without %s was taken", name)
		}
	}
	if _, err := docket.Append(docket.Head{}, good, math.NaN()); err == nil {
		t.Error("facts that JSON can't hold were taken")
	}
}

func TestCanonicalJSON(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		in   any
		want string
	}{
		{nil, ""},
		{json.RawMessage(nil), ""},
		{json.RawMessage(" { \"b\" : 1.50, \"a\":[ {\"z\":null,\"y\":true} ] }\n"), `{"a":[{"y":true,"z":null}],"b":1.50}`},
		{map[string]int64{"big": math.MaxInt64}, `{"big":9223372036854775807}`},
		{map[string]string{"é": "שלום", "a": "O'Dunne & <Son>"}, `{"a":"O'Dunne & <Son>","é":"שלום"}`},
	} {
		got, err := docket.CanonicalJSON(c.in)
		if err != nil || string(got) != c.want {
			t.Errorf("%v: %s, %v; want %s", c.in, got, err, c.want)
		}
		if c.want == "" {
			continue
		}
		if again, err := docket.CanonicalJSON(json.RawMessage(got)); err != nil || string(again) != c.want {
			t.Errorf("%s changes to %s, %v", got, again, err)
		}
	}
}

func TestHash(t *testing.T) {
	t.Parallel()
	h := docket.Chain(docket.Hash{}, docket.Entry{})
	if got := h.String(); got != hex.EncodeToString(h[:]) {
		t.Errorf("String = %q", got)
	}
	if s := h.Short(); len(s) != 14 || strings.ReplaceAll(s, " ", "") != h.String()[:12] {
		t.Errorf("Short = %q", s)
	}
}

func TestAuthor(t *testing.T) {
	t.Parallel()
	for want, a := range map[string]docket.Author{
		"the program":            {Kind: docket.BySystem},
		"the customer":           {Kind: docket.ByCustomer},
		"Ines Marrow (customer)": {Kind: docket.ByCustomer, Name: "Ines Marrow"},
		"Una Sandler":            {Kind: docket.ByStaff, StaffID: 1, Name: "Una Sandler"},
	} {
		if got := a.String(); got != want {
			t.Errorf("%+v reads %q", a, got)
		}
	}
}
