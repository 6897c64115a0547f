package main

import (
	"fmt"
	"io"
	"text/tabwriter"

	"ledgerwheel/web/notices"
)

type licencesCmd struct {
	Full bool   `help:"Print every notice with its whole text."`
	Name string `arg:"" optional:"" name:"NAME" help:"Print the text of this one: a name of the list, or a part of it that only one has."`
}

// Run prints the list, one text, or all of them.
func (c *licencesCmd) Run(e *env) error {
	switch {
	case c.Full:
		_, err := io.WriteString(e.stdout, notices.Full())
		return err
	case c.Name != "":
		n, err := notices.Find(c.Name)
		if err != nil {
			return err
		}
		_, err = io.WriteString(e.stdout, n.Text)
		return err
	}
	table := tabwriter.NewWriter(e.stdout, 0, 0, 2, ' ', 0)
	for _, n := range notices.All() {
		fmt.Fprintf(table, "%s\t%s\t%s\n", n.Name, n.Version, n.Licences)
	}
	return table.Flush()
}
