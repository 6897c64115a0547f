package chart

import (
	"context"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"
)

// BeatScale sets what a timed count says of the beat against the beats that watches usually have. Beats per hour.
type BeatScale struct {
	ID              string // of the element; unique on its page
	Title           string
	Best, Low, High float64 // of the count, with its limits
	Usual           []int   // rising
	Allowed         []int   // of the usual, those that the count allows
	Facts           []Fact  // rows under the drawing
}

// Render writes the drawing; it makes BeatScale a templ component.
func (d BeatScale) Render(ctx context.Context, w io.Writer) error { return write(ctx, w, d.SVG) }

// mostBeats bounds what is drawn: nothing that ticks and can be counted comes near it.
const mostBeats = 1e9

// Measures of the drawing, in user units.
const (
	scaleY       = 58.0 // of the line of the usual beats
	scaleMargin  = 26.0
	countY       = scaleY + 26
	sparseLabels = 5 // so many stand beside one another in one row
)

// SVG returns the drawing as an svg element. It fails on an unusable ID and on figures that are negative, not finite,
// out of order or beyond any watch's.
func (d BeatScale) SVG() (string, error) {
	if !sizes(mostBeats, d.Low, d.Best, d.High) || d.Low > d.Best || d.Best > d.High {
		return "", ErrSize
	}
	shown := d.shown()
	low, high := d.Low, d.High
	if len(shown) > 0 {
		low, high = math.Min(low, float64(shown[0])), math.Max(high, float64(shown[len(shown)-1]))
	}
	if high <= low { // one exact figure: give it room
		low, high = low-1, high+1
	}
	x := axis{span: span{low, high}, from: scaleMargin, to: width - scaleMargin}
	var s svg
	s.text("chart-caption", start, 0, smallSize, "usual beats per hour; full: the count allows it")
	s.line("chart-axis", 0, scaleY, width, scaleY)
	for i, beat := range shown {
		d.usual(&s, x.at(float64(beat)), beat, len(shown) > sparseLabels && i%2 == 1)
	}
	s.element("path", "class", "chart-bar chart-series-2", "d", stroke(x.at(d.Low), countY, x.at(d.High), countY)+
		stroke(x.at(d.Low), countY-6, x.at(d.Low), countY+6)+stroke(x.at(d.High), countY-6, x.at(d.High), countY+6))
	s.drawMark(1, x.at(d.Best), countY)
	s.text("chart-caption", start, 0, countY+24,
		"the count: from "+beatFigure(d.Low)+" to "+beatFigure(d.High)+", best "+beatFigure(d.Best))
	r := benchRows{s: &s, y: countY + 36}
	r.facts(d.Facts)
	return frame{id: d.ID, title: d.Title, desc: d.desc(), height: r.end()}.document(&s)
}

// usual draws one usual beat; raised sets its figure a row higher.
func (d BeatScale) usual(s *svg, x float64, beat int, raised bool) {
	label := scaleY - 12
	if raised {
		label -= 14
		s.line("chart-rule", x, label+3, x, scaleY)
	}
	class := "chart-verdict"
	if !slices.Contains(d.Allowed, beat) {
		class = "chart-open"
	}
	s.element("path", "class", class, "transform", "translate("+num(x)+" "+num(scaleY)+")", "d", "M0 -6L6 0L0 6L-6 0Z")
	s.text("chart-label", middle, x, label, strconv.Itoa(beat))
}

// shown are the usual beats within the count's limits, and the next on either side.
func (d BeatScale) shown() []int {
	first, last := 0, len(d.Usual)
	for first+1 < last && float64(d.Usual[first+1]) < d.Low {
		first++
	}
	for last-1 > first && float64(d.Usual[last-2]) > d.High {
		last--
	}
	return d.Usual[first:last]
}

func beatFigure(x float64) string { return strconv.FormatFloat(math.Round(x), 'f', -1, 64) }

// desc says in words all that the drawing shows.
func (d BeatScale) desc() string {
	var b strings.Builder
	fmt.Fprintf(&b, "The count says %s beats per hour, from %s to %s.", beatFigure(d.Best), beatFigure(d.Low),
		beatFigure(d.High))
	for _, beat := range d.shown() {
		says := "not allowed"
		if slices.Contains(d.Allowed, beat) {
			says = "allowed by the count"
		}
		fmt.Fprintf(&b, " Usual beat %d: %s.", beat, says)
	}
	factSentences(&b, d.Facts)
	return b.String()
}
