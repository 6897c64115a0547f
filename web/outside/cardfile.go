package outside

import (
	"context"
	"crypto/sha256"
	_ "embed"
	"encoding/base64"
	"encoding/hex"
	"encoding/json"
	"maps"
	"net/http"
	"strings"
	"time"

	"ledgerwheel/domain/tongue"
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
	say, err := s.readerVoice(r)
	if err != nil {
		return err
	}
	known, err := s.knownOf(r.Context(), say, false)
	if err != nil {
		return err
	}
	keys, err := s.store.PublicKeys(r.Context())
	if err != nil {
		return err
	}
	v := cardFileView{T: say.Tongue, Shop: say.Shop.Name, Known: known, Script: static.Text("js/card-check.js"), Style: cardFileStyle,
		Made: say.Moment(s.Now())}
	for _, k := range keys {
		v.Keys = append([]publicKeyView{{ID: k.ID.Grouped(), Retired: say.Moment(k.RetiredAt)}}, v.Keys...)
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

// known is what the script that proves cards is told: the keys, and how the reader's language says and writes things, which has
// one home in the program.
type known struct {
	Keys      []knownKey            `json:"keys"`
	Parts     []string              `json:"parts"` // of a code, by the bits of its flags, where they are not whole
	Words     map[string]string     `json:"words"`
	Labels    map[string]string     `json:"labels"` // of the facts
	Days      knownDays             `json:"days"`
	Mark      string                `json:"mark"`                // before decimals
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

// knownDays is how a day is written: its number, First for the first of a month, then what Months has for the month, a space and
// the year.
type knownDays struct {
	First  string     `json:"first"`
	Months [12]string `json:"months"`
}

// daysOf takes the writing of days apart that cards have, so that the script writes them alike.
func daysOf(say page.Voice) knownDays {
	var d knownDays
	for i := range d.Months {
		second := say.CardDay(time.Date(2001, time.Month(i+1), 2, 0, 0, 0, 0, time.UTC))
		d.Months[i] = strings.TrimSuffix(strings.TrimPrefix(second, "2"), " 2001")
	}
	d.First, _, _ = strings.Cut(say.CardDay(time.Date(2001, time.January, 1, 0, 0, 0, 0, time.UTC)), d.Months[0])
	return d
}

// scriptWords are the sentences that the script says. {} stands for what it puts in.
func scriptWords(in tongue.Tongue) map[string]string {
	return map[string]string{"signed": in.Say("proof.signed"), "wrong": in.Say("check.word.unknown"), "unchecked": in.Say("proof.unchecked"),
		"running": in.Say("proof.running"), "ended": in.Say("proof.ended"), "ahead": in.Say("proof.ahead"), "shape": in.Say("proof.shape"),
		"unknown": in.Say("proof.unknown"), "retired": in.Say("proof.retired"), "signature": in.Say("proof.signature"),
		"compare": in.Say("proof.compare"), "partly": in.Say("proof.partly", "what", "{}"), "between": in.Say("proof.between"),
		"unable": in.Say("proof.unable")}
}

// standingWords are what it says besides of how a card stands.
func standingWords(in tongue.Tongue) map[string]string {
	return map[string]string{"unkept": in.Say("proof.unkept"), "unkeptSays": in.Say("proof.unkept.says"),
		"standingUnknown": in.Say("proof.standing_unknown"), "standingUnknownSays": in.Say("proof.standing_unknown.says"),
		"keep": in.Say("check.statement")}
}

// knownOf is what the script is told, as JSON; connected for the shop's own page, which can ask how a card stands.
func (s *Room) knownOf(ctx context.Context, say page.Voice, connected bool) (string, error) {
	keys, err := s.store.PublicKeys(ctx)
	if err != nil {
		return "", err
	}
	k := known{Keys: []knownKey{}, Words: scriptWords(say.Tongue), Labels: map[string]string{}, Days: daysOf(say),
		Mark: strings.Trim(say.Figures("0.5"), "05")}
	for _, part := range warranty.ProofParts() {
		k.Parts = append(k.Parts, part.Words(say.Tongue))
	}
	for _, fact := range warranty.FactNames {
		k.Labels[string(fact)] = fact.Words(say.Tongue)
	}
	for _, key := range keys {
		row := knownKey{ID: string(key.ID), Public: hex.EncodeToString(key.Public)}
		if !key.RetiredAt.IsZero() {
			row.Retired = key.RetiredAt.Unix()
		}
		k.Keys = append(k.Keys, row)
	}
	if connected {
		k.Standing, k.Send, k.Standings = "/w/CODE/statement", true, map[string]knownStand{}
		maps.Copy(k.Words, standingWords(say.Tongue))
		for standing, words := range warranty.StatementWords() {
			k.Standings[words] = knownStand{string(page.StandingMark(standing)), say.Say("check.word." + string(standing)),
				say.Say("proof.stated_at", "standing", say.Say("check.says."+string(standing)), "at", "{}")}
		}
	}
	text, err := json.Marshal(k)
	return string(text), err
}
