package warranty_test

import (
	"crypto"
	"encoding/hex"
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/warranty"
)

// RFC 8032, section 7.1, tests 2 and 3: the keys sign and prove as the standard says.
func TestEd25519IsThatOfRFC8032(t *testing.T) {
	t.Parallel()
	for _, v := range []struct{ seed, public, message, signature string }{
		{"4ccd089b28ff96da9db6c346ec114e0f5b8a319f35aba624da8cf6ed4fb8a6fb",
			"3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c", "72",
			"92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da085ac1e43e15996e458f3613d0f11d8c387b2eaeb4302aeeb00d291612bb0c00"},
		{"c5aa8df43f9f837bedb7442f31dcb7b166d38535076f094b85ce3a2e0b4458f7",
			"fc51cd8e6218a1a38da47ed00230f0580816ed13ba3303ac5deb911548908025", "af82",
			"6291d657deec24024827e69c3abe01a30ce548a284743a445e3680d7db5ac3ac18ff9b538d16f290ae67f760984dc6594a7c15e9716ed28dc027beceea1ec40a"},
	} {
		seed, _ := hex.DecodeString(v.seed)
		message, _ := hex.DecodeString(v.message)
		key, err := warranty.KeyFromSeed(seed)
		if err != nil {
			t.Fatal(err)
		}
		signature, err := key.Private.Sign(nil, message, crypto.Hash(0))
		if err != nil || hex.EncodeToString(key.Public) != v.public || hex.EncodeToString(signature) != v.signature {
			t.Errorf("public %x, signature %x, %v", key.Public, signature, err)
		}
	}
}

func prove(t testing.TB, k warranty.SigningKey, c warranty.Card) string {
	t.Helper()
	raw, err := k.Prove(c)
	if err != nil {
		t.Fatal(err)
	}
	return warranty.ProofText(raw)
}

func TestProofStatesTheCard(t *testing.T) {
	t.Parallel()
	k, c := key(t, 1), goodCard()
	text := prove(t, k, c)
	set := keys(t, k.PublicKey)
	for _, typed := range []string{text, "https://ternquay.example/card#" + text, strings.ToLower(text),
		strings.NewReplacer("O", "0", "I", "1", "B", "8").Replace(text), " " + text[:20] + "\n" + text[20:]} {
		p, err := set.VerifyProof(typed)
		if err != nil {
			t.Fatalf("%.30q: %v", typed, err)
		}
		want := c
		want.IssuedAt = c.IssuedAt.Truncate(time.Second)
		if fmt.Sprint(p.Card) != fmt.Sprint(want) || p.KeyID != k.ID || !p.IsOf(c) || len(p.Short)+len(p.Absent) != 0 {
			t.Errorf("states\n%+v %v %v\nwant\n%+v", p.Card, p.Short, p.Absent, want)
		}
	}
	other := c
	other.Covers += " And shocks."
	if p, _ := set.VerifyProof(text); p.IsOf(other) {
		t.Error("the code is taken for that of a record which says more")
	}
}

// Every character counts: changed to any other, the code proves nothing.
func TestOneFlippedCharacterFails(t *testing.T) {
	t.Parallel()
	k := key(t, 1)
	text := prove(t, k, goodCard())
	set := keys(t, k.PublicKey)
	const alphabet = "ABCDEFGHIJKLMNOPQRSTUVWXYZ234567"
	for i := range text {
		for _, other := range alphabet {
			if byte(other) == text[i] {
				continue
			}
			if _, err := set.VerifyProof(text[:i] + string(other) + text[i+1:]); err == nil {
				t.Fatalf("character %d changed from %c to %c, and still genuine", i, text[i], other)
			}
		}
		if _, err := set.VerifyProof(text[:i]); err == nil {
			t.Fatalf("cut to %d characters, and still genuine", i)
		}
	}
}

func TestProofOfAnotherKey(t *testing.T) {
	t.Parallel()
	k, other := key(t, 1), key(t, 2)
	text := prove(t, k, goodCard())
	if _, err := keys(t, other.PublicKey).VerifyProof(text); !errors.Is(err, warranty.ErrUnknownKey) {
		t.Errorf("another shop's key: %v", err)
	}
	retired := k.PublicKey
	retired.RetiredAt = goodCard().IssuedAt
	if _, err := keys(t, retired).VerifyProof(text); err != nil {
		t.Errorf("signed in the moment of retiring: %v", err)
	}
	retired.RetiredAt = retired.RetiredAt.Add(-time.Minute)
	if _, err := keys(t, retired).VerifyProof(text); !errors.Is(err, warranty.ErrKeyRetired) {
		t.Errorf("signed after the key was retired: %v", err)
	}
	k.RetiredAt = time.Now()
	if _, err := k.Prove(goodCard()); !errors.Is(err, warranty.ErrKeyRetired) {
		t.Errorf("a retired key proves: %v", err)
	}
}

// LongestCard has every text at its bound, of characters of four bytes that don't compress.
func longestCard() warranty.Card {
	c := goodCard()
	n := 0
	line := func(chars int) string {
		var b strings.Builder
		for range chars {
			n++
			b.WriteRune(rune(0x20000 + n*7919%0xa000)) // ideographs, no two alike
		}
		return b.String()
	}
	c.Shop = warranty.Shop{Name: line(120), Place: line(120)}
	c.Watch = warranty.Watch{Maker: line(120), Model: line(120), Reference: line(120), Calibre: line(120), CaseSerial: line(120),
		MovementSerial: line(120)}
	c.WorkDone = nil
	for range 12 {
		c.WorkDone = append(c.WorkDone, line(120))
	}
	c.Covers, c.Final.Verdict = line(600), line(120)
	c.Final.MeanSPerDay, c.Final.DeltaSPerDay, c.Final.USPerDay = -9e9, 9e9, 1e300
	c.Final.Rates = nil
	for i := range 24 {
		c.Final.Rates = append(c.Final.Rates, warranty.Rate{Position: []string{"CH", "FH", "3H", "6H", "9H", "12H"}[i%6],
			Wind: c.Watch.Maker, RateSPerDay: 1e12, AmplitudeDeg: 1e12})
	}
	c.Docket = docket.Number{Year: 2099, Seq: 99999}
	return c
}

func TestProofHasABound(t *testing.T) {
	t.Parallel()
	k := key(t, 1)
	c := longestCard()
	if bad := c.Problems(); len(bad) > 0 {
		t.Fatal(bad)
	}
	raw, err := k.Prove(c)
	if err != nil || len(raw) > warranty.MaxProofBytes {
		t.Fatalf("%d bytes, %v", len(raw), err)
	}
	p, err := keys(t, k.PublicKey).VerifyProof(warranty.ProofText(raw))
	if err != nil || !p.IsOf(c) {
		t.Fatal(err)
	}
	if !slices.Equal(p.Absent, []warranty.ProofPart{warranty.PartVerdict, warranty.PartWork, warranty.PartCovers, warranty.PartRates}) ||
		!slices.Contains(p.Short, warranty.PartCase) || !strings.HasPrefix(c.Watch.CaseSerial, strings.TrimSuffix(p.Card.Watch.CaseSerial, "…")) {
		t.Errorf("short %v, absent %v, serial %q", p.Short, p.Absent, p.Card.Watch.CaseSerial)
	}
}

// Whatever a card says, its code has room for it, proves it, and says what it leaves out.
func TestEveryCardHasACode(t *testing.T) {
	t.Parallel()
	k := key(t, 1)
	set := keys(t, k.PublicKey)
	rapid.Check(t, func(r *rapid.T) {
		c := goodCard()
		for _, s := range []*string{&c.Shop.Name, &c.Watch.Maker, &c.Watch.CaseSerial, &c.Final.Verdict, &c.Covers} {
			*s = rapid.StringOfN(rapid.RuneFrom([]rune("aé漢😀 -x9")), 1, 120, -1).Draw(r, "text")
		}
		if len(c.Problems()) > 0 {
			r.Skip()
		}
		raw, err := k.Prove(c)
		if err != nil || len(raw) > warranty.MaxProofBytes {
			r.Fatalf("%d bytes, %v", len(raw), err)
		}
		p, err := set.VerifyProof(warranty.ProofText(raw))
		if err != nil || !p.IsOf(c) {
			r.Fatal(err)
		}
		if got, whole := p.Card.Watch.CaseSerial, !slices.Contains(p.Short, warranty.PartCase); whole != (got == c.Watch.CaseSerial) {
			r.Fatalf("case number %q of %q, said to be whole: %t", got, c.Watch.CaseSerial, whole)
		}
	})
}
