package chart

import (
	"context"
	"io"
	"math"
)

// StayLine shows how far a watch has come: the stations of its stay along a line, full lozenges behind it, hollow ones
// before it, and the watch itself where it is. Its words come in the reader's language.
type StayLine struct {
	ID       string // of the element; unique on its page
	Title    string
	Desc     string   // in words all that the drawing shows
	Stations []string // two at least, in order
	At       int      // where the watch is, an index of Stations
}

// Render writes the drawing; it makes StayLine a templ component.
func (d StayLine) Render(ctx context.Context, w io.Writer) error { return write(ctx, w, d.SVG) }

// Places of a stay line, in user units.
const (
	stayLine   = 24.0 // of the line
	stayMargin = 18.0 // room for half a watch at either end
	stayWords  = 62.0 // baseline of the names
	stayHeight = 70.0
	stayWatch  = 12.0 // radius of the watch
)

// SVG returns the drawing as an svg element. It fails on an unusable ID, on fewer than two stations, and on a watch that
// is at none of them.
func (d StayLine) SVG() (string, error) {
	if len(d.Stations) < 2 || d.At < 0 || d.At >= len(d.Stations) {
		return "", ErrSize
	}
	var s svg
	at := d.x(d.At)
	s.line("chart-stay-done", d.x(0), stayLine, at, stayLine)
	s.line("chart-stay-ahead", at, stayLine, d.x(len(d.Stations)-1), stayLine)
	for i := range d.Stations {
		switch {
		case i < d.At:
			s.drawMark(0, d.x(i), stayLine)
		case i > d.At:
			s.drawMark(1, d.x(i), stayLine)
		}
	}
	s.stayingWatch(at, stayLine)
	d.words(&s)
	return frame{id: d.ID, title: d.Title, desc: d.Desc, height: stayHeight}.document(&s)
}

// x is where a station stands.
func (d StayLine) x(station int) float64 {
	return stayMargin + float64(station)*(width-2*stayMargin)/float64(len(d.Stations)-1)
}

// words names the station where the watch is, and the first and the last where there is room beside it.
func (d StayLine) words(s *svg) {
	here := d.Stations[d.At]
	half := textWidth(here, textSize) / 2
	x := math.Max(half, math.Min(width-half, d.x(d.At)))
	s.text("chart-symbol", middle, x, stayWords, here)
	const apart = 12
	if first := d.Stations[0]; d.At > 0 && textWidth(first, textSize)+apart < x-half {
		s.text("chart-words", start, 0, stayWords, first)
	}
	if last := d.Stations[len(d.Stations)-1]; d.At < len(d.Stations)-1 && x+half+apart < width-textWidth(last, textSize) {
		s.text("chart-words", end, width, stayWords, last)
	}
}

// stayingWatch draws a small wristwatch seen from above: strap ends, case, crown, twelve and hands.
func (s *svg) stayingWatch(x, y float64) {
	at := "translate(" + num(x) + " " + num(y) + ")"
	for _, p := range []struct{ class, d string }{
		{"chart-strap", "M-6 -22H6L7 -10H-7ZM-7 10H7L6 22H-6Z"},
		{"chart-crown", "M11.5 -2H15V2H11.5Z"},
	} {
		s.element("path", "class", p.class, "transform", at, "d", p.d)
	}
	s.element("circle", "class", "chart-case", "cx", num(x), "cy", num(y), "r", num(stayWatch))
	s.element("path", "class", "chart-twelve", "transform", at, "d", "M0 -7.2L-2 -10.6H2Z")
	s.element("path", "class", "chart-hand", "transform", at, "d", "M-4 -3.2L0 0L5.4 -4.8")
}
