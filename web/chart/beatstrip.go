package chart

import (
	"context"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"

	"ledgerwheel/domain/acoustic"
	"ledgerwheel/domain/figure"
	"ledgerwheel/domain/text"
)

// BeatStrip shows beat by beat how far each came from the fitted line of its swing, ticks above and tocks below.
type BeatStrip struct {
	ID     string // of the element; unique on its page
	Title  string
	Result acoustic.Result
}

// Measures in user units.
const (
	laneTop    = 44.0
	laneHeight = 104.0
	laneGap    = 34.0
)

// Most drawn of one lane; beyond it a stroke stands for the beats of a short time.
const (
	laneDots    = 300
	laneStrokes = laneDots / 2
	laneRings   = 100 // beats not used
)

// leastResidualSpan, in ms, keeps microseconds of a very even watch from being drawn as if they mattered.
const leastResidualSpan = 0.05

// scaleBeats is about how many beats decide the scale.
const scaleBeats = 10000

const noBeats = "No beats heard yet."

// Render writes the chart; it makes BeatStrip a templ component.
func (c BeatStrip) Render(ctx context.Context, w io.Writer) error { return write(ctx, w, c.SVG) }

// SVG returns the chart as an svg element. It fails on an unusable ID. Beats whose time or residual is not finite are
// passed over.
func (c BeatStrip) SVG() (string, error) {
	l := c.layout()
	if len(l.used[0])+len(l.used[1])+len(l.unused[0])+len(l.unused[1]) == 0 {
		return emptyOf(c.ID, c.Title, noBeats)
	}
	var s svg
	s.text("chart-caption", start, 0, smallSize, "off the fitted line, ms (+ late)")
	for swing := range l.lanes {
		l.lane(&s, acoustic.Swing(swing))
	}
	l.time.foot(&s, l.bottom())
	height := l.legend(&s)
	return frame{id: c.ID, title: c.Title, desc: l.desc(), height: height}.document(&s)
}

// stripLanes places the chart's parts.
type stripLanes struct {
	BeatStrip
	used, unused [2][]acoustic.Beat // by swing
	lanes        [2]axis            // of one scale
	time         timeAxis
}

func (c BeatStrip) layout() stripLanes {
	l := stripLanes{BeatStrip: c}
	var sizes []float64
	low, high := math.Inf(1), math.Inf(-1)
	every := 1 + len(c.Result.Beats)/scaleBeats
	every += 1 - every%2 // odd, to take of both swings
	for i, b := range c.Result.Beats {
		if !finite(b.TimeS) || !finite(b.ResidualMs) {
			continue
		}
		low, high = math.Min(low, b.TimeS), math.Max(high, b.TimeS)
		if swing := b.Swing(); b.Used {
			l.used[swing] = append(l.used[swing], b)
			if i%every == 0 {
				sizes = append(sizes, math.Abs(b.ResidualMs))
			}
		} else {
			l.unused[swing] = append(l.unused[swing], b)
		}
	}
	reach := math.Max(leastResidualSpan, 1.2*l.halfBandMs())
	if len(sizes) > 0 { // a single wild beat must not press all others flat
		slices.Sort(sizes)
		reach = math.Max(reach, 1.1*sizes[(len(sizes)-1)*99/100])
	}
	left := 0.0
	for swing := range l.lanes {
		top := laneTop + float64(swing)*(laneHeight+laneGap)
		l.lanes[swing] = newAxis(span{-reach, reach}, 4, top+laneHeight, top)
		left = math.Max(left, l.lanes[swing].labelWidth(true)+8)
	}
	l.time = newTimeAxis(low, high, left, rightEdge-14)
	return l
}

func finite(x float64) bool { return !math.IsNaN(x) && !math.IsInf(x, 0) }

// halfBandMs is what 95 % of the beats lie within, 0 where that is not known.
func (l stripLanes) halfBandMs() float64 {
	if us := l.Result.BeatScatterUs; finite(us) && us > 0 {
		return 2 * us / 1000
	}
	return 0
}

func (l stripLanes) bottom() float64 { return l.lanes[1].from }

// lane draws one swing.
func (l stripLanes) lane(s *svg, swing acoustic.Swing) {
	y := l.lanes[swing]
	if half := l.halfBandMs(); half > 0 {
		s.element("rect", "class", "chart-fit-band", "x", num(l.time.from), "y", num(y.within(half)),
			"width", num(rightEdge-l.time.from), "height", num(y.within(-half)-y.within(half)))
	}
	for _, tick := range y.ticks {
		class := "chart-rule"
		if math.Abs(tick) < y.step/2 {
			class = "chart-zero"
		}
		s.line(class, l.time.from, y.at(tick), rightEdge, y.at(tick))
		s.text("chart-tick", end, l.time.from-6, y.at(tick)+textSize*0.35, y.label(tick, true))
	}
	s.text("chart-symbol", start, l.time.from, y.to-10, swing.String())
	s.text("chart-caption", end, rightEdge, y.to-10, l.counts(swing))
	if beats := l.used[swing]; len(beats) > laneDots {
		s.element("path", "class", "chart-range", "d", l.strokes(beats, y))
	} else if len(beats) > 0 {
		var d strings.Builder
		for _, b := range beats {
			dot(&d, l.time.at(b.TimeS), y.within(b.ResidualMs))
		}
		s.element("path", "class", "chart-dots", "d", d.String())
	}
	for _, b := range thinned(l.unused[swing], laneRings) {
		s.element("circle", "class", "chart-ring", "cx", num(l.time.at(b.TimeS)), "cy", num(y.within(b.ResidualMs)), "r",
			"2.5")
	}
}

// dot adds a point to a path that is stroked with round ends.
func dot(d *strings.Builder, x, y float64) { d.WriteString("M" + num(x) + " " + num(y) + "Z") }

// strokes draws, for each of a number of short times, from the earliest to the latest residual of its beats.
func (l stripLanes) strokes(beats []acoustic.Beat, y axis) string {
	low, high := beats[0].TimeS, beats[len(beats)-1].TimeS
	var d strings.Builder
	for i := 0; i < len(beats); {
		slot := math.Min(laneStrokes-1, math.Floor((beats[i].TimeS-low)/(high-low)*laneStrokes))
		least, most := beats[i].ResidualMs, beats[i].ResidualMs
		for ; i < len(beats) && (beats[i].TimeS-low)/(high-low)*laneStrokes < slot+1; i++ {
			least, most = math.Min(least, beats[i].ResidualMs), math.Max(most, beats[i].ResidualMs)
		}
		for ; slot == laneStrokes-1 && i < len(beats); i++ { // the very last beat
			least, most = math.Min(least, beats[i].ResidualMs), math.Max(most, beats[i].ResidualMs)
		}
		x := l.time.at(low + (slot+0.5)/laneStrokes*(high-low))
		d.WriteString(stroke(x, y.within(least), x, y.within(most)))
	}
	return d.String()
}

// thinned leaves at most so many of a list, evenly.
func thinned[T any](list []T, most int) []T {
	if len(list) <= most {
		return list
	}
	out := make([]T, most)
	for i := range out {
		out[i] = list[i*len(list)/most]
	}
	return out
}

func (l stripLanes) counts(swing acoustic.Swing) string {
	used, unused := len(l.used[swing]), len(l.unused[swing])
	if unused == 0 {
		return fmt.Sprintf("%d beats", used)
	}
	return fmt.Sprintf("%d beats, %d not used", used, unused)
}

func (l stripLanes) drawnAsStrokes() bool {
	return len(l.used[0]) > laneDots || len(l.used[1]) > laneDots
}

// legend says under the chart what is drawn, and returns its height.
func (l stripLanes) legend(s *svg) float64 {
	y := l.bottom() + 46
	row := func(words string) {
		y += s.caption(nameLeft, y+17, words) + 24
	}
	s.line("chart-rule", 0, y, width, y)
	if half := l.halfBandMs(); half > 0 {
		s.element("rect", "class", "chart-fit-band", "x", "0", "y", num(y+7), "width", "14", "height", "12")
		s.line("chart-zero", 0, y+13, 14, y+13)
		row("fitted line; 95 % of single beats within ±" + milliseconds(half) + " ms")
	}
	if l.drawnAsStrokes() {
		s.element("path", "class", "chart-range", "d", stroke(7, y+6, 7, y+20))
		row("from the earliest to the latest of a short time")
	}
	if len(l.unused[0])+len(l.unused[1]) > 0 {
		s.element("circle", "class", "chart-ring", "cx", "7", "cy", num(y+13), "r", "2.5")
		row("not used; at the edge where it lies beyond")
	}
	s.line("chart-zero", 0, y+3, width, y+3)
	s.line("chart-zero", 0, y+6, width, y+6)
	return y + 7
}

// milliseconds writes a length of time to two significant digits, to a thousandth at most.
func milliseconds(ms float64) string { return figure.Places(ms, decimalsOfMs(ms)) }

func decimalsOfMs(ms float64) int {
	switch size := math.Abs(ms); {
	case size < 0.1:
		return 3
	case size < 10:
		return 2
	}
	return 1
}

// desc says in words what the drawing shows; single beats are counted, not listed.
func (l stripLanes) desc() string {
	var b strings.Builder
	fmt.Fprintf(&b, "How far each beat came from the fitted line of its swing, in milliseconds against time; positive is late.")
	for _, swing := range []acoustic.Swing{acoustic.Tick, acoustic.Tock} {
		fmt.Fprintf(&b, " %s: %s", text.Capital(swing.String()), l.counts(swing))
		if beats := l.used[swing]; len(beats) > 0 {
			least, most, square := math.Inf(1), math.Inf(-1), 0.0
			for _, beat := range beats {
				least, most = math.Min(least, beat.ResidualMs), math.Max(most, beat.ResidualMs)
				square += beat.ResidualMs * beat.ResidualMs
			}
			fmt.Fprintf(&b, ", from %s to %s ms, root mean square %s ms", signedMs(least), signedMs(most),
				milliseconds(math.Sqrt(square/float64(len(beats)))))
			if len(beats) > laneDots {
				fmt.Fprintf(&b, ", drawn as at most %d strokes", laneStrokes)
			}
		}
		if n := len(l.unused[swing]); n > laneRings {
			fmt.Fprintf(&b, ", of those not used %d drawn", laneRings)
		}
		b.WriteString(".")
	}
	if half := l.halfBandMs(); half > 0 {
		fmt.Fprintf(&b, " 95 %% of single beats lie within ±%s ms.", milliseconds(half))
	}
	if n := l.Result.BeatsMissed; n > 0 {
		fmt.Fprintf(&b, " Beats missed: %d.", n)
	}
	return b.String()
}

// signedMs writes an instant with its sign; none is "0", without decimals.
func signedMs(ms float64) string {
	if signed := figure.Signed(ms, decimalsOfMs(ms)); strings.Trim(signed, "0.") != "" {
		return signed
	}
	return "0"
}
