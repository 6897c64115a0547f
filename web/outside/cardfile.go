package outside

import (
	"context"
	"crypto/sha256"
	_ "embed"
	"encoding/base64"
	"encoding/hex"
	"encoding/json"
	"errors"
	"net/http"

	"ledgerwheel/domain"
	"ledgerwheel/domain/warranty"
	"ledgerwheel/web/page"
	"ledgerwheel/web/static"
)

// cardFileStyle is the look of the page without a network, which can load no stylesheet.
//
//go:embed cardfile.css
var cardFileStyle string

// sendCardFile answers with the page that works without a network.
func (s *Room) sendCardFile(w http.ResponseWriter, r *http.Request) error {
	unlisted(w)
	known, err := s.knownOf(r.Context(), false)
	if err != nil {
		return err
	}
	sh, err := s.store.Shop(r.Context())
	if err != nil && !errors.Is(err, domain.ErrNotFound) {
		return err
	}
	keys, err := s.store.PublicKeys(r.Context())
	if err != nil {
		return err
	}
	v := cardFileView{Shop: sh.Name, Known: known, Script: static.Text("js/card-check.js"), Style: cardFileStyle,
		Made: s.Moment(r, s.Now())}
	for _, k := range keys {
		v.Keys = append([]publicKeyView{{ID: k.ID.Grouped(), Retired: s.Moment(r, k.RetiredAt)}}, v.Keys...)
	}
	v.Policy = "default-src 'none'; script-src " + inlined(v.Script) + "; style-src " + inlined(v.Style) +
		"; base-uri 'none'; form-action 'none'"
	w.Header().Set("Content-Security-Policy", v.Policy+"; frame-ancestors 'none'")
	return page.Render(w, r, http.StatusOK, cardFile(v))
}

// inlined allows one text within a page, by Content Security Policy Level 2.
func inlined(text string) string {
	sum := sha256.Sum256([]byte(text))
	return "'sha256-" + base64.StdEncoding.EncodeToString(sum[:]) + "'"
}

// known is what the script that proves cards is told: the keys, and the words, which have one home in the program.
type known struct {
	Keys      []knownKey            `json:"keys"`
	Texts     []string              `json:"texts"` // of a code, by their order, where they are not whole
	Words     map[string]string     `json:"words"`
	Standings map[string]knownStand `json:"standings,omitempty"` // by the words of a statement
	Standing  string                `json:"standing,omitempty"`  // address of a statement; CODE is the number
	Send      bool                  `json:"send,omitempty"`      // the form may be sent to the shop
}

type knownKey struct {
	ID      string `json:"id"`
	Public  string `json:"public"`
	Retired int64  `json:"retired,omitempty"` // s since 1970
}

type knownStand struct {
	Kind string `json:"kind"`
	Word string `json:"word"`
	Text string `json:"text"`
}

// knownOf is what the script is told, as JSON; connected for the shop's own page, which can ask how a card stands.
func (s *Room) knownOf(ctx context.Context, connected bool) (string, error) {
	keys, err := s.store.PublicKeys(ctx)
	if err != nil {
		return "", err
	}
	k := known{Keys: []knownKey{}, Texts: warranty.ProofTexts(), Words: map[string]string{"running": warranty.ProofRunning,
		"ended": warranty.ProofEnded, "ahead": warranty.ProofAhead, "shape": warranty.ProofProblem(warranty.ErrProofShape),
		"unknown": warranty.ProofProblem(warranty.ErrUnknownKey), "retired": warranty.ProofProblem(warranty.ErrKeyRetired),
		"signature": warranty.ProofProblem(warranty.ErrSignature), "compare": warranty.ProofCompare, "partly": warranty.ProofPartly,
		"unable": "This browser can't check Ed25519 signatures, so nothing is said of the card. Use a newer browser, or the " +
			"shop's own page.", "notkept": notKept,
		"offline": "The card is proven by itself. Whether the shop has declared it void or replaced it can't be told now."}}
	for _, key := range keys {
		row := knownKey{ID: string(key.ID), Public: hex.EncodeToString(key.Public)}
		if !key.RetiredAt.IsZero() {
			row.Retired = key.RetiredAt.Unix()
		}
		k.Keys = append(k.Keys, row)
	}
	if connected {
		k.Standing, k.Send, k.Standings = "/w/CODE/statement", true, map[string]knownStand{}
		for standing, words := range warranty.StatementWords() {
			k.Standings[words] = knownStand{string(page.StandingMark(standing)), checkWords[standing], standing.Words()}
		}
	}
	text, err := json.Marshal(k)
	return string(text), err
}
