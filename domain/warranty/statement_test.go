package warranty_test

import (
	"crypto/ed25519"
	"encoding/base64"
	"errors"
	"strings"
	"testing"
	"time"

	"ledgerwheel/domain/warranty"
)

func TestStatement(t *testing.T) {
	t.Parallel()
	k := key(t, 1)
	set := keys(t, k.PublicKey)
	at := time.Date(2026, 12, 1, 9, 30, 0, 0, time.UTC)
	for _, s := range []warranty.Statement{
		{Card: "ABCDEFGHIJKLMNOP", Shop: "Tern Quay Watch Works", Standing: warranty.Genuine, AsOf: at},
		{Card: "ABCDEFGHIJKLMNOP", Shop: "Час: и", Standing: warranty.Void, Since: at.Add(-time.Hour), AsOf: at},
		{Card: "ABCDEFGHIJKLMNOP", Shop: "x", Standing: warranty.Superseded, Since: at, ReplacedBy: "QRSTUVWXYZ234567", AsOf: at},
		{Card: "ABCDEFGHIJKLMNOP", Standing: warranty.Expired, AsOf: at},
	} {
		text, err := k.State(s)
		if err != nil {
			t.Fatal(err)
		}
		s.KeyID = k.ID
		if got, err := set.VerifyStatement(strings.ReplaceAll(text, "\n", "\r\n")); err != nil || got != s {
			t.Errorf("%+v, %v; want %+v of\n%s", got, err, s, text)
		}
		// By the layout alone: all lines before the last are signed.
		body, signed, _ := strings.Cut(text, "signature: ")
		signature, err := base64.StdEncoding.DecodeString(strings.TrimSpace(signed))
		if err != nil || !ed25519.Verify(k.Public, []byte(body), signature) {
			t.Errorf("the lines are not what was signed (%v):\n%s", err, text)
		}
		for i := range strings.TrimSpace(text) {
			changed := []byte(text)
			if changed[i] ^= 1; string(changed[i]) == "\n" || changed[i] == ' ' {
				continue
			}
			if _, err := set.VerifyStatement(string(changed)); err == nil {
				t.Fatalf("byte %d changed, and still signed:\n%s", i, changed)
			}
		}
		retired := k.PublicKey
		retired.RetiredAt = at.Add(-time.Second)
		if _, err := keys(t, retired).VerifyStatement(text); !errors.Is(err, warranty.ErrKeyRetired) {
			t.Errorf("said after the key was retired: %v", err)
		}
	}
	if _, err := k.State(warranty.Statement{Standing: warranty.Unknown}); !errors.Is(err, warranty.ErrStatement) {
		t.Errorf("of no card: %v", err)
	}
	if _, err := set.VerifyStatement("hello"); !errors.Is(err, warranty.ErrStatement) {
		t.Errorf("of no statement: %v", err)
	}
}
