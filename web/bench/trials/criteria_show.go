package trials

import (
	"cmp"
	"fmt"
	"ledgerwheel/domain/chronometer"
	"ledgerwheel/domain/figure"
	"ledgerwheel/web/runs"
	"ledgerwheel/web/view"
	"math"
	"strconv"
	"strings"
)

// criteriaTable is each criterion as soon as it is known.
func criteriaTable(t trialPage) view.DataView {
	d := view.DataView{TableView: view.TableView{ID: "trial-criteria", Caption: "The seven criteria", HideCaption: true,
		TestID: "trial-criteria"}, Stack: true,
		Columns: []view.Column{{Text: "criterion"}, {Text: "figure", Numeric: true}, {Text: "limits", Numeric: true},
			{Text: "room left"},
			{Text: "simple acceptance"}, {Text: "with guard band"}, {Text: "within, probably", Unit: "%", Numeric: true}}}
	for _, res := range t.judged.Results {
		c := res.Criterion
		row := view.Row{Head: true, TestID: "criterion-" + string(c), Cells: []view.Cell{
			{Text: c.Symbol() + ", " + c.Label(), Note: c.Formula()}, {Text: figureOfResult(res), Note: waitsOf(res)},
			{Text: limitsWords(res)},
			{Component: roomChart(res)}, {Mark: markOfStanding(res.Standing), Text: string(res.Standing)}, {}, {}}}
		switch {
		case res.Standing == chronometer.Spoilt:
			row.Cells[5], row.Cells[6] = guardedCell(res), view.Txt(string(res.Standing))
		case res.Known:
			row.Cells[5], row.Cells[6] = guardedCell(res), view.Txt(percent(res.Probability))
		}
		d.Rows = append(d.Rows, row)
	}
	return d
}

// guardedCell says where a criterion stands by its guard band.
func guardedCell(res chronometer.Result) view.Cell {
	return view.Cell{Mark: runs.MarkOf(res.Guarded), Text: cmp.Or(res.GuardedWords(), res.Guarded.String())}
}

func figureOfResult(res chronometer.Result) string {
	if !res.Known && (res.AtLeast == nil || *res.AtLeast == 0) {
		return "–"
	}
	text, _, _ := strings.Cut(res.Text(), ";")
	return text
}

// waitsOf says since when a criterion that is not known will be.
func waitsOf(res chronometer.Result) string {
	if res.Standing == chronometer.Spoilt {
		return string(res.Standing)
	}
	if res.Known {
		return ""
	}
	text := res.Text()
	if _, after, found := strings.Cut(text, "; "); found {
		text = after
	}
	return text
}

func limitsWords(res chronometer.Result) string {
	lower, upper := limitEnds(res)
	switch {
	case lower != "" && upper != "":
		return lower + " to " + upper
	case upper != "":
		return "at most " + upper
	case lower != "":
		return "at least " + lower
	}
	return ""
}

// limitEnds writes each limit; "" where the end is open.
func limitEnds(res chronometer.Result) (lower, upper string) {
	text := func(x float64) string {
		if x > 0 && res.Criterion.Signed() {
			return "+" + figure.Plain(x)
		}
		return figure.Shown(x)
	}
	if l := res.Limits.Lower; l != nil {
		lower = text(*l)
	}
	if u := res.Limits.Upper; u != nil {
		upper = text(*u)
	}
	return lower, upper
}

// roomText says how far the figure is from its nearest limit, to two decimals or, of the thermal variation, three.
func roomText(res chronometer.Result) string {
	decimals := 2
	if res.Criterion == chronometer.ThermalVariation {
		decimals = 3
	}
	room := strconv.FormatFloat(math.Abs(res.Room), 'f', decimals, 64)
	switch {
	case res.Standing == chronometer.Spoilt:
		return string(res.Standing)
	case !res.RoomKnown:
		return fmt.Sprintf("known from day %d", res.Criterion.KnownFrom())
	case res.Room < 0:
		return "over by " + room
	case !res.Known:
		return "at most " + room + " left"
	}
	return room + " left"
}

func markOfStanding(st chronometer.Standing) view.MarkKind {
	switch st {
	case chronometer.Pass:
		return view.Pass
	case chronometer.Fail:
		return view.Fail
	}
	return view.NotMeasured
}

// percent prints a probability, keeping certainty for what is certain.
func percent(p float64) string {
	switch rounded := math.Round(100 * p); {
	case rounded >= 100 && p < 1:
		return "over 99"
	case rounded <= 0 && p > 0:
		return "under 1"
	default:
		return figure.Plain(rounded)
	}
}
