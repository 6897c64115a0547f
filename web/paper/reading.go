package paper

import (
	"cmp"
	"slices"
	"strconv"
)

func (g group) span() string { return strconv.Itoa(g.to - g.from) }

// name is what the table is called.
func (t table) name() string { return cmp.Or(t.caption, t.heading) }

// said is what a column's figures are called where it isn't seen: its title after that of its group.
func (t table) said(column int) string {
	for _, g := range t.groups {
		if column >= g.from && column < g.to {
			return g.title + ": " + t.columns[column].title
		}
	}
	return t.columns[column].title
}

// headed reports whether any column has a heading.
func (t table) headed() bool {
	return slices.ContainsFunc(t.columns, func(c column) bool { return c.title != "" })
}

// titled reports columns with titles, which a narrow screen sets beside each figure.
func (t table) titled() bool { return t.columns[len(t.columns)-1].title != "" }
