package outside

import (
	"encoding/hex"
	"encoding/json"
	"errors"
	"io"
	"net/http"
	"time"

	"github.com/go-chi/chi/v5"

	"ledgerwheel/domain"
	"ledgerwheel/domain/shop"
	"ledgerwheel/domain/tongue"
	"ledgerwheel/domain/warranty"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/view"
)

// Addresses that stand on cards and papers, and so may never change.
const (
	KeysPath     = "/.well-known/ledgerwheel-keys.json"
	cardPath     = "/card"
	keysPagePath = "/card/keys"
	cardFilePath = "/card-check.html"
)

func (s *Room) cardProofRoutes() []page.Route {
	limited := s.PerMachine(page.Bound{Times: ChecksPerMachine, Within: checkWindow, Title: "Too many checks",
		Text: "This machine has checked many cards within a minute. Wait a minute and scan the card again."})
	return []page.Route{
		page.Get(cardPath, page.Public, s.askForProof),
		page.Post(cardPath, page.Public, limited(s.checkProof)),
		page.Get(keysPagePath, page.Public, s.showPublicKeys),
		page.Get(KeysPath, page.Public, s.sendPublicKeys),
		page.Get(cardFilePath, page.Public, s.sendCardFile),
		page.Get("/w/{code}/statement", page.Public, limited(s.sendStatement)),
	}
}

// askForProof is the page that a card's code opens. The signed facts stand after the #, which no browser sends: its script
// proves them there, and asks the shop only how the card of that number stands.
func (s *Room) askForProof(w http.ResponseWriter, r *http.Request) error {
	say, err := s.readerVoice(r)
	if err != nil {
		return err
	}
	return s.renderProof(w, r, http.StatusOK, say, page.EmptyForm(), nil)
}

// checkProof proves a code that was pasted, for browsers that can't do it themselves.
func (s *Room) checkProof(w http.ResponseWriter, r *http.Request) error {
	f, err := page.ReadForm(w, r)
	if err != nil {
		return err
	}
	say, err := s.readerVoice(r)
	if err != nil {
		return err
	}
	keys, err := s.store.PublicKeys(r.Context())
	if err != nil {
		return err
	}
	set, err := warranty.NewKeySet(keys...)
	if err != nil {
		return err
	}
	p, err := set.VerifyProof(f.Text("proof"))
	if err != nil {
		f.Fail("proof", warranty.ProofProblem(say.Tongue, err))
		return s.renderProof(w, r, http.StatusUnprocessableEntity, say, f, nil)
	}
	check, err := s.store.CardCheck(r.Context(), p.Card.Code)
	if err != nil {
		return err
	}
	facts, err := check.Check(p.Card.Code, s.Now())
	if err != nil {
		s.Log.Error("a card that is kept does not prove itself", "id", page.RequestIDOf(r.Context()), "card", p.Card.Code,
			"error", err)
	}
	return s.renderProof(w, r, http.StatusOK, say, f, proofResultOf(say, p, facts, say.CivilDay(s.Now())))
}

// readerVoice speaks to whoever reads: in the language that the address asks for, else the browser's, else the shop's.
func (s *Room) readerVoice(r *http.Request) (page.Voice, error) {
	sh, err := s.store.Shop(r.Context())
	if errors.Is(err, domain.ErrNotFound) {
		sh, err = shop.Defaults(), nil
	}
	return page.VoiceOf(readerTongue(r, "", sh.Locale), sh), err
}

// strangersPage is a page at an address for whoever comes, with the choice of languages.
func (s *Room) strangersPage(r *http.Request, in tongue.Tongue, title, address string) view.Page {
	p := s.outsidePage(r, title)
	p.Home, p.Lang, p.Words = askedAgain(r, "/w"), string(in), frameWords(in)
	p.Words.Tongues = linksToTongues(in, address)
	return p
}

func (s *Room) renderProof(w http.ResponseWriter, r *http.Request, status int, say page.Voice, f *page.Form, result *proofResult) error {
	unlisted(w)
	known, err := s.knownOf(r.Context(), say, true)
	if err != nil {
		return err
	}
	p := s.strangersPage(r, say.Tongue, say.Say("check.title"), cardPath)
	p.Scripts = []string{"js/card-check.js"}
	if result != nil {
		p.Shop = result.Shop
	}
	return page.Render(w, r, status, cardProof(p, cardProofView{T: say.Tongue, Form: f.View(), Known: known, Result: result,
		Self: askedAgain(r, cardPath), ByNumber: askedAgain(r, "/w"), Keys: askedAgain(r, keysPagePath),
		File: cardFilePath + "?in=" + string(say.Tongue)}))
}

// proofResultOf is what a proven card states, and how it stands on the civil day today.
func proofResultOf(say page.Voice, p warranty.Proof, facts warranty.PublicFacts, today time.Time) *proofResult {
	c := p.Card
	v := &proofResult{Text: p.Words(say.Tongue, today), Shop: c.Shop.Name, Mark: page.StandingMark(facts.Standing),
		Word: say.Say("check.word." + string(facts.Standing)), Standing: say.Say("check.says." + string(facts.Standing)),
		Statement: "/w/" + string(c.Code) + "/statement", LeftOut: p.LeftOut(say.Tongue)}
	if facts.Standing == warranty.Unknown || facts.Standing == warranty.Mistyped {
		v.Mark, v.Word, v.Standing, v.Statement = view.Fail, say.Say("proof.unkept"), say.Say("proof.unkept.says"), ""
	}
	for _, f := range p.Facts(say.Tongue, say.Lang(), say.CardDay) {
		v.Terms = append(v.Terms, view.TermView{Term: f.Name, Cell: view.Cell{Text: f.Value, Auto: true}})
	}
	return v
}

// sendStatement signs how a card stands now. Nothing is said of a card that the shop does not keep.
func (s *Room) sendStatement(w http.ResponseWriter, r *http.Request) error {
	unlisted(w)
	code, err := warranty.ParseCode(chi.URLParam(r, "code"))
	if err != nil {
		return domain.ErrNotFound
	}
	check, err := s.store.CardCheck(r.Context(), code)
	if err != nil {
		return err
	}
	facts, err := check.Check(code, s.Now())
	if err != nil || facts.Shop == "" {
		return domain.ErrNotFound
	}
	st := warranty.Statement{Card: code, Shop: facts.Shop, Standing: facts.Standing, AsOf: s.Now().UTC().Truncate(time.Second)}
	switch facts.Standing {
	case warranty.Void:
		st.Since = check.Card.Fate.VoidedAt
	case warranty.Superseded:
		st.Since = check.Card.Fate.SupersededAt
	}
	text, err := s.store.SignStatement(r.Context(), st)
	if errors.Is(err, store.ErrNotSigned) {
		s.Log.Error("a card's standing can't be signed", "id", page.RequestIDOf(r.Context()), "error", err)
		return domain.ErrNotFound
	}
	if err != nil {
		return err
	}
	s.Log.Info("standing of a card signed", "id", page.RequestIDOf(r.Context()), "card", code, "standing", facts.Standing)
	w.Header().Set("Content-Type", "text/plain; charset=utf-8")
	w.Header().Set("Content-Disposition", `attachment; filename="card-`+code.Grouped()+`-standing.txt"`)
	_, _ = io.WriteString(w, text) // a reader that went away is no fault of ours
	return nil
}

// showPublicKeys is the page with the keys' fingerprints.
func (s *Room) showPublicKeys(w http.ResponseWriter, r *http.Request) error {
	keys, err := s.store.PublicKeys(r.Context())
	if err != nil {
		return err
	}
	say, err := s.readerVoice(r)
	if err != nil {
		return err
	}
	v := publicKeysView{T: say.Tongue, Check: askedAgain(r, cardPath)}
	for _, k := range keys {
		row := publicKeyView{ID: k.ID.Grouped(), Public: hex.EncodeToString(k.Public), Fingerprint: k.Fingerprint(),
			Retired: say.Moment(k.RetiredAt)}
		v.Keys = append([]publicKeyView{row}, v.Keys...)
	}
	p := s.strangersPage(r, say.Tongue, say.Say("keys.title"), keysPagePath)
	return page.Render(w, r, http.StatusOK, publicKeys(p, v))
}

// sendPublicKeys answers with the keys for programs.
func (s *Room) sendPublicKeys(w http.ResponseWriter, r *http.Request) error {
	keys, err := s.store.PublicKeys(r.Context())
	if err != nil {
		return err
	}
	sh, err := s.store.Shop(r.Context())
	if err != nil && !errors.Is(err, domain.ErrNotFound) {
		return err
	}
	file := warranty.PublishedKeys{Shop: sh.Name, Keys: []warranty.PublishedKey{}}
	for _, k := range keys {
		file.Keys = append(file.Keys, k.Publish())
	}
	w.Header().Set("Content-Type", "application/json")
	encoder := json.NewEncoder(w)
	encoder.SetIndent("", "  ")
	_ = encoder.Encode(file) // a reader that went away is no fault of ours
	return nil
}
