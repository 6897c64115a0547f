package logo

import (
	"encoding/xml"
	"maps"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
)

// writer writes a drawing anew, with what may stand in it alone.
type writer struct {
	out       strings.Builder
	classes   map[string]map[string]string // properties by class
	gradients map[string]bool              // ids
	by        float64                      // units of what is written to one of the drawing
	now       pen
}

// pen is what is handed down of the lines: oksvg draws them as wide as is written, whatever the transforms, and so what is
// written is their width in pixels.
type pen struct {
	m     [4]float64 // of the transforms: a, b, c, d
	width float64
	drawn bool
}

// rewrite gives the drawing written anew, and its width and height in the units of that.
func rewrite(root *element) (plain string, w, h float64, err error) {
	x, y, w, h, err := viewBox(root)
	if err != nil {
		return "", 0, 0, err
	}
	s := &writer{classes: map[string]map[string]string{}, gradients: map[string]bool{}, by: MaxSidePx / max(w, h), now: pen{m: [4]float64{1, 0, 0, 1}}}
	s.now.width = s.by
	w, h = w*s.by, h*s.by
	if err := s.collect(root); err != nil {
		return "", 0, 0, err
	}
	// The usual values of SVG 2, where oksvg begins with others.
	s.open("svg", map[string]string{"viewBox": join(0, 0, w, h), "stroke-miterlimit": "4"})
	s.open("g", map[string]string{"stroke-linejoin": "miter", "fill": "black"})
	for _, e := range gradientsOf(root) {
		if err := s.gradient(e); err != nil {
			return "", 0, 0, err
		}
	}
	s.open("g", map[string]string{"transform": "translate(" + join(-x*s.by, -y*s.by) + ")"})
	if err := s.group(root); err != nil {
		return "", 0, 0, err
	}
	s.out.WriteString("</g></g></svg>")
	return s.out.String(), w, h, nil
}

var lengthShape = regexp.MustCompile(`^([0-9]*\.?[0-9]+)\s*(px|pt|pc|mm|cm|in)?$`)

// viewBox is what the drawing shows of its plane: by viewBox or, without it, by its width and height.
func viewBox(root *element) (x, y, w, h float64, err error) {
	if box := root.attrs["viewBox"]; box != "" {
		n, err := numbers(box)
		if err != nil || len(n) != 4 {
			return 0, 0, 0, 0, errViewBox
		}
		x, y, w, h = n[0], n[1], n[2], n[3]
	} else {
		wide, high := lengthShape.FindStringSubmatch(root.attrs["width"]), lengthShape.FindStringSubmatch(root.attrs["height"])
		if wide == nil || high == nil {
			return 0, 0, 0, 0, errViewBox
		}
		w, _ = strconv.ParseFloat(wide[1], 64) // its shape is a number's
		h, _ = strconv.ParseFloat(high[1], 64)
	}
	if !(w > 0 && h > 0 && w <= largestNumber && h <= largestNumber) {
		return 0, 0, 0, 0, errViewBox
	}
	if max(w, h) > mostAspect*10*min(w, h) {
		return 0, 0, 0, 0, ErrTooNarrow
	}
	return x, y, w, h, nil
}

// collect finds classes of styles, and gradients by their ids.
func (s *writer) collect(e *element) error {
	switch e.name {
	case "style":
		if err := s.style(e.text); err != nil {
			return err
		}
	case "linearGradient", "radialGradient":
		s.gradients[e.attrs["id"]] = true
	}
	for _, child := range e.children {
		if err := s.collect(child); err != nil {
			return err
		}
	}
	return nil
}

var (
	cssComment = regexp.MustCompile(`(?s)/\*.*?\*/`)
	cssRule    = regexp.MustCompile(`(?s)^\s*([^{}]+)\{([^{}]*)\}`)
	cssClass   = regexp.MustCompile(`^\.([A-Za-z_][A-Za-z0-9_-]*)$`)
)

// style reads the rules of a style sheet, which may speak of single classes.
func (s *writer) style(sheet string) error {
	sheet = cssComment.ReplaceAllString(sheet, "")
	if err := harmless(sheet); err != nil {
		return err
	}
	for strings.TrimSpace(sheet) != "" {
		rule := cssRule.FindStringSubmatch(sheet)
		if rule == nil {
			return errUses("a style sheet of an unusual kind")
		}
		sheet = sheet[len(rule[0]):]
		for _, selector := range strings.Split(rule[1], ",") {
			class := cssClass.FindStringSubmatch(strings.TrimSpace(selector))
			if class == nil {
				return errUses("a style sheet that speaks of more than classes")
			}
			if s.classes[class[1]] == nil {
				s.classes[class[1]] = map[string]string{}
			}
			maps.Copy(s.classes[class[1]], declarations(rule[2]))
		}
	}
	return nil
}

// declarations reads "property: value" parted by semicolons.
func declarations(words string) map[string]string {
	of := map[string]string{}
	for _, one := range strings.Split(words, ";") {
		if name, value, ok := strings.Cut(one, ":"); ok {
			of[strings.ToLower(strings.TrimSpace(name))] = strings.TrimSpace(strings.TrimSuffix(strings.TrimSpace(value), "!important"))
		}
	}
	return of
}

// properties are what an element's attributes, classes and style say together, the later before the earlier.
func (s *writer) properties(e *element) map[string]string {
	all := maps.Clone(e.attrs)
	for _, class := range strings.Fields(e.attrs["class"]) {
		maps.Copy(all, s.classes[class])
	}
	maps.Copy(all, declarations(e.attrs["style"]))
	return all
}

// group writes what an element holds.
func (s *writer) group(e *element) error {
	outer := s.now
	defer func() { s.now = outer }()
	attrs, shown, err := s.painted(e)
	if err != nil || !shown {
		return err
	}
	s.open("g", attrs)
	for _, child := range e.children {
		if err := s.write(child); err != nil {
			return err
		}
	}
	s.out.WriteString("</g>")
	return nil
}

func (s *writer) write(e *element) error {
	switch e.name {
	case "g":
		return s.group(e)
	case "path", "rect", "circle", "ellipse", "line", "polyline", "polygon":
		return s.shape(e)
	case "title", "desc", "metadata", "style", "defs", "linearGradient", "radialGradient",
		// These draw nothing but where something names them, which is refused there.
		"clipPath", "mask", "filter", "marker", "pattern", "symbol":
		return nil
	case "text", "tspan", "textPath":
		return errText
	case "image", "foreignObject", "feImage", "audio", "video":
		return errExternal
	}
	return errUses("‹" + e.name + "›")
}

// paints are the properties that are written anew as they are, and lengths among them.
var (
	paints  = []string{"fill", "fill-opacity", "opacity", "stroke", "stroke-linecap", "stroke-linejoin", "stroke-miterlimit", "stroke-opacity"}
	refused = []string{"clip-path", "mask", "filter", "marker", "marker-start", "marker-mid", "marker-end", "mix-blend-mode"}
)

// evenOddMark stands as an offset of dashes, which are never drawn, in what fills by the even-odd rule: oksvg reads that rule
// from nowhere, and hands the offset on.
const evenOddMark = 1

// painted are the attributes that say how an element is painted; shown is false where it is hidden.
func (s *writer) painted(e *element) (attrs map[string]string, shown bool, err error) {
	all, attrs := s.properties(e), map[string]string{}
	if all["display"] == "none" || all["visibility"] == "hidden" {
		return nil, false, nil
	}
	for _, name := range refused {
		if v := all[name]; v != "" && v != "none" && v != "normal" {
			return nil, false, errUses("‹" + name + "›")
		}
	}
	if v := all["stroke-dasharray"]; v != "" && v != "none" {
		return nil, false, errUses("dashed lines")
	}
	for _, name := range paints {
		v := all[name]
		if v == "" || v == "inherit" {
			continue
		}
		if name == "fill" || name == "stroke" {
			if v, err = s.colour(v, all["color"]); err != nil {
				return nil, false, err
			}
		}
		attrs[name] = v
	}
	if v := all["stroke-width"]; v != "" && v != "inherit" {
		wide, err := s.length(v)
		if err != nil {
			return nil, false, err
		}
		s.now.width, _ = strconv.ParseFloat(wide, 64) // as it was just written
	}
	if v := attrs["stroke"]; v != "" {
		s.now.drawn = v != "none"
	}
	switch all["fill-rule"] {
	case "evenodd":
		attrs["stroke-dashoffset"] = strconv.Itoa(evenOddMark)
	case "nonzero":
		attrs["stroke-dashoffset"] = "0"
	}
	if v := all["transform"]; v != "" {
		list, err := transforms(v, s.by)
		if err != nil {
			return nil, false, err
		}
		attrs["transform"] = written(list)
		for _, m := range list {
			s.now.turn(m)
		}
	}
	return attrs, true, nil
}

// turn brings a transform over those before it.
func (p *pen) turn(by [6]float64) {
	m := p.m
	p.m = [4]float64{m[0]*by[0] + m[2]*by[1], m[1]*by[0] + m[3]*by[1], m[0]*by[2] + m[2]*by[3], m[1]*by[2] + m[3]*by[3]}
}

// evenly is by how much the transforms make lines wider; ok is false where they do so in one direction more than in another.
func (p pen) evenly() (by float64, ok bool) {
	along, across := math.Hypot(p.m[0], p.m[1]), math.Hypot(p.m[2], p.m[3])
	slant := p.m[0]*p.m[2] + p.m[1]*p.m[3]
	return along, math.Abs(along-across) <= 0.02*along && math.Abs(slant) <= 0.02*along*across
}

var (
	urlShape   = regexp.MustCompile(`^url\(\s*['"]?#([^'")]+?)['"]?\s*\)`)
	plainPaint = regexp.MustCompile(`^(#[0-9A-Fa-f]{3}|#[0-9A-Fa-f]{6}|[A-Za-z]+|hsl\([0-9]+,\s*[0-9.]+%,\s*[0-9.]+%\))$`)
	rgbPaint   = regexp.MustCompile(`^rgb\(\s*([0-9.]+%?)[\s,]+([0-9.]+%?)[\s,]+([0-9.]+%?)\s*\)$`)
)

// colour is a paint as oksvg reads it; current is what currentColor stands for.
func (s *writer) colour(v, current string) (string, error) {
	if m := urlShape.FindStringSubmatch(v); m != nil {
		if !s.gradients[m[1]] {
			return "", errUses("a pattern, or a paint that it lacks")
		}
		return "url(#" + m[1] + ")", nil
	}
	if strings.EqualFold(v, "currentColor") {
		v = current
		if v == "" || strings.EqualFold(v, "currentColor") || strings.EqualFold(v, "inherit") {
			v = "black"
		}
	}
	if m := rgbPaint.FindStringSubmatch(v); m != nil {
		return "rgb(" + strings.Join(m[1:], ",") + ")", nil
	}
	switch {
	case strings.EqualFold(v, "transparent"):
		return "none", nil
	case !plainPaint.MatchString(v):
		return "", errUses("a colour of an unusual form")
	}
	return v, nil
}

// open begins an element.
func (s *writer) open(name string, attrs map[string]string) {
	s.out.WriteString("<" + name)
	for _, key := range slices.Sorted(maps.Keys(attrs)) {
		s.out.WriteString(" " + key + `="`)
		_ = xml.EscapeText(&s.out, []byte(attrs[key])) // a strings.Builder takes all
		s.out.WriteString(`"`)
	}
	s.out.WriteString(">")
}

// gradientsOf finds the gradients, wherever they stand.
func gradientsOf(e *element) []*element {
	var list []*element
	for _, child := range e.children {
		if child.name == "linearGradient" || child.name == "radialGradient" {
			list = append(list, child)
		} else {
			list = append(list, gradientsOf(child)...)
		}
	}
	return list
}

var fraction = regexp.MustCompile(`^[-+]?[0-9]*\.?[0-9]+([eE][-+]?[0-9]{1,2})?%?$`)

// gradient writes a gradient before what it paints, which is how oksvg finds it.
func (s *writer) gradient(e *element) error {
	attrs := map[string]string{"id": e.attrs["id"]}
	if e.attrs["href"] != "" {
		return errUses("a gradient that borrows from another")
	}
	user := e.attrs["gradientUnits"] == "userSpaceOnUse"
	for _, name := range []string{"x1", "y1", "x2", "y2", "cx", "cy", "r", "fx", "fy"} {
		v := e.attrs[name]
		switch {
		case v == "":
			continue
		case !fraction.MatchString(v), user && strings.HasSuffix(v, "%"):
			return errUses("a gradient of an unusual kind")
		case user:
			var err error
			if v, err = s.length(v); err != nil {
				return err
			}
		}
		attrs[name] = v
	}
	by := 1.0
	if user {
		attrs["gradientUnits"], by = "userSpaceOnUse", s.by
	} else {
		attrs["gradientUnits"] = "objectBoundingBox"
	}
	if v := e.attrs["gradientTransform"]; v != "" {
		list, err := transforms(v, by)
		if err != nil {
			return err
		}
		attrs["gradientTransform"] = written(list)
	}
	if v := e.attrs["spreadMethod"]; v == "reflect" || v == "repeat" {
		attrs["spreadMethod"] = v
	}
	s.open(e.name, attrs)
	stops := 0
	for _, stop := range e.children {
		if stop.name != "stop" {
			continue
		}
		stops++
		if err := s.stop(stop); err != nil {
			return err
		}
	}
	if stops == 0 {
		return errUses("a gradient without colours")
	}
	s.out.WriteString("</" + e.name + ">")
	return nil
}

func (s *writer) stop(e *element) error {
	all := s.properties(e)
	attrs := map[string]string{"offset": "0", "stop-color": "black"}
	for _, name := range []string{"offset", "stop-opacity"} {
		v := all[name]
		if v == "" {
			continue
		}
		if !fraction.MatchString(v) || name == "stop-opacity" && strings.HasSuffix(v, "%") {
			return errUses("a gradient of an unusual kind")
		}
		attrs[name] = v
	}
	if v := all["stop-color"]; v != "" {
		var err error
		if attrs["stop-color"], err = s.colour(v, all["color"]); err != nil {
			return err
		}
	}
	s.open("stop", attrs)
	s.out.WriteString("</stop>")
	return nil
}
