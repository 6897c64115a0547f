package outside

import (
	"ledgerwheel/domain/tongue"
	"ledgerwheel/web/view"
)

// cardProofView is the page that a card's code opens.
type cardProofView struct {
	T      tongue.Tongue // the reader's
	Form   view.Form
	Known  string // see known, as JSON
	Result *proofResult

	Self, ByNumber, Keys, File string // addresses, in the reader's language
}

// proofResult is what a proven card states, and how it stands.
type proofResult struct {
	Text, Shop     string
	Terms          []view.TermView
	LeftOut        string // "" where the code has all
	Mark           view.MarkKind
	Word, Standing string
	Statement      string // address of the signed statement; "" for none
}

// publicKeysView is the page with the keys' fingerprints.
type publicKeysView struct {
	T     tongue.Tongue
	Keys  []publicKeyView // newest first
	Check string          // address of the check, in the reader's language
}

// publicKeyView is one public key; Retired is "" while it signs.
type publicKeyView struct {
	ID, Public, Fingerprint, Retired string
}

func (k publicKeyView) terms(in tongue.Tongue) []view.TermView {
	state := in.Say("keys.in_use")
	if k.Retired != "" {
		state = in.Say("keys.retired", "at", k.Retired)
	}
	return []view.TermView{view.Term(in.Say("keys.now"), state), {Term: in.Say("keys.fingerprint"), Cell: view.Show(view.KeyHex(k.Fingerprint))},
		{Term: in.Say("keys.public"), Cell: view.Show(view.KeyHex(k.Public))}}
}

// cardFileView is the page that works without a network. Script and Style stand in it whole.
type cardFileView struct {
	T                   tongue.Tongue // of the page that it was saved from
	Shop, Known, Policy string
	Script, Style       string
	Keys                []publicKeyView
	Made                string
}
