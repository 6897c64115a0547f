package main

import (
	"bytes"
	"encoding/base64"
	"encoding/hex"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/tongue"
	"ledgerwheel/domain/warranty"
)

func cardRun(stdin string, args ...string) (code int, stdout, stderr string) {
	var out, complaints bytes.Buffer
	code = run(append([]string{"card", "verify"}, args...), strings.NewReader(stdin), &out, &complaints)
	return code, out.String(), complaints.String()
}

func TestCardVerify(t *testing.T) {
	t.Parallel()
	key, err := warranty.KeyFromSeed(bytes.Repeat([]byte{5}, 32))
	if err != nil {
		t.Fatal(err)
	}
	var many strings.Builder // words that no compressing shortens
	for i := range 250 {
		many.WriteRune(rune(0x4e00 + i*7919%20000))
	}
	today := time.Now().UTC().Truncate(24 * time.Hour)
	card := warranty.Card{Code: "ABCDEFGHIJKLMNOP", Docket: docket.Number{Year: 2026, Seq: 7},
		Shop: warranty.Shop{Name: "Tern Quay Watch Works", Place: "Saltby"}, Watch: warranty.Watch{Maker: "Gannet", CaseSerial: "HM-104477"},
		WorkDone: []string{"Full service", "Mainspring"}, IssuedAt: today.Add(-48 * time.Hour), StartsOn: today.AddDate(0, 0, -2),
		ExpiresOn: today.AddDate(0, 0, 90), Covers: many.String(),
		Final: warranty.Final{MeanSPerDay: 2.25, DeltaSPerDay: 6.5, USPerDay: 0.6, Verdict: "pass"}}
	raw, err := key.Prove(card)
	if err != nil {
		t.Fatal(err)
	}
	proof := warranty.ProofText(raw)
	statement, err := key.State(warranty.Statement{Card: card.Code, Shop: "x", Standing: warranty.Void, AsOf: today})
	if err != nil {
		t.Fatal(err)
	}
	published, err := json.Marshal(warranty.PublishedKeys{Shop: "x", Keys: []warranty.PublishedKey{key.Publish()}})
	if err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(t.TempDir(), "keys.json")
	if err := os.WriteFile(file, published, 0o600); err != nil {
		t.Fatal(err)
	}
	public := hex.EncodeToString(key.Public)
	other := strings.Repeat("00", 32)
	for _, tt := range []struct {
		name, stdin string
		args        []string
		code        int
		says        string
	}{
		{"by the published file", "", []string{"--key", file, proof}, 0, "HM-104477"},
		{"by hexadecimal digits, from standard input", "http://ledger.example/card#" + proof + "\n", []string{"--key", public, "-"}, 0,
			tongue.English.Say("proof.running")},
		{"by base64", proof, []string{"--key", base64.StdEncoding.EncodeToString(key.Public)}, 0, "Mainspring"},
		{"says what is left out", proof, []string{"--key", public}, 0, tongue.English.Say("proof.partly", "what", "what it covers")},
		{"a statement", statement, []string{"--key", public}, 0, warranty.Void.Words()},
		{"a statement changed", strings.Replace(statement, "declared void", "stands", 1), []string{"--key", public}, 1, "Not genuine"},
		{"one character changed", "", []string{"--key", public, flippedAt(proof, 60)}, 1, "Not genuine: the signature"},
		{"another shop's key", "", []string{"--key", other, proof}, 1, "not among the shop’s"},
		{"no code at all", "", []string{"--key", public, "hello"}, 1, "no warranty card’s code"},
		{"nothing", "", []string{"--key", public}, 2, "no code was given"},
		{"no such file", "", []string{"--key", "/no/such/file", proof}, 2, "is no file"},
		{"a file of something else", "", []string{"--key", "card_test.go", proof}, 2, "card_test.go: no public key"},
		{"no key", "", []string{proof}, 2, "--key"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			code, stdout, stderr := cardRun(tt.stdin, tt.args...)
			said := stdout
			if tt.code != 0 {
				said = stderr
			}
			if code != tt.code || !strings.Contains(said, tt.says) || (code != 0) != (stdout == "") {
				t.Errorf("exit %d, %q, %q; want %d and %q", code, stdout, stderr, tt.code, tt.says)
			}
		})
	}
}

func flippedAt(text string, at int) string {
	other := "A"
	if text[at] == 'A' {
		other = "B"
	}
	return text[:at] + other + text[at+1:]
}
