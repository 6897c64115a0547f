package staff

import "slices"

// Access is one kind of what the log of sign-ins keeps. The value is the slug kept in the database.
type Access string

// What happens at the door.
const (
	SignedIn        Access = "signed-in"
	SignedOut       Access = "signed-out"
	WrongPassword   Access = "wrong-password"
	WrongCode       Access = "wrong-code"
	WrongPasskey    Access = "wrong-passkey"
	WrongProof      Access = "wrong-proof"
	SessionEnded    Access = "session-ended"
	OthersEnded     Access = "others-ended"
	EndedIdle       Access = "ended-idle"
	EndedWrong      Access = "ended-wrong"
	PasskeyAdded    Access = "passkey-added"
	PasskeyRemoved  Access = "passkey-removed"
	AppAdded        Access = "app-added"
	AppRemoved      Access = "app-removed"
	RecoveryMade    Access = "recovery-made"
	RecoveryUsed    Access = "recovery-used"
	FactorsTakenOff Access = "factors-taken-off"
	ResetOnMachine  Access = "reset-on-machine"
)

var accessWords = map[Access]string{
	SignedIn:        "signed in",
	SignedOut:       "signed out",
	WrongPassword:   "refused: wrong password",
	WrongCode:       "refused: wrong code",
	WrongPasskey:    "refused: passkey not accepted",
	WrongProof:      "refused: wrong answer when asked again",
	SessionEnded:    "ended one of their sessions",
	OthersEnded:     "ended all their other sessions",
	EndedIdle:       "session ended: not used for too long",
	EndedWrong:      "session ended: too many wrong answers",
	PasskeyAdded:    "added a passkey",
	PasskeyRemoved:  "removed a passkey",
	AppAdded:        "set up codes from an app",
	AppRemoved:      "removed the codes from an app",
	RecoveryMade:    "made recovery codes",
	RecoveryUsed:    "used a recovery code",
	FactorsTakenOff: "second factors removed by the owner",
	ResetOnMachine:  "password taken away by command on the machine",
}

// Accesses are all kinds, in no order.
func Accesses() []Access {
	var list []Access
	for a := range accessWords {
		list = append(list, a)
	}
	slices.Sort(list)
	return list
}

// Words say what happened, after who.
func (a Access) Words() string { return accessWords[a] }

// Refused reports whether somebody was turned away: such can come by the thousand, so equal ones are counted.
func (a Access) Refused() bool {
	return a == WrongPassword || a == WrongCode || a == WrongPasskey || a == WrongProof
}

const (
	// RefusalsApart is how many addresses are kept apart among the refusals of one kind, for one person, in an hour.
	RefusalsApart = 20
	// Days for which the log is kept.
	AccessDays, RefusalDays = 400, 90
)
