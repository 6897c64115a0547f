// Package refill writes what somebody had typed into a form back into the page on which the form stands. It works on the
// finished page, so that it holds for every form alike.
package refill

import (
	"bytes"
	"fmt"
	"maps"
	"net/url"
	"slices"
	"strings"

	"golang.org/x/net/html"
	"golang.org/x/net/html/atom"
)

// Typed is a form as it was sent.
type Typed struct {
	Action string // path and query to which it was sent
	Fields url.Values
	Files  []string // names of what has to be chosen again
	Why    string   // a sentence: why it was not saved
	Clear  string   // the address to which a press on "Clear it" is sent
	// Unshown are fields that the page makes by itself.
	Unshown []string
}

// Page returns the page with the form filled in and a notice above it. What has no field on the page any more is listed
// in the notice, so that nothing typed is lost. The error reports a page that is no HTML.
func Page(page []byte, t Typed) ([]byte, error) {
	doc, err := html.Parse(bytes.NewReader(page))
	if err != nil {
		return nil, fmt.Errorf("refill: %w", err)
	}
	left := maps.Clone(t.Fields)
	for _, name := range t.Unshown {
		delete(left, name)
	}
	form := t.formIn(doc)
	if form != nil {
		f := filling{form: form, fields: fieldsOf(doc, form), left: left, unshown: t.Unshown}
		f.grow()
		f.fields = fieldsOf(doc, form)
		f.fill(t)
		f.passOver()
		setAttr(form, "data-refilled", "")
		open(form)
	}
	t.notice(doc, form, left)
	var out bytes.Buffer
	if err := html.Render(&out, doc); err != nil {
		return nil, fmt.Errorf("refill: %w", err)
	}
	return out.Bytes(), nil
}

// formIn is the form that was sent: of those with its address the one whose fields and hidden values agree best.
func (t Typed) formIn(doc *html.Node) *html.Node {
	var best *html.Node
	least := 0
	for n := range doc.Descendants() {
		if n.DataAtom != atom.Form || !strings.EqualFold(attr(n, "method"), "post") || attr(n, "action") != t.Action {
			continue
		}
		if differs := t.differs(fieldsOf(doc, n)); best == nil || differs < least {
			best, least = n, differs
		}
	}
	return best
}

// differs counts what tells a form from the one that was sent. What is hidden and tells forms of one address apart weighs
// most; a box or a button may be left out of what is sent.
func (t Typed) differs(fields []*html.Node) int {
	const hidden = 10
	count, there := 0, map[string]bool{}
	for _, f := range fields {
		name, kind := attr(f, "name"), attr(f, "type")
		there[name] = true
		switch {
		case slices.Contains(t.Unshown, name):
		case kind == "hidden" && name != "version" && !slices.Contains(t.Fields[name], attr(f, "value")):
			count += hidden
		case kind != "checkbox" && kind != "radio" && f.DataAtom != atom.Button && !t.Fields.Has(name):
			count++
		}
	}
	for name := range t.Fields {
		if !there[name] {
			count++
		}
	}
	return count
}

// fieldsOf are the fields of a form in the order of the page.
func fieldsOf(doc, form *html.Node) []*html.Node {
	var fields []*html.Node
	id := attr(form, "id")
	for n := range doc.Descendants() {
		switch n.DataAtom {
		case atom.Input, atom.Textarea, atom.Select, atom.Button:
		default:
			continue
		}
		of := attr(n, "form")
		if attr(n, "name") != "" && (of == "" && within(n, form) || of != "" && of == id) {
			fields = append(fields, n)
		}
	}
	return fields
}

func within(n, of *html.Node) bool {
	for ; n != nil; n = n.Parent {
		if n == of {
			return true
		}
		if n.DataAtom == atom.Template {
			return false
		}
	}
	return false
}

// filling is one form being filled in.
type filling struct {
	form    *html.Node
	fields  []*html.Node
	left    url.Values // what was typed and has found no field yet
	unshown []string
}

// fill gives each field what was typed into it; of several with one name, the first has the first.
func (f *filling) fill(t Typed) {
	for _, n := range f.fields {
		name := attr(n, "name")
		if slices.Contains(f.unshown, name) {
			continue
		}
		switch kind := strings.ToLower(attr(n, "type")); {
		case n.DataAtom == atom.Button || kind == "submit" || kind == "button" || kind == "password":
		case kind == "file":
			if len(t.Files) > 0 {
				f.chooseAgain(n, t.Files)
			}
		case kind == "checkbox" || kind == "radio":
			value := attr(n, "value")
			if f.takeValue(name, value) {
				setAttr(n, "checked", "")
			} else {
				dropAttr(n, "checked")
			}
		default:
			if value, ok := f.takeNext(name); ok {
				setValue(n, value)
			}
		}
	}
}

func (f *filling) takeNext(name string) (string, bool) {
	values := f.left[name]
	if len(values) == 0 {
		return "", false
	}
	if f.left[name] = values[1:]; len(values) == 1 {
		delete(f.left, name)
	}
	return values[0], true
}

func (f *filling) takeValue(name, value string) bool {
	i := slices.Index(f.left[name], value)
	if i < 0 {
		return false
	}
	if f.left[name] = slices.Delete(slices.Clone(f.left[name]), i, i+1); len(f.left[name]) == 0 {
		delete(f.left, name)
	}
	return true
}

// passOver forgets the button that was pressed, which is not typed.
func (f *filling) passOver() {
	for _, n := range f.fields {
		if n.DataAtom == atom.Button || attr(n, "type") == "submit" {
			delete(f.left, attr(n, "name"))
		}
	}
}

// setValue writes a field's value. A list that has no such choice any more keeps the one it shows, and the value is shown
// beside it.
func setValue(n *html.Node, value string) {
	switch n.DataAtom {
	case atom.Textarea:
		for c := n.FirstChild; c != nil; c = n.FirstChild {
			n.RemoveChild(c)
		}
		n.AppendChild(&html.Node{Type: html.TextNode, Data: "\n" + value})
	case atom.Select:
		var options []*html.Node
		for o := range n.Descendants() {
			if o.DataAtom == atom.Option {
				options = append(options, o)
			}
		}
		if i := slices.IndexFunc(options, func(o *html.Node) bool { return optionValue(o) == value }); i >= 0 {
			for _, o := range options {
				dropAttr(o, "selected")
			}
			setAttr(options[i], "selected", "")
		} else {
			after(n, element("p", "hint", "Chosen before, and no longer here: "+value))
		}
	default:
		setAttr(n, "value", value)
	}
}

func optionValue(o *html.Node) string {
	for _, a := range o.Attr {
		if a.Key == "value" {
			return a.Val
		}
	}
	if o.FirstChild == nil {
		return ""
	}
	return strings.TrimSpace(o.FirstChild.Data)
}

// chooseAgain names the files beside their field.
func (f *filling) chooseAgain(n *html.Node, files []string) {
	p := element("p", "hint", "Choose again: "+strings.Join(files, ", "))
	setAttr(p, "data-testid", "choose-again")
	setAttr(p, "id", attr(n, "id")+"-again")
	setAttr(n, "aria-describedby", strings.TrimSpace(attr(n, "aria-describedby")+" "+attr(n, "id")+"-again"))
	after(n, p)
}

// open unfolds what hides the form.
func open(n *html.Node) {
	for ; n != nil; n = n.Parent {
		if n.DataAtom == atom.Details {
			setAttr(n, "open", "")
		}
	}
}
