package view

import (
	"cmp"
	"math"
	"net/url"
	"strconv"
	"strings"

	"github.com/a-h/templ"
)

// The outline is drawn in a box this wide and high; marks are placed as fractions of it.
const (
	outlineWidth  = 480.0
	outlineHeight = 640.0
	outlineX      = 240.0 // the case's centre
	outlineY      = 320.0
)

// OutlinePart names a part of the watch that can be marked. Value is one of the five below; Clear says it was
// seen and found without marks.
type OutlinePart struct {
	Value, Text string
	Clear       bool
	Clash       *OutlineClash // what somebody else noted of it otherwise
	Taken       string        // says that it is as somebody else noted it
}

// OutlineClash shows what somebody else noted of a part and asks which is right.
type OutlineClash struct {
	Part    string
	By      string // with the time
	Theirs  []string
	Answer  Field
	Carried []FieldValue
}

// The parts drawn on the outline.
const (
	PartDial     = "dial"
	PartCrystal  = "crystal"
	PartCase     = "case"
	PartCrown    = "crown"
	PartBracelet = "bracelet"
)

// OutlineParts are the five parts with their plain words, in the order they are asked.
func OutlineParts() []OutlinePart {
	return []OutlinePart{{Value: PartDial, Text: "Dial and hands"}, {Value: PartCrystal, Text: "Crystal"},
		{Value: PartCase, Text: "Case"}, {Value: PartCrown, Text: "Crown"}, {Value: PartBracelet, Text: "Bracelet or strap"}}
}

// OutlineMark is one mark of condition. X runs 0 left to 1 right, Y 0 top to 1 bottom; both are meaningless
// unless Placed. KindText is Kind in words, for showing.
type OutlineMark struct {
	Part, Kind, KindText, Note string
	X, Y                       float64
	Placed                     bool
	Error                      string
}

// OutlineView shows a watch and its marks; CrownHour is the hour mark beside which the crown sits, 3 when nought.
type OutlineView struct {
	CrownHour int
	Marks     []OutlineMark
	Clear     []string // parts seen and found without marks, in words
}

// OutlineForm asks for the condition. It posts, for each row in order, the repeated fields mark_part, mark_kind,
// mark_x, mark_y and mark_note (MarksFromForm reads them), and the repeated field clear with the parts seen
// without marks. Without scripts each part has one empty row; with them, tapping the outline adds one there.
type OutlineForm struct {
	CrownHour int
	Parts     []OutlinePart // OutlineParts when empty
	Kinds     []Option      // what a mark can be: scratch, dent, ...
	Marks     []OutlineMark
	Error     string // said above the outline
}

// MarksFromForm reads the rows an OutlineForm posts. Rows in which nothing was chosen or typed are left out.
func MarksFromForm(v url.Values) []OutlineMark {
	at := func(name string, i int) string {
		if list := v[name]; i < len(list) {
			return strings.TrimSpace(list[i])
		}
		return ""
	}
	var marks []OutlineMark
	for i := range v["mark_part"] {
		m := OutlineMark{Part: at("mark_part", i), Kind: at("mark_kind", i), Note: at("mark_note", i)}
		x, errX := strconv.ParseFloat(at("mark_x", i), 64)
		y, errY := strconv.ParseFloat(at("mark_y", i), 64)
		if errX == nil && errY == nil && x >= 0 && x <= 1 && y >= 0 && y <= 1 {
			m.X, m.Y, m.Placed = x, y, true
		}
		if m.Kind != "" || m.Note != "" || m.Placed {
			marks = append(marks, m)
		}
	}
	return marks
}

func (f OutlineForm) parts() []OutlinePart {
	if len(f.Parts) == 0 {
		return OutlineParts()
	}
	return f.Parts
}

// numbered puts the marks in the order of the parts, as the form shows and posts them.
func (f OutlineForm) numbered() []OutlineMark {
	var marks []OutlineMark
	for _, p := range f.parts() {
		marks = append(marks, f.of(p.Value)...)
	}
	return marks
}

// of are the marks on one part.
func (f OutlineForm) of(part string) []OutlineMark {
	var marks []OutlineMark
	for _, m := range f.Marks {
		if m.Part == part {
			marks = append(marks, m)
		}
	}
	return marks
}

// before is how many marks are shown ahead of the part's own.
func (f OutlineForm) before(part string) int {
	n := 0
	for _, p := range f.parts() {
		if p.Value == part {
			break
		}
		n += len(f.of(p.Value))
	}
	return n
}

func (f OutlineForm) clearAttrs(p OutlinePart) templ.Attributes {
	return templ.Attributes{"type": "checkbox", "id": "clear-" + p.Value, "name": "clear", "value": p.Value,
		"checked": p.Clear, "data-testid": "clear-" + p.Value}
}

func (m OutlineMark) x() string { return number(m.X * outlineWidth) }
func (m OutlineMark) y() string { return number(m.Y * outlineHeight) }

// field is a coordinate as posted; three decimals are a fifth of a millimetre on a bench tablet.
func (m OutlineMark) field(c float64) string {
	if !m.Placed {
		return ""
	}
	return strconv.FormatFloat(c, 'f', 3, 64)
}

// words says the mark in full: what, where, and the note.
func (m OutlineMark) words() string {
	kind := cmp.Or(m.KindText, m.Kind)
	switch {
	case kind == "":
		return cmp.Or(m.Note, "marked")
	case m.Note == "":
		return kind
	}
	return kind + ": " + m.Note
}

func partText(part string) string {
	for _, p := range OutlineParts() {
		if p.Value == part {
			return p.Text
		}
	}
	return part
}

// outlineLabel is a word beside the drawing and the thin line that leads from it to its part.
type outlineLabel struct{ text, anchor, x, y, leader string }

// outlineLabels stand on the side away from the crown.
func outlineLabels(hour int) []outlineLabel {
	strap := []float64{180, 76}
	strapText := "strap"
	if pocket(hour) {
		strap, strapText = []float64{206, 76}, "bow"
	}
	labels := []outlineLabel{
		leader(hour, strapText, 76, strap...),
		leader(hour, "case", 240, 124, 240, 134, 258),
		leader(hour, "crystal", 320, 133, 320),
		leader(hour, "dial", 394, 150, 394, 192, 352),
	}
	return append(labels, crownLabel(hour))
}

// leader leads from a word at height y in the margin through points (x, y, x, y, ...).
func leader(hour int, text string, y float64, points ...float64) outlineLabel {
	side := func(x float64) float64 { return x }
	anchor := "end"
	if h := crownAt(hour); h >= 7 && h <= 11 {
		side = func(x float64) float64 { return outlineWidth - x }
		anchor = "start"
	}
	path := "M" + number(side(76)) + " " + number(y)
	for i := 0; i+1 < len(points); i += 2 {
		path += "L" + number(side(points[i])) + " " + number(points[i+1])
	}
	return outlineLabel{text: text, anchor: anchor, x: number(side(70)), y: number(y + 6), leader: path}
}

// crownLabel stands just beyond the crown; above a pocket watch's crown is its bow, so there it stands beside.
func crownLabel(hour int) outlineLabel {
	if pocket(hour) {
		return outlineLabel{text: "crown", anchor: "start", x: "268", y: "172"}
	}
	deg := 30 * float64(crownAt(hour))
	a := deg * math.Pi / 180
	x, y := outlineX+178*math.Sin(a), outlineY-178*math.Cos(a)
	anchor := "middle"
	switch s := math.Sin(a); {
	case s > 0.3:
		anchor = "start"
	case s < -0.3:
		anchor = "end"
	default:
		y -= 16 * math.Cos(a)
	}
	return outlineLabel{text: "crown", anchor: anchor, x: number(x), y: number(y + 6)}
}

// pocket says that the crown sits at 12: a pocket watch, drawn with a bow instead of lugs and strap.
func pocket(hour int) bool { return crownAt(hour) == 12 }

func crownAt(hour int) int { return PositionView{CrownHour: hour}.crown() }

func crownTurn(hour int) string { return rotate(30*float64(crownAt(hour)), outlineX, outlineY) }

func outlineRowLabel(part string, n int) string {
	if n == 0 {
		return "A mark on the " + partWord(part)
	}
	return "Mark " + Itoa(n) + " on the " + partWord(part)
}

// partWord is the part in the middle of a sentence.
func partWord(part string) string { return strings.ToLower(cmp.Or(partText(part), "watch")) }
