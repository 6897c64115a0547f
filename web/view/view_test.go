package view

import (
	"context"
	"math"
	"net/url"
	"slices"
	"strings"
	"testing"

	"github.com/a-h/templ"
	"golang.org/x/net/html"
)

// tree renders a component and reads it back as a browser would.
func tree(t *testing.T, c templ.Component) *html.Node {
	t.Helper()
	var b strings.Builder
	if err := c.Render(context.Background(), &b); err != nil {
		t.Fatal(err)
	}
	root, err := html.Parse(strings.NewReader(b.String()))
	if err != nil {
		t.Fatal(err)
	}
	return root
}

func attr(n *html.Node, key string) string {
	for _, a := range n.Attr {
		if a.Key == key {
			return a.Val
		}
	}
	return ""
}

func has(n *html.Node, key string) bool {
	return slices.ContainsFunc(n.Attr, func(a html.Attribute) bool { return a.Key == key })
}

// all returns the elements for which keep holds, in order; what a template element holds isn't on the page.
func all(root *html.Node, keep func(*html.Node) bool) []*html.Node {
	var found []*html.Node
	for n := range root.Descendants() {
		if n.Type == html.ElementNode && keep(n) && !within(n, "template") {
			found = append(found, n)
		}
	}
	return found
}

func within(n *html.Node, tag string) bool {
	for a := range n.Ancestors() {
		if a.Data == tag {
			return true
		}
	}
	return false
}

func byAttr(root *html.Node, key, value string) *html.Node {
	found := all(root, func(n *html.Node) bool { return attr(n, key) == value })
	if len(found) != 1 {
		return nil
	}
	return found[0]
}

func text(n *html.Node) string {
	var b strings.Builder
	for d := range n.Descendants() {
		if d.Type == html.TextNode {
			b.WriteString(d.Data)
		}
	}
	return strings.Join(strings.Fields(b.String()), " ")
}

func TestFieldsSayWhatTheyAre(t *testing.T) {
	t.Parallel()
	typed := `5 <b>"apples"</b> & ü`
	form := Form{Values: url.Values{"x": {typed}}, Problems: map[string]string{"x": "Digits only."}}
	f := form.Field("x", "Rate").WithHint("From the recorder.").WithUnit("s/d").Need()
	withOption := f.WithOptions(Option{Text: "none"}, Option{Value: typed, Text: "as typed"})
	for name, c := range map[string]struct {
		component templ.Component
		value     func(control *html.Node) string
	}{
		"text":   {TextField(f), func(n *html.Node) string { return attr(n, "value") }},
		"number": {NumberField(f), func(n *html.Node) string { return attr(n, "value") }},
		"date":   {DateField(f), func(n *html.Node) string { return attr(n, "value") }},
		"area":   {TextArea(f), func(n *html.Node) string { return n.FirstChild.Data }},
		"select": {SelectField(withOption), func(n *html.Node) string {
			return attr(all(n, func(o *html.Node) bool { return has(o, "selected") })[0], "value")
		}},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			root := tree(t, c.component)
			control := byAttr(root, "data-testid", "x")
			if control == nil {
				t.Fatal("no single control with the field's test id")
			}
			if label := byAttr(root, "for", attr(control, "id")); label == nil || text(label) != "Rate" {
				t.Error("the label does not belong to the control")
			}
			if got := c.value(control); got != typed {
				t.Errorf("value %q, want it as typed: %q", got, typed)
			}
			if attr(control, "aria-invalid") != "true" || attr(control, "aria-required") != "true" {
				t.Error("not marked as wrong and required")
			}
			described := ""
			for _, id := range strings.Fields(attr(control, "aria-describedby")) {
				if n := byAttr(root, "id", id); n != nil {
					described += text(n) + " "
				}
			}
			for _, want := range []string{"From the recorder.", "Digits only."} {
				if !strings.Contains(described, want) {
					t.Errorf("described by %q, want %q in it", described, want)
				}
			}
		})
	}
}

func TestPasswordIsNeverSentBack(t *testing.T) {
	t.Parallel()
	f := Form{Values: url.Values{"password": {"secret"}}}.Field("password", "Password")
	f.Type = "password"
	if n := byAttr(tree(t, TextField(f)), "data-testid", "password"); has(n, "value") {
		t.Error("the page carries the password")
	}
}

func TestChoicesKeepWhatWasChosen(t *testing.T) {
	t.Parallel()
	form := Form{Values: url.Values{"one": {"b"}, "many": {"a", "c"}}}
	options := []Option{{Value: "a", Text: "A"}, {Value: "b", Text: "B"}, {Value: "c", Text: "C"}}
	for name, want := range map[string][]string{"one": {"b"}, "many": {"a", "c"}} {
		c := RadioGroup(form.Field(name, "Choice").WithOptions(options...))
		if name == "many" {
			c = CheckGroup(form.Field(name, "Choice").WithOptions(options...))
		}
		var got []string
		for _, n := range all(tree(t, c), func(n *html.Node) bool { return has(n, "checked") }) {
			got = append(got, attr(n, "value"))
		}
		if !slices.Equal(got, want) {
			t.Errorf("%s: chosen %q, want %q", name, got, want)
		}
	}
}

func TestFormErrorsFollowTheForm(t *testing.T) {
	t.Parallel()
	problems := map[string]string{"c": "third", "a": "first", "z": "last", "b": "second", "y": "last but one"}
	var got []string
	for _, n := range all(tree(t, FormErrors(problems, "a", "b", "c")), func(n *html.Node) bool { return n.Data == "a" }) {
		got = append(got, attr(n, "href")+" "+text(n))
	}
	want := []string{"#f-a first", "#f-b second", "#f-c third", "#f-y last but one", "#f-z last"}
	if !slices.Equal(got, want) {
		t.Errorf("got %q, want %q", got, want)
	}
	if n := byAttr(tree(t, FormErrors(nil)), "data-testid", "form-errors"); n != nil {
		t.Error("a summary without problems")
	}
}

func TestLozengeAlwaysHasItsWord(t *testing.T) {
	t.Parallel()
	for kind, want := range map[MarkKind]string{Pass: "pass", Fail: "fail", Undecided: "undecided",
		NotMeasured: "not measured"} {
		if got := text(tree(t, Lozenge(kind, ""))); got != want {
			t.Errorf("%s: %q, want %q", kind, got, want)
		}
	}
}

// ISO 3158 names an upright position by the hour mark that stands uppermost; where the crown then points follows
// from the hour beside which it sits. Directions are degrees clockwise from straight up.
func TestPositionsPointTheCrownWhereItPoints(t *testing.T) {
	t.Parallel()
	const up, right, down, left = 0, 90, 180, 270
	for _, c := range []struct {
		symbol string
		crown  int
		want   float64
	}{
		{"3H", 3, up}, {"6H", 3, left}, {"9H", 3, down}, {"12H", 3, right},
		{"12H", 12, up}, {"3H", 12, left}, {"6H", 12, down}, {"9H", 12, right},
		{"9H", 9, up}, {"12H", 9, left}, {"12H", 0, right},
		{"CH", 3, right}, {"FH", 3, left}, {"CH", 12, up}, {"FH", 12, up},
	} {
		p := PositionView{Symbol: c.symbol, CrownHour: c.crown}
		if got := math.Mod(p.turnDeg()+p.crownDeg(), 360); got != c.want {
			t.Errorf("%s, crown at %d: crown drawn at %g degrees, want %g", c.symbol, c.crown, got, c.want)
		}
	}
	if got := attr(byAttr(tree(t, PositionIcon(PositionView{Symbol: "3H", Words: "crown up"})), "role", "img"),
		"aria-label"); got != "3H, crown up" {
		t.Errorf("text alternative %q", got)
	}
}

func TestOutlineFormRoundTrip(t *testing.T) {
	t.Parallel()
	marks := []OutlineMark{
		{Part: PartDial, Kind: "stain", Note: "by the 4", X: 0.5, Y: 0.625, Placed: true},
		{Part: PartCase, Kind: "dent", X: 0.345, Y: 0.7, Placed: true},
		{Part: PartCase, Note: "worn thin"},
		{Part: PartBracelet, Kind: "worn"},
	}
	form := OutlineForm{Marks: marks, Kinds: []Option{{Value: "stain"}, {Value: "dent"}, {Value: "worn"}},
		Parts: []OutlinePart{{Value: PartDial}, {Value: PartCase}, {Value: PartCrown, Clear: true}, {Value: PartBracelet}}}
	got := posted(tree(t, OutlineEditor(form)))
	if back := MarksFromForm(got); !slices.Equal(back, marks) {
		t.Errorf("came back as\n%+v, want\n%+v", back, marks)
	}
	if !slices.Equal(got["clear"], []string{PartCrown}) {
		t.Errorf("clear %q", got["clear"])
	}
}

func TestMarksFromFormRefusesPlacesOffTheOutline(t *testing.T) {
	t.Parallel()
	for _, x := range []string{"-0.1", "1.1", "NaN", "Inf", "", "left"} {
		got := MarksFromForm(url.Values{"mark_part": {"dial"}, "mark_kind": {"dent"}, "mark_x": {x}, "mark_y": {"0.5"}})
		if len(got) != 1 || got[0].Placed {
			t.Errorf("x = %q: %+v", x, got)
		}
	}
	if got := MarksFromForm(url.Values{"mark_part": {"dial", "case"}, "mark_kind": {""}}); len(got) != 0 {
		t.Errorf("short rows: %+v", got)
	}
}

// posted are the fields a browser would send for a form drawn as root.
func posted(root *html.Node) url.Values {
	v := url.Values{}
	for _, n := range all(root, func(n *html.Node) bool { return has(n, "name") }) {
		value := attr(n, "value")
		switch {
		case attr(n, "type") == "checkbox" && !has(n, "checked"):
			continue
		case n.Data == "select":
			value = ""
			if chosen := all(n, func(o *html.Node) bool { return has(o, "selected") }); len(chosen) > 0 {
				value = attr(chosen[0], "value")
			}
		}
		v.Add(attr(n, "name"), value)
	}
	return v
}

func TestLayoutTurnsAndEscapes(t *testing.T) {
	t.Parallel()
	p := Page{Title: `<i>"Ω"</i>`, Shop: "Tern Quay", Lang: "he", Dir: "rtl", Theme: "purple",
		Nav: []NavItem{{Text: "Today", Href: "/", Current: true, Count: 2}, {Text: "Dockets", Href: "/dockets"}}}
	root := tree(t, Layout(p))
	doc := all(root, func(n *html.Node) bool { return n.Data == "html" })[0]
	if attr(doc, "lang") != "he" || attr(doc, "dir") != "rtl" || attr(doc, "data-theme") != "auto" {
		t.Errorf("html has %v", doc.Attr)
	}
	if got := text(all(root, func(n *html.Node) bool { return n.Data == "title" })[0]); got != `<i>"Ω"</i> · Tern Quay` {
		t.Errorf("title %q", got)
	}
	for _, n := range all(root, func(n *html.Node) bool { return n.Data == "nav" }) {
		if here := all(n, func(n *html.Node) bool { return attr(n, "aria-current") == "page" }); len(here) != 1 {
			t.Errorf("%d links say they are this page", len(here))
		}
	}
	if all(root, func(n *html.Node) bool { return has(n, "style") || n.Data == "style" }) != nil {
		t.Error("inline style, which the content security policy refuses")
	}
	if n := all(root, func(n *html.Node) bool { return n.Data == "script" && !has(n, "src") }); n != nil {
		t.Error("inline script, which the content security policy refuses")
	}
}
