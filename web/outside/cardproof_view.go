package outside

import "ledgerwheel/web/view"

// cardProofView is the page that a card's code opens.
type cardProofView struct {
	Form   view.Form
	Known  string // see known, as JSON
	Result *proofResult
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

// notKept is said of a card that proves itself and is not in the record.
const notKept = "The card is signed, but the shop's record has no card of this number. Ask the shop before you rely on it."

// publicKeysView is the page with the keys' fingerprints.
type publicKeysView struct {
	Keys []publicKeyView // newest first
}

// publicKeyView is one public key; Retired is "" while it signs.
type publicKeyView struct {
	ID, Public, Fingerprint, Retired string
}

func (k publicKeyView) terms() []view.TermView {
	state := "in use"
	if k.Retired != "" {
		state = "signed until " + k.Retired + "; its cards stay genuine"
	}
	return []view.TermView{view.Term("Now", state), {Term: "Fingerprint", Cell: view.Show(view.KeyHex(k.Fingerprint))},
		{Term: "Public key", Cell: view.Show(view.KeyHex(k.Public))}}
}

// cardFileView is the page that works without a network. Script and Style stand in it whole.
type cardFileView struct {
	Shop, Known, Policy string
	Script, Style       string
	Keys                []publicKeyView
	Made                string
}
