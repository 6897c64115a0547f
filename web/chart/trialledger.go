package chart

import (
	"fmt"
	"math"
	"strings"

	"ledgerwheel/domain/text"
)

// ledger writes the rates, the mean and its limits, and what was missed or spoilt, and returns the chart's height.
func (l stripLayout) ledger(s *svg) float64 {
	y := stripBottom + 82 + wordHeight
	for _, day := range l.Days {
		y = math.Max(y, stripBottom+78+float64(len(wordLines(day.Position.Words(l.CrownHour)))-1)*wordHeight)
	}
	y = l.rateRow(s, y+8)
	y = l.meanRows(s, y)
	for _, day := range l.Days {
		if day.State != DayMissed && day.State != DaySpoilt {
			continue
		}
		s.line("chart-rule", 0, y, l.across(), y)
		words := fmt.Sprintf("Day %d %s", day.Number, day.word())
		if day.Reason != "" {
			words += ": " + day.Reason
		}
		y = s.paragraph("chart-caption", 0, y+17, rightEdge, smallSize, words) - 7
	}
	s.line("chart-zero", 0, y, l.across(), y)
	s.line("chart-zero", 0, y+3, l.across(), y+3)
	return y + 4
}

// rateRow writes the figures under their columns, where these are narrow in two or more lines by turns.
func (l stripLayout) rateRow(s *svg, y float64) float64 {
	s.line("chart-rule", 0, y, l.across(), y)
	figures := make([]string, len(l.Days))
	longest := 0.0
	for i, day := range l.Days {
		figures[i] = "–"
		if rate, drawn := day.drawn(); drawn {
			figures[i] = printed(rate).Value
		}
		longest = math.Max(longest, textWidth(figures[i], textSize))
	}
	lines := int(math.Ceil(longest / l.column))
	if l.Wide {
		s.text("chart-caption", start, 0, y+17, "s/d") // where it is narrow the axis says so
	}
	for i, figure := range figures {
		half := textWidth(figure, textSize) / 2
		x := math.Min(l.centre(i), l.right-half)
		s.text("chart-figure", middle, x, y+17+float64(i%lines)*lineHeight, figure)
	}
	return y + 8 + float64(lines)*lineHeight
}

func (l stripLayout) meanRows(s *svg, y float64) float64 {
	row := func(name, remark string, icon func(y float64)) {
		s.line("chart-rule", 0, y, l.across(), y)
		icon(y + 13)
		y += s.nameRow(y+17, name, remark) + 26
	}
	if l.Mean != nil {
		row(l.meanName(), printed(*l.Mean).String(), func(y float64) { s.line("chart-mean", 0, y, 14, y) })
	}
	if l.MeanLimitsLabel != "" {
		_, _, visible := visibleBand(l.MeanLimits, l.y)
		row(limitsText(l.MeanLimitsLabel, visible), "", func(y float64) {
			s.element("rect", "class", "chart-band", "x", "0", "y", num(y-6), "width", "14", "height", "12")
			s.line("chart-limit", 0, y-6, 14, y-6)
			s.line("chart-limit", 0, y+6, 14, y+6)
		})
	}
	if low, high, drawn := l.reach(); drawn && l.ReachLabel != "" {
		row(limitsText(l.ReachLabel, l.y.holds(low) || l.y.holds(high)), "",
			func(y float64) { s.line("chart-reach", 0, y, 14, y) })
	}
	for _, day := range l.Days {
		if day.State == DayOpen || day.State == DayToday {
			row("still open", "", func(y float64) { s.openMark(markRadius+1, y) })
			break
		}
	}
	return y
}

func (c TrialStrip) meanName() string { return fmt.Sprintf("mean of the first %d days", c.MeanDays) }

// desc says in words all that the drawing shows.
func (c TrialStrip) desc() string {
	var b strings.Builder
	b.WriteString("Trial day by day: position, chamber temperature and daily rate in seconds per day, with expanded " +
		"uncertainty (k = 2).")
	for _, day := range c.Days {
		fmt.Fprintf(&b, " Day %d, %s (%s), %s °C: ", day.Number, day.Position, day.Position.Words(c.CrownHour),
			plainFigure(day.ChamberC))
		rate, drawn := day.drawn()
		switch {
		case drawn:
			b.WriteString(rate.FormatSigned())
		case day.State == DayMissed:
		case day.State == DayToday:
			b.WriteString("to be read next")
		default:
			b.WriteString("still open")
		}
		if day.State == DayMissed || day.State == DaySpoilt {
			if drawn {
				b.WriteString(", ")
			}
			b.WriteString(day.word())
			if day.Reason != "" {
				b.WriteString(" (" + day.Reason + ")")
			}
		}
		b.WriteString(".")
	}
	if c.Mean != nil {
		fmt.Fprintf(&b, " %s: %s.", text.Capital(c.meanName()), c.Mean.FormatSigned())
	}
	for _, label := range []string{c.MeanLimitsLabel, c.ReachLabel} {
		if label != "" {
			b.WriteString(" Shown with " + label + ".")
		}
	}
	return b.String()
}
