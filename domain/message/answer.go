package message

import (
	"fmt"
	"regexp"
	"slices"
	"strings"

	"ledgerwheel/domain/text"
)

// Step is how far a conversation with a mail server came, in the order of RFC 5321.
type Step int

// The steps.
const (
	FindName    Step = iota // of the server
	Connect                 // up to the server's greeting and what it can do
	Secure                  // TLS
	SignIn                  // with user and password
	FromAddress             // MAIL FROM
	ToAddress               // RCPT TO
	Content                 // DATA, up to the answer to its last line
)

// Steps lists every Step in order.
var Steps = []Step{FindName, Connect, Secure, SignIn, FromAddress, ToAddress, Content}

// Words says what s is about, for a list of steps.
func (s Step) Words() string {
	return [...]string{"Name found", "Connected", "Secured by TLS", "Signed in", "Sender accepted", "Recipient accepted", "Message accepted"}[s]
}

// Answer is what a try to hand a message to the mail server came to.
type Answer struct {
	Step     Step   // the last that was begun
	Taken    bool   // the server has taken the message
	Lost     bool   // all of the message was handed over, and no answer came
	Code     int    // of RFC 5321, such as 550; 0 where the server gave none
	Enhanced string // of RFC 3463, such as "5.1.1"; "" where the server gave none
	Said     string // by the server or, without a code, by this machine
}

// Done is one step of a conversation with a mail server that was made, with what is worth saying of it.
type Done struct {
	Step Step
	Said string
}

// Tested is what came of a test mail.
type Tested struct {
	Done   []Done
	Answer Answer
}

// Outcome is what follows of an answer.
type Outcome int

// The outcomes.
const (
	Later  Outcome = iota // to be tried again
	Taken                 // sent
	Never                 // refused for good
	Strand                // the shop's own settings are refused: tried again, and the owner told
)

// signingIn are the codes by which a server says that the shop is not signed in as it should be (RFC 4954 section 6).
var signingIn = []int{530, 534, 535, 538}

// Outcome says what follows: a server's 5yz to recipient or content is for good (RFC 5321 section 4.2.1); one given before
// that is about the shop's own settings and says nothing against the message.
func (a Answer) Outcome() Outcome {
	final := a.Code >= 500 && a.Code < 600
	switch {
	case a.Taken:
		return Taken
	case slices.Contains(signingIn, a.Code), final && a.Step < ToAddress, a.Code == 0 && (a.Step == Secure || a.Step == SignIn):
		return Strand
	case final:
		return Never
	}
	return Later
}

// badAddress are the enhanced codes (RFC 3463 section 3.2 and 3.3; 5.1.10 is RFC 7505's) that speak of the recipient's
// address: 5.1.7 and 5.1.8 are about the sender's, and 5.2.2 is a full mailbox.
var badAddress = regexp.MustCompile(`^5\.(1\.([0-6]|9|10)|2\.1)$`)

// AddressRefused reports whether the server says that there is no such address, rather than that it will not have this
// message: by the enhanced code where it gives one, else by 550, 551 or 553 to the recipient (RFC 5321 section 4.2.3).
func (a Answer) AddressRefused() bool {
	switch {
	case a.Outcome() != Never:
		return false
	case a.Enhanced != "":
		return badAddress.MatchString(a.Enhanced)
	}
	return a.Step == ToAddress && slices.Contains([]int{550, 551, 553}, a.Code)
}

// maxSaid bounds what is kept of a server's words, in characters.
const maxSaid = 300

// Words says in a sentence what a came to.
func (a Answer) Words() string {
	said := text.Line(a.Said)
	if r := []rune(said); len(r) > maxSaid {
		said = string(r[:maxSaid]) + "…"
	}
	switch {
	case a.Taken:
		return "The mail server has taken it."
	case a.Lost:
		return "The mail server had all of it, and then its answer was lost: " + said + "."
	case a.Code == 0:
		return fmt.Sprintf("%s: %s.", notDone[a.Step], strings.TrimRight(said, "."))
	}
	code := fmt.Sprint(a.Code)
	if a.Enhanced != "" && !strings.HasPrefix(said, a.Enhanced) {
		code += " " + a.Enhanced
	}
	return fmt.Sprintf("%s: the mail server said %s.", notDone[a.Step], strings.TrimRight(code+" "+said, ". "))
}

// notDone says of each step that it failed.
var notDone = [...]string{
	FindName:    "The name of the mail server was not found",
	Connect:     "The mail server was not reached",
	Secure:      "The connection to the mail server could not be secured",
	SignIn:      "Signing in to the mail server failed",
	FromAddress: "The sender's address was refused",
	ToAddress:   "The recipient's address was refused",
	Content:     "The message was not taken",
}
