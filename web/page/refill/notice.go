package refill

import (
	"maps"
	"net/url"
	"slices"
	"strings"

	"golang.org/x/net/html"
	"golang.org/x/net/html/atom"
)

// notice says above the form, or at the head of the page where the form is no more, why it stands there as it was typed.
func (t Typed) notice(doc, form *html.Node, left url.Values) {
	box := element("div", "notice info kept-notice", "")
	setAttr(box, "role", "status")
	setAttr(box, "tabindex", "-1")
	setAttr(box, "autofocus", "")
	setAttr(box, "data-testid", "kept-form")
	words := element("div", "", "")
	box.AppendChild(words)
	what := " What you typed is here again. Look at it, then send it."
	if form == nil {
		what = " The form is no longer on this page. This is what you typed:"
	}
	words.AppendChild(element("p", "", t.Why+what))
	if list := leftList(left); list != nil {
		if form != nil {
			words.AppendChild(element("p", "", "This has no place on the page now:"))
		}
		words.AppendChild(list)
	}
	words.AppendChild(t.clearForm())
	switch {
	case form != nil && form.Parent != nil:
		form.Parent.InsertBefore(box, form)
	default:
		if main := first(doc, atom.Main); main != nil {
			main.InsertBefore(box, main.FirstChild)
		}
	}
	dropOtherFocus(doc, box)
}

func (t Typed) clearForm() *html.Node {
	f := element("form", "", "")
	setAttr(f, "method", "post")
	setAttr(f, "action", t.Clear)
	b := element("button", "button quiet", "Clear it")
	setAttr(b, "data-testid", "clear-kept")
	f.AppendChild(b)
	return f
}

// leftList is what was typed and has no field, by the names of the fields.
func leftList(left url.Values) *html.Node {
	list := element("dl", "terms", "")
	for _, name := range slices.Sorted(maps.Keys(left)) {
		said := strings.TrimSpace(strings.Join(left[name], ", "))
		if said == "" || name == "version" {
			continue
		}
		list.AppendChild(element("dt", "", strings.ReplaceAll(name, "_", " ")))
		value := element("dd", "", said)
		setAttr(value, "dir", "auto")
		list.AppendChild(value)
	}
	if list.FirstChild == nil {
		return nil
	}
	return list
}

// dropOtherFocus lets the notice have the keyboard.
func dropOtherFocus(doc, box *html.Node) {
	for n := range doc.Descendants() {
		if n != box && hasAttr(n, "autofocus") {
			dropAttr(n, "autofocus")
		}
	}
}

func first(doc *html.Node, tag atom.Atom) *html.Node {
	for n := range doc.Descendants() {
		if n.DataAtom == tag {
			return n
		}
	}
	return nil
}

func element(tag, class, words string) *html.Node {
	n := &html.Node{Type: html.ElementNode, Data: tag, DataAtom: atom.Lookup([]byte(tag))}
	if class != "" {
		setAttr(n, "class", class)
	}
	if words != "" {
		n.AppendChild(&html.Node{Type: html.TextNode, Data: words})
	}
	return n
}

func after(n, what *html.Node) {
	if n.Parent != nil {
		n.Parent.InsertBefore(what, n.NextSibling)
	}
}

func attr(n *html.Node, key string) string {
	for _, a := range n.Attr {
		if a.Key == key {
			return a.Val
		}
	}
	return ""
}

func hasAttr(n *html.Node, key string) bool {
	return slices.ContainsFunc(n.Attr, func(a html.Attribute) bool { return a.Key == key })
}

func setAttr(n *html.Node, key, value string) {
	for i, a := range n.Attr {
		if a.Key == key {
			n.Attr[i].Val = value
			return
		}
	}
	n.Attr = append(n.Attr, html.Attribute{Key: key, Val: value})
}

func dropAttr(n *html.Node, key string) {
	n.Attr = slices.DeleteFunc(n.Attr, func(a html.Attribute) bool { return a.Key == key })
}
