package handover_test

import (
	"bytes"
	"compress/flate"
	"crypto/ed25519"
	"crypto/sha256"
	"encoding/base32"
	"encoding/binary"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"ledgerwheel/web/webtest"
)

// A verifier written apart from the program: by docs/card-code.md alone, with the standard library alone. It reads the
// printed card as zbarimg sees it, and the keys as they are published, and comes to what the card says.
func TestCardIsProvenApartFromTheProgram(t *testing.T) {
	t.Parallel()
	l := webtest.NewLeaving(t)
	l.Ready()
	number := l.Issue()
	file := filepath.Join(t.TempDir(), "card.pdf")
	pdf := l.As(l.Clerk).Get(l.Path + "/papers/warranty-card.pdf").Want(http.StatusOK).Body
	if err := os.WriteFile(file, []byte(pdf), 0o600); err != nil {
		t.Fatal(err)
	}
	command(t, "pdftoppm", "-r", "300", "-f", "1", "-l", "1", "-singlefile", "-png", file, file)
	code := strings.TrimSpace(command(t, "zbarimg", "-q", "--nodbus", "--raw", "-Sdisable", "-Sqrcode.enable", "--", file+".png"))
	address, text, _ := strings.Cut(code, "#")
	if address != "http://ledger.example/card" {
		t.Errorf("the code opens %s", address)
	}
	var published struct {
		Keys []struct {
			ID     string `json:"id"`
			Public string `json:"public_hex"`
		} `json:"keys"`
	}
	if err := json.Unmarshal([]byte(l.Stranger().Get("/.well-known/ledgerwheel-keys.json").Want(http.StatusOK).Body), &published); err != nil {
		t.Fatal(err)
	}
	public, err := hex.DecodeString(published.Keys[0].Public)
	if err != nil {
		t.Fatal(err)
	}
	facts, err := apart(text, public)
	if err != nil {
		t.Fatal(err)
	}
	for name, want := range map[string]string{"number": string(number), "first day": "2026-11-24", "last day": "2028-11-24",
		"shop": "Tern Quay Watch Works", "maker": "Gannet", "model": "Harbourmaster", "case": "HM-104477", "movement": "M-90113",
		"work": "Full service\nMainspring", "covers": "The work named here.", "CH": "+3.000", "FH": "-1.000", "delta": "+5.000"} {
		if facts[name] != want {
			t.Errorf("%s: %q, want %q", name, facts[name], want)
		}
	}
	for at := range text {
		changed := []byte(text)
		if changed[at] = 'A'; text[at] == 'A' {
			changed[at] = 'B'
		}
		if _, err := apart(string(changed), public); err == nil {
			t.Fatalf("character %d changed, and still proven", at)
		}
	}
}

// apart proves a code with a public key and returns what it states.
func apart(text string, public ed25519.PublicKey) (map[string]string, error) {
	plain := base32.StdEncoding.WithPadding(base32.NoPadding)
	raw, err := plain.DecodeString(text)
	if err != nil || plain.EncodeToString(raw) != text || len(raw) < 124 || raw[0] != 1 {
		return nil, fmt.Errorf("no code: %v", err)
	}
	body, signature := raw[:len(raw)-64], raw[len(raw)-64:]
	if sum := sha256.Sum256(public); !bytes.Equal(sum[:8], body[1:9]) {
		return nil, fmt.Errorf("another key")
	}
	if !ed25519.Verify(public, append([]byte("ledgerwheel/warranty-card-code/1"), body...), signature) {
		return nil, fmt.Errorf("not signed with this key")
	}
	day := func(at int) string {
		return time.Unix(int64(binary.BigEndian.Uint16(body[at:]))*86400, 0).UTC().Format("2006-01-02")
	}
	milli := func(at int) string {
		return fmt.Sprintf("%+.3f", float64(int(int8(body[at]))<<16|int(binary.BigEndian.Uint16(body[at+1:])))/1000)
	}
	facts := map[string]string{"number": base32.StdEncoding.EncodeToString(body[9:19]), "first day": day(23), "last day": day(25),
		"delta": milli(53)}
	rest := body[60:]
	for range body[59] {
		at := len(body) - len(rest)
		facts[[]string{"CH", "FH", "3H", "6H", "9H", "12H"}[rest[0]]] = milli(at + 1)
		rest = rest[6:]
	}
	if binary.BigEndian.Uint16(body[48:])&0x8000 != 0 {
		if rest, err = io.ReadAll(flate.NewReader(bytes.NewReader(rest))); err != nil {
			return nil, err
		}
	}
	names := []string{"shop", "place", "maker", "model", "reference", "calibre", "case", "movement", "verdict", "wind", "work", "covers"}
	texts := strings.Split(string(rest), "\x00")
	if len(texts) != len(names) {
		return nil, fmt.Errorf("%d texts", len(texts))
	}
	for i, name := range names {
		facts[name] = texts[i]
	}
	return facts, nil
}
