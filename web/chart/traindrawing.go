package chart

import (
	"context"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
)

// TrainDrawing shows a wheel train unrolled into a row: pitch circles to one scale by their counts, each wheel
// meshing with the pinion of the next arbor, the counts written on and the directions of turning. It draws motion
// work as well: NoEscape, with drivers and driven in place of wheels and pinions.
type TrainDrawing struct {
	ID          string // of the element; unique on its page
	Title       string
	Stages      []TrainStage // from the slowest arbor on
	EscapeTeeth int          // 0 is not known
	// EscapeSought draws the escape wheel dashed though it has a count, since that was found and not given.
	EscapeSought bool
	NoEscape     bool   // the last arbor carries no escape wheel
	LastName     string // of the last arbor; "" is "escape"
	// Anticlockwise says that the first arbor turns so, as the drawing is seen; each next one turns the other way.
	Anticlockwise bool
	SeenFrom      string   // for the description: "seen from the dial side"; "" leaves it out
	TurnsPerHour  []string // of each arbor from the first, worded: "7½"; nil or "" is not written
	Facts         []Fact   // rows under the drawing: {"beats per hour", "18 000"}
}

// TrainStage is a wheel and the pinion it drives, which sits on the next arbor.
type TrainStage struct {
	Wheel, Pinion int // counts; 0 is not known and is drawn dashed with a question mark
	// Name of the arbor that the wheel sits on: "centre". "" takes the usual one: barrel, centre, third, fourth.
	Name string
	// WheelSought and PinionSought draw dashed what has a count that was found and not given.
	WheelSought, PinionSought bool
}

// Render writes the drawing; it makes TrainDrawing a templ component.
func (d TrainDrawing) Render(ctx context.Context, w io.Writer) error { return write(ctx, w, d.SVG) }

// Bounds of what is drawn.
const (
	mostStages = 8
	mostCount  = 1000
)

// SVG returns the drawing as an svg element. It fails on an unusable ID, on counts that are negative or beyond any
// wheel's, and on more than eight stages.
func (d TrainDrawing) SVG() (string, error) {
	if len(d.Stages) == 0 {
		return emptyOf(d.ID, d.Title, noTrain)
	}
	if len(d.Stages) > mostStages {
		return "", ErrTooMany
	}
	counts := []float64{float64(d.EscapeTeeth)}
	for _, st := range d.Stages {
		counts = append(counts, float64(st.Wheel), float64(st.Pinion))
	}
	if !sizes(mostCount, counts...) {
		return "", ErrSize
	}
	l := trainLayout{TrainDrawing: d, arbors: d.arbors()}
	l.place()
	var s svg
	for i := range l.arbors {
		l.wheels(&s, i)
	}
	for i := range l.arbors {
		l.labels(&s, i)
	}
	height := l.rows(&s)
	return frame{id: d.ID, title: d.Title, desc: d.desc(), height: height}.document(&s)
}

const noTrain = "No train to draw yet."

// toothed is a wheel or a pinion as it is drawn.
type toothed struct {
	word   string  // wheel, pinion, escape wheel
	count  int     // 0 is not known
	sought bool    // found, not given
	radius float64 // in modules, then in user units
	escape bool
}

// said names it with its count.
func (t toothed) said() string {
	switch {
	case t.count == 0:
		return t.word + " ?"
	case t.sought:
		return fmt.Sprintf("%s %d (found)", t.word, t.count)
	}
	return fmt.Sprintf("%s %d", t.word, t.count)
}

// arbor is one arbor: what is driven and what drives; both nil at most for one of them.
type arbor struct {
	name           string
	driven, driver *toothed
	x              float64
	clockwise      bool
}

// outer is the radius of the larger of the two.
func (a arbor) outer() float64 {
	r := 0.0
	for _, t := range []*toothed{a.driven, a.driver} {
		if t != nil {
			r = math.Max(r, t.radius)
		}
	}
	return r
}

// largerSmaller returns both by size; the smaller may be nil.
func (a arbor) largerSmaller() (larger, smaller *toothed) {
	switch {
	case a.driven == nil:
		return a.driver, nil
	case a.driver == nil:
		return a.driven, nil
	case a.driver.radius >= a.driven.radius:
		return a.driver, a.driven
	}
	return a.driven, a.driver
}

// usualNames are those of the arbors before the escape arbor, the last first.
var usualNames = []string{"fourth", "third", "centre", "barrel"}

// arborName is the given or the usual name of the i-th arbor.
func (d TrainDrawing) arborName(i int) string {
	last := len(d.Stages)
	switch {
	case i < last && d.Stages[i].Name != "":
		return d.Stages[i].Name
	case i == last && d.LastName != "":
		return d.LastName
	case d.NoEscape || last-1-i >= len(usualNames):
		return fmt.Sprintf("arbor %d", i+1)
	case i == last:
		return "escape"
	}
	return usualNames[last-1-i]
}

// nominal is the radius, in modules, of a part whose count is not known: the mean of its like, else a usual one.
func (d TrainDrawing) nominal(usual int, of func(TrainStage) int) float64 {
	sum, known := 0, 0
	for _, st := range d.Stages {
		if n := of(st); n > 0 {
			sum, known = sum+n, known+1
		}
	}
	if known == 0 {
		return float64(usual) / 2
	}
	return float64(sum) / float64(known) / 2
}

// arbors lists what sits on each arbor, radii in modules. An escape wheel has no pitch circle; it is drawn at the size
// it usually has beside the wheels.
func (d TrainDrawing) arbors() []arbor {
	wheel := d.nominal(70, func(st TrainStage) int { return st.Wheel })
	pinion := d.nominal(10, func(st TrainStage) int { return st.Pinion })
	list := make([]arbor, len(d.Stages)+1)
	for i := range list {
		list[i].name, list[i].clockwise = d.arborName(i), (i%2 == 0) != d.Anticlockwise
	}
	for i, st := range d.Stages {
		driver := &toothed{word: "wheel", count: st.Wheel, sought: st.WheelSought, radius: float64(st.Wheel) / 2}
		driven := &toothed{word: "pinion", count: st.Pinion, sought: st.PinionSought, radius: float64(st.Pinion) / 2}
		if st.Wheel > 0 && st.Pinion > st.Wheel { // slowing down, as motion work does
			driver.word, driven.word = driven.word, driver.word
		}
		if st.Wheel == 0 {
			driver.radius = wheel
		}
		if st.Pinion == 0 {
			driven.radius = pinion
		}
		list[i].driver, list[i+1].driven = driver, driven
	}
	if !d.NoEscape {
		const beside = 0.6
		list[len(d.Stages)].driver = &toothed{word: "escape wheel", count: d.EscapeTeeth, sought: d.EscapeSought,
			radius: beside * wheel, escape: true}
	}
	return list
}

// trainLayout places the arbors on the sheet.
type trainLayout struct {
	TrainDrawing
	arbors []arbor
	// names is the foot of the names, cy the line of centres, foot that of the drawing.
	names, cy, foot float64
	taken           []box // by texts
}

// Room about the row of wheels, in user units.
const (
	trainMargin = 8.0
	trainReach  = 92.0 // largest radius
	nameRowFoot = 16.0 // of one row of names; where they would run into each other there are two
	insideLabel = 30.0 // smallest radius that has its count inside the rim
)

// place turns modules into user units and sets the arbors out along the line of centres.
func (l *trainLayout) place() {
	x, left, right, largest := 0.0, 0.0, 0.0, 0.0
	for i := range l.arbors {
		a := &l.arbors[i]
		if i > 0 {
			x += l.arbors[i-1].driver.radius + a.driven.radius
		}
		a.x = x
		left, right, largest = math.Min(left, x-a.outer()), math.Max(right, x+a.outer()), math.Max(largest, a.outer())
	}
	scale := math.Min((width-2*trainMargin)/(right-left), trainReach/largest)
	shift := (width - scale*(right-left)) / 2
	for i := range l.arbors {
		a := &l.arbors[i]
		a.x = shift + scale*(a.x-left)
		for _, t := range []*toothed{a.driven, a.driver} {
			if t != nil {
				t.radius *= scale
			}
		}
	}
	l.names = nameRowFoot
	for i := range l.arbors[1:] {
		_, right := l.nameEnds(i)
		if left, _ := l.nameEnds(i + 1); left < right+4 {
			l.names = 2 * nameRowFoot
		}
	}
	l.cy = l.names + 20 + scale*largest
	l.foot = l.cy + scale*largest + 24
}

// nameEnds is where the name of the i-th arbor begins and ends: about its arbor, but on the sheet.
func (l *trainLayout) nameEnds(i int) (left, right float64) {
	half := textWidth(l.arbors[i].name, textSize) / 2
	x := math.Max(half, math.Min(width-half, l.arbors[i].x))
	return x - half, x + half
}

// wheels draws what sits on an arbor, the larger below.
func (l *trainLayout) wheels(s *svg, i int) {
	a := l.arbors[i]
	larger, smaller := a.largerSmaller()
	for _, t := range []*toothed{larger, smaller} {
		if t == nil {
			continue
		}
		towards, ink := 0.0, "chart-wheel"
		if t == a.driven {
			towards = 180
		}
		if t == smaller {
			ink = "chart-pinion"
		}
		if t.sought || t.count == 0 {
			ink = "chart-sought"
		}
		s.circle(ink, a.x, l.cy, t.radius)
		if t.count > 0 {
			s.element("path", "class", "chart-teeth", "d", teeth(*t, a, l.cy, towards))
		}
	}
	s.circle("chart-pivot", a.x, l.cy, 1.5)
	radius := larger.radius - 7
	if larger.radius < insideLabel+6 {
		radius = larger.radius + 6
	}
	const half = 24
	from, to := 90.0-half, 90.0+half
	if !a.clockwise {
		from, to = to, from
	}
	s.arrow(a.x, l.cy, radius, from, to)
}

// teeth is a stroke across the pitch circle for each tooth. A driver has a tooth on the line of centres and what it
// drives has a gap there; the teeth of an escape wheel lean the way it turns.
func teeth(t toothed, a arbor, cy, towards float64) string {
	pitch := 360 / float64(t.count)
	if t.radius*pitch*math.Pi/180 < 1.8 { // too fine to be seen apart
		return stroke(a.x+t.radius-2, cy, a.x+t.radius, cy)
	}
	below, above, lean := 1.6, 1.6, 0.0
	first := 0.0
	if towards > 0 {
		first = towards + pitch/2
	}
	if t.escape {
		below, above, lean = math.Min(7, t.radius*0.3), 0, math.Min(7, pitch/3)
		if !a.clockwise {
			lean = -lean
		}
	}
	var b strings.Builder
	for k := range t.count {
		deg := first + float64(k)*pitch
		x1, y1 := point(a.x, cy, deg-lean, t.radius-below)
		x2, y2 := point(a.x, cy, deg, t.radius+above)
		b.WriteString(stroke(x1, y1, x2, y2))
	}
	return b.String()
}

// labels writes the name of an arbor above it and the counts of what sits on it; what finds no room is in the rows.
func (l *trainLayout) labels(s *svg, i int) {
	a := l.arbors[i]
	larger, smaller := a.largerSmaller()
	above, within := l.cy-larger.radius-5, l.cy-larger.radius+17
	if larger.radius < insideLabel {
		within = above
	}
	l.write(s, "chart-label chart-symbol", a.x, larger.figure(), within, above)
	if smaller != nil {
		under := l.cy + smaller.radius + 15
		l.write(s, "chart-label chart-symbol", a.x, smaller.figure(), under, l.cy-smaller.radius-6)
	}
	left, right := l.nameEnds(i)
	foot := l.write(s, "chart-name", (left+right)/2, a.name, l.names-4, l.names-4-nameRowFoot)
	if foot > 0 {
		s.line("chart-column", a.x, foot+4, a.x, l.cy-larger.radius-18)
	}
}

// figure is the count as it is written on.
func (t toothed) figure() string {
	if t.count == 0 {
		return "?"
	}
	return strconv.Itoa(t.count)
}

// write writes a text about x at the first of the baselines where there is room, and returns it; 0: nowhere.
func (l *trainLayout) write(s *svg, class string, x float64, content string, baselines ...float64) float64 {
	half := textWidth(content, textSize) / 2
	for _, y := range baselines {
		b := box{x - half - 2, y - 11, x + half + 2, y + 2}
		if clearOf(b, l.taken) && b.left >= -3 && b.right <= width+3 && b.top >= -1 {
			l.taken = append(l.taken, b)
			s.text(class, middle, x, y, content)
			return y
		}
	}
	return 0
}

// rows writes what sits on each arbor under the drawing and returns the height.
func (l *trainLayout) rows(s *svg) float64 {
	r := benchRows{s: s, y: l.foot}
	dashed := false
	for i, a := range l.arbors {
		r.add(a.name+": "+strings.Join(a.said(), ", "), l.turns(i), nil)
		for _, t := range []*toothed{a.driven, a.driver} {
			dashed = dashed || t != nil && (t.count == 0 || t.sought)
		}
	}
	if dashed {
		r.add("dashed: not given", "", func(y float64) { s.circle("chart-sought", markRadius+1, y, 6) })
	}
	r.facts(l.Facts)
	return r.end()
}

// said lists what sits on the arbor, the driven first.
func (a arbor) said() []string {
	var said []string
	for _, t := range []*toothed{a.driven, a.driver} {
		if t != nil {
			said = append(said, t.said())
		}
	}
	return said
}

// turns words the turns of the i-th arbor.
func (d TrainDrawing) turns(i int) string {
	if i >= len(d.TurnsPerHour) || d.TurnsPerHour[i] == "" {
		return ""
	}
	if d.TurnsPerHour[i] == "1" {
		return "1 turn per hour"
	}
	return d.TurnsPerHour[i] + " turns per hour"
}

// desc says in words all that the drawing shows.
func (d TrainDrawing) desc() string {
	arbors := d.arbors()
	var b strings.Builder
	fmt.Fprintf(&b, "%s, unrolled from the %s to the %s arbor", spelledStages(len(d.Stages)), arbors[0].name,
		arbors[len(arbors)-1].name)
	if d.SeenFrom != "" {
		b.WriteString(", " + d.SeenFrom)
	}
	b.WriteString(".")
	for i, a := range arbors {
		turning := "clockwise"
		if !a.clockwise {
			turning = "anticlockwise"
		}
		fmt.Fprintf(&b, " Arbor %d, %s: %s; turns %s", i+1, a.name, strings.Join(a.said(), ", "), turning)
		if turns := d.turns(i); turns != "" {
			b.WriteString(", " + turns)
		}
		if i < len(d.Stages) {
			fmt.Fprintf(&b, "; its %s meshes with the %s of the next arbor", a.driver.word, arbors[i+1].driven.word)
		}
		b.WriteString(".")
	}
	b.WriteString(" A question mark stands for a count that is not known.")
	factSentences(&b, d.Facts)
	return b.String()
}

func spelledStages(n int) string {
	if n == 1 {
		return "One stage of wheel and pinion"
	}
	return fmt.Sprintf("%d stages of wheel and pinion", n)
}
