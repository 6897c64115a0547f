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

// Voices shows the averaged sound of each swing, tick above tock, in decibels, so that an unlocking a hundred times
// weaker than the drop is still seen, with the instants that were found in it.
type Voices struct {
	ID     string // of the element; unique on its page
	Title  string
	Result acoustic.Result
}

// Measures in user units.
const (
	voiceTop    = 20.0 // under the caption
	voiceHead   = 68.0 // name, lift, words of the instants
	voiceHeight = 96.0
	voicePitch  = voiceHead + voiceHeight + 16
)

// voicePoints is the most points drawn of an envelope.
const voicePoints = 400

// Range of decibels that may be the floor.
const (
	lowestFloorDB  = -60
	highestFloorDB = -20
)

// Render writes the chart; it makes Voices a templ component.
func (c Voices) Render(ctx context.Context, w io.Writer) error { return write(ctx, w, c.SVG) }

// SVG returns the chart as an svg element. It fails on an unusable ID. A voice without an envelope is said to be
// missing; instants that are not finite are not drawn.
func (c Voices) SVG() (string, error) {
	if !drawable(c.Result.Voices[0]) && !drawable(c.Result.Voices[1]) {
		return emptyOf(c.ID, c.Title, noBeats)
	}
	l := c.layout()
	var s svg
	s.text("chart-caption", start, 0, smallSize, "loudness, dB below the peak")
	for swing := range c.Result.Voices {
		l.voice(&s, acoustic.Swing(swing))
	}
	bottom := l.y[1].from
	s.line("chart-axis", l.x.from, bottom, rightEdge, bottom)
	for _, tick := range l.x.ticks {
		x := l.x.at(tick)
		s.line("chart-axis", x, bottom, x, bottom+5)
		s.text("chart-tick", middle, x, bottom+19, l.x.label(tick, false))
	}
	s.text("chart-caption", end, rightEdge, bottom+36, "time from the drop, ms")
	s.line("chart-zero", 0, bottom+46, width, bottom+46)
	s.line("chart-zero", 0, bottom+49, width, bottom+49)
	return frame{id: c.ID, title: c.Title, desc: c.desc(), height: bottom + 50}.document(&s)
}

func drawable(v acoustic.Voice) bool {
	return len(v.Envelope) > 1 && v.RateHz > 0 && finite(v.RateHz) && finite(v.StartMs)
}

// voiceLayout places the chart's parts.
type voiceLayout struct {
	Voices
	x axis
	y [2]axis
}

// Time shown before the first instant and after the last, in ms, and where no instant is known, about the drop.
const (
	voiceBeforeMs, voiceAfterMs = 4, 6
	voiceBlindMs                = 22
)

func (c Voices) layout() voiceLayout {
	l := voiceLayout{Voices: c}
	dataLow, dataHigh := math.Inf(1), math.Inf(-1)
	instantLow, instantHigh := -float64(voiceBlindMs-voiceBeforeMs), 0.0
	var instants []float64
	var levels []float64
	for _, v := range c.Result.Voices {
		if !drawable(v) {
			continue
		}
		dataLow = math.Min(dataLow, v.StartMs)
		dataHigh = math.Max(dataHigh, v.StartMs+float64(len(v.Envelope)-1)/v.RateHz*1000)
		for _, at := range []float64{v.UnlockingMs, v.ImpulseMs, v.DropMs} {
			if finite(at) {
				instants = append(instants, at)
			}
		}
		if finite(v.UnlockingMs) {
			instantLow = math.Inf(1) // shown from the instants on
		}
		for _, e := range v.Envelope {
			levels = append(levels, decibels(e))
		}
	}
	for _, at := range instants {
		instantLow, instantHigh = math.Min(instantLow, at), math.Max(instantHigh, at)
	}
	shown := span{math.Max(dataLow, instantLow-voiceBeforeMs), math.Min(dataHigh, instantHigh+voiceAfterMs)}
	if shown.high-shown.low < 1 { // nothing about the instants was averaged: all of what was
		shown = span{dataLow, math.Max(dataHigh, dataLow+1)}
	}
	slices.Sort(levels)
	floor := math.Floor((levels[len(levels)/10]-3)/10) * 10
	floor = math.Max(lowestFloorDB, math.Min(highestFloorDB, floor))
	for swing := range l.y {
		top := voiceTop + float64(swing)*voicePitch + voiceHead
		l.y[swing] = newAxis(span{floor, 0}, 4, top+voiceHeight, top)
	}
	l.x = newAxis(shown, 6, l.y[0].labelWidth(false)+8, rightEdge-8)
	l.x.to = math.Min(l.x.to, width-l.x.labelWidth(false)/2) // room for half of the last label
	return l
}

func decibels(e float64) float64 {
	if !(e > 0) {
		return math.Inf(-1)
	}
	return math.Min(0, 20*math.Log10(e))
}

// voice draws one swing.
func (l voiceLayout) voice(s *svg, swing acoustic.Swing) {
	v, y := l.Result.Voices[swing], l.y[swing]
	top := y.to - voiceHead
	s.text("chart-symbol", start, l.x.from, top+12, swing.String())
	s.text("chart-caption", end, rightEdge, top+12, voiceRemark(v))
	for _, tick := range y.ticks {
		s.line("chart-rule", l.x.from, y.at(tick), rightEdge, y.at(tick))
		s.text("chart-tick", end, l.x.from-6, y.at(tick)+textSize*0.35, y.label(tick, false))
	}
	if !drawable(v) {
		return
	}
	l.envelope(s, v, y)
	l.instants(s, v, y, top)
}

func voiceRemark(v acoustic.Voice) string {
	switch {
	case !drawable(v):
		return "not heard"
	case !finite(v.UnlockingMs):
		return "the unlocking does not stand out"
	}
	return fmt.Sprintf("mean of %d beats", v.Beats)
}

// envelope draws the loudness as a line over a tinted ground; where there are more points than the eye can tell, the
// loudest of its neighbours stands for them.
func (l voiceLayout) envelope(s *svg, v acoustic.Voice, y axis) {
	at := func(i int) float64 { return v.StartMs + float64(i)/v.RateHz*1000 }
	first, past := 0, len(v.Envelope)
	for first < past && at(first) < l.x.low {
		first++
	}
	for past > first && at(past-1) > l.x.high {
		past--
	}
	step := 1 + (past-first)/voicePoints
	var line strings.Builder
	letter, begin, last := "M", 0.0, 0.0
	for i := first; i < past; i += step {
		loudest := i
		for j := i; j < min(i+step, past); j++ {
			if v.Envelope[j] > v.Envelope[loudest] || math.IsNaN(v.Envelope[loudest]) {
				loudest = j
			}
		}
		last = l.x.at(at(loudest))
		if letter == "M" {
			begin = last
		}
		line.WriteString(letter + num(last) + " " + num(y.within(decibels(v.Envelope[loudest]))))
		letter = "L"
	}
	if letter == "M" {
		return
	}
	ground := line.String() + "L" + num(last) + " " + num(y.from) + "L" + num(begin) + " " + num(y.from) + "Z"
	s.element("path", "class", "chart-fit-band", "d", ground)
	s.element("path", "class", "chart-envelope", "d", line.String())
}

// instants draws a rule at each instant with its word, and the lift from unlocking to drop.
func (l voiceLayout) instants(s *svg, v acoustic.Voice, y axis, top float64) {
	rule := func(at float64, from float64) (x float64, shown bool) {
		if !finite(at) || !l.x.holds(at) {
			return 0, false
		}
		x = l.x.at(at)
		s.line("chart-instant", x, from, x, y.from)
		return x, true
	}
	// The outer words stand beside their rules, away from each other; the one between them on a line of its own.
	unlocking, hasUnlocking := rule(v.UnlockingMs, top+30)
	drop, hasDrop := rule(v.DropMs, top+30)
	if x, shown := rule(v.ImpulseMs, top+58); shown {
		anchored(s, x, top+64, "impulse", l.x.from)
	}
	if hasUnlocking {
		anchored(s, unlocking, top+49, "unlocking", l.x.from)
	}
	if hasDrop {
		if drop+4+float64(len("drop"))*wordWidth*textSize <= rightEdge {
			s.text("chart-label", start, drop+4, top+49, "drop")
		} else {
			s.text("chart-label", end, drop-4, top+49, "drop")
		}
	}
	if hasUnlocking && hasDrop && drop > unlocking {
		s.bar(1, unlocking, top+32, drop, top+32)
		words := "lift " + milliseconds(v.DropMs-v.UnlockingMs) + " ms"
		half := float64(len([]rune(words))) * wordWidth * textSize / 2
		s.text("chart-figure", middle, min(max((unlocking+drop)/2, half), rightEdge-half), top+27, words)
	}
}

// anchored writes a word left of its rule, or right of it where there is no room.
func anchored(s *svg, x, y float64, word string, least float64) {
	if x-4-float64(len(word))*wordWidth*smallSize < least {
		s.text("chart-label", start, x+4, y, word)
		return
	}
	s.text("chart-label", end, x-4, y, word)
}

// desc says in words what the drawing shows.
func (c Voices) desc() string {
	var b strings.Builder
	b.WriteString("Averaged loudness of each swing in decibels below its peak, against the time from the drop in " +
		"milliseconds.")
	for swing, v := range c.Result.Voices {
		fmt.Fprintf(&b, " %s: ", text.Capital(acoustic.Swing(swing).String()))
		if !drawable(v) {
			b.WriteString("not heard.")
			continue
		}
		fmt.Fprintf(&b, "mean of %d beats", v.Beats)
		for _, instant := range []struct {
			word string
			at   float64
		}{{"unlocking", v.UnlockingMs}, {"impulse", v.ImpulseMs}, {"drop", v.DropMs}} {
			if !finite(instant.at) {
				fmt.Fprintf(&b, "; %s does not stand out", instant.word)
				continue
			}
			fmt.Fprintf(&b, "; %s at %s ms%s", instant.word, signedMs(instant.at), levelWords(v, instant.at))
		}
		if finite(v.UnlockingMs) && finite(v.DropMs) {
			fmt.Fprintf(&b, "; lift %s ms", milliseconds(v.DropMs-v.UnlockingMs))
		}
		b.WriteString(".")
	}
	return b.String()
}

// levelWords says how loud the sound is near an instant: the loudest within a quarter of a millisecond.
func levelWords(v acoustic.Voice, atMs float64) string {
	const near = 0.25
	loudest := math.Inf(-1)
	for i, e := range v.Envelope {
		if math.Abs(v.StartMs+float64(i)/v.RateHz*1000-atMs) <= near {
			loudest = math.Max(loudest, decibels(e))
		}
	}
	if !finite(loudest) {
		return ""
	}
	return fmt.Sprintf(" (%s dB)", figure.Places(loudest, 0))
}
