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
	Pieces     []TillPieces
	Payments   []TillLine
	Moves      []TillLine
}

// TillPieces are coins or notes of one worth that were counted.
type TillPieces struct{ Worth, Pieces, Sum string }

// TillLine is a payment of a docket, or another move of cash.
type TillLine struct{ Time, Docket, What, By, Amount string }

func (v TillDay) document() document {
	doc := document{size: a4, title: "Till", number: v.Day, issuer: v.Issuer, running: "Till, " + v.Day}
	doc.parts = []part{letterhead{Issuer: v.Issuer}, plain{name: "Till, " + v.Day}, title{"Till, " + v.Day}, prose{paragraphs: []string{v.Closed}},
		fields{list: v.Cash, perRow: 3, ruled: true, id: "till-cash"},
		prose{id: "till-difference", paragraphs: []string{"Difference: " + v.Difference}, manner: inStrong}, prose{paragraphs: []string{v.Why}},
		fields{list: v.Takings, perRow: 4, ruled: true, id: "till-takings"}}
	var pieces, payments, moves [][]string
	for _, p := range v.Pieces {
		pieces = append(pieces, []string{p.Worth, p.Pieces, p.Sum})
	}
	for _, l := range v.Payments {
		payments = append(payments, []string{l.Time, l.Docket, l.What, l.By, l.Amount})
	}
	for _, l := range v.Moves {
		moves = append(moves, []string{l.Time, l.What, l.By, l.Amount})
	}
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
	add("Coins and notes", "till-pieces", pieces, column{"Worth", 0.3, drawing.Right}, column{"Pieces", 0.3, drawing.Right}, column{"Sum", 0.4, drawing.Right})
	add("Payments", "till-payments", payments, column{"Time", 0.1, drawing.Left}, column{"Docket", 0.2, drawing.Left}, column{"Paid by", 0.2, drawing.Left},
		column{"Taken by", 0.3, drawing.Left}, column{"Amount", 0.2, drawing.Right})
	add("Put in or taken out", "till-moves", moves, column{"Time", 0.1, drawing.Left}, column{"What", 0.4, drawing.Left}, column{"By", 0.3, drawing.Left},
		column{"Amount", 0.2, drawing.Right})
	doc.parts = append(doc.parts, signatures{roles: []string{"Counted by", "Seen by"}})
	return doc
}
