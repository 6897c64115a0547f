// Package staff holds the shop's people: their roles, what each role may do, and the rules for
// passwords and invitations. It keeps no time of its own and stores nothing.
package staff

import "slices"

// Role is what a member of staff is in the shop. The value is the slug kept in the database.
type Role string

// The three roles.
const (
	Owner      Role = "owner"
	Watchmaker Role = "watchmaker"
	Clerk      Role = "clerk"
)

// Roles returns every role, in the order in which forms offer them.
func Roles() []Role { return []Role{Owner, Watchmaker, Clerk} }

// Known reports whether r is one of the three roles.
func (r Role) Known() bool { return slices.Contains(Roles(), r) }

// Label is the role in plain words.
func (r Role) Label() string {
	switch r {
	case Owner:
		return "owner"
	case Watchmaker:
		return "watchmaker"
	case Clerk:
		return "counter clerk"
	}
	return "unknown role"
}
