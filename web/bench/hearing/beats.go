package hearing

import (
	"cmp"
	"fmt"
	"math"
	"strings"

	"ledgerwheel/domain/acoustic"
	rules "ledgerwheel/domain/listening"
	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/timing"
	"ledgerwheel/web/bench/hearing/listening"
	"ledgerwheel/web/chart"
	"ledgerwheel/web/view"
)

// minuteRoundS is how much of a watch has to be heard, seconds, for what comes once a minute to stand still.
const minuteRoundS = 180

// mostMeans are the most rows of the ledger of means.
const mostMeans = 12

// roundOf is the picture of the beats by the turns of the escape wheel.
func roundOf(id string, r acoustic.Result, wheel rules.Wheel) chart.BeatRound {
	return chart.BeatRound{ID: id, Title: "Beats by the turns of the escape wheel", Result: r, Teeth: wheel.Teeth,
		TeethSaid: wheel.Text()}
}

// liveRound is the same drawn while a watch is listened to.
func liveRound(p listening.Picture) string {
	c := roundOf("live-round", p.Result, p.Wheel)
	c.From, c.LastS, c.Short = p.From, p.LastS, true
	drawing, err := c.SVG()
	if err != nil {
		return ""
	}
	return drawing
}

// beatCharts are the rounds of what was heard and, beside them, the ledger of means.
func beatCharts(r acoustic.Result, escapeTeeth int) []view.ChartView {
	round := roundOf("beat-round", r, rules.WheelOf(escapeTeeth, r.Wheel))
	charts := []view.ChartView{{Caption: round.Title, TestID: "beat-round", Drawing: round}}
	if means := rules.Means(r, mostMeans); len(means) > 0 {
		charts = append(charts, view.ChartView{Caption: "Means of " + spanWords(means[0].ToS-means[0].FromS), TestID: "means",
			Drawing: view.DataTable(meansTable(means))})
	}
	if r.EndS-r.StartS >= minuteRoundS {
		minute := chart.BeatRound{ID: "minute-round", Title: "Beats by the turns of the seconds hand", Result: r}
		charts = append(charts, view.ChartView{Caption: minute.Title, TestID: "minute-round", Drawing: minute})
	}
	return charts
}

// meansTable is the ledger of means.
func meansTable(means []rules.Mean) view.DataView {
	d := view.DataView{TableView: view.TableView{ID: "means-table", HideCaption: true, Dense: true, TestID: "means-table",
		Caption: "Means, each ± (95 %) against the others: clock and lift angle, which all share, are left out"},
		Columns: []view.Column{{Text: "from"}, {Text: "rate", Unit: timing.UnitSPerDay, Numeric: true},
			{Text: "amplitude", Unit: timing.UnitDegree, Numeric: true},
			{Text: "beat error", Unit: timing.UnitMs, Numeric: true}}}
	for _, m := range means {
		amplitude, beatError := "–", "–"
		if m.Amplitude != nil {
			amplitude = plusMinus(*m.Amplitude, false)
		}
		if m.BeatError != nil {
			size := *m.BeatError
			size.Value = math.Abs(size.Value)
			beatError = plusMinus(size, false)
		}
		d.Rows = append(d.Rows, view.Row{Head: true, Cells: []view.Cell{view.Txt(sinceStart(m.FromS)),
			view.Txt(plusMinus(m.Rate, true)), view.Txt(amplitude), view.Txt(beatError)}})
	}
	return d
}

// sinceStart says when a mean begins, to the second.
func sinceStart(s float64) string {
	n := int(math.Round(s))
	text := ""
	for _, part := range []struct {
		of   int
		unit string
	}{{3600, "h"}, {60, "min"}, {1, "s"}} {
		if k := n / part.of; k > 0 {
			text += fmt.Sprintf("\u00a0%d\u00a0%s", k, part.unit)
		}
		n %= part.of
	}
	return cmp.Or(strings.TrimPrefix(text, "\u00a0"), "0\u00a0s")
}

func plusMinus(v metrology.Value, signed bool) string {
	p := v.Brief(signed)
	return fmt.Sprintf("%s ± %s", p.Value, p.Uncertainty)
}
