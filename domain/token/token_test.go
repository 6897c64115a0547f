package token

import (
	"slices"
	"strings"
	"testing"
	"time"
)

func at(day int) time.Time { return time.Date(2026, 12, day, 9, 0, 0, 0, time.UTC) }

func TestProblems(t *testing.T) {
	fit := Token{Name: "Web site", Scopes: []Scope{Prices}, MadeAt: at(1)}
	for _, c := range []struct {
		change func(*Token)
		field  string // "" for fit
	}{
		{func(*Token) {}, ""},
		{func(t *Token) { t.ExpiresAt = at(2) }, ""},
		{func(t *Token) { t.Scopes = []Scope{Calendar} }, ""},
		{func(t *Token) { t.Scopes, t.ActsFor = []Scope{Dockets, Readings}, 7 }, ""},
		{func(t *Token) { t.Name = "" }, "name"},
		{func(t *Token) { t.Name = strings.Repeat("é", maxName+1) }, "name"},
		{func(t *Token) { t.Scopes = nil }, "scopes"},
		{func(t *Token) { t.Scopes = []Scope{"all"} }, "scopes"},
		{func(t *Token) { t.Scopes = []Scope{Calendar, Customers} }, "scopes"},
		{func(t *Token) { t.Scopes = []Scope{Readings} }, "acts_for"},
		{func(t *Token) { t.ExpiresAt = at(1) }, "days"},
		{func(t *Token) { t.ExpiresAt = at(1).AddDate(3, 0, 0) }, "days"},
	} {
		tok := fit
		c.change(&tok)
		bad := tok.Problems()
		if c.field == "" && len(bad) > 0 || c.field != "" && (len(bad) != 1 || bad[c.field] == "") {
			t.Errorf("%+v: %v, want one of %q", tok, bad, c.field)
		}
	}
}

func TestServes(t *testing.T) {
	tok := Token{MadeAt: at(1), ExpiresAt: at(10)}
	if !tok.Serves(at(9)) || tok.Serves(at(10)) {
		t.Error("a token serves until its last moment, and not from then on")
	}
	tok.EndedAt = at(5)
	if tok.Serves(at(6)) {
		t.Error("an ended token serves")
	}
	if !(Token{}).Serves(at(28)) {
		t.Error("one without an end serves")
	}
}

func TestSecret(t *testing.T) {
	a, b := NewSecret(), NewSecret()
	if a == b || !LooksLike(a) || Sum(a) == Sum(b) || !strings.HasSuffix(a, HintOf(a)) || len(HintOf(a)) != hintSize {
		t.Errorf("secrets %s, %s", a, b)
	}
	for _, other := range []string{"", "lwt_", "lwt_abc", strings.TrimPrefix(a, prefix), a + "A", "Bearer " + a, a[:len(a)-1] + "!"} {
		if LooksLike(other) {
			t.Errorf("%q is taken for a token", other)
		}
	}
}

func TestScopes(t *testing.T) {
	tok := Token{Scopes: []Scope{Stock, Dockets, Stock}}.Tidied()
	if !slices.Equal(tok.Scopes, []Scope{Dockets, Stock}) {
		t.Errorf("tidied %v", tok.Scopes)
	}
	if tok.Does() != "read dockets, watches and runs; read the parts and how many there are" {
		t.Errorf("does %q", tok.Does())
	}
	for _, s := range Scopes() {
		if s.Words() == "" {
			t.Errorf("%s has no words", s)
		}
	}
}
