package paper

import "ledgerwheel/web/paper/drawing"

// TillDay is the sheet of a closed day of the till (A4). It stays in the shop.
type TillDay struct {
	Issuer     Issuer
	Day        string
	Closed     string  // by whom, and when
	Takings    []Field // by way of payment
	Cash       []Field // how the book comes to its cash, and what was counted
	Difference string
	Why        string
	Pieces     [][]string // worth, number, sum
	Payments   [][]string // time, docket, way, by, amount
	Moves      [][]string // time, what, by, amount
}

func (v TillDay) document() document {
	doc := document{size: a4, title: "Till", number: v.Day, issuer: v.Issuer, running: "Till, " + v.Day}
	doc.parts = []part{letterhead{Issuer: v.Issuer}, plain{name: "Till, " + v.Day}, title{"Till, " + v.Day}, prose{paragraphs: []string{v.Closed}},
		fields{list: append(append([]Field{}, v.Cash...), Field{"Difference", v.Difference}, Field{"Why", v.Why}), perRow: 3, ruled: true, id: "till-cash"},
		fields{list: v.Takings, perRow: 4, ruled: true, id: "till-takings"}}
	add := func(heading, id string, rows [][]string, columns ...column) {
		if len(rows) == 0 {
			return
		}
		t := table{heading: heading, id: id, columns: columns}
		for _, row := range rows {
			var cells []cell
			for _, text := range row {
				cells = append(cells, cell{text: text})
			}
			t.rows = append(t.rows, cells)
		}
		doc.parts = append(doc.parts, t)
	}
	add("Coins and notes", "till-pieces", v.Pieces, column{"Worth", 0.3, drawing.Right}, column{"Pieces", 0.3, drawing.Right}, column{"Sum", 0.4, drawing.Right})
	add("Payments", "till-payments", v.Payments, column{"Time", 0.1, drawing.Left}, column{"Docket", 0.2, drawing.Left}, column{"Paid by", 0.2, drawing.Left},
		column{"Taken by", 0.3, drawing.Left}, column{"Amount", 0.2, drawing.Right})
	add("Put in or taken out", "till-moves", v.Moves, column{"Time", 0.1, drawing.Left}, column{"What", 0.4, drawing.Left}, column{"By", 0.3, drawing.Left},
		column{"Amount", 0.2, drawing.Right})
	doc.parts = append(doc.parts, signatures{roles: []string{"Counted by", "Seen by"}})
	return doc
}
