package logo

import (
	"cmp"
	"math"
	"regexp"
	"strconv"
	"strings"
)

// numberShape is a number as SVG 2 has it.
var numberShape = regexp.MustCompile(`^[-+]?([0-9]+\.?[0-9]*|\.[0-9]+)([eE][-+]?[0-9]+)?`)

// number writes v without an exponent, which oksvg does not read everywhere.
func number(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

func join(list ...float64) string {
	words := make([]string, len(list))
	for i, v := range list {
		words[i] = number(v)
	}
	return strings.Join(words, " ")
}

func bounded(v float64) error {
	if !(math.Abs(v) <= largestNumber) {
		return errNumber
	}
	return nil
}

// next reads a number at the start of words.
func next(words string) (v float64, rest string, err error) {
	words = strings.TrimLeft(words, " \t\r\n,")
	found := numberShape.FindString(words)
	if v, err = strconv.ParseFloat(found, 64); err != nil && found == "" {
		return 0, "", errDamaged
	}
	return v, words[len(found):], bounded(v)
}

// numbers reads a list of numbers.
func numbers(words string) ([]float64, error) {
	var list []float64
	for words = strings.TrimLeft(words, " \t\r\n,"); words != ""; words = strings.TrimLeft(words, " \t\r\n,") {
		v, rest, err := next(words)
		if err != nil {
			return nil, err
		}
		list, words = append(list, v), rest
	}
	return list, nil
}

// length reads a length in the drawing's units, and writes it in those of what is written anew.
func (s *writer) length(words string) (string, error) {
	v, rest, err := next(strings.TrimSuffix(words, "px"))
	switch {
	case err != nil:
		return "", err
	case strings.TrimSpace(rest) != "":
		return "", errUses("lengths in units of their own")
	}
	return number(v * s.by), bounded(v * s.by)
}

// shape writes a shape with its own measures.
func (s *writer) shape(e *element) error {
	outer := s.now
	defer func() { s.now = outer }()
	attrs, shown, err := s.painted(e)
	if err != nil || !shown {
		return err
	}
	piece := 0.0
	if s.now.drawn {
		by, ok := s.now.evenly()
		if !ok {
			return errUses("a line that is stretched more one way than the other")
		}
		attrs["stroke-width"], piece = number(s.now.width*by), longestStrokePx/max(by, 1e-6)
		if err := bounded(s.now.width * by); err != nil {
			return err
		}
	}
	d := e.attrs["d"]
	if e.name != "path" {
		if d, err = s.straight(e); err != nil {
			return err
		}
	}
	if e.name != "path" && d == "" {
		return s.measured(e, attrs)
	}
	if attrs["d"], err = pathData(d, s.by, piece); err != nil || attrs["d"] == "" {
		return err
	}
	s.open("path", attrs)
	s.out.WriteString("</path>")
	return nil
}

// longestStrokePx is how long a straight piece of a stroke may be: rasterx's corners are worked out in 32 bits, which pieces
// over 700 pixels overflow.
const longestStrokePx = 300

// straight is a shape of straight lines as the data of a path; "" for one that has none.
func (s *writer) straight(e *element) (string, error) {
	at := func(names ...string) ([]float64, error) {
		list := make([]float64, len(names))
		for i, name := range names {
			if e.attrs[name] == "" {
				continue
			}
			words, err := (&writer{by: 1}).length(e.attrs[name])
			if err != nil {
				return nil, err
			}
			list[i], _ = strconv.ParseFloat(words, 64) // as it was just written
		}
		return list, nil
	}
	switch e.name {
	case "polyline", "polygon":
		list, err := numbers(e.attrs["points"])
		if err != nil || len(list)%2 == 1 {
			return "", cmp.Or(err, errDamaged)
		}
		if len(list) < 4 {
			return "M0 0", nil
		}
		return "M" + join(list...) + map[string]string{"polygon": "Z"}[e.name], nil
	case "line":
		n, err := at("x1", "y1", "x2", "y2")
		if err != nil {
			return "", err
		}
		return "M" + join(n...), nil
	case "rect":
		n, err := at("x", "y", "width", "height", "rx", "ry")
		switch {
		case err != nil:
			return "", err
		case n[2] <= 0 || n[3] <= 0:
			return "M0 0", nil
		case n[4] == 0 && n[5] == 0:
			return "M" + join(n[0], n[1]) + "h" + number(n[2]) + "v" + number(n[3]) + "h" + number(-n[2]) + "Z", nil
		}
	}
	return "", nil
}

// measured writes a round shape by its own measures.
func (s *writer) measured(e *element, attrs map[string]string) error {
	for _, name := range []string{"x", "y", "width", "height", "rx", "ry", "cx", "cy", "r"} {
		if v := e.attrs[name]; v != "" && v != "auto" {
			var err error
			if attrs[name], err = s.length(v); err != nil {
				return err
			}
		}
	}
	if e.name == "rect" { // one radius serves for both
		attrs["rx"], attrs["ry"] = either(attrs["rx"], attrs["ry"]), either(attrs["ry"], attrs["rx"])
	}
	s.open(e.name, attrs)
	s.out.WriteString("</" + e.name + ">")
	return nil
}

func either(a, b string) string {
	switch {
	case a != "":
		return a
	case b != "":
		return b
	}
	return "0"
}

var transformShape = regexp.MustCompile(`^[\s,]*(matrix|translate|scale|rotate|skewX|skewY)\s*\(([^()]*)\)`)

// transforms reads a list of transforms as matrices, for units of which by make one of the drawing.
func transforms(words string, by float64) ([][6]float64, error) {
	var all [][6]float64
	for strings.Trim(words, " \t\r\n,") != "" {
		m := transformShape.FindStringSubmatch(words)
		if m == nil {
			return nil, errUses("a transform of an unusual form")
		}
		words = words[len(m[0]):]
		n, err := numbers(m[2])
		if err != nil {
			return nil, err
		}
		list, err := matrices(m[1], n)
		if err != nil {
			return nil, err
		}
		for _, of := range list {
			of[4], of[5] = of[4]*by, of[5]*by
			for _, v := range of {
				if err := bounded(v); err != nil {
					return nil, err
				}
			}
			all = append(all, of)
		}
	}
	return all, nil
}

// written are matrices as an attribute.
func written(list [][6]float64) string {
	var out strings.Builder
	for _, m := range list {
		out.WriteString("matrix(" + join(m[:]...) + ")")
	}
	return out.String()
}

// matrices is a transform of SVG 2 as one matrix or several, one after another.
func matrices(name string, n []float64) ([][6]float64, error) {
	switch {
	case name == "matrix" && len(n) == 6:
		return [][6]float64{{n[0], n[1], n[2], n[3], n[4], n[5]}}, nil
	case name == "translate" && len(n) == 1:
		return [][6]float64{{1, 0, 0, 1, n[0], 0}}, nil
	case name == "translate" && len(n) == 2:
		return [][6]float64{{1, 0, 0, 1, n[0], n[1]}}, nil
	case name == "scale" && len(n) == 1:
		return [][6]float64{{n[0], 0, 0, n[0], 0, 0}}, nil
	case name == "scale" && len(n) == 2:
		return [][6]float64{{n[0], 0, 0, n[1], 0, 0}}, nil
	case name == "rotate" && len(n) == 1:
		return [][6]float64{turned(n[0])}, nil
	case name == "rotate" && len(n) == 3:
		return [][6]float64{{1, 0, 0, 1, n[1], n[2]}, turned(n[0]), {1, 0, 0, 1, -n[1], -n[2]}}, nil
	case name == "skewX" && len(n) == 1:
		return [][6]float64{{1, 0, math.Tan(n[0] * math.Pi / 180), 1, 0, 0}}, nil
	case name == "skewY" && len(n) == 1:
		return [][6]float64{{1, math.Tan(n[0] * math.Pi / 180), 0, 1, 0, 0}}, nil
	}
	return nil, errDamaged
}

func turned(deg float64) [6]float64 {
	sin, cos := math.Sincos(deg * math.Pi / 180)
	return [6]float64{cos, sin, -sin, cos, 0, 0}
}

// sizes is how many numbers each command of a path takes.
var sizes = map[byte]int{'M': 2, 'L': 2, 'H': 1, 'V': 1, 'C': 6, 'S': 4, 'Q': 4, 'T': 2, 'A': 7, 'Z': 0}

// pathWriter writes a path anew: absolute, each command with one set of numbers, by M, L, C, Q, A and Z alone.
type pathWriter struct {
	out            strings.Builder
	by             float64
	piece          float64 // longest straight piece, in what is written; 0 for no bound
	x, y           float64 // where the pen is
	startX, startY float64
	curveX, curveY float64 // the last control point
	last           byte    // the last command, in capitals
	closed         bool    // nothing was drawn since the last Z
}

// pathData writes the data of a path anew, for units of which by make one of the drawing, in pieces of a length where piece
// is not 0.
func pathData(d string, by, piece float64) (string, error) {
	p := &pathWriter{by: by, piece: piece, closed: true}
	command := byte(0)
	for d = strings.TrimLeft(d, " \t\r\n,"); d != ""; d = strings.TrimLeft(d, " \t\r\n,") {
		if _, ok := sizes[d[0]&^0x20]; ok && d[0] >= 'A' {
			command, d = d[0], d[1:]
		} else if command == 0 || command&^0x20 == 'Z' {
			return "", errDamaged
		}
		if command&^0x20 != 'M' && p.last == 0 {
			return "", errDamaged
		}
		set := make([]float64, sizes[command&^0x20])
		for i := range set {
			var err error
			if set[i], d, err = p.take(d, command, i); err != nil {
				return "", err
			}
		}
		if err := p.add(command, set); err != nil {
			return "", err
		}
		switch command { // further pairs are lines
		case 'M':
			command = 'L'
		case 'm':
			command = 'l'
		}
	}
	return p.out.String(), nil
}

// take reads the number at place i of a command; the flags of an arc are single digits, which may stand without a space.
func (p *pathWriter) take(d string, command byte, i int) (float64, string, error) {
	d = strings.TrimLeft(d, " \t\r\n,")
	if command&^0x20 == 'A' && (i == 3 || i == 4) {
		if d == "" || d[0] != '0' && d[0] != '1' {
			return 0, "", errDamaged
		}
		return float64(d[0] - '0'), d[1:], nil
	}
	return next(d)
}

// add writes one command with its numbers.
func (p *pathWriter) add(command byte, n []float64) error {
	of := command &^ 0x20
	if command != of && of != 'A' { // relative to the pen
		for i := range n {
			if of == 'V' || of != 'H' && i%2 == 1 {
				n[i] += p.y
			} else {
				n[i] += p.x
			}
		}
	} else if command == 'a' {
		n[5], n[6] = n[5]+p.x, n[6]+p.y
	}
	if of != 'M' && of != 'Z' && p.closed { // after Z the pen draws on from where it came
		p.put('M', p.x, p.y)
		p.closed = false
	}
	switch of {
	case 'M':
		p.startX, p.startY, p.closed = n[0], n[1], false
		p.put('M', n...)
	case 'L':
		p.lineTo(n[0], n[1])
	case 'H':
		n = []float64{n[0], p.y}
		p.lineTo(n[0], n[1])
	case 'V':
		n = []float64{p.x, n[0]}
		p.lineTo(n[0], n[1])
	case 'S':
		n = append(p.mirrored("CS"), n...)
		p.put('C', n...)
	case 'T':
		n = append(p.mirrored("QT"), n...)
		p.put('Q', n...)
	case 'C', 'Q':
		p.put(of, n...)
	case 'A':
		p.arc(n)
	case 'Z':
		if p.piece > 0 && !p.closed {
			p.lineTo(p.startX, p.startY)
		}
		p.put('Z')
		p.x, p.y, p.closed, p.last = p.startX, p.startY, true, of
		return nil
	}
	for _, v := range n {
		if err := bounded(v * p.by); err != nil {
			return err
		}
	}
	if len(n) >= 4 && of != 'A' {
		p.curveX, p.curveY = n[len(n)-4], n[len(n)-3]
	}
	p.x, p.y, p.last = n[len(n)-2], n[len(n)-1], of
	return nil
}

// mirrored is the control point over against the last one, if the command before was one of those.
func (p *pathWriter) mirrored(after string) []float64 {
	if strings.IndexByte(after, p.last) < 0 {
		return []float64{p.x, p.y}
	}
	return []float64{2*p.x - p.curveX, 2*p.y - p.curveY}
}

// arc writes an arc; one without a radius is a line, and one that ends where it begins is left out (SVG 2, 9.5.1).
func (p *pathWriter) arc(n []float64) {
	switch {
	case n[5] == p.x && n[6] == p.y:
	case n[0] == 0 || n[1] == 0:
		p.lineTo(n[5], n[6])
	default:
		p.out.WriteString("A" + join(math.Abs(n[0])*p.by, math.Abs(n[1])*p.by, n[2], n[3], n[4], n[5]*p.by, n[6]*p.by))
	}
}

// lineTo draws a line from the pen, in pieces.
func (p *pathWriter) lineTo(x, y float64) {
	pieces := 1.0
	if p.piece > 0 {
		pieces = min(max(1, math.Ceil(math.Hypot(x-p.x, y-p.y)*p.by/p.piece)), 50)
	}
	for i := 1.0; i < pieces; i++ {
		p.put('L', p.x+(x-p.x)*i/pieces, p.y+(y-p.y)*i/pieces)
	}
	p.put('L', x, y)
}

func (p *pathWriter) put(command byte, n ...float64) {
	p.out.WriteByte(command)
	for i, v := range n {
		if i > 0 {
			p.out.WriteByte(' ')
		}
		p.out.WriteString(number(v * p.by))
	}
}
