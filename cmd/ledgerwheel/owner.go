package main

import (
	"crypto/rand"
	"errors"
	"os"
	"strings"
	"time"

	"ledgerwheel/domain/staff"
	"ledgerwheel/store"
	"ledgerwheel/store/keyring"
)

type ownerCmd struct {
	Reset ownerResetCmd `cmd:"" help:"Take an owner's password away, end their sessions, remove their second factors, and print a link to set a new password. The shop may run or be stopped; its journal says what was done."`
}

type ownerResetCmd struct {
	keptFlags
	Email      string `arg:"" optional:"" help:"The owner's e-mail address; unset, the only owner."`
	KeepSecond bool   `name:"keep-second-factor" help:"Leave the second factors as they are: whoever still has the telephone or the recovery codes."`
	PublicURL  string `name:"public-url" help:"The address at which the shop is reached, for the link." env:"LEDGERWHEEL_PUBLIC_URL" placeholder:"URL"`
}

// Run resets one owner and prints the link, which works once.
func (c *ownerResetCmd) Run(e *env) (err error) {
	p := &program{env: e}
	defer func() { err = errors.Join(err, p.close()) }()
	st, folder, err := c.openKept(p)
	if err != nil {
		return err
	}
	if err := markAs(st, folder); err != nil {
		return err
	}
	rows, err := st.Staff(e.ctx)
	if err != nil {
		return err
	}
	people := make([]staff.Member, len(rows))
	for i, row := range rows {
		people[i] = row.Member
	}
	m, err := staff.OwnerToReset(people, c.Email)
	if err != nil {
		return err
	}
	secret := rand.Text()
	if err := st.ResetOwner(e.ctx, m.ID, secret, c.KeepSecond, time.Now()); err != nil {
		return err
	}
	p.say("%s (%s) is signed out everywhere and the old password is void.", m.Name, m.Email)
	if !c.KeepSecond {
		p.say("Second factors are removed; set new ones up after signing in.")
	}
	if c.PublicURL == "" {
		p.say("Open this path at the address of the shop, such as http://127.0.0.1:8080, within %d hours. It works once:",
			int(staff.InviteFor.Hours()))
	} else {
		p.say("Open this within %d hours. It works once:", int(staff.InviteFor.Hours()))
	}
	p.say("%s/join/%s", strings.TrimRight(c.PublicURL, "/"), secret)
	return nil
}

// markAs has the store mark entries of the journals with the shop's own secret. None is made beside a shop: its entries
// would be taken for somebody else's.
func markAs(st *store.Store, folder dataFolder) error {
	keys := string(folder)
	if folder != "" {
		keys = folder.keys()
	}
	ring, err := keyring.Open(keys, os.Getenv(keyring.EnvName))
	if err != nil {
		return err
	}
	list, err := ring.List(keyring.Journal)
	if err != nil {
		return err
	}
	if len(list) == 0 {
		return errors.New("the key that marks the shop's journal is not here: name the shop's data folder with --data, or give its keys in " +
			keyring.EnvName)
	}
	st.UseKeys(ring)
	return st.MarkEntries()
}
