package hearing

import (
	"fmt"
	"ledgerwheel/domain/acoustic"
	"ledgerwheel/domain/figure"
	"ledgerwheel/domain/heard"
	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/timing"
	"ledgerwheel/web/chart"
	"ledgerwheel/web/view"
	"strconv"
)

// heardFigures are rate, amplitude and beat error, large.
func heardFigures(result acoustic.Result, liftAssumed bool) []view.FigureView {
	figure := func(label string, v metrology.Value, signed bool, unit, note, testID string) view.FigureView {
		p := v.Print(signed)
		return view.FigureView{Label: label, Value: p.Value, Uncertainty: p.Uncertainty, Unit: unit, Note: note,
			TestID: testID}
	}
	fit := metrology.Value{StdUncertainty: result.RateFitStdSPerDay}.Expanded()
	figures := []view.FigureView{figure("Rate", result.Rate, true, timing.UnitSPerDay,
		fmt.Sprintf("k = 2, the clock included; ±%.2g s/d by the fit alone", fit), "heard-rate")}
	if a := result.Amplitude; a != nil {
		figures = append(figures, figure("Amplitude", *a, false, timing.UnitDegree,
			"k = 2, for "+heard.LiftWords(result.LiftAngleDeg, liftAssumed), "heard-amplitude"))
	} else {
		figures = append(figures, view.FigureView{Label: "Amplitude", Value: "–", Note: "the unlocking does not stand out",
			TestID: "heard-amplitude"})
	}
	if e := result.BeatError; e != nil {
		figures = append(figures, figure("Beat error", *e, true, timing.UnitMs,
			"k = 2; + when tick to tock is the longer", "heard-beat-error"))
	} else {
		figures = append(figures, view.FigureView{Label: "Beat error", Value: "–", Note: "the drop can’t be told",
			TestID: "heard-beat-error"})
	}
	return append(figures, view.FigureView{Label: "Beats per hour", Value: plain(result.BeatsPerHour),
		Note: statedOrFound(result.BeatsPerHourStated), TestID: "heard-beats"})
}

func statedOrFound(stated bool) string {
	if stated {
		return "as stated"
	}
	return "as found"
}

// heardCharts draws what was heard, and gives the same in figures. escapeTeeth are the calibre's, 0 when not known.
func heardCharts(result acoustic.Result, escapeTeeth int) (charts []view.ChartView, tables []view.DataView) {
	charts = beatCharts(result, escapeTeeth)
	if result.Wheel != nil {
		charts = append(charts, view.ChartView{Caption: "What repeats with the escape wheel", TestID: "wheel-pattern",
			Drawing: chart.WheelPattern{ID: "wheel-pattern", Title: "What repeats with the escape wheel",
				Pattern: result.Wheel}})
	}
	if result.Seconds >= longRunS && len(result.Stretches) >= longRunPieces {
		run := acoustic.LongRun(result.Stretches, result)
		charts = append(charts, view.ChartView{Caption: "Over time", TestID: "long-run",
			Drawing: chart.LongRun{ID: "long-run", Title: "Rate, amplitude and beat error over time",
				Stretches: result.Stretches, Run: run}},
			view.ChartView{Caption: "Rate against amplitude as the mainspring lets down", TestID: "run-down",
				Drawing: chart.RateAgainstRunDown{ID: "run-down", Title: "Rate against amplitude", Stretches: result.Stretches,
					Run: run}},
			view.ChartView{Caption: "How steady the rate is", TestID: "steadiness",
				Drawing: chart.Allan{ID: "steadiness", Title: "How steady the rate is", Points: run.Stability}})
	}
	if len(result.Stretches) > 1 {
		tables = append(tables, stretchTable(result.Stretches))
	}
	if len(result.Beats) > 0 {
		tables = append(tables, beatTable(result.Beats))
	}
	return charts, tables
}

func stretchTable(stretches []acoustic.Stretch) view.DataView {
	d := view.DataView{TableView: view.TableView{ID: "stretch-table", Caption: "Figures over time, piece by piece",
		Dense: true, TestID: "stretch-table"},
		Columns: []view.Column{{Text: "from"}, {Text: "rate", Unit: timing.UnitSPerDay, Numeric: true},
			{Text: "amplitude", Unit: timing.UnitDegree, Numeric: true},
			{Text: "beat error", Unit: timing.UnitMs, Numeric: true}, {Text: "beats", Numeric: true}}}
	every := (len(stretches) + tableRows - 1) / tableRows
	for i := 0; i < len(stretches); i += every {
		p := stretches[i]
		d.Rows = append(d.Rows, view.Row{Head: true, Cells: []view.Cell{view.Txt(spanWords(p.StartS)),
			withU(&p.Rate, true), withU(p.Amplitude, false), withU(p.BeatError, true), view.Txt(strconv.Itoa(p.Beats))}})
	}
	return d
}

// withU is a figure with its uncertainty, a dash where there is none.
func withU(v *metrology.Value, signed bool) view.Cell {
	if v == nil {
		return view.Txt("–")
	}
	p := v.Print(signed)
	return view.Txt(p.Value + " ± " + p.Uncertainty)
}

func beatTable(beats []acoustic.Beat) view.DataView {
	caption := "Beat by beat"
	if len(beats) > tableRows {
		caption = fmt.Sprintf("The first %d beats", tableRows)
		beats = beats[:tableRows]
	}
	d := view.DataView{TableView: view.TableView{ID: "beat-table", Caption: caption, Dense: true, TestID: "beat-table"},
		Columns: []view.Column{{Text: "beat"}, {Text: "swing"}, {Text: "at", Unit: "s", Numeric: true},
			{Text: "off the line", Unit: "ms", Numeric: true},
			{Text: "unlocking to drop", Unit: "ms", Numeric: true}, {Text: "used"}}}
	for _, b := range beats {
		lift, used := "–", "yes"
		if b.LiftMs > 0 {
			lift = fmt.Sprintf("%.2f", b.LiftMs)
		}
		if !b.Used {
			used = "no"
		}
		d.Rows = append(d.Rows, view.Row{Head: true, Cells: []view.Cell{view.Txt(strconv.FormatInt(b.Number+1, 10)),
			view.Txt(b.Swing().String()),
			view.Txt(fmt.Sprintf("%.3f", b.TimeS)), view.Txt(figure.Signed(b.ResidualMs, 3)), view.Txt(lift),
			view.Txt(used)}})
	}
	return d
}

// soundView is a kept sound as a page offers it.
func soundView(sound heard.Sound, src string) playerView {
	return playerView{Src: src, Type: soundType(sound.Format),
		Text: fmt.Sprintf("%s, %.1f MB", sound.Format, float64(sound.Bytes)/1e6)}
}

func soundType(format string) string {
	if format == "FLAC" {
		return "audio/flac"
	}
	return "audio/wav"
}
