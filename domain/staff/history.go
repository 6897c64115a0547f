package staff

// What the record of the shop's people says was done, after "who".
const (
	LinkMade        = "link to set a password made"
	LetIn           = "let in again"
	ShutOut         = "disabled"
	PasswordSet     = "set a password"
	PasswordChanged = "changed their password"
	FactorsGone     = "second factors removed"
)

// InvitedWords say as what somebody was invited.
func (r Role) InvitedWords() string { return "invited as " + r.Label() }

// MadeWords say what somebody was made.
func (r Role) MadeWords() string { return "made " + r.Label() }

// EmailTaken is what is wrong with an address that another has.
const EmailTaken = "Somebody in the shop has this address already."

// Summary is a line of the shop's journal about m: whose, and what was done.
func (m Member) Summary(what string) string { return m.Name + ": " + what + "." }

// AddedSummary is the line about somebody who was added with a password.
func (m Member) AddedSummary() string { return m.Summary("added as " + m.Role.Label()) }
