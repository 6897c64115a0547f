package link_test

import (
	"crypto/hmac"
	"crypto/sha256"
	"encoding/base32"
	"errors"
	"strings"
	"testing"
	"time"

	"ledgerwheel/domain/link"

	"pgregory.net/rapid"
)

var secret = []byte("thirty-two bytes of a shop's key")

// TestTokenAgainstTheFormula builds a token from RFC 4648's base 32 and RFC 2104's HMAC by hand.
func TestTokenAgainstTheFormula(t *testing.T) {
	t.Parallel()
	mac := hmac.New(sha256.New, secret)
	mac.Write([]byte("customer-link|300"))
	// 300 as a varint, the worked example of the encoding's own documentation
	raw := append([]byte{0xac, 0x02}, mac.Sum(nil)[:16]...)
	want := strings.ToLower(strings.TrimRight(base32.StdEncoding.EncodeToString(raw), "="))
	if got := link.Token(secret, 300); got != want {
		t.Errorf("token %q, want %q", got, want)
	}
}

func TestTokenLeadsBackToItsLinkAlone(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		id := rapid.Int64Range(1, 1<<40).Draw(t, "id")
		token := link.Token(secret, id)
		if got, ok := link.ID(secret, token); !ok || got != id {
			t.Fatalf("%q leads to %d, %t; want %d", token, got, ok, id)
		}
		if _, ok := link.ID(secret, strings.ToUpper(token)); !ok {
			t.Errorf("%q in capitals is refused", token)
		}
		at := rapid.IntRange(0, len(token)-1).Draw(t, "at")
		other := rapid.StringMatching(`[a-z2-7]`).Draw(t, "other")
		changed := token[:at] + other + token[at+1:]
		if _, ok := link.ID(secret, changed); ok && changed != token {
			t.Fatalf("%q is taken for %q", changed, token)
		}
	})
}

func TestWrongTokens(t *testing.T) {
	t.Parallel()
	good := link.Token(secret, 7)
	for _, token := range []string{"", "a", "not base 32!", good + "a", good[1:], good[:len(good)-1], "aa" + good,
		link.Token([]byte("another shop's key, also 32 long"), 7), strings.Repeat("7", 60), "\x00"} {
		if id, ok := link.ID(secret, token); ok {
			t.Errorf("%q leads to %d", token, id)
		}
	}
}

func TestCheck(t *testing.T) {
	t.Parallel()
	made := time.Date(2026, 11, 24, 9, 30, 0, 0, time.UTC)
	l := link.Link{ID: 1, MadeAt: made, ExpiresAt: link.Expiry(made)}
	if want := time.Date(2027, 1, 23, 9, 30, 0, 0, time.UTC); !l.ExpiresAt.Equal(want) {
		t.Errorf("expires %v, want %v", l.ExpiresAt, want)
	}
	ended := l
	ended.EndedAt = made.Add(time.Hour)
	for _, tt := range []struct {
		name string
		link link.Link
		now  time.Time
		want error
	}{
		{"new", l, made, nil},
		{"last moment", l, l.ExpiresAt.Add(-time.Nanosecond), nil},
		{"expired", l, l.ExpiresAt, link.ErrExpired},
		{"ended", ended, made, link.ErrEnded},
		{"ended and expired", ended, l.ExpiresAt, link.ErrEnded},
	} {
		if got := tt.link.Check(tt.now); !errors.Is(got, tt.want) {
			t.Errorf("%s: %v, want %v", tt.name, got, tt.want)
		}
		if got := tt.link.Serves(tt.now); got != (tt.want == nil) {
			t.Errorf("%s: serves %t", tt.name, got)
		}
	}
	if (link.Link{}).Serves(made) {
		t.Error("no link serves")
	}
}
