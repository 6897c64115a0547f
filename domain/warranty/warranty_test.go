package warranty_test

import (
	"bytes"
	"crypto/ed25519"
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"errors"
	"io"
	"math"
	"reflect"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"ledgerwheel/domain"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/warranty"
)

func day(y int, m time.Month, d int) time.Time { return time.Date(y, m, d, 0, 0, 0, 0, time.UTC) }

func goodCard() warranty.Card {
	return warranty.Card{
		Code: "ABCDEFGHIJKLMNOP", Docket: docket.Number{Year: 2026, Seq: 42},
		Shop: warranty.Shop{Name: "Tern Quay Watch Works", Place: "Saltby"},
		Watch: warranty.Watch{Maker: "Harrowgate & Lisle", Model: "Pilot's ‘Meridian’", Reference: "HL-200", Calibre: "HL 30",
			CaseSerial: "C1234567", MovementSerial: "M98765"},
		WorkDone: []string{"Full service", "New mainspring"},
		Final: warranty.Final{MeanSPerDay: 2.25, DeltaSPerDay: 6.5, USPerDay: 0.6, Verdict: "pass, modern grade, version 3",
			Rates: []warranty.Rate{{"CH", "full wind", 4.5, 285}, {"6H", "full wind", -2, 262.5}}},
		IssuedAt: time.Date(2026, 3, 31, 14, 5, 6, 789000, time.UTC),
		StartsOn: day(2026, 3, 31), ExpiresOn: day(2027, 3, 31), Covers: "Parts fitted and work done.\nNot water or shocks.",
	}
}

func key(t testing.TB, fill byte) warranty.SigningKey {
	t.Helper()
	k, err := warranty.KeyFromSeed(bytes.Repeat([]byte{fill}, 32))
	if err != nil {
		t.Fatal(err)
	}
	return k
}

func keys(t testing.TB, list ...warranty.PublicKey) warranty.KeySet {
	t.Helper()
	set, err := warranty.NewKeySet(list...)
	if err != nil {
		t.Fatal(err)
	}
	return set
}

func sign(t testing.TB, k warranty.SigningKey, c warranty.Card) warranty.Signed {
	t.Helper()
	s, err := k.Sign(c)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// RFC 8032, section 7.1, tests 1 to 3: seed, public key, message, signature.
func TestKeysFollowRFC8032(t *testing.T) {
	t.Parallel()
	for i, v := range [][4]string{
		{"9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60",
			"d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a",
			"",
			"e5564300c360ac729086e2cc806e828a84877f1eb8e5d974d873e065224901555fb8821590a33bacc61e39701cf9b46bd25bf5f0595bbe24655141438e7a100b"},
		{"4ccd089b28ff96da9db6c346ec114e0f5b8a319f35aba624da8cf6ed4fb8a6fb",
			"3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c",
			"72",
			"92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da085ac1e43e15996e458f3613d0f11d8c387b2eaeb4302aeeb00d291612bb0c00"},
		{"c5aa8df43f9f837bedb7442f31dcb7b166d38535076f094b85ce3a2e0b4458f7",
			"fc51cd8e6218a1a38da47ed00230f0580816ed13ba3303ac5deb911548908025",
			"af82",
			"6291d657deec24024827e69c3abe01a30ce548a284743a445e3680d7db5ac3ac18ff9b538d16f290ae67f760984dc6594a7c15e9716ed28dc027beceea1ec40a"},
	} {
		k, err := warranty.KeyFromSeed(unhex(t, v[0]))
		if err != nil {
			t.Fatal(err)
		}
		public, msg, sig := unhex(t, v[1]), unhex(t, v[2]), unhex(t, v[3])
		if !bytes.Equal(k.Public, public) {
			t.Errorf("test %d: public key %x", i+1, k.Public)
		}
		if got := ed25519.Sign(k.Private, msg); !bytes.Equal(got, sig) {
			t.Errorf("test %d: signature %x", i+1, got)
		}
		if !bytes.Equal(k.Seed(), unhex(t, v[0])) {
			t.Errorf("test %d: the seed does not come back", i+1)
		}
		sum := sha256.Sum256(public)
		if string(k.ID) != hex.EncodeToString(sum[:])[:16] {
			t.Errorf("test %d: key is named %s", i+1, k.ID)
		}
	}
}

func unhex(t *testing.T, s string) []byte {
	t.Helper()
	b, err := hex.DecodeString(s)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func TestKeys(t *testing.T) {
	t.Parallel()
	if _, err := warranty.KeyFromSeed(make([]byte, 31)); err == nil {
		t.Error("a short seed was taken")
	}
	if _, err := warranty.NewKey(strings.NewReader("short")); !errors.Is(err, io.ErrUnexpectedEOF) {
		t.Errorf("too little randomness: %v", err)
	}
	a := key(t, 1).PublicKey
	a.ID = key(t, 2).ID
	if _, err := warranty.NewKeySet(a); err == nil {
		t.Error("a key under another's name was taken")
	}
}

func TestSignAndVerify(t *testing.T) {
	t.Parallel()
	old, next := key(t, 1), key(t, 2)
	c := goodCard()
	s := sign(t, old, c)

	retired := old.PublicKey
	retired.RetiredAt = c.IssuedAt.Add(time.Hour)
	before := old.PublicKey
	before.RetiredAt = c.IssuedAt.Add(-time.Microsecond)
	for name, x := range map[string]struct {
		set  warranty.KeySet
		want error
	}{
		"current key":        {keys(t, old.PublicKey), nil},
		"rotated, retired":   {keys(t, retired, next.PublicKey), nil},
		"retired before":     {keys(t, before, next.PublicKey), warranty.ErrKeyRetired},
		"another key":        {keys(t, next.PublicKey), warranty.ErrUnknownKey},
		"no key":             {nil, warranty.ErrUnknownKey},
		"swapped under name": {warranty.KeySet{old.ID: next.PublicKey}, warranty.ErrSignature},
		"blank under name":   {warranty.KeySet{old.ID: {}}, warranty.ErrSignature},
	} {
		got, err := x.set.Verify(s)
		if !errors.Is(err, x.want) || err == nil && !reflect.DeepEqual(got, c) {
			t.Errorf("%s: %+v, %v", name, got, err)
		}
	}

	gone := old
	gone.RetiredAt = c.IssuedAt
	if _, err := gone.Sign(c); !errors.Is(err, warranty.ErrKeyRetired) {
		t.Errorf("a retired key signed: %v", err)
	}
	c.Covers = ""
	var invalid *domain.InvalidError
	if _, err := old.Sign(c); !errors.As(err, &invalid) || invalid.Problems["covers"] == "" {
		t.Errorf("a card with problems was signed: %v", err)
	}
	junk := warranty.Signed{Payload: []byte("hello"), KeyID: old.ID, Signature: ed25519.Sign(old.Private, []byte("hello"))}
	if _, err := keys(t, old.PublicKey).Verify(junk); !errors.Is(err, warranty.ErrPayload) {
		t.Errorf("signed junk: %v", err)
	}
}

// Whatever bit is flipped, in the facts or in the signature, the card no longer verifies.
func TestAnyFlippedBitIsFound(t *testing.T) {
	t.Parallel()
	k := key(t, 1)
	set := keys(t, k.PublicKey)
	whole := sign(t, k, goodCard())
	rapid.Check(t, func(t *rapid.T) {
		s := warranty.Signed{Payload: bytes.Clone(whole.Payload), KeyID: whole.KeyID, Signature: bytes.Clone(whole.Signature)}
		part := s.Payload
		if rapid.Bool().Draw(t, "signature") {
			part = s.Signature
		}
		part[rapid.IntRange(0, len(part)-1).Draw(t, "at")] ^= 1 << rapid.IntRange(0, 7).Draw(t, "bit")
		if _, err := set.Verify(s); !errors.Is(err, warranty.ErrSignature) {
			t.Fatalf("verifies: %v", err)
		}
	})
}

// alter changes one fact each.
var alter = map[string]func(*warranty.Card){
	"code":            func(c *warranty.Card) { c.Code = "ABCDEFGHIJKLMNOQ" },
	"supersedes":      func(c *warranty.Card) { c.Supersedes = "ABCDEFGHIJKLMNOQ" },
	"docket year":     func(c *warranty.Card) { c.Docket.Year++ },
	"docket sequence": func(c *warranty.Card) { c.Docket.Seq++ },
	"shop":            func(c *warranty.Card) { c.Shop.Name += "s" },
	"place":           func(c *warranty.Card) { c.Shop.Place = "" },
	"maker":           func(c *warranty.Card) { c.Watch.Maker = "h" + c.Watch.Maker[1:] },
	"model":           func(c *warranty.Card) { c.Watch.Model = "" },
	"reference":       func(c *warranty.Card) { c.Watch.Reference += " " },
	"calibre":         func(c *warranty.Card) { c.Watch.Calibre = "HL 31" },
	"case serial":     func(c *warranty.Card) { c.Watch.CaseSerial = "C1234568" },
	"movement serial": func(c *warranty.Card) { c.Watch.MovementSerial = "M98766" },
	"serials swapped": func(c *warranty.Card) {
		c.Watch.CaseSerial, c.Watch.MovementSerial = c.Watch.MovementSerial, c.Watch.CaseSerial
	},
	"border moved":   func(c *warranty.Card) { c.Watch.Reference, c.Watch.Calibre = "HL-200H", "L 30" },
	"work done":      func(c *warranty.Card) { c.WorkDone = append(c.WorkDone[:1:1], "New crystal") },
	"work left out":  func(c *warranty.Card) { c.WorkDone = c.WorkDone[:1] },
	"mean":           func(c *warranty.Card) { c.Final.MeanSPerDay = -c.Final.MeanSPerDay },
	"last bit":       func(c *warranty.Card) { c.Final.MeanSPerDay = math.Nextafter(c.Final.MeanSPerDay, 9) },
	"delta":          func(c *warranty.Card) { c.Final.DeltaSPerDay = 5 },
	"uncertainty":    func(c *warranty.Card) { c.Final.USPerDay = 0 },
	"verdict":        func(c *warranty.Card) { c.Final.Verdict = "fail" },
	"position":       func(c *warranty.Card) { c.Final.Rates[0].Position = "FH" },
	"wind":           func(c *warranty.Card) { c.Final.Rates[0].Wind = "after 24 h" },
	"rate":           func(c *warranty.Card) { c.Final.Rates[1].RateSPerDay = 2 },
	"amplitude":      func(c *warranty.Card) { c.Final.Rates[1].AmplitudeDeg = 270 },
	"rates reversed": func(c *warranty.Card) { r := c.Final.Rates; r[0], r[1] = r[1], r[0] },
	"rate left out":  func(c *warranty.Card) { c.Final.Rates = c.Final.Rates[:1] },
	"issued":         func(c *warranty.Card) { c.IssuedAt = c.IssuedAt.Add(time.Microsecond) },
	"starts":         func(c *warranty.Card) { c.StartsOn = day(2026, 3, 30) },
	"expires":        func(c *warranty.Card) { c.ExpiresOn = day(2028, 3, 31) },
	"covers":         func(c *warranty.Card) { c.Covers += " Water too." },
}

// A signature does not fit the card with any one fact altered, and no two of the altered cards sign alike.
func TestAnyAlteredFactIsFound(t *testing.T) {
	t.Parallel()
	k := key(t, 1)
	set := keys(t, k.PublicKey)
	whole := sign(t, k, goodCard())
	seen := map[string]string{string(whole.Payload): "unaltered"}
	for name, change := range alter {
		c := goodCard()
		change(&c)
		payload := c.Payload()
		if other, twice := seen[string(payload)]; twice {
			t.Errorf("%s has the payload of %s", name, other)
		}
		seen[string(payload)] = name
		if _, err := set.Verify(warranty.Signed{Payload: payload, KeyID: whole.KeyID,
			Signature: whole.Signature}); !errors.Is(err, warranty.ErrSignature) {
			t.Errorf("%s altered: %v", name, err)
		}
	}
}

// Every field of a card is altered above or nested in one that is: a field added later must be signed too.
func TestEveryFieldIsSigned(t *testing.T) {
	t.Parallel()
	for typ, want := range map[reflect.Type]int{
		reflect.TypeFor[warranty.Card](): 11, reflect.TypeFor[warranty.Shop](): 2, reflect.TypeFor[warranty.Watch](): 6,
		reflect.TypeFor[warranty.Final](): 5, reflect.TypeFor[warranty.Rate](): 4, reflect.TypeFor[docket.Number](): 2,
	} {
		if typ.NumField() != want {
			t.Errorf("%s has %d fields, not %d: sign the new one and alter it in these tests", typ, typ.NumField(), want)
		}
	}
}

func TestPayloadReadsBack(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.String()
		figure := rapid.Float64Range(-1000, 1000)
		c := warranty.Card{
			Code: warranty.Code(text.Draw(t, "code")), Supersedes: warranty.Code(text.Draw(t, "old")),
			Docket: docket.Number{Year: rapid.Int().Draw(t, "year"), Seq: rapid.Int().Draw(t, "seq")},
			Shop:   warranty.Shop{Name: text.Draw(t, "shop"), Place: text.Draw(t, "place")},
			Watch:  warranty.Watch{Maker: text.Draw(t, "maker"), CaseSerial: text.Draw(t, "serial")},
			Final: warranty.Final{MeanSPerDay: figure.Draw(t, "mean"), DeltaSPerDay: figure.Draw(t, "delta"),
				USPerDay: figure.Draw(t, "u"), Verdict: text.Draw(t, "verdict")},
			IssuedAt: time.UnixMicro(rapid.Int64Range(0, 4e15).Draw(t, "issued")).UTC(),
			StartsOn: day(2026, 1, rapid.IntRange(1, 9999).Draw(t, "starts")), ExpiresOn: day(2027, 1, 1),
			Covers: text.Draw(t, "covers"),
		}
		for range rapid.IntRange(0, 12).Draw(t, "lines") {
			c.WorkDone = append(c.WorkDone, text.Draw(t, "work"))
		}
		for range rapid.IntRange(0, 24).Draw(t, "rates") {
			c.Final.Rates = append(c.Final.Rates, warranty.Rate{Position: text.Draw(t, "position"),
				Wind: text.Draw(t, "wind"), RateSPerDay: figure.Draw(t, "rate"), AmplitudeDeg: figure.Draw(t, "amplitude")})
		}
		got, err := warranty.ParsePayload(c.Payload())
		if err != nil || !reflect.DeepEqual(got, c) {
			t.Fatalf("got %+v, %v\nwant %+v", got, err, c)
		}
	})
}

func TestNegativeZeroSignsAsZero(t *testing.T) {
	t.Parallel()
	a, b := goodCard(), goodCard()
	a.Final.MeanSPerDay, b.Final.MeanSPerDay = 0, math.Copysign(0, -1)
	if !bytes.Equal(a.Payload(), b.Payload()) {
		t.Error("0 and -0 sign differently")
	}
}

// The payload starts as its comment says, so that an outsider can read it.
func TestPayloadAsDocumented(t *testing.T) {
	t.Parallel()
	var want []byte
	for _, field := range []string{"ledgerwheel/warranty-card/1", "ABCDEFGHIJKLMNOP", "", "2026", "42",
		"Tern Quay Watch Works",
		"Saltby", "Harrowgate & Lisle", "Pilot's ‘Meridian’", "HL-200", "HL 30", "C1234567", "M98765",
		"2", "Full service", "New mainspring", "2.25", "6.5", "0.6", "pass, modern grade, version 3",
		"2", "CH", "full wind", "4.5", "285", "6H", "full wind", "-2", "262.5",
		"2026-03-31T14:05:06.000789Z", "2026-03-31", "2027-03-31", "Parts fitted and work done.\nNot water or shocks."} {
		want = append(binary.BigEndian.AppendUint32(want, uint32(len(field))), field...)
	}
	if got := goodCard().Payload(); !bytes.Equal(got, want) {
		t.Errorf("got  %q\nwant %q", got, want)
	}
}

func TestParsePayloadRefuses(t *testing.T) {
	t.Parallel()
	whole := goodCard().Payload()
	for n := range whole {
		if _, err := warranty.ParsePayload(whole[:n]); !errors.Is(err, warranty.ErrPayload) {
			t.Fatalf("cut to %d bytes: %v", n, err)
		}
	}
	for name, payload := range map[string][]byte{
		"longer":       append(bytes.Clone(whole), 0),
		"huge length":  bytes.Replace(whole, []byte{0, 0, 0, 16}, []byte{0xff, 0xff, 0xff, 0xff}, 1),
		"other tag":    bytes.Replace(whole, []byte("card/1"), []byte("card/2"), 1),
		"other digits": bytes.Replace(whole, []byte("\x00\x00\x00\x042.25"), []byte("\x00\x00\x00\x052.250"), 1),
		"not a number": bytes.Replace(whole, []byte("\x00\x00\x00\x042.25"), []byte("\x00\x00\x00\x03NaN"), 1),
		"no date":      bytes.Replace(whole, []byte("2027-03-31"), []byte("2027-02-30"), 1),
	} {
		if bytes.Equal(payload, whole) {
			t.Fatalf("%s: nothing was changed", name)
		}
		if _, err := warranty.ParsePayload(payload); !errors.Is(err, warranty.ErrPayload) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func FuzzParsePayload(f *testing.F) {
	f.Add(goodCard().Payload())
	f.Fuzz(func(t *testing.T, payload []byte) {
		c, err := warranty.ParsePayload(payload)
		if err == nil && !bytes.Equal(c.Payload(), payload) {
			t.Fatalf("%q reads as %+v, which writes %q", payload, c, c.Payload())
		}
	})
}
