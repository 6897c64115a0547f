package chart

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"ledgerwheel/domain/acoustic"
	"ledgerwheel/domain/text"
)

// legend says under the round what is drawn, and returns the height.
func (l *roundLayout) legend(s *svg) float64 {
	y := roundY + roundLabel + 16
	if l.Short {
		words := "dot: tick, ring: tock, step: median; " + l.turnSaid()
		if half := l.halfBandMs(); half > 0 {
			words += "; band: ±" + milliseconds(half) + " ms, 95 % of beats"
		}
		return s.paragraph("chart-caption", 0, y+12, width, smallSize, words) - 8
	}
	row := func(words string) { y += s.caption(nameLeft, y+17, words) + 24 }
	s.line("chart-rule", 0, y, width, y)
	marks, beats := [2]strings.Builder{}, "ticks; ring: tocks; step: the median of a tooth"
	dot(&marks[0], 7, y+13)
	if l.manyBeats() {
		s.element("path", "class", "chart-range", "d", stroke(7, y+6, 7, y+20))
		beats = "nine in ten of a tooth’s beats; step: the median"
		if l.Teeth == 0 {
			beats = "nine in ten of a second’s beats; step: the median"
		}
	} else {
		s.element("path", "class", "chart-dots", "d", marks[0].String())
		if l.Teeth == 0 {
			beats = "ticks; ring: tocks; step: the median of a second"
		}
	}
	row(beats)
	if half := l.halfBandMs(); half > 0 {
		s.element("rect", "class", "chart-fit-band", "x", "0", "y", num(y+7), "width", "14", "height", "12")
		row("95 % of single beats, ±" + milliseconds(half) + " ms about the mean of a turn")
	}
	if n := len(l.outside) + l.beyond; n > 0 && l.manyBeats() {
		row(strconv.Itoa(n) + " not used, not drawn")
	} else if n > 0 {
		s.element("path", "class", "chart-off", "d", cross(7, y+13))
		row(strconv.Itoa(n) + " not used, or beyond the scale")
	}
	row(l.turnSaid())
	s.line("chart-zero", 0, y+3, width, y+3)
	s.line("chart-zero", 0, y+6, width, y+6)
	return y + 7
}

// turnSaid says what one turn is.
func (l *roundLayout) turnSaid() string {
	if l.Teeth == 0 {
		return "one turn of the seconds hand, counted from the first beat heard"
	}
	said := l.TeethSaid
	if said == "" {
		said = fmt.Sprintf("%d teeth", l.Teeth)
	}
	if s := l.turn * 3600 / l.Result.BeatsPerHour; finite(s) {
		said += fmt.Sprintf("; one turn in %.3g s", s)
	}
	return said
}

// desc says in words what the drawing shows.
func (l *roundLayout) desc() string {
	var b strings.Builder
	fmt.Fprintf(&b, "Beats laid over one another turn by turn, clockwise from the top: %s. How far each came from the mean of its turn: "+
		"outward late, inward early, rim and hub at ±%s ms.", l.turnSaid(), milliseconds(l.reach))
	for swing := range l.used {
		fmt.Fprintf(&b, " %s: %d beats.", text.Capital(acoustic.Swing(swing).String()), len(l.used[swing]))
	}
	l.extremes(&b)
	if half := l.halfBandMs(); half > 0 {
		fmt.Fprintf(&b, " 95 %% of single beats lie within ±%s ms.", milliseconds(half))
	}
	if l.Teeth > 0 {
		if p := l.Result.Wheel; p != nil && p.Teeth == l.Teeth {
			b.WriteString(" The pattern stands out beyond chance.")
		} else if p != nil {
			fmt.Fprintf(&b, " A pattern of %d teeth stands out beyond chance.", p.Teeth)
		} else {
			b.WriteString(" No pattern of the escape wheel stands out beyond chance.")
		}
	}
	if n := len(l.outside) + l.beyond; n > 0 {
		fmt.Fprintf(&b, " Not used or beyond the scale: %d.", n)
	}
	if n := l.Result.BeatsMissed; n > 0 {
		fmt.Fprintf(&b, " Beats missed: %d.", n)
	}
	return b.String()
}

// extremes names the earliest and the latest place of the turn.
func (l *roundLayout) extremes(b *strings.Builder) {
	least, most := -1, -1
	for i, m := range l.median {
		if math.IsNaN(m) {
			continue
		}
		if least < 0 || m < l.median[least] {
			least = i
		}
		if most < 0 || m > l.median[most] {
			most = i
		}
	}
	if least < 0 {
		return
	}
	fmt.Fprintf(b, " By the medians the earliest: %s, %s ms; latest: %s, %s ms.", l.placeName(least), signedMs(l.median[least]),
		l.placeName(most), signedMs(l.median[most]))
}

func (l *roundLayout) placeName(slot int) string {
	if l.Teeth == 0 {
		return fmt.Sprintf("second %d", slot)
	}
	return fmt.Sprintf("tooth %d, %s", slot/2+1, acoustic.Swing(slot&1))
}
