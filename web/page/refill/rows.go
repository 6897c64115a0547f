package refill

import (
	"regexp"
	"slices"
	"strconv"
	"strings"

	"golang.org/x/net/html"
	"golang.org/x/net/html/atom"
)

// Forms may have more rows than the page is drawn with, added while they were filled. There are two sorts: rows whose
// fields are numbered ("lines.3.quantity"), and rows of equal names that each part of a drawing has for itself.

// numbered takes the name of a field of a numbered row apart.
var numbered = regexp.MustCompile(`^([a-z_]+)\.(\d+)\.([a-z_]+)$`)

// grow gives the form as many rows as were sent.
func (f *filling) grow() {
	f.growNumbered()
	f.growParts()
}

// growNumbered copies the last row of a sort for each row that was sent and is not there, and takes away rows that
// were not sent.
func (f *filling) growNumbered() {
	sent := map[string]map[int]bool{}
	for name := range f.left {
		if m := numbered.FindStringSubmatch(name); m != nil {
			n, err := strconv.Atoi(m[2])
			if err != nil || n > 999 {
				continue
			}
			if sent[m[1]] == nil {
				sent[m[1]] = map[int]bool{}
			}
			sent[m[1]][n] = true
		}
	}
	for prefix, rows := range sent {
		there := map[int]*html.Node{}
		for _, n := range f.fields {
			if m := numbered.FindStringSubmatch(attr(n, "name")); m != nil && m[1] == prefix {
				i, _ := strconv.Atoi(m[2])
				there[i] = rowOf(n, f.form)
			}
		}
		last := -1
		for i := range there {
			last = max(last, i)
		}
		if last < 0 || there[last] == nil {
			continue
		}
		pattern, at := there[last], there[last]
		for i := last + 1; i <= slices.Max(keys(rows)); i++ {
			row := copyRow(pattern, prefix, last, i)
			at.Parent.InsertBefore(row, at.NextSibling)
			at = row
		}
		for i, row := range there {
			if !rows[i] && i > slices.Max(keys(rows)) {
				row.Parent.RemoveChild(row)
			}
		}
	}
}

func keys(m map[int]bool) []int {
	var list []int
	for k := range m {
		list = append(list, k)
	}
	return list
}

// rowOf is what holds the fields of a row together.
func rowOf(n, form *html.Node) *html.Node {
	for ; n != nil && n != form; n = n.Parent {
		if n.DataAtom == atom.Fieldset || n.DataAtom == atom.Tr || n.DataAtom == atom.Li {
			return n
		}
	}
	return nil
}

// copyRow copies a row under another number, in every name, id and reference.
func copyRow(row *html.Node, prefix string, from, to int) *html.Node {
	was, is := prefix+"."+strconv.Itoa(from), prefix+"."+strconv.Itoa(to)
	c := clone(row)
	for n := range c.Descendants() {
		for i, a := range n.Attr {
			switch a.Key {
			case "name", "id", "for", "aria-describedby", "data-testid":
				n.Attr[i].Val = strings.ReplaceAll(a.Val, was, is)
			}
			if a.Key == "value" && a.Val == "remove:"+strconv.Itoa(from) {
				n.Attr[i].Val = "remove:" + strconv.Itoa(to)
			}
		}
		if n.DataAtom == atom.Legend && n.FirstChild != nil {
			n.FirstChild.Data = strings.Replace(n.FirstChild.Data, strconv.Itoa(from+1), strconv.Itoa(to+1), 1)
		}
		switch attr(n, "type") {
		case "text", "":
			if n.DataAtom == atom.Input {
				setAttr(n, "value", "")
			}
		}
	}
	return c
}

// growParts gives each part of a watch's drawing the rows of marks that were sent for it.
func (f *filling) growParts() {
	wanted := map[string]int{}
	for _, part := range f.left["mark_part"] {
		wanted[part]++
	}
	for _, field := range f.fields {
		if attr(field, "name") != "mark_part" {
			continue
		}
		row := field
		for row != nil && row != f.form && !hasAttr(row, "data-outline-row") {
			row = row.Parent
		}
		if row == nil || row == f.form || row.Parent == nil {
			continue
		}
		part, have := attr(field, "value"), 0
		for _, other := range f.fields {
			if attr(other, "name") == "mark_part" && attr(other, "value") == part {
				have++
			}
		}
		for ; have < wanted[part]; have++ {
			row.Parent.InsertBefore(clone(row), row.NextSibling)
		}
		delete(wanted, part) // once for each part
	}
}

func clone(n *html.Node) *html.Node {
	c := &html.Node{Type: n.Type, DataAtom: n.DataAtom, Data: n.Data, Namespace: n.Namespace, Attr: slices.Clone(n.Attr)}
	for child := range n.ChildNodes() {
		c.AppendChild(clone(child))
	}
	return c
}
