package main

import (
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
	"text/tabwriter"
	"time"

	"ledgerwheel/domain/tongue"
	"ledgerwheel/domain/warranty"
)

type cardCmd struct {
	Verify cardVerifyCmd `cmd:"" help:"Prove a card, or a signed statement of how one stands, with the shop's public key and nothing else."`
}

type cardVerifyCmd struct {
	Key  string `required:"" help:"The shop's public keys: the file that it publishes at /.well-known/ledgerwheel-keys.json, or one key in hexadecimal digits or base64." placeholder:"FILE|PUBLICKEY"`
	Code string `arg:"" optional:"" default:"-" name:"CODE" help:"The text of the card's code, with or without the address before it; - or nothing reads it, or a statement, from standard input."`
}

// mostCardText is far above the length of a code or a statement.
const mostCardText = 64 << 10

// Run proves the code. What is not genuine ends with 1, what can't be checked with 2.
func (c *cardVerifyCmd) Run(e *env) error {
	set, err := c.keys()
	if err != nil {
		return unusable{err}
	}
	text := c.Code
	if text == "-" {
		raw, err := io.ReadAll(io.LimitReader(e.stdin, mostCardText))
		if err != nil {
			return unusable{fmt.Errorf("read the code: %w", err)}
		}
		text = string(raw)
	}
	switch {
	case strings.TrimSpace(text) == "":
		return unusable{errors.New("no code was given")}
	case warranty.IsStatement(text):
		return verifyStatement(e, set, text)
	}
	p, err := set.VerifyProof(text)
	if err != nil {
		return errors.New(warranty.ProofProblem(tongue.English, err))
	}
	now := time.Now()
	fmt.Fprintln(e.stdout, p.Words(tongue.English, time.Date(now.Year(), now.Month(), now.Day(), 0, 0, 0, 0, time.UTC)))
	table := tabwriter.NewWriter(e.stdout, 0, 0, 2, ' ', 0)
	for _, f := range p.Facts(tongue.English, string(tongue.English), func(t time.Time) string { return t.Format("2 January 2006") }) {
		for i, line := range strings.Split(f.Value, "\n") {
			name := f.Name
			if i > 0 {
				name = ""
			}
			fmt.Fprintf(table, "%s\t%s\n", name, line)
		}
	}
	fmt.Fprintf(table, "Signed\t%s, key %s\n", p.Card.IssuedAt.Format("2 January 2006, 15:04 UTC"), p.KeyID.Grouped())
	if err := table.Flush(); err != nil {
		return err
	}
	fmt.Fprintln(e.stdout, tongue.English.Say("proof.compare"))
	if left := p.LeftOut(tongue.English); left != "" {
		fmt.Fprintln(e.stdout, left)
	}
	return nil
}

// verifyStatement proves what a shop said of a card.
func verifyStatement(e *env, set warranty.KeySet, text string) error {
	s, err := set.VerifyStatement(text)
	if err != nil {
		return errors.New(warranty.StatementProblem(err))
	}
	fmt.Fprintf(e.stdout, "The shop said of card %s at %s: %s Key %s.\n", s.Card.Grouped(), s.AsOf.Format("2 January 2006, 15:04:05 UTC"),
		s.Standing.Words(), s.KeyID.Grouped())
	return nil
}

// keys reads the keys from the file of that name or, where there is none, from the words themselves.
func (c *cardVerifyCmd) keys() (warranty.KeySet, error) {
	text, err := os.ReadFile(c.Key)
	named := err == nil
	if !named {
		text = []byte(c.Key)
	}
	list, err := warranty.ParseKeys(text)
	switch {
	case err != nil && named:
		return nil, fmt.Errorf("%s: %w", c.Key, err)
	case err != nil:
		return nil, fmt.Errorf("--key %s is no file and %w", c.Key, err)
	}
	return warranty.NewKeySet(list...)
}
