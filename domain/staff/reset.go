package staff

import (
	"errors"
	"fmt"
	"slices"
	"strings"
)

// What the record says of a reset at the command line of the program's own machine, after "who".
const (
	ResetHere       = "password taken away and link made to set a new one, by command on the machine"
	ResetHereSecond = ResetHere + "; second factors removed"
)

// OwnerToReset chooses whose password is reset at the command line: the owner with the address, or the only one where none
// is given. The error is a sentence.
func OwnerToReset(people []Member, email string) (Member, error) {
	var owners []Member
	var addresses []string
	for _, m := range people {
		if m.Role == Owner && !m.Disabled {
			owners = append(owners, m)
			addresses = append(addresses, m.Email)
		}
	}
	if len(owners) == 0 {
		return Member{}, errors.New("the shop has no owner yet: start it, and open it to create one")
	}
	who := "the owner's address is " + addresses[0]
	if len(owners) > 1 {
		who = "the owners' addresses are " + strings.Join(addresses, ", ")
	}
	if email == "" && len(owners) == 1 {
		return owners[0], nil
	}
	if email == "" {
		return Member{}, fmt.Errorf("the shop has %d owners, name one: %s", len(owners), who)
	}
	i := slices.IndexFunc(people, func(m Member) bool { return NormalEmail(m.Email) == NormalEmail(email) })
	if i < 0 {
		return Member{}, fmt.Errorf("nobody in the shop has the address %q: %s", email, who)
	}
	return people[i], mayResetHere(people[i], who)
}

func mayResetHere(m Member, who string) error {
	switch {
	case m.Role != Owner:
		return fmt.Errorf("%s is no owner: an owner makes a new link for %s under Owner, Staff; %s", m.Email, m.Name, who)
	case m.Disabled:
		return fmt.Errorf("%s is disabled: another owner lets %s in again first; %s", m.Email, m.Name, who)
	}
	return nil
}
