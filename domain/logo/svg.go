package logo

import (
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"image"
	"io"
	"math"
	"strings"

	"github.com/fyne-io/oksvg"
	"github.com/srwiley/rasterx"
)

// A drawing in SVG never reaches a page or a paper: it is read by a list of what may stand in it, written anew with that
// alone (plain.go, shapes.go), and what was written is drawn to pixels. What the list lacks is refused in a sentence; nothing
// is fetched, run or drawn otherwise than it was meant. The drawing is oksvg's (github.com/fyne-io/oksvg, the fork that is
// kept) and rasterx's; what they read otherwise than SVG 2 has it is settled before, in what is written anew.

const (
	svgSpace      = "http://www.w3.org/2000/svg"
	mostElements  = 20_000
	mostDepth     = 64
	largestNumber = 1e6
)

func refuse(words string) error { return &Refusal{Words: words} }

// Refusals of drawings in SVG.
var (
	errScript    = refuse("This drawing holds a script, which is never taken: export it as plain SVG, or as PNG.")
	errEntity    = refuse("This drawing declares entities, which are never taken: export it as plain SVG, or as PNG.")
	errExternal  = refuse("This drawing refers to something outside itself or holds a picture, which is never taken: export it as PNG.")
	errText      = refuse("This drawing holds letters as text, which look different on each machine: turn them into outlines, or export it as PNG.")
	errViewBox   = refuse("This drawing says no size, or one that can't be: it needs a view box of sides above 0 and up to 1,000,000.")
	errNumber    = refuse("This drawing holds a number beyond 1,000,000: export it again, or as PNG.")
	errIntricate = refuse("This drawing is too intricate to be drawn here: export it as PNG.")
	errDamaged   = refuse("This drawing is not whole: it can't be read as SVG. Export it again, or as PNG.")
	errZipped    = refuse("This drawing is packed (SVGZ): export it as plain SVG, or as PNG.")
	errEncoding  = refuse("This drawing is not written in UTF-8: export it again, or as PNG.")
)

func errUses(what string) error {
	return refuse("This drawing uses " + what + ", which can't be drawn here: export it as PNG.")
}

// looksLikeSVG tells a drawing from a picture of pixels by how it begins.
func looksLikeSVG(upload []byte) bool {
	if len(upload) > 2 && upload[0] == 0x1f && upload[1] == 0x8b { // gzip, RFC 1952
		return true
	}
	head := bytes.TrimLeft(bytes.TrimPrefix(upload[:min(len(upload), 4096)], []byte("\xef\xbb\xbf")), " \t\r\n")
	return bytes.HasPrefix(head, []byte("<")) && bytes.Contains(upload, []byte("<svg")) || bytes.Contains(head, []byte("<!ENTITY"))
}

// drawn draws a drawing in SVG, its longer side MaxSidePx.
func drawn(upload []byte) (img *image.RGBA, err error) {
	switch {
	case len(upload) > maxSVGBytes && upload[0] == '<':
		return nil, fmt.Errorf("%d bytes of SVG: %w", len(upload), ErrTooLarge)
	case upload[0] == 0x1f:
		return nil, errZipped
	}
	root, err := parse(upload)
	if err != nil {
		return nil, err
	}
	plain, w, h, err := rewrite(root)
	if err != nil {
		return nil, err
	}
	defer func() { // oksvg indexes what it has not counted
		if broken := recover(); broken != nil {
			img, err = nil, errIntricate
			if broken != any(errTooMuch) {
				err = errDamaged
			}
		}
	}()
	icon, err := oksvg.ReadIconStream(strings.NewReader(plain), oksvg.StrictErrorMode)
	if err != nil {
		return nil, errDamaged
	}
	scale := MaxSidePx / max(w, h)
	width, height := max(1, int(math.Round(w*scale))), max(1, int(math.Round(h*scale)))
	img = image.NewRGBA(image.Rect(0, 0, width, height))
	s := newScanner(img)
	icon.SetTarget(0, 0, float64(width), float64(height))
	for i := range icon.SVGPaths {
		p := &icon.SVGPaths[i]
		p.UseNonZeroWinding, p.DashOffset = p.DashOffset != evenOddMark, 0
		p.DrawTransformed(rasterx.NewDasher(width, height, s), 1, icon.Transform)
	}
	return img, nil
}

// element is one element of a drawing.
type element struct {
	name     string
	attrs    map[string]string // by local name
	children []*element
	text     string
}

// parse reads the elements, refusing what is never taken wherever it stands. Elements of other vocabularies (editors' own
// data) are left out, but for scripts.
func parse(upload []byte) (*element, error) {
	d := xml.NewDecoder(bytes.NewReader(bytes.TrimPrefix(upload, []byte("\xef\xbb\xbf"))))
	d.CharsetReader = func(charset string, in io.Reader) (io.Reader, error) {
		if strings.EqualFold(charset, "us-ascii") {
			return in, nil
		}
		return nil, errEncoding
	}
	var open []*element
	var root *element
	foreign, count := 0, 0
	for {
		token, err := d.Token()
		switch {
		case errors.Is(err, io.EOF):
			if root == nil || root.name != "svg" {
				return nil, errDamaged
			}
			return root, nil
		case err != nil && strings.Contains(err.Error(), "entity"):
			return nil, errEntity
		case errors.Is(err, errEncoding):
			return nil, errEncoding
		case err != nil:
			return nil, errDamaged
		}
		switch t := token.(type) {
		case xml.Directive:
			// A bare document type is never fetched, and so does no harm; one that declares anything is refused.
			if words := strings.ToUpper(string(t)); strings.Contains(words, "ENTITY") || strings.Contains(words, "[") {
				return nil, errEntity
			}
		case xml.ProcInst:
			if t.Target != "xml" && strings.Contains(t.Target, "stylesheet") {
				return nil, errExternal
			}
		case xml.StartElement:
			if count++; count > mostElements || len(open)+foreign >= mostDepth {
				return nil, errIntricate
			}
			e, err := read(t)
			if err != nil {
				return nil, err
			}
			if foreign > 0 || t.Name.Space != svgSpace && t.Name.Space != "" {
				foreign++
				continue
			}
			if n := len(open); n > 0 {
				open[n-1].children = append(open[n-1].children, e)
			} else if root = e; e.name != "svg" {
				return nil, errDamaged
			}
			open = append(open, e)
		case xml.EndElement:
			if foreign > 0 {
				foreign--
			} else {
				open = open[:len(open)-1]
			}
		case xml.CharData:
			if n := len(open); n > 0 && foreign == 0 && open[n-1].name == "style" {
				open[n-1].text += string(t)
			}
		}
	}
}

// read takes an element's attributes, and refuses scripts and what leads elsewhere.
func read(t xml.StartElement) (*element, error) {
	e := &element{name: t.Name.Local, attrs: map[string]string{}}
	if strings.EqualFold(e.name, "script") {
		return nil, errScript
	}
	for _, a := range t.Attr {
		value := strings.TrimSpace(a.Value)
		if strings.HasPrefix(strings.ToLower(a.Name.Local), "on") && a.Name.Space == "" {
			return nil, errScript
		}
		if err := harmless(value); err != nil {
			return nil, err
		}
		switch {
		case a.Name.Local == "href" && strings.HasPrefix(strings.ToLower(value), "javascript:"):
			return nil, errScript
		case a.Name.Local == "href" && !strings.HasPrefix(value, "#"), a.Name.Local == "src":
			return nil, errExternal
		case a.Name.Space == "" || a.Name.Local == "href":
			e.attrs[a.Name.Local] = value
		}
	}
	return e, nil
}

// harmless refuses words of a style or an attribute that run or fetch something.
func harmless(words string) error {
	low := strings.ToLower(words)
	if strings.Contains(low, "javascript:") || strings.Contains(low, "expression(") {
		return errScript
	}
	if strings.Contains(low, "@import") || strings.Contains(low, "@font-face") {
		return errExternal
	}
	for rest := low; ; {
		_, after, found := strings.Cut(rest, "url(")
		if !found {
			return nil
		}
		if !strings.HasPrefix(strings.TrimLeft(after, ` '"`), "#") {
			return errExternal
		}
		rest = after
	}
}
