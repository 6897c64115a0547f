package promises

import (
	"fmt"
	"strconv"

	"ledgerwheel/domain/promise"
	"ledgerwheel/web/chart"
	"ledgerwheel/web/view"
)

// What a count is of, as the CSV names it.
const (
	ofProposed = "proposed at taking in"
	ofPast     = "would have been proposed"
	ofMade     = "promised at taking in"
)

// counted is how many of some days were kept.
type counted struct {
	Of string
	promise.Calibrated
}

// said is the chance that was said.
func (c counted) said() string {
	if c.FromPercent == c.ToPercent {
		return strconv.Itoa(c.FromPercent) + " %"
	}
	return fmt.Sprintf("%d to %d %%", c.FromPercent, c.ToPercent)
}

// share is how many were kept, with the interval; words where they are too few.
func (c counted) share() string {
	if c.TooFew() {
		return "too few to say"
	}
	lo, hi := c.Interval()
	return fmt.Sprintf("%.0f %% (%.0f to %.0f %%)", 100*c.P(), 100*lo, 100*hi)
}

// promisesView is how promised days were kept.
type promisesView struct {
	Counts  []counted
	Watches int // of which the past was gone through
}

// lede answers the page's question.
func (v promisesView) lede() string {
	c := v.Counts[0]
	switch {
	case c.N == 0:
		return "No day that was proposed is over yet. Without finished watches of your own a proposal comes from the usual times of such work, not from your shop."
	case c.TooFew():
		return fmt.Sprintf("Proposed as kept 8 times in 10 and over: %d; kept: %d. Too few to say how well that holds.", c.N, c.K)
	}
	lo, hi := c.Interval()
	return fmt.Sprintf("Of %d days that were proposed as kept 8 times in 10, %d were kept: %.0f %%. Chance alone leaves anything from %.0f to %.0f %%.",
		c.N, c.K, 100*c.P(), 100*lo, 100*hi)
}

// chart draws how many were kept beside the chance that was said, of what would have been proposed.
func (v promisesView) chart() chart.FigureRows {
	c := chart.FigureRows{ID: "kept", Title: "Kept, by the chance that was said", Unit: "% kept", Percent: true,
		Range: "the line is Wilson's interval: of such lines 95 in 100 hold the true share"}
	for _, counted := range v.Counts {
		if counted.Of != ofPast {
			continue
		}
		row := chart.FigureRow{Label: "said " + counted.said(), Words: "too few to say"}
		if !counted.TooFew() {
			lo, hi := counted.Interval()
			low, mid, high := 100*lo, 100*counted.P(), 100*hi
			row.Low, row.Mid, row.High = &low, &mid, &high
		}
		c.Rows = append(c.Rows, row)
	}
	return c
}

// table has the counts of one sort.
func (v promisesView) table(of, caption, id string) view.DataView {
	d := view.DataView{TableView: view.TableView{ID: id, Caption: caption, HideCaption: true, TestID: id},
		Columns: []view.Column{{Text: "Said to be kept"}, {Text: "Days that are over", Numeric: true}, {Text: "Kept", Numeric: true}, {Text: "Share kept"}}}
	for _, c := range v.Counts {
		if c.Of == of {
			d.Rows = append(d.Rows, view.Row{Head: true, Cells: []view.Cell{view.Txt(c.said()), view.Txt(strconv.Itoa(c.N)), view.Txt(strconv.Itoa(c.K)),
				view.Txt(c.share())}})
		}
	}
	return d
}

// holidaysView is when the shop is closed.
type holidaysView struct {
	Form         view.Form
	Hours        bool // the settings say when the shop is open
	Coming, Past []holidayRow
}

type holidayRow struct {
	ID         int64
	Name, Days string
}

func (h holidayRow) removeURL() string {
	return "/settings/holidays/" + strconv.FormatInt(h.ID, 10) + "/remove"
}

func holidayTable(caption, id string, list []holidayRow) view.DataView {
	d := view.DataView{TableView: view.TableView{ID: id, Caption: caption, HideCaption: true, TestID: id},
		Columns: []view.Column{{Text: "Holiday"}, {Text: "Closed"}, {Text: "Remove", Hide: true}}}
	for _, h := range list {
		d.Rows = append(d.Rows, view.Row{Head: true, TestID: "holiday", Cells: []view.Cell{view.Txt(h.Name), view.Txt(h.Days), view.Show(removeForm(h))}})
	}
	return d
}
