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
	"ledgerwheel/domain/warranty"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/view"
)

// Addresses that stand on cards and papers, and so may never change.
const (
	KeysPath     = "/.well-known/ledgerwheel-keys.json"
	cardPath     = "/card"
	cardFilePath = "/card-check.html"
)

func (s *Room) cardProofRoutes() []page.Route {
	limited := s.PerMachine(page.Bound{Times: ChecksPerMachine, Within: checkWindow, Title: "Too many checks",
		Text: "This machine has checked many cards within a minute. Wait a minute and scan the card again."})
	return []page.Route{
		page.Get(cardPath, page.Public, s.askForProof),
		page.Post(cardPath, page.Public, limited(s.checkProof)),
		page.Get("/card/keys", page.Public, s.showPublicKeys),
		page.Get(KeysPath, page.Public, s.sendPublicKeys),
		page.Get(cardFilePath, page.Public, s.sendCardFile),
		page.Get("/w/{code}/statement", page.Public, limited(s.sendStatement)),
	}
}

// askForProof is the page that a card's code opens. The signed facts stand after the #, which no browser sends: its script
// proves them there, and asks the shop only how the card of that number stands.
func (s *Room) askForProof(w http.ResponseWriter, r *http.Request) error {
	return s.renderProof(w, r, http.StatusOK, page.EmptyForm(), nil)
}

// checkProof proves a code that was pasted, for browsers that can't do it themselves.
func (s *Room) checkProof(w http.ResponseWriter, r *http.Request) error {
	f, err := page.ReadForm(w, r)
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
		f.Fail("proof", warranty.ProofProblem(err))
		return s.renderProof(w, r, http.StatusUnprocessableEntity, f, nil)
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
	return s.renderProof(w, r, http.StatusOK, f, s.proofResult(r, p, facts))
}

func (s *Room) renderProof(w http.ResponseWriter, r *http.Request, status int, f *page.Form, result *proofResult) error {
	unlisted(w)
	known, err := s.knownOf(r.Context(), true)
	if err != nil {
		return err
	}
	p := s.outsidePage(r, "Warranty check")
	p.Home, p.Scripts = "/w", []string{"js/card-check.js"}
	if result != nil {
		p.Shop = result.Shop
	}
	return page.Render(w, r, status, cardProof(p, cardProofView{Form: f.View(), Known: known, Result: result}))
}

// proofResult is what a proven card states, and how it stands.
func (s *Room) proofResult(r *http.Request, p warranty.Proof, facts warranty.PublicFacts) *proofResult {
	c := p.Card
	v := &proofResult{Text: p.Words(s.Today(r)), Shop: c.Shop.Name, Mark: page.StandingMark(facts.Standing),
		Word: checkWords[facts.Standing], Standing: facts.Standing.Words(), Statement: "/w/" + string(c.Code) + "/statement",
		LeftOut: p.LeftOut()}
	if facts.Standing == warranty.Unknown || facts.Standing == warranty.Mistyped {
		v.Mark, v.Word, v.Standing, v.Statement = view.Fail, "not known to the shop", notKept, ""
	}
	for _, f := range p.Facts(func(day time.Time) string { return s.Day(r, day) }) {
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
	var v publicKeysView
	for _, k := range keys {
		row := publicKeyView{ID: k.ID.Grouped(), Public: hex.EncodeToString(k.Public), Fingerprint: k.Fingerprint(),
			Retired: s.Moment(r, k.RetiredAt)}
		v.Keys = append([]publicKeyView{row}, v.Keys...)
	}
	p := s.outsidePage(r, "Keys of this shop")
	p.Home = "/w"
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
