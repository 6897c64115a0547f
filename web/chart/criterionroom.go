package chart

import (
	"context"
	"fmt"
	"io"
	"math"

	"ledgerwheel/domain/metrology"
)

// CriterionRoom shows one criterion in the width of a table's column: its limits, the value with its expanded
// uncertainty, and the room left to the nearer limit.
type CriterionRoom struct {
	ID      string // of the element; unique on its page
	Title   string // of the criterion: "mean daily rate"
	Value   *metrology.Value
	Limits  metrology.Limits
	Verdict metrology.Verdict
	// RoomText is the room as printed: "1.2 left", "over by 0.4"; while there is no value, when it will be known:
	// "known from day 13".
	RoomText string
}

// Measures in user units.
const (
	roomY      = 25.0
	roomHeight = 48.0
	roomInset  = 14.0 // room for the arrow of a value beyond the bar
)

// Render writes the chart; it makes CriterionRoom a templ component.
func (c CriterionRoom) Render(ctx context.Context, w io.Writer) error { return write(ctx, w, c.SVG) }

// SVG returns the chart as an svg element. It fails on an unusable ID, on limits that are none, and on figures that
// are not finite.
func (c CriterionRoom) SVG() (string, error) {
	if c.Value != nil && c.Value.Check() != nil {
		return "", ErrNotFinite
	}
	if err := c.Limits.Check(); err != nil {
		return "", fmt.Errorf("chart %q: %w", c.ID, err)
	}
	a := c.axis()
	var s svg
	low, high, _ := visibleBand(c.Limits, a)
	s.element("rect", "class", "chart-band", "x", num(a.at(low)), "y", num(roomY-7), "width", num(a.at(high)-a.at(low)),
		"height", "14")
	s.line("chart-rule", a.from, roomY, a.to, roomY)
	c.limits(&s, a)
	c.value(&s, a)
	return frame{id: c.ID, title: c.Title, desc: c.desc(), height: roomHeight, small: true}.document(&s)
}

// axis spans the limits, and the value where that leaves them legible.
func (c CriterionRoom) axis() axis {
	var s span
	switch lower, upper := c.Limits.Lower, c.Limits.Upper; {
	case lower != nil && upper != nil:
		s = span{*lower, *upper}
	case upper != nil:
		s = span{math.Min(0, *upper), math.Max(0, *upper)}
	default:
		s = span{math.Min(0, *lower), math.Max(0, *lower)}
	}
	least := math.Max(s.high-s.low, 1e-6)
	if c.Value != nil {
		u := c.Value.Expanded()
		s = s.with(c.Value.Value, least).with(c.Value.Value-u, least).with(c.Value.Value+u, least)
	}
	margin := 0.08 * math.Max(s.high-s.low, least)
	s = span{s.low - margin, s.high + margin}
	return axis{span: s, from: roomInset, to: smallWidth - roomInset}
}

func (c CriterionRoom) limits(s *svg, a axis) {
	taken := -1.0
	for _, limit := range []*float64{c.Limits.Lower, c.Limits.Upper} {
		if limit == nil {
			continue
		}
		x := a.at(*limit)
		s.line("chart-limit-full", x, roomY-9, x, roomY+9)
		label := metrology.Value{Value: *limit}.Print(c.twoSided()).Value
		half := textWidth(label, smallSize) / 2
		at := math.Max(half, math.Min(smallWidth-half, x))
		if at-half > taken {
			s.text("chart-words", middle, at, roomHeight-2, label)
			taken = at + half
		}
	}
}

func (c CriterionRoom) twoSided() bool { return c.Limits.Lower != nil && c.Limits.Upper != nil }

// value draws the room, the uncertainty and the mark, with the words above.
func (c CriterionRoom) value(s *svg, a axis) {
	if c.Value == nil {
		s.openMark(smallWidth/2, roomY)
		s.roomText(smallWidth/2, c.RoomText)
		return
	}
	v, u := c.Value.Value, c.Value.Expanded()
	x := a.within(v)
	nearer := a.within(c.nearer(v))
	class := "chart-room"
	if !c.allows(v) {
		class = "chart-over"
	}
	s.line(class, x, roomY, nearer, roomY)
	if u > 0 {
		s.bar(0, a.within(v-u), roomY, a.within(v+u), roomY)
	}
	switch c.Verdict {
	case metrology.NotMeasured:
		s.openMark(x, roomY)
	case metrology.Pass:
		s.drawMark(0, x, roomY)
	default:
		s.element("path", "class", "chart-mark chart-series-1 chart-hollow", "transform",
			"translate("+num(x)+" "+num(roomY)+")", "d", marks[0].path)
		inner := "M-6 0H6" // the bar of a fail
		if c.Verdict == metrology.Undecided {
			inner = "M0 -6.5L-6 0L0 6.5Z"
		}
		s.element("path", "class", "chart-verdict", "transform", "translate("+num(x)+" "+num(roomY)+")", "d", inner)
	}
	if !a.holds(v) { // an arrow says that it lies further out
		d := "M-9 -4L-13 0L-9 4"
		if v > a.high {
			d = "M9 -4L13 0L9 4"
		}
		s.element("path", "class", "chart-axis", "transform", "translate("+num(x)+" "+num(roomY)+")", "d", d)
	}
	s.roomText((x+nearer)/2, c.RoomText)
}

// allows reports whether v lies within the limits.
func (c CriterionRoom) allows(v float64) bool {
	return (c.Limits.Lower == nil || v >= *c.Limits.Lower) && (c.Limits.Upper == nil || v <= *c.Limits.Upper)
}

// nearer is the limit that v is nearest to.
func (c CriterionRoom) nearer(v float64) float64 {
	switch lower, upper := c.Limits.Lower, c.Limits.Upper; {
	case upper == nil:
		return *lower
	case lower == nil || math.Abs(*upper-v) < math.Abs(v-*lower):
		return *upper
	default:
		return *lower
	}
}

// roomText writes the words over x, as far towards it as the edges let them.
func (s *svg) roomText(x float64, words string) {
	if words == "" {
		return
	}
	words = fit(words, smallWidth, smallSize)
	half := float64(len([]rune(words))) * wordWidth * smallSize / 2
	s.text("chart-words", middle, math.Max(half, math.Min(smallWidth-half, x)), smallSize, words)
}

// desc says in words all that the drawing shows.
func (c CriterionRoom) desc() string {
	unit, said := "", "No value yet"
	if c.Value != nil {
		unit = c.Value.Unit
		said = c.Value.Print(c.twoSided()).String()
	}
	said += ". " + limitWords(c.Limits, unit) + "."
	if c.RoomText != "" {
		said += " " + c.RoomText + "."
	}
	if c.Value != nil {
		said += " Verdict: " + c.Verdict.String() + "."
	}
	return said
}

func limitWords(l metrology.Limits, unit string) string {
	at := func(x float64, signed bool) string {
		p := metrology.Value{Value: x, Unit: unit}.Print(signed)
		return p.String()
	}
	switch {
	case l.Lower == nil:
		return "Limit: at most " + at(*l.Upper, false)
	case l.Upper == nil:
		return "Limit: at least " + at(*l.Lower, false)
	}
	return "Limits: " + at(*l.Lower, true) + " to " + at(*l.Upper, true)
}
