package staff

import (
	"errors"
	"time"
)

// InviteFor is how long the link in an invitation, or in a password reset, can be used.
const InviteFor = 72 * time.Hour

// Invite is a link that lets someone set a password once: a new member, or one whose password the owner
// resets. Only a hash of the link's secret is kept, by the store.
type Invite struct {
	MemberID  int64
	Reset     bool // for a member who had a password before
	MadeBy    int64
	MadeAt    time.Time // UTC
	UsedAt    time.Time // UTC; zero while unused
	RevokedAt time.Time // UTC; zero unless revoked or replaced by a newer one
}

// The reasons why a link can't be used.
var (
	ErrInviteExpired = errors.New("this link has expired: ask the owner for a new one")
	ErrInviteUsed    = errors.New("this link was used before: sign in, or ask the owner for a new one")
	ErrInviteRevoked = errors.New("this link was replaced or withdrawn: ask the owner for a new one")
)

// ExpiresAt is when the link stops working, UTC.
func (i Invite) ExpiresAt() time.Time { return i.MadeAt.Add(InviteFor) }

// Check reports whether the link works at the time now: nil, [ErrInviteUsed], [ErrInviteRevoked] or
// [ErrInviteExpired].
func (i Invite) Check(now time.Time) error {
	switch {
	case !i.UsedAt.IsZero():
		return ErrInviteUsed
	case !i.RevokedAt.IsZero():
		return ErrInviteRevoked
	case !now.Before(i.ExpiresAt()):
		return ErrInviteExpired
	}
	return nil
}
