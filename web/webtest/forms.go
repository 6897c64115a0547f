package webtest

import (
	"bytes"
	"cmp"
	"io"
	"mime/multipart"
	"net/http"
	"net/url"
	"strings"

	"golang.org/x/net/html"
)

// SentForm is a form of a page as a browser would send it.
type SentForm struct {
	TestID, Action string
	Multipart      bool
	Fields         url.Values
	Files          []string // fields that ask for files
	Content        []byte   // of each file; nil is something that is no picture
}

// Stamp is what every form of the shop carries, which nobody types.
var Stamp = []string{"form_key", "form_page"}

// Forms are the page's forms that are sent by POST. typed says what is typed into a field, by its name, type and what
// it holds; for a box it says "" to leave it blank. A nil typed leaves every field as it is.
func (a *Answer) Forms(typed func(name, kind, holds string) string) []SentForm {
	var forms []SentForm
	for n := range a.Document.Descendants() {
		if n.Data == "form" && strings.EqualFold(Attr(n, "method"), "post") {
			forms = append(forms, readForm(n, typed))
		}
	}
	return forms
}

func readForm(form *html.Node, typed func(name, kind, holds string) string) SentForm {
	f := SentForm{TestID: Attr(form, "data-testid"), Action: Attr(form, "action"), Fields: url.Values{},
		Multipart: Attr(form, "enctype") == "multipart/form-data"}
	if typed == nil {
		typed = func(_, _, holds string) string { return holds }
	}
	radios := map[string]bool{}
	for n := range form.Descendants() {
		name, kind := Attr(n, "name"), Attr(n, "type")
		if name == "" || inTemplate(n) || HasAttr(n.Attr, "disabled") {
			continue
		}
		switch {
		case n.Data == "textarea":
			f.Fields.Add(name, typed(name, "textarea", strings.TrimPrefix(text(n), "\n")))
		case n.Data == "select":
			f.Fields.Add(name, chosen(n, typed))
		case n.Data != "input" || kind == "submit" || kind == "button":
		case kind == "file":
			f.Files = append(f.Files, name)
		case kind == "radio":
			holds := ""
			if HasAttr(n.Attr, "checked") {
				holds = Attr(n, "value")
			}
			if value := typed(name, kind, holds); value == "*" && !radios[name] || value != "" && value == Attr(n, "value") {
				radios[name] = true
				f.Fields.Set(name, Attr(n, "value"))
			}
		case kind == "checkbox":
			holds := ""
			if HasAttr(n.Attr, "checked") {
				holds = Attr(n, "value")
			}
			if typed(name, kind, holds) != "" {
				f.Fields.Add(name, Attr(n, "value"))
			}
		case kind == "hidden":
			f.Fields.Add(name, Attr(n, "value"))
		default:
			f.Fields.Add(name, typed(name, kind, Attr(n, "value")))
		}
	}
	return f
}

func text(n *html.Node) string {
	if n.FirstChild == nil {
		return ""
	}
	return n.FirstChild.Data
}

func inTemplate(n *html.Node) bool {
	for ; n != nil; n = n.Parent {
		if n.Data == "template" {
			return true
		}
	}
	return false
}

// chosen is what a list holds, or its last choice where typed says "*".
func chosen(list *html.Node, typed func(name, kind, holds string) string) string {
	holds, last, first := "", "", true
	for o := range list.Descendants() {
		if o.Data != "option" || HasAttr(o.Attr, "disabled") {
			continue
		}
		if first || HasAttr(o.Attr, "selected") {
			holds, first = Attr(o, "value"), false
		}
		last = Attr(o, "value")
	}
	if value := typed(Attr(list, "name"), "select", holds); value != "*" {
		return holds
	}
	return last
}

// Send sends a form as a browser does, with a small file in each field that asks for one.
func (c *Client) Send(f SentForm) *Answer {
	c.T.Helper()
	if !f.Multipart {
		return c.Post(f.Action, f.Fields)
	}
	var body bytes.Buffer
	w := multipart.NewWriter(&body)
	for _, name := range append(append([]string{}, Stamp...), "") {
		for field, values := range f.Fields {
			if field != name && (name != "" || field == Stamp[0] || field == Stamp[1]) {
				continue
			}
			for _, v := range values {
				_ = w.WriteField(field, v)
			}
		}
	}
	for _, name := range f.Files {
		file, _ := w.CreateFormFile(name, "dial.jpg")
		_, _ = io.WriteString(file, cmp.Or(string(f.Content), "no picture"))
	}
	_ = w.Close()
	req, err := http.NewRequest(http.MethodPost, c.URL+f.Action, &body)
	if err != nil {
		c.T.Fatal(err)
	}
	req.Header.Set("Content-Type", w.FormDataContentType())
	return c.Do(req)
}

// PostSure posts what is asked about once more, and answers with yes.
func (c *Client) PostSure(path string, fields url.Values) *Answer {
	c.T.Helper()
	asked := c.Post(path, fields)
	if len(asked.All("sure-form")) == 0 {
		return asked
	}
	for _, f := range asked.Forms(nil) {
		if f.TestID == "sure-form" {
			return c.Send(f)
		}
	}
	return asked
}
