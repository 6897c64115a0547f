package chart_test

import (
	"encoding/xml"
	"io"
	"regexp"
	"strconv"
	"strings"
)

// node is one element of a drawing.
type node struct {
	XMLName xml.Name
	Attrs   []xml.Attr `xml:",any,attr"`
	Text    string     `xml:",chardata"`
	Nodes   []node     `xml:",any"`
}

func (n node) attr(name string) string {
	for _, a := range n.Attrs {
		if a.Name.Local == name {
			return a.Value
		}
	}
	return ""
}

func parse(t fataler, drawing string) node {
	t.Helper()
	var root node
	d := xml.NewDecoder(strings.NewReader(drawing))
	d.Strict = true
	if err := d.Decode(&root); err != nil {
		t.Fatalf("not well formed: %v\n%s", err, drawing)
	}
	for {
		token, err := d.Token()
		if err == io.EOF {
			return root
		}
		if text, isText := token.(xml.CharData); err != nil || !isText || strings.TrimSpace(string(text)) != "" {
			t.Fatalf("something follows the drawing: %v, %v", token, err)
		}
	}
}

type fataler interface {
	Helper()
	Fatalf(format string, args ...any)
}

var numbers = regexp.MustCompile(`-?[0-9]+(?:\.[0-9]+)?`)

// inside reports the points of a drawing that lie outside its viewBox; text counts with its estimated width.
func inside(t fataler, root node) {
	t.Helper()
	box := numbers.FindAllString(root.attr("viewBox"), -1)
	w, h := atof(t, box[2]), atof(t, box[3])
	check := func(what string, x, y float64) {
		t.Helper()
		if !(x >= -0.01 && x <= w+0.01 && y >= -0.01 && y <= h+0.01) {
			t.Fatalf("%s at %v, %v lies outside 0 0 %v %v", what, x, y, w, h)
		}
	}
	for _, n := range root.Nodes {
		class := n.attr("class")
		switch n.XMLName.Local {
		case "path":
			shift := []float64{0, 0}
			if tr := n.attr("transform"); tr != "" {
				at := numbers.FindAllString(tr, 2)
				shift = []float64{atof(t, at[0]), atof(t, at[1])}
				check(class, shift[0], shift[1])
				if strings.Contains(tr, "rotate") {
					continue // turned about its own middle, which was checked
				}
			}
			if strings.ContainsAny(n.attr("d"), "AHV") {
				continue // a small mark about its middle
			}
			c := numbers.FindAllString(n.attr("d"), -1)
			for i := 0; i+1 < len(c); i += 2 {
				check(class, shift[0]+atof(t, c[i]), shift[1]+atof(t, c[i+1]))
			}
		case "rect":
			x, y := atof(t, n.attr("x")), atof(t, n.attr("y"))
			check(class, x, y)
			check(class, x+atof(t, n.attr("width")), y+atof(t, n.attr("height")))
		case "circle":
			r := atof(t, n.attr("r"))
			check(class, atof(t, n.attr("cx"))-r, atof(t, n.attr("cy"))-r)
			check(class, atof(t, n.attr("cx"))+r, atof(t, n.attr("cy"))+r)
		case "text":
			left, top, right, bottom := textBox(t, n)
			check("the text "+n.Text, left, bottom)
			check("the text "+n.Text, right, max(top, 0)) // capitals seldom fill the first line's height
		}
	}
}

func atof(t fataler, s string) float64 {
	t.Helper()
	x, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatalf("%q is not a number", s)
	}
	return x
}

// apart reports texts of a drawing that run into each other, by their estimated widths and the heights of their
// capitals.
func apart(t fataler, root node) {
	t.Helper()
	type box struct {
		left, top, right, bottom float64
		text                     string
	}
	var boxes []box
	for _, n := range root.Nodes {
		if n.XMLName.Local != "text" {
			continue
		}
		b := box{text: n.Text}
		b.left, b.top, b.right, b.bottom = textBox(t, n)
		for _, o := range boxes {
			if b.left < o.right && o.left < b.right && b.top < o.bottom && o.top < b.bottom {
				t.Fatalf("the texts %q and %q run into each other", o.text, b.text)
			}
		}
		boxes = append(boxes, b)
	}
}

// textBox is the estimated room of a text, by the heights of its capitals; one that is turned reads upwards.
func textBox(t fataler, n node) (left, top, right, bottom float64) {
	t.Helper()
	const height = 9
	long := float64(len([]rune(n.Text))) * 0.5 * 12
	before := map[string]float64{"start": 0, "middle": long / 2, "end": long}[n.attr("text-anchor")]
	if turned := n.attr("transform"); turned != "" {
		at := numbers.FindAllString(turned, 2)
		x, y := atof(t, at[0]), atof(t, at[1])
		return x - height, y + before - long, x, y + before
	}
	x, y := atof(t, n.attr("x")), atof(t, n.attr("y"))
	return x - before, y - height, x - before + long, y
}
