package chart

import (
	"context"
	"io"
	"math"
	"strings"

	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/timing"
)

// TrialStrip shows a chronometer trial day by day: what each day asks for, and the rates taken so far.
type TrialStrip struct {
	ID        string // of the element; unique on its page
	Title     string
	CrownHour int // where the crown sits, 1 to 12
	Days      []TrialDay
	Wide      bool // drawn for a wide screen, in place of the usual width
	// MeanDays is how many days, from the first, the mean is of: 10 in ISO 3159. Mean is that mean, nil while unknown.
	MeanDays int
	Mean     *metrology.Value
	// MeanLimits hold the mean; MeanLimitsLabel says so: "limits of the mean rate, −4 to +6 s/d".
	MeanLimits      metrology.Limits
	MeanLimitsLabel string
	// ReachSPerDay is how far a day may lie from the mean, 0 where that is not shown; drawn once the mean is known.
	ReachSPerDay float64
	ReachLabel   string // "greatest deviation from the mean, 10 s/d"
}

// DayState is how a day of the trial stands.
type DayState uint8

// The states of a day.
const (
	DayOpen   DayState = iota // not yet come
	DayToday                  // to be read next
	DayTaken                  // has its rate
	DayMissed                 // went by without a rate
	DaySpoilt                 // read, but not as the programme asks
)

// TrialDay is one day of the programme.
type TrialDay struct {
	Number   int
	Position timing.Position
	ChamberC float64 // what the programme asks for
	State    DayState
	Rate     *metrology.Value // s/d; drawn for days taken and spoilt
	Reason   string           // why it is missed or spoilt: "dial up instead of crown left"
}

// Measures in user units.
const (
	chamberTop    = 34.0 // the warmest line
	chamberBottom = 56.0 // the coldest
	stripTop      = 92.0
	stripBottom   = stripTop + 150
)

// stripDays is the most days a strip has room for.
const stripDays = 16

// Render writes the chart; it makes TrialStrip a templ component.
func (c TrialStrip) Render(ctx context.Context, w io.Writer) error { return write(ctx, w, c.SVG) }

// SVG returns the chart as an svg element. It fails on an unusable ID, on more than sixteen days, and on figures that
// are not finite.
func (c TrialStrip) SVG() (string, error) {
	if len(c.Days) > stripDays {
		return "", ErrTooMany
	}
	values := []metrology.Value{{Value: c.ReachSPerDay}}
	for _, day := range c.Days {
		values = append(values, metrology.Value{Value: day.ChamberC})
	}
	rates := c.rates()
	if checkFigures(append(values, rates...)) != nil {
		return "", ErrNotFinite
	}
	if len(c.Days) == 0 {
		return empty(c.ID, c.Title)
	}
	l := c.layout(rates)
	var s svg
	l.chamber(&s)
	l.rules(&s)
	l.mean(&s)
	l.days(&s)
	l.heads(&s)
	height := l.ledger(&s)
	f := frame{id: c.ID, title: c.Title, desc: c.desc(), height: height}
	if c.Wide {
		f.across = c.across()
	}
	return f.document(&s)
}

// rates returns every rate that is drawn, the mean among them.
func (c TrialStrip) rates() []metrology.Value {
	var rates []metrology.Value
	for _, day := range c.Days {
		if rate, drawn := day.drawn(); drawn {
			rates = append(rates, rate)
		}
	}
	if c.Mean != nil {
		rates = append(rates, *c.Mean)
	}
	return rates
}

// drawn returns the rate of a day taken or spoilt.
func (d TrialDay) drawn() (metrology.Value, bool) {
	if d.Rate == nil || (d.State != DayTaken && d.State != DaySpoilt) {
		return metrology.Value{}, false
	}
	return *d.Rate, true
}

// stripLayout places the chart's parts.
type stripLayout struct {
	TrialStrip
	y                   axis
	left, right, column float64
}

// wideStrip is the width of a strip drawn for a wide screen.
const wideStrip = 880.0

// across is the width of the drawing.
func (c TrialStrip) across() float64 {
	if c.Wide {
		return wideStrip
	}
	return width
}

func (c TrialStrip) layout(rates []metrology.Value) stripLayout {
	full, found := around(rates)
	if !found {
		full = span{-leastRateSpan / 2, leastRateSpan / 2}
	}
	full = full.with(0, leastRateSpan)
	for _, limit := range []*float64{c.MeanLimits.Lower, c.MeanLimits.Upper} {
		if limit != nil {
			full = full.with(*limit, leastRateSpan)
		}
	}
	if low, high, drawn := c.reach(); drawn {
		full = full.with(low, leastRateSpan).with(high, leastRateSpan)
	}
	if room := leastRateSpan - (full.high - full.low); room > 0 {
		full = span{full.low - room/2, full.high + room/2}
	}
	y := newAxis(full, 5, stripBottom, stripTop)
	left := y.labelWidth(true) + 8
	right := c.across() - 2
	return stripLayout{TrialStrip: c, y: y, left: left, right: right, column: (right - left) / float64(len(c.Days))}
}

// reach returns the rates a day may have about the mean.
func (c TrialStrip) reach() (low, high float64, drawn bool) {
	if c.Mean == nil || c.ReachSPerDay <= 0 {
		return 0, 0, false
	}
	return c.Mean.Value - c.ReachSPerDay, c.Mean.Value + c.ReachSPerDay, true
}

// edge is the left side of the i-th day's column; that of one day more is the right side of the last.
func (l stripLayout) edge(i int) float64 { return l.left + float64(i)*l.column }

func (l stripLayout) centre(i int) float64 { return l.edge(i) + l.column/2 }

// groups calls each for every stretch of days that same holds for: from the day first up to, not including, past.
func (l stripLayout) groups(same func(a, b TrialDay) bool, each func(first, past int)) {
	first := 0
	for i := 1; i <= len(l.Days); i++ {
		if i == len(l.Days) || !same(l.Days[first], l.Days[i]) {
			each(first, i)
			first = i
		}
	}
}

func samePosition(a, b TrialDay) bool { return a.Position == b.Position }
func sameChamber(a, b TrialDay) bool  { return a.ChamberC == b.ChamberC }

// chamber draws the temperature asked for as a stepped line with its degrees, and tints the days that are not at the
// temperature of the first.
func (l stripLayout) chamber(s *svg) {
	s.text("chart-caption", start, 0, smallSize, "chamber, °C")
	coldest, warmest := l.Days[0].ChamberC, l.Days[0].ChamberC
	for _, day := range l.Days {
		coldest, warmest = math.Min(coldest, day.ChamberC), math.Max(warmest, day.ChamberC)
	}
	level := func(c float64) float64 {
		if warmest == coldest {
			return (chamberTop + chamberBottom) / 2
		}
		return chamberBottom - (c-coldest)/(warmest-coldest)*(chamberBottom-chamberTop)
	}
	usual := l.Days[0].ChamberC
	var d strings.Builder
	letter := "M"
	l.groups(sameChamber, func(first, past int) {
		c := l.Days[first].ChamberC
		x1, x2, y := l.edge(first), l.edge(past), level(c)
		if c != usual {
			class := "chart-warm"
			if c < usual {
				class = "chart-cold"
			}
			s.element("rect", "class", class, "x", num(x1), "y", num(y), "width", num(x2-x1), "height", num(stripBottom-y))
		}
		d.WriteString(letter + num(x1) + " " + num(y) + "L" + num(x2) + " " + num(y))
		letter = "L"
		s.text("chart-words", middle, (x1+x2)/2, y-4, plainFigure(c))
	})
	s.element("path", "class", "chart-chamber", "d", d.String())
}

// rules draws the ruled lines and parts the positions.
func (l stripLayout) rules(s *svg) {
	rateRules(s, l.y, l.left, l.right)
	l.groups(samePosition, func(first, _ int) {
		if first > 0 {
			s.line("chart-column", l.edge(first), stripTop, l.edge(first), stripBottom+9)
		}
	})
}

// mean draws the mean over its days, what limits it, and how far a day may lie from it.
func (l stripLayout) mean(s *svg) {
	right := l.edge(min(max(l.MeanDays, 0), len(l.Days)))
	if right == l.left {
		return
	}
	if low, high, visible := visibleBand(l.MeanLimits, l.y); visible {
		s.element("rect", "class", "chart-band", "x", num(l.left), "y", num(l.y.at(high)),
			"width", num(right-l.left), "height", num(l.y.at(low)-l.y.at(high)))
		for _, limit := range []*float64{l.MeanLimits.Lower, l.MeanLimits.Upper} {
			if limit != nil && l.y.holds(*limit) {
				s.line("chart-limit", l.left, l.y.at(*limit), right, l.y.at(*limit))
			}
		}
	}
	if low, high, drawn := l.reach(); drawn {
		for _, rate := range []float64{low, high} {
			if l.y.holds(rate) {
				s.line("chart-reach", l.left, l.y.at(rate), right, l.y.at(rate))
			}
		}
	}
	if l.Mean != nil {
		s.line("chart-mean", l.left, l.y.at(l.Mean.Value), right, l.y.at(l.Mean.Value))
	}
}

// days draws each day's rate or state; days of one position and temperature are joined, which shows their variation.
func (l stripLayout) days(s *svg) {
	for i := 1; i < len(l.Days); i++ {
		before, after := l.Days[i-1], l.Days[i]
		from, has := before.drawn()
		to, too := after.drawn()
		if has && too && samePosition(before, after) && sameChamber(before, after) {
			s.line("chart-link", l.centre(i-1), l.y.at(from.Value), l.centre(i), l.y.at(to.Value))
		}
	}
	for i, day := range l.Days {
		x := l.centre(i)
		if rate, drawn := day.drawn(); drawn {
			shape := 0
			if day.State == DaySpoilt {
				shape = 1
			}
			if u := rate.Expanded(); u > 0 {
				s.bar(shape, x, l.y.at(rate.Value-u), x, l.y.at(rate.Value+u))
			}
			s.drawMark(shape, x, l.y.at(rate.Value))
		} else if day.State == DayOpen || day.State == DayToday {
			s.openMark(x, l.openY())
		}
		if word := day.word(); word != "" {
			l.dayWord(s, x, day, word)
		}
	}
}

// openY is where days still open are set: on the mean, or half way up.
func (l stripLayout) openY() float64 {
	if l.Mean != nil {
		return l.y.at(l.Mean.Value)
	}
	return (stripTop + stripBottom) / 2
}

// openMark draws the dotted lozenge of what is not yet measured.
func (s *svg) openMark(x, y float64) {
	s.element("path", "class", "chart-open", "transform", "translate("+num(x)+" "+num(y)+")", "d", marks[0].path)
}

func (d TrialDay) word() string {
	switch d.State {
	case DayToday:
		return "today"
	case DayMissed:
		return "missed"
	case DaySpoilt:
		return "spoilt"
	}
	return ""
}

// dayWord says of a day that it is today, at the foot of its column, and crosses out one that was missed. What was
// spoilt has a hollow mark; both are named with their reason in the rows below.
func (l stripLayout) dayWord(s *svg, x float64, day TrialDay, word string) {
	switch day.State {
	case DayMissed:
		y := l.openY()
		s.element("path", "class", "chart-missed", "d", stroke(x-5, y-5, x+5, y+5)+stroke(x-5, y+5, x+5, y-5))
	case DayToday:
		half := float64(len(word)) * wordWidth * smallSize / 2
		s.text("chart-label", middle, math.Max(l.left+half, math.Min(l.right-half, x)), stripBottom-5, word)
	}
}

// heads writes under each column its number, and under each stretch of one position the watch as it lies.
func (l stripLayout) heads(s *svg) {
	for i, day := range l.Days {
		s.text("chart-tick", middle, l.centre(i), stripBottom+20, plainFigure(float64(day.Number)))
	}
	s.text("chart-caption", start, 0, stripBottom+20, "day")
	l.groups(samePosition, func(first, past int) {
		p := l.Days[first].Position
		x := (l.edge(first) + l.edge(past)) / 2
		s.watch(p, l.CrownHour, x, stripBottom+40)
		s.text("chart-symbol", middle, x, stripBottom+68, string(p))
		lines := wordLines(p.Words(l.CrownHour))
		for _, line := range lines {
			if textWidth(line, smallSize)*wordWidth/charWidth > float64(past-first)*l.column-2 {
				return // too narrow; the description says it
			}
		}
		for i, line := range lines {
			s.text("chart-words", middle, x, stripBottom+82+float64(i)*wordHeight, line)
		}
	})
}
