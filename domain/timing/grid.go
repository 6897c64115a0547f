package timing

// Column is one column of the grid of readings.
type Column struct {
	HoursAfterWinding float64
	Quantity          Quantity
}

// Grid is the sheet a run is typed into: a row for each position, a column for each quantity at each state of wind.
type Grid struct {
	Rows    []Position
	Columns []Column
}

// NewGrid returns the grid of the six positions by the given states of wind (hours after winding), with rate,
// amplitude and beat error at each.
func NewGrid(hours ...float64) Grid {
	g := Grid{Rows: Positions()}
	for _, h := range hours {
		for _, q := range Quantities() {
			g.Columns = append(g.Columns, Column{HoursAfterWinding: h, Quantity: q})
		}
	}
	return g
}

// Field names the form field of a cell. It panics if the cell is not on the grid.
func (g Grid) Field(row, column int) string {
	c := g.Columns[column]
	return FieldName(c.Quantity, g.Rows[row], c.HoursAfterWinding)
}

// Parse reads the typed text of every cell, which typed returns by field name ("" for an empty one). Each reading
// found has the instrument, temperature and taker of common. The problems are keyed by field name; where there are
// any, nothing is to be saved.
func (g Grid) Parse(typed func(field string) string, common Reading) ([]Reading, map[string]string) {
	bad := map[string]string{}
	var readings []Reading
	at := map[string]int{} // cell name -> index in readings
	for row, position := range g.Rows {
		for column, c := range g.Columns {
			field := g.Field(row, column)
			figure, problem := ParseFigure(c.Quantity, typed(field))
			if problem != "" {
				bad[field] = problem
				continue
			}
			if figure == nil {
				continue
			}
			cell := CellName(position, c.HoursAfterWinding)
			i, found := at[cell]
			if !found {
				r := common
				r.Position, r.HoursAfterWinding = position, c.HoursAfterWinding
				r.RateSPerDay, r.AmplitudeDeg, r.BeatErrorMs = nil, nil, nil
				i = len(readings)
				at[cell] = i
				readings = append(readings, r)
			}
			readings[i].SetFigure(c.Quantity, figure)
		}
	}
	return readings, bad
}
