package post

import (
	"fmt"

	"ledgerwheel/web/view"
)

// mailView is the owner's page of mail.
type mailView struct {
	Form         view.Form
	Securities   []view.Option
	Waiting      int
	Oldest, Said string // when the oldest that waits was written; what stood against the newest try
	Refused      int    // that were refused and not told another way since
	RefusedSince string // when the oldest of them was
	Stranded     bool   // the shop's own settings keep some from being sent
	Saved        bool   // settings were saved once
	Ready        bool   // mail can be sent by what is saved
	Given        string // the server that the program was started with; "" for none
	Password     bool   // one is kept for the account
	PasswordLost string // why it can't be read
	Letters      bool   // the demo keeps its letters
	Tested       []stepView
}

// stepView is one step of a test mail.
type stepView struct {
	Words, Said string
	Mark        view.MarkKind
}

// standing says how the mail stands, and whether the owner must do something.
func (v mailView) standing() (words string, alarming bool) {
	waits := "No message waits."
	if v.Waiting == 1 {
		waits = "1 message waits, written " + v.Oldest + "."
	} else if v.Waiting > 1 {
		waits = fmt.Sprintf("%d messages wait, the oldest since %s.", v.Waiting, v.Oldest)
	}
	switch {
	case !v.Ready:
		return "No mail server is set up. " + waits + view.When(v.Waiting > 0, " After five days each becomes a call to make."), v.Waiting > 0
	case v.Stranded:
		return waits + " They can't be sent by the settings below.", true
	}
	return waits, false
}

func (v mailView) refused() string {
	if v.Refused == 1 {
		return "1 message was refused, on " + v.RefusedSince + ", and its customer is still to be told."
	}
	return fmt.Sprintf("%d messages were refused, the first on %s, and their customers are still to be told.", v.Refused, v.RefusedSince)
}

func (v mailView) passwordHint() string {
	if v.Password {
		return "One is kept. Leave this empty to keep it."
	}
	return "Kept on this machine with the private keys, not in the database."
}
