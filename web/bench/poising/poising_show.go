package poising

import (
	"fmt"
	"net/http"
	"strconv"

	"ledgerwheel/domain/oscillator"
	"ledgerwheel/domain/poising"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/text"
	"ledgerwheel/domain/timing"
	"ledgerwheel/store"
	"ledgerwheel/web/chart"
	"ledgerwheel/web/page"
	"ledgerwheel/web/runs"
	"ledgerwheel/web/view"
)

// firstStep is said before any round.
var firstStep = fmt.Sprintf("Let the mainspring down until the balance swings about 160° to 180°, and read rate and amplitude "+
	"hanging in four positions, or better in eight. Above %d° a heavy spot shows too little, or the wrong way round.",
	oscillator.PoisingMostDeg)

// stateMarks are how the page marks where poising stands.
var stateMarks = map[oscillator.PoisingState]view.MarkKind{oscillator.PoisingStop: view.Pass,
	oscillator.PoisingTurned: view.Fail, oscillator.PoisingDoubt: view.Undecided, oscillator.PoisingRead: view.NotMeasured,
	oscillator.PoisingSwing: view.NotMeasured, oscillator.PoisingLighten: view.Undecided, oscillator.PoisingLast: view.Undecided}

// viewOf is the page of a record but for what may be copied.
func (s *Room) viewOf(r *http.Request, record store.PoisingSheet, f *page.Form, d view.DocketView) poisingView {
	rows := record.Standing()
	v := poisingView{Form: f.View(), Round: gridOf(f.View(), record.Head.Watch.CrownAt), Next: firstStep,
		Title: fmt.Sprintf("Round %d", nextOrdinal(record.Rounds)), LastID: f.Text("last_round")}
	v.Why = record.Head.Docket.RunProblem(timing.Adjustment)
	v.May = v.Why == "" && page.May(r, staff.TakeReadings)
	v.Open = len(f.Problems) > 0 || len(rows) == 0
	if len(rows) > 0 {
		last := rows[len(rows)-1]
		done := f.View().Field("done", "What was done since round "+strconv.Itoa(last.Ordinal)).Maybe().WithMaxLength(500).
			WithAttr("dir", "auto").WithHint("Such as: about 20 µg off the rim towards 3.")
		v.Done = &done
		said := poising.Judge(roundsOf(rows), runs.BalanceOf(record.Head.Calibre))
		s.sayRounds(r, &v, rows, said, d)
	}
	for _, row := range record.Rounds {
		if row.Struck() {
			v.Struck = append(v.Struck, view.Term(fmt.Sprintf("Round %d, %s, %s", row.Ordinal, s.Moment(r, row.At), row.By),
				fmt.Sprintf("struck out %s, %s: %s", s.Moment(r, row.StruckAt), row.StruckBy, row.Why)))
		}
	}
	return v
}

func roundsOf(rows []store.PoisingRow) []poising.Round {
	out := make([]poising.Round, len(rows))
	for i, row := range rows {
		out[i] = row.Round
	}
	return out
}

func nextOrdinal(rows []store.PoisingRow) int {
	next := 1
	for _, row := range rows {
		next = max(next, row.Ordinal+1)
	}
	return next
}

// sayRounds fills in what the rounds say: the newest first and large, then all in a table and a drawing.
func (s *Room) sayRounds(r *http.Request, v *poisingView, rows []store.PoisingRow, said []oscillator.PoisingRound,
	d view.DocketView) {
	now := said[len(said)-1]
	v.Next, v.Mark, v.Word, v.Last = now.Text, stateMarks[now.State], poising.StateWords(now.State),
		now.State == oscillator.PoisingLast
	v.Open = v.Open || now.State != oscillator.PoisingStop
	v.Facts = factsOf(now)
	way := chart.PoisingWay{ID: "poising-way", Title: "The heavy spot, round by round",
		StopSPerDay: oscillator.PoisingStopSPerDay}
	table := view.DataView{TableView: view.TableView{ID: "rounds-table", Caption: "Rounds, oldest first", HideCaption: true,
		TestID: "rounds-table"}, Stack: true, Columns: []view.Column{{Text: "round"}, {Text: "read"},
		{Text: "heavy spot’s share"}, {Text: "heavy towards"}, {Text: "said"}, {Text: "done before it"}}}
	for i, row := range rows {
		name := strconv.Itoa(row.Ordinal)
		cells := []view.Cell{view.Txt(name), {Text: s.Moment(r, row.At), Note: row.By}, view.Txt("–"), view.Txt("–"),
			{Mark: stateMarks[said[i].State], Text: poising.StateWords(said[i].State)}, {Text: row.Done, Auto: true}}
		if told(said[i]) {
			cells[2], cells[3] = view.Txt(said[i].SpreadSPD.Format()), view.Txt(towards(said[i]))
			way.Rounds = append(way.Rounds, chart.PoisingPoint{Name: name, AngleDeg: said[i].HeavyAtDeg.Value,
				SpreadSPerDay: said[i].SpreadSPD.Value, Text: said[i].SpreadSPD.Format() + ", towards " + towards(said[i])})
		}
		if v.May {
			cells[0].Href, cells[0].Text = view.DocketURL(d.Number, "poising/"+page.Itoa64(row.ID)), "Round "+name+", correct"
		}
		table.Rows = append(table.Rows, view.Row{Head: true, Now: i == len(rows)-1, TestID: "round-" + name, Cells: cells})
	}
	v.Rounds, v.Says = &table, fmt.Sprintf("%d, the last: %s", len(rows), v.Word)
	if len(way.Rounds) > 0 {
		v.Chart = &view.ChartView{Caption: "The heavy spot, round by round", TestID: "chart-poising-way", Drawing: way}
	}
}

// told reports whether a round could be worked out.
func told(said oscillator.PoisingRound) bool { return len(said.Left) > 0 }

func towards(said oscillator.PoisingRound) string {
	return oscillator.Hour(said.HeavyAtDeg.Value/30).String() + " o’clock"
}

// factsOf are the figures of the newest round.
func factsOf(said oscillator.PoisingRound) []view.TermView {
	if !told(said) {
		return nil
	}
	terms := []view.TermView{view.Term("Heavy spot’s share, greatest less least", said.SpreadSPD.Format())}
	if said.State == oscillator.PoisingStop {
		return terms
	}
	terms = append(terms, view.Term("Heavy towards, seen from the dial side", towards(said)+", "+said.HeavyAtDeg.Format()),
		view.Term("Seen from the balance side, 12 up", oscillator.HeavySpot{BearingDeg: said.HeavyAtDeg}.BalanceHour().String()+
			" o’clock"), view.Term("Size, m·g·r/k", said.Size.Format()))
	if said.TakeOff != nil {
		terms = append(terms, view.Term("Next correction", said.TakeOff.Format()))
	}
	if said.TakeOffMass != nil {
		terms = append(terms, view.Term("That is, at the rim", said.TakeOffMass.Format()))
	}
	return terms
}

// gridOf is the table of eight points; four are positions of the standard, four our own between them.
func gridOf(f view.Form, crownHour int) roundGrid {
	g := roundGrid{Error: f.Problems["readings"]}
	for _, up := range oscillator.PoisingUps(true) {
		row := roundRow{ID: fmt.Sprintf("up-%d", int(up)), Words: text.Capital(poising.UpWords(up))}
		if p, standard := poising.Position(up); standard {
			position := runs.PositionView(p, crownHour)
			row.Position = &position
		}
		for _, q := range []timing.Quantity{timing.Rate, timing.Amplitude} {
			name := poising.Field(q, up)
			row.Cells = append(row.Cells, view.NumberCell{Name: name, Value: f.Values.Get(name), Error: f.Problems[name],
				RowID: row.ID, ColumnID: "column-" + string(q)})
		}
		g.Rows = append(g.Rows, row)
	}
	return g
}
